"""Eat first: what is on hand, grouped by the question asked and ranked by what is used up."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.mass import to_kg
from app.ledger.models import Lot, Stock
from app.ledger.queries.allergens import Allergens, allergens_on_hand
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.words import PlaceKind
from app.science.classes import FoodClass
from app.science.errors import ScienceError
from app.science.rehydration import water_to_add_kg
from app.science.safety.allergens import AllergenGroup
from app.science.sources import Evidence, Sourced

UNDATED = frozenset({"not_covered", "too_fat", "outside_model"})  # no model, no alarm
WEEK_DAYS = 7
FREEZER_NOTICE_DAYS = 60  # ahead of the early end; enough time to plan a dryer load
PORTION_KG = Sourced(
    0.3, "kg", Evidence.JUDGEMENT, low=0.2, high=0.4, note="one person's share of a meal, as served"
)


class Group(StrEnum):
    """The questions the home page answers, in its order."""

    OPENED = "opened"
    NOW = "now"  # no date until it is seen to
    THIS_WEEK = "this_week"
    PAST = "past"
    PROCESS = "process"
    LATER = "later"
    UNDATED = "undated"
    ON_HOLD = "on_hold"


class Readiness(StrEnum):
    """Whether it still has to be cooked."""

    RAW = "raw"
    READY = "ready"


class Serves(StrEnum):
    """How many people one package feeds."""

    ONE = "one"
    TWO = "two"
    FOUR = "four"


#: From how many portions on, and below how many.
_PORTIONS = {Serves.ONE: (0.0, 1.5), Serves.TWO: (1.5, 3.0), Serves.FOUR: (3.0, float("inf"))}


@dataclass(frozen=True, slots=True)
class Wanted:
    """What somebody looks for; nothing chosen is everything."""

    place_id: int | None = None
    foods: frozenset[FoodClass] = frozenset()
    readiness: Readiness | None = None
    serves: Serves | None = None
    without: frozenset[AllergenGroup] = frozenset()

    @property
    def is_any(self) -> bool:
        """Is nothing chosen?"""
        return self == _ANYTHING


_ANYTHING = Wanted()


@dataclass(frozen=True, slots=True)
class EatFirst:
    """The home page: groups of ranked lines, and what they are together.

    `places` and `foods` are what there is to choose from. Of what is otherwise wanted,
    `with_allergen` counts the lots left out because they contain or may contain what is to be
    avoided; `untold` are the lines that may, for all the ledger knows: they stand in no group.
    """

    groups: tuple[tuple[Group, tuple[StockLine, ...]], ...]
    lot_count: int
    mass_mg: int
    places: tuple[tuple[int, str], ...] = ()
    foods: frozenset[FoodClass] = frozenset()
    with_allergen: int = 0
    untold: tuple[StockLine, ...] = ()


def eat_first(session: Session, today: date, wanted: Wanted = _ANYTHING) -> EatFirst:
    """Group and rank everything that can be eaten or processed, or what is wanted of it.

    First what must be seen to, then what a published limit ends, by its day, then by the soonest
    early end of an estimate and the larger share used; ties go by the day it was made, then by
    code. Food in a dryer is on the bench, not here; held food stands apart.
    """
    everything = [line for line in stock_lines(session) if not line.place_kind.is_dryer]
    lines, with_allergen = everything, 0
    untold: list[StockLine] = []
    if not wanted.is_any:
        lines = [line for line in everything if _is_wanted(line, wanted)]
        if wanted.serves is not None:
            serves = _serving(session, wanted.serves)
            lines = [line for line in lines if serves(line)]
        if wanted.without:
            known = allergens_on_hand(session)
            lines, with_allergen, untold = _without(lines, wanted.without, known)
    lines.sort(key=lambda line: _rank(line, today))
    grouped: dict[Group, list[StockLine]] = {group: [] for group in Group}
    for line in lines:
        grouped[group_of(line, today)].append(line)
    return EatFirst(
        groups=tuple((group, tuple(found)) for group, found in grouped.items() if found),
        lot_count=len({line.lot_id for line in lines}),
        mass_mg=sum(line.mass_mg for line in lines),
        places=tuple(sorted({(line.place_id, line.place) for line in everything})),
        foods=frozenset({line.food_class for line in everything}),
        with_allergen=with_allergen,
        untold=tuple(sorted(untold, key=lambda line: _rank(line, today))),
    )


def group_of(line: StockLine, today: date) -> Group:
    """Which question a line answers."""
    window = line.window
    if line.holds:
        return Group.ON_HOLD
    if line.opened_on is not None:
        return Group.OPENED
    if window is None:
        return Group.UNDATED if line.limit_word in UNDATED else Group.NOW
    days = (window.early - today).days
    if line.place_kind is PlaceKind.FREEZER:  # past its end it is to be processed all the more
        return Group.PROCESS if days <= FREEZER_NOTICE_DAYS else Group.LATER
    if window.late < today and not window.is_capped:
        return Group.PAST
    return Group.THIS_WEEK if days <= WEEK_DAYS else Group.LATER


def _rank(line: StockLine, today: date) -> tuple[int, date, float, date, str]:
    """What a published limit ends goes before an estimate: its day is no matter of taste."""
    window = line.window
    if window is None:
        return (0, date.min, 0.0, line.made_on, line.code)
    used = window.share_used(today)
    return (1 if window.is_fixed else 2, window.early, -used, line.made_on, line.code)


# -- what is wanted ------------------------------------------------------------------------------


def _is_wanted(line: StockLine, wanted: Wanted) -> bool:
    return (
        wanted.place_id in (None, line.place_id)
        and (not wanted.foods or line.food_class in wanted.foods)
        and (wanted.readiness is None or line.is_raw == (wanted.readiness is Readiness.RAW))
    )


def served_kg(net_kg: float, water: float, fresh_water: float | None) -> float:
    """What a net weight is on the table: dried food with the water that it usually takes back.

    Args:
        net_kg: as packed, kg. water, fresh_water: now and before drying, kg/kg; None: not dried,
            or not known, and it counts as it weighs.

    Example:
        >>> round(served_kg(0.08, 0.02, 0.65), 2)
        0.21
    """
    if fresh_water is None:
        return net_kg
    try:
        return net_kg + water_to_add_kg(net_kg, water, fresh_water).central
    except ScienceError:
        return net_kg


def _serving(session: Session, serves: Serves) -> Callable[[StockLine], bool]:
    """Does one package of a line, by the mean of its packages, feed so many?

    Of loose food any amount can be taken, so it is wanted wherever there is enough.
    """
    on_hand = Lot.id.in_(select(Stock.lot_id))
    query = select(Lot.id, Lot.water, Lot.fresh_water).where(on_hand)
    waters: Mapping[int, tuple[float, float | None]] = {
        lot_id: (water, fresh) for lot_id, water, fresh in session.execute(query)
    }
    low, high = (portions * PORTION_KG.value for portions in _PORTIONS[serves])

    def is_served(line: StockLine) -> bool:
        each_kg = to_kg(line.mass_mg) / max(line.package_count, 1)
        kg = served_kg(each_kg, *(waters[line.lot_id] if line.is_dried else (0.0, None)))
        return low <= kg and (kg < high or not line.package_count)

    return is_served


def _without(
    lines: list[StockLine], avoided: frozenset[AllergenGroup], known: Allergens
) -> tuple[list[StockLine], int, list[StockLine]]:
    """The lines free of allergens as far as all was told, how many lots have one, and the rest."""
    none: frozenset[AllergenGroup] = frozenset()
    having = {line.lot_id for line in lines if known.groups.get(line.lot_id, none) & avoided}
    others = [line for line in lines if line.lot_id not in having]
    free = [line for line in others if line.lot_id not in known.untold]
    return free, len(having), [line for line in others if line.lot_id in known.untold]
