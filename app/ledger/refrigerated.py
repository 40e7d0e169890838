"""The refrigerator's days of what is made of several foods: work makes nothing fresher."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from sqlalchemy.orm import Session

from app.ledger.inheritance import treatments_together
from app.ledger.lots import kind_of, known_lot
from app.ledger.models import Stock
from app.ledger.operations._post import NewLot
from app.ledger.stock import StockRef, find_stock
from app.ledger.windows import IN_HAND, keeping_of, places_of
from app.ledger.words import PlaceKind
from app.science.classes import DRIED
from app.science.errors import ScienceError
from app.science.frozen import State, refrigerator_days
from app.science.keeping import moist_state, state_of


def no_fresher(session: Session, new: NewLot, refs: Sequence[StockRef], place_id: int) -> NewLot:
    """A lot to be made of several, its days in the refrigerator begun so that none gains any.

    The published days of what is made count from its making, yet end no later than those of any
    food in it: meat of four days is not good for two more because it was ground. Where all have the
    same days they count from the oldest. No table says what becomes of days when foods are joined;
    that the earliest end holds is our judgement, on the careful side. What comes out of a freezer
    or off a shelf, is dry, or has no published days sets no end.

    Args:
        new: the lot, its keeping begun with the operation. refs: what it is made of, on hand still.
        place_id: where it goes.
    Returns:
        The lot, its keeping begun that day or earlier.
    """
    treatments = treatments_together(session, {ref.lot_id for ref in refs}) | new.treatments
    days = _days(moist_state(new.food_class, new.form, treatments))
    if days is None or treatments & DRIED or kind_of(session, place_id) is not PlaceKind.FRIDGE:
        return new
    ends = [end for ref in refs if (end := _last_day(session, ref)) is not None]
    return replace(new, kept_since=min([new.kept_since, *(end - days for end in ends)]))


def _last_day(session: Session, ref: StockRef) -> date | None:
    """The last of the published days of moist food in hand; None where there are none."""
    row = find_stock(session, ref)
    if row is None:
        return None
    stays = places_of(session, known_lot(session, ref), ref)
    if not stays or not {PlaceKind(stay.place.kind) for stay in stays} <= IN_HAND:
        return None
    days = _days_on_hand(session, row)
    return None if days is None else stays[0].on + days


def _days_on_hand(session: Session, row: Stock) -> timedelta | None:
    try:
        kept = keeping_of(session, row)
        state = None if kept is None else state_of(kept[1])
    except ScienceError:  # such as a crumb, of which nothing is worked out
        return None
    return None if state is None or (state.is_dried and not state.is_wet) else _days(state)


def _days(state: State) -> timedelta | None:
    """The most days of the table."""
    table = refrigerator_days(state)
    return None if table is None else timedelta(days=int(table.span[1]))
