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
from app.ledger.windows import in_hand_since, keeping_of, places_of
from app.ledger.words import PlaceKind
from app.science.classes import DRIED
from app.science.errors import ScienceError
from app.science.frozen import State, refrigerator_days
from app.science.keeping import moist_state, state_of


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
    if days is None or treatments & DRIED or kind_of(session, place_id) is not PlaceKind.FRIDGE:
        return new
    found = [ends for ref in refs if (ends := _ends(session, ref)) is not None]
    begins = [end - own for ends in found for end, own in zip(ends, days, strict=True)]
    return replace(new, kept_since=min([new.kept_since, *begins]))


def _ends(session: Session, ref: StockRef) -> tuple[date, date] | None:
    """The early and the late end of the published days of moist food in hand, if it has any."""
    row = find_stock(session, ref)
    if row is None:
        return None
    since = in_hand_since(places_of(session, known_lot(session, ref), ref))
    days = None if since is None else _days_on_hand(session, row)
    return None if since is None or days is None else (since + days[0], since + days[1])


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
