"""The six months to come, place by place: what would be left at the rate of the last year."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from app.ledger.models import Place
from app.ledger.pace import (
    Rate,
    closings_kg,
    left_kg,
    month_end,
    month_of,
    months_on,
    outlasting,
    rate_of,
)
from app.ledger.queries.places import places
from app.ledger.queries.season import PlaceFood, kinds_on_hand, place_foods, together
from app.ledger.queries.stock import StockLine, WindowDates
from app.ledger.words import PlaceKind
from app.web.season.drawing import Shelf, Span, shelf
from app.web.season.words import Outlasts, ahead_picture_words, food_name, rate_words

AHEAD = 6  # months
_WITHIN_MONTHS = 12  # of the windows that end before their food is eaten
_WORTH_SAYING_KG = 0.02
_KEPT = (PlaceKind.FREEZER, PlaceKind.ROOM)  # in a refrigerator food lies for days, not months


@dataclass(frozen=True, slots=True)
class AheadRow:
    """A food at a place, or all of it: drawn over the past year and the months to come."""

    name: str
    on_hand_mg: int
    drawing: Shelf
    words: str
    last: Span | None  # kg left at the end of the last month drawn; None: no rate is known


@dataclass(frozen=True, slots=True)
class PlaceAhead:
    """One place in the months to come."""

    place: Place
    whole: AheadRow
    foods: tuple[AheadRow, ...]
    outlasting: tuple[Outlasts, ...]


def places_ahead(
    session: Session, today: date, lines: Sequence[StockLine], names: Mapping[str, str]
) -> list[PlaceAhead]:
    """Every freezer, pantry and cellar with food in it.

    Args:
        lines: everything on hand. names: how the household calls each kind of food.
    """
    foods: dict[int, list[PlaceFood]] = defaultdict(list)
    for food in place_foods(session, today):
        foods[food.place_id].append(food)
    kinds = kinds_on_hand(session)
    queues: dict[tuple[int, str], list[StockLine]] = defaultdict(list)
    for line in lines:
        if not line.holds:  # nobody eats what is on hold
            queues[line.place_id, kinds[line.lot_id]].append(line)
    kept = [
        p for p in places(session) if p.kind in _KEPT and any(f.on_hand_mg for f in foods[p.id])
    ]
    kept.sort(key=lambda place: (_KEPT.index(PlaceKind(place.kind)), place.id))
    return [_place(place, foods[place.id], queues, names, today) for place in kept]


def _place(
    place: Place,
    foods: Sequence[PlaceFood],
    queues: Mapping[tuple[int, str], Sequence[StockLine]],
    names: Mapping[str, str],
    today: date,
) -> PlaceAhead:
    everything = PlaceFood(place.id, "", sum(f.on_hand_mg for f in foods), together(foods))
    lying = sorted((f for f in foods if f.on_hand_mg), key=lambda f: (-f.on_hand_mg, f.kind))
    outlasting = [
        line
        for food in lying
        for line in _outlasting(food, queues.get((place.id, food.kind), ()), today)
    ]
    return PlaceAhead(
        place=place,
        whole=_row(everything, place.name, today),
        foods=tuple(_row(f, names.get(f.kind) or food_name(f.kind, ()), today) for f in lying),
        outlasting=tuple(sorted(outlasting, key=lambda x: (x.on, x.code))),
    )


def _row(food: PlaceFood, name: str, today: date) -> AheadRow:
    on_hand_kg = food.on_hand_mg / 1e6
    rate = rate_of(on_hand_kg, food.months, today)
    spans = [_span(on_hand_kg, rate, days) for days in _days_ahead(today)] if rate else []
    ends = closings_kg(on_hand_kg, food.months)
    last = spans[-1] if spans else None
    until = months_on(month_of(today), AHEAD)
    return AheadRow(
        name=name,
        on_hand_mg=food.on_hand_mg,
        drawing=shelf(
            ends,
            [month.put_kg for month in food.months],
            ahead_picture_words(name, food.on_hand_mg, last, until),
            spans,
            AHEAD,
        ),
        words=rate_words(rate, any(month.takings for month in food.months)),
        last=last,
    )


def _span(on_hand_kg: float, rate: Rate, days: int) -> Span:
    return Span(*(left_kg(on_hand_kg, per_day, days) for per_day in _by_speed(rate)))


def _by_speed(rate: Rate) -> tuple[float, float, float]:
    """The fastest first: of it the least is left."""
    return rate.high, rate.central, rate.low


def _days_ahead(today: date) -> list[int]:
    firsts = (months_on(month_of(today), i) for i in range(1, AHEAD + 1))
    return [(month_end(first) - today).days for first in firsts]


def _outlasting(food: PlaceFood, lines: Iterable[StockLine], today: date) -> Iterable[Outlasts]:
    """The lots of which some would still be there when their window ends, or at its middle."""
    rate = rate_of(food.on_hand_mg / 1e6, food.months, today)
    if rate is None:
        return []
    queue = _queue(lines)
    found: list[Outlasts] = []
    for is_end in (True, False):
        said = {line.code for line in found}
        days = [_days_to(line.window, is_end, today) for line in queue]
        masses = [line.mass_mg / 1e6 for line in queue]
        ways = [outlasting(masses, speed, [d or 0 for d in days]) for speed in _by_speed(rate)]
        for line, ahead, *left in zip(queue, days, *ways, strict=True):
            if ahead is None or line.code in said or left[1] < _WORTH_SAYING_KG:
                continue
            on = date.fromordinal(today.toordinal() + ahead)
            found.append(Outlasts(line.code, line.name, Span(*left), on, is_end))
    return found


def _queue(lines: Iterable[StockLine]) -> list[StockLine]:
    """The lots in the order in which their windows end, opened packages with the sealed ones."""
    lots: dict[int, StockLine] = {}
    for line in sorted(lines, key=lambda x: x.window.central if x.window else date.max):
        first = lots.get(line.lot_id)
        lots[line.lot_id] = (
            line if first is None else first._replace(mass_mg=first.mass_mg + line.mass_mg)
        )
    return list(lots.values())


def _days_to(window: WindowDates | None, is_end: bool, today: date) -> int | None:
    """Days to a window's last or middle day; None where it is over, too far off or has no end."""
    if window is None or window.is_fixed or (is_end and window.is_capped):
        return None
    on = window.late if is_end else window.central
    return (on - today).days if today <= on < _far(today) else None


def _far(today: date) -> date:
    return months_on(month_of(today), _WITHIN_MONTHS + 1)
