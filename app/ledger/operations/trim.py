"""Trim: cutting away what is not kept."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.lots import kind_of, known_lot, made_from, wrap_for
from app.ledger.operations._post import Make, Posted, Posting, Take, losses, post
from app.ledger.stock import StockRef
from app.ledger.windows import days_that_go_on
from app.ledger.words import LossKind, OperationKind
from app.science.classes import Form


@dataclass(frozen=True, slots=True)
class Trim:
    """What is trimmed, what is left, and what was cut away."""

    ref: StockRef
    mass_mg: int
    made_mg: int
    trimmed_mg: int
    place_id: int
    done_on: date
    form: Form | None = None
    unexplained_mg: int = 0
    note: str = ""


def trim(session: Session, request: Trim, *, at: datetime, by: int | None) -> Posted:
    """Record a trimming; what was cut away is a loss of the same composition."""
    lot = known_lot(session, request.ref)
    new = made_from(
        session,
        lot,
        request.done_on,
        form=request.form or Form(lot.form),
        wrap=wrap_for(kind_of(session, request.place_id)),
        **days_that_go_on(session, lot, request.ref, request.place_id),
    )
    posting = Posting(
        OperationKind.TRIM,
        request.done_on,
        note=request.note,
        takes=[Take(request.ref, request.mass_mg)],
        makes=[Make(request.place_id, request.made_mg, new)],
        losses=losses(
            (LossKind.TRIM, request.trimmed_mg), (LossKind.UNEXPLAINED, request.unexplained_mg)
        ),
    )
    return post(session, posting, at=at, by=by)
