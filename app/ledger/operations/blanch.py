"""Blanch: a short scald of garden produce before freezing or drying."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.errors import ProblemKind, refuse
from app.ledger.lots import kind_of, known_lot, made_from, need_mass, wrap_for
from app.ledger.makeup import composition_of
from app.ledger.mass import to_kg
from app.ledger.operations._post import Make, Posted, Posting, Take, losses, post
from app.ledger.stock import StockRef
from app.ledger.words import AdditionKind, LossKind, OperationKind
from app.science.classes import FoodClass, Treatment
from app.science.cooking import blanched
from app.science.errors import ScienceError


@dataclass(frozen=True, slots=True)
class Blanch:
    """What is scalded, and what it weighs after draining."""

    ref: StockRef
    mass_mg: int
    made_mg: int
    place_id: int
    done_on: date
    note: str = ""


def blanch(session: Session, request: Blanch, *, at: datetime, by: int | None) -> Posted:
    """Record a blanching; what drained off carried some of the solids with it.

    Raises:
        Refused: animal food (cook it instead), or more water lost than there was.
    """
    need_mass({"mass_mg": request.mass_mg, "made_mg": request.made_mg})
    lot = known_lot(session, request.ref)
    if FoodClass(lot.food_class).is_animal:
        raise refuse("ref", ProblemKind.WRONG_STATE, why="blanching_is_for_produce")
    change_mg = request.made_mg - request.mass_mg
    try:
        after = blanched(
            composition_of(session, lot), to_kg(request.mass_mg), to_kg(request.made_mg)
        )
    except ScienceError as error:
        raise refuse(
            "made_mg", ProblemKind.IMPOSSIBLE, reason="more_evaporated_than_water"
        ) from error
    new = made_from(
        session,
        lot,
        request.done_on,
        composition=after.food,
        treatments=frozenset({Treatment.BLANCHED}),
        wrap=wrap_for(kind_of(session, request.place_id)),
    )
    posting = Posting(
        OperationKind.BLANCH,
        request.done_on,
        note=request.note,
        takes=[Take(request.ref, request.mass_mg)],
        makes=[Make(request.place_id, request.made_mg, new)],
        additions=[(AdditionKind.WATER, change_mg, "")] if change_mg > 0 else [],
        losses=losses((LossKind.DRIP, -change_mg)),
    )
    return post(session, posting, at=at, by=by)
