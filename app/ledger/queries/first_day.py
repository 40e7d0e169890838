"""The lots that one sending of the first day's page took in."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.codes import code_of
from app.ledger.models import Entry, Lot, Operation, Place
from app.ledger.operations.first_day import MOST_ROWS
from app.ledger.stock import is_kept
from app.ledger.windows import start_span
from app.ledger.words import OperationKind
from app.science.foods import food

MOST_OPERATIONS = 4 * MOST_ROWS  # each row an intake, and the holds that may follow it


@dataclass(frozen=True, slots=True)
class TakenIn:
    """One lot with its code, what it was taken for, and since when it is counted."""

    operation_id: int
    lot_id: int
    code: str
    name: str
    food: str
    is_raw: bool
    mass_mg: int
    place: str
    note: str
    kept_since: date
    kept_until: date  # last day on which that may have begun
    is_kept: bool  # it was not taken back since


def lots_of_day(session: Session, first: int, last: int) -> list[TakenIn]:
    """The lots taken in by the operations from one number to another, in their order."""
    at = select(Operation.recorded_at).where(Operation.id == first).scalar_subquery()
    rows = session.execute(
        select(Lot, Entry.mass_mg, Place.name, Operation.note, is_kept(Operation.id))
        .join(Operation, Operation.id == Lot.operation_id)
        .join(Entry, (Entry.operation_id == Operation.id) & (Entry.lot_id == Lot.id))
        .join(Place, Place.id == Entry.place_id)
        .where(
            Operation.id.between(first, last),
            Operation.kind == OperationKind.INTAKE,
            Operation.recorded_at == at,  # another tablet may have taken food in meanwhile
        )
        .order_by(Operation.id)
        .limit(MOST_OPERATIONS)
    ).all()
    return [
        TakenIn(
            lot.operation_id,
            lot.id,
            code_of(lot.id),
            lot.name,
            food(lot.food_ndb).name if lot.food_ndb else "",
            lot.is_raw,
            mass_mg,
            place,
            note,
            *start_span(session, lot),
            stays,
        )
        for lot, mass_mg, place, note, stays in rows
    ]
