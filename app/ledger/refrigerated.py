"""The refrigerator's days of food that is worked on: work makes nothing fresher."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.calendar import today_of
from app.ledger.inheritance import treatments_together
from app.ledger.lots import kind_of, known_lot
from app.ledger.models import Checkpoint, Operation, Stock
from app.ledger.operations._post import NewLot
from app.ledger.queries.trace import upstream_of
from app.ledger.safety import Applied, gate
from app.ledger.stock import StockRef, find_stock, stands
from app.ledger.windows import IN_HAND, in_hand_since, keeping_of, places_of
from app.science.classes import DRIED
from app.science.errors import ScienceError
from app.science.frozen import State, refrigerator_days
from app.science.keeping import moist_state, state_of
from app.science.safety.refrigerated import FRIDGE_OVER, worked_late


def no_fresher(session: Session, new: NewLot, refs: Sequence[StockRef], place_id: int) -> NewLot:
    """A lot to be made of several, its days in the refrigerator begun so that none gains any.

    The published days of what is made count from its making, yet neither end of them is later than
    that of any food in it: meat of four days is not good for two more because it was ground. Where
    all have the same days they count from the oldest. No table says what becomes of days when foods
    are joined; that the earliest ends hold is our judgement, on the careful side. What comes out of
    a freezer or off a shelf, is dry, or has no published days sets no end.

    Args:
        new: the lot, its keeping begun with the operation. refs: what it is made of, on hand still.
        place_id: where it goes.
    Returns:
        The lot, its keeping begun that day or earlier.
    """
    treatments = treatments_together(session, {ref.lot_id for ref in refs}) | new.treatments
    days = _days(moist_state(new.food_class, new.form, treatments))
    if days is None or treatments & DRIED or kind_of(session, place_id) not in IN_HAND:
        return new
    found = [ends for ref in refs if (ends := _ends(session, ref)) is not None]
    begins = [end - own for ends in found for end, own in zip(ends, days, strict=True)]
    return replace(new, kept_since=min([new.kept_since, *begins]))


def in_its_days(
    session: Session,
    refs: Iterable[StockRef],
    on: date,
    reason: str,
    at: datetime | None = None,
) -> list[Applied]:
    """The checkpoints of working on food, of which each should be within its days.

    A reason that was given for what a food is made of is not asked for again on the same day.

    Args:
        refs: what is worked on, on hand still. on: the day of the work. reason: as typed, or "".
        at: the instant of recording; a day still to come is refused as such, by the posting.
    Raises:
        Refused: the days of one are over, and no reason was given.
    """
    if at is not None and on > today_of(session, at):
        return []
    found: list[Applied] = []
    for ref in dict.fromkeys(refs):
        known = _in_hand(session, ref)
        if known is None:
            continue
        since, (_, most) = known
        verdicts = worked_late(max((on - since).days, 0), most.days)
        if verdicts and not _is_answered(session, ref, on):
            found += [replace(one, lot_id=ref.lot_id) for one in gate(verdicts, reason)]
    return found


def _is_answered(session: Session, ref: StockRef, on: date) -> bool:
    """Was a reason given on that day for this food or anything in it?"""
    asked = (
        select(Checkpoint.id)
        .join(Operation, Operation.id == Checkpoint.operation_id)
        .where(
            Checkpoint.lot_id.in_({ref.lot_id} | upstream_of(session, ref.lot_id)),
            Checkpoint.rule == FRIDGE_OVER.id,
            Operation.done_on == on,
            stands(Checkpoint.operation_id),
        )
    )
    return session.scalar(asked.limit(1)) is not None


def _ends(session: Session, ref: StockRef) -> tuple[date, date] | None:
    """The early and the late end of the published days of moist food in hand, if it has any."""
    known = _in_hand(session, ref)
    if known is None:
        return None
    since, (fewest, most) = known
    return since + fewest, since + most


def _in_hand(session: Session, ref: StockRef) -> tuple[date, tuple[timedelta, timedelta]] | None:
    """Since when moist food is in hand, and the fewest and most days it has, if it has any."""
    row = find_stock(session, ref)
    if row is None:
        return None
    since = in_hand_since(places_of(session, known_lot(session, ref), ref))
    days = None if since is None else _days_on_hand(session, row)
    return None if since is None or days is None else (since, days)


def _days_on_hand(session: Session, row: Stock) -> tuple[timedelta, timedelta] | None:
    try:
        kept = keeping_of(session, row)
        state = None if kept is None else state_of(kept[1])
    except ScienceError:  # such as a crumb, of which nothing is worked out
        return None
    return None if state is None or (state.is_dried and not state.is_wet) else _days(state)


def _days(state: State) -> tuple[timedelta, timedelta] | None:
    """The fewest and the most days of the table."""
    table = refrigerator_days(state)
    return None if table is None else (timedelta(int(table.span[0])), timedelta(int(table.span[1])))
