"""Drain: a pot becomes cooked meat (or vegetables) and its broth, two lots."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.errors import ProblemKind, refuse
from app.ledger.lots import kind_of, known_lot, made_from, named_after, wrap_for
from app.ledger.makeup import composition_of
from app.ledger.mass import to_kg
from app.ledger.operations._post import Make, Posted, Posting, Take, losses, post
from app.ledger.stock import StockRef
from app.ledger.words import LossKind, OperationKind
from app.science.classes import FoodClass, Form
from app.science.cooking import drained
from app.science.errors import ScienceError

BROTH_NDB = "06170"  # home-prepared beef stock: the nearest food in the table


@dataclass(frozen=True, slots=True)
class Drain:
    """What is drained, and what the drained food and the broth weigh."""

    ref: StockRef
    mass_mg: int
    drained_mg: int
    broth_mg: int
    place_id: int
    done_on: date
    broth_name: str = ""
    spilled_mg: int = 0
    unexplained_mg: int = 0
    note: str = ""


def drain(session: Session, request: Drain, *, at: datetime, by: int | None) -> Posted:
    """Split a pot into drained food and broth; nothing the pot held is lost in the split.

    Raises:
        Refused: the masses do not add up, or the pot holds too little water for that much broth.
    """
    lot = known_lot(session, request.ref)
    if request.drained_mg <= 0 or request.broth_mg <= 0:
        field = "drained_mg" if request.drained_mg <= 0 else "broth_mg"
        raise refuse(field, ProblemKind.NOT_POSITIVE)
    kept_kg = to_kg(request.drained_mg + request.broth_mg)
    try:
        parts = drained(
            composition_of(session, lot),
            kept_kg,
            to_kg(request.drained_mg),
            to_kg(request.broth_mg),
        )
    except ScienceError as error:
        raise refuse("broth_mg", ProblemKind.IMPOSSIBLE, reason="too_much_broth") from error
    wrap = wrap_for(kind_of(session, request.place_id))
    food = made_from(
        session, lot, lot.kept_since, composition=parts.meat, wrap=wrap, share_used=lot.share_used
    )
    broth = made_from(
        session,
        lot,
        lot.kept_since,
        name=request.broth_name or named_after(lot, "broth"),
        food_ndb=BROTH_NDB,
        food_class=FoodClass.BROTH,
        form=Form.LIQUID,
        composition=parts.liquid,
        wrap=wrap,
        share_used=lot.share_used,
    )
    posting = Posting(
        OperationKind.DRAIN,
        request.done_on,
        note=request.note,
        takes=[Take(request.ref, request.mass_mg)],
        makes=[
            Make(request.place_id, request.drained_mg, food),
            Make(request.place_id, request.broth_mg, broth),
        ],
        losses=losses(
            (LossKind.SPILLED, request.spilled_mg),
            (LossKind.UNEXPLAINED, request.unexplained_mg),
        ),
        balance_field="broth_mg",
    )
    return post(session, posting, at=at, by=by)
