"""Portion: splitting a lot, so that its parts can go different ways."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.lots import kind_of, known_lot, made_from, wrap_for
from app.ledger.operations._post import Make, Posted, Posting, Take, post
from app.ledger.refreezing import need_thawing, refreezing
from app.ledger.stock import StockRef
from app.ledger.words import OperationKind


@dataclass(frozen=True, slots=True)
class Portion:
    """How much is split off, what it is called and where it goes."""

    ref: StockRef
    mass_mg: int
    name: str
    place_id: int
    done_on: date
    note: str = ""
    reason: str = ""


def portion(session: Session, request: Portion, *, at: datetime, by: int | None) -> Posted:
    """Split off part of a lot as a lot of its own; the clock of its keeping goes on."""
    lot = known_lot(session, request.ref)
    need_thawing(session, [request.ref], request.place_id, "place_id")
    new = made_from(
        session,
        lot,
        lot.kept_since,
        name=request.name,
        wrap=wrap_for(kind_of(session, request.place_id)),
        share_used=lot.share_used,
    )
    posting = Posting(
        OperationKind.PORTION,
        request.done_on,
        note=request.note,
        takes=[Take(request.ref, request.mass_mg)],
        checkpoints=refreezing(session, [request.ref], request.place_id, request.reason),
        makes=[Make(request.place_id, request.mass_mg, new)],
        balance_field="mass_mg",
    )
    return post(session, posting, at=at, by=by)
