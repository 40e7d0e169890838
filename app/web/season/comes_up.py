"""What comes up by month: whose window begins to end, and what came in a year ago."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from app.language import month_words, short_day_words
from app.ledger.pace import month_of, months_on
from app.ledger.queries.season import FoodYear
from app.ledger.queries.stock import StockLine
from app.web.season.drawing import Shelf, shelf
from app.web.season.words import (
    came_in_words,
    coming_picture_words,
    food_name,
    reached_words,
)

MONTHS_AHEAD = 12  # the present one and those after it
SHOWN = 20  # lots in one cell


@dataclass(frozen=True, slots=True)
class Reached:
    """A lot (or its packages at one place) whose window reaches a day."""

    on: date
    code: str
    name: str
    packages: int
    mass_mg: int

    @property
    def day(self) -> str:
        """In short: "11 Oct"."""
        return short_day_words(self.on)


@dataclass(frozen=True, slots=True)
class Cell:
    """The lots that reach one of the three days in a month: counted, and the first of them."""

    words: str
    shown: tuple[Reached, ...]
    more: int


@dataclass(frozen=True, slots=True)
class ComingMonth:
    """One month of the calendar."""

    name: str
    early: Cell
    central: Cell
    late: Cell
    came_in: str


@dataclass(frozen=True, slots=True)
class ComesUp:
    """The calendar of the coming year."""

    drawing: Shelf
    months: tuple[ComingMonth, ...]
    past_count: int  # lots whose window is over already
    later_count: int  # lots of which no day falls into these months


def comes_up(lines: Sequence[StockLine], years: Sequence[FoodYear], today: date) -> ComesUp:
    """Sort what is on hand by the months in which its window reaches its days."""
    firsts = [months_on(month_of(today), i) for i in range(MONTHS_AHEAD)]
    known = [line for line in lines if line.window is not None]
    past = {line.lot_id for line in known if _is_past(line, today)}
    days = {word: _by_month(known, word, today) for word in ("early", "central", "late")}
    shown = {r.code for months in days.values() for f in firsts for r in months[f]}
    months = tuple(
        ComingMonth(
            name=month_words(first),
            early=_cell(days["early"][first]),
            central=_cell(days["central"][first]),
            late=_cell(days["late"][first]),
            came_in=came_in_words(months_on(first, -12), _came_in(years, months_on(first, -12))),
        )
        for first in firsts
    )
    middles = [float(sum(r.mass_mg for r in days["central"][f])) for f in firsts]
    ends = [float(sum(r.mass_mg for r in days["late"][f])) for f in firsts]
    return ComesUp(
        drawing=shelf(
            [middle + end for middle, end in zip(middles, ends, strict=True)],
            middles,
            coming_picture_words(firsts, middles, ends),
        ),
        months=months,
        past_count=len(past),
        later_count=len({x.lot_id for x in known if x.code not in shown} - past),
    )


def _is_past(line: StockLine, today: date) -> bool:
    window = line.window
    return window is not None and window.late < today and not window.is_capped


def _by_month(lines: Sequence[StockLine], word: str, today: date) -> dict[date, list[Reached]]:
    """By the first day of a month; a capped window has no last day."""
    found: dict[date, list[Reached]] = defaultdict(list)
    for line in lines:
        window = line.window
        if window is None or (word == "late" and window.is_capped):
            continue
        on: date = getattr(window, word)
        if on >= today:
            one = Reached(on, line.code, line.name, line.package_count, line.mass_mg)
            found[month_of(on)].append(one)
    return found


def _cell(reached: Sequence[Reached]) -> Cell:
    lots: dict[tuple[str, date], Reached] = {}  # opened and sealed packages may reach it together
    for r in sorted(reached, key=lambda r: (r.on, r.name, r.code)):
        lots.setdefault((r.code, r.on), r)
    codes, packages = {r.code for r in reached}, sum(r.packages for r in reached)
    words = reached_words(len(codes), packages) if codes else ""
    return Cell(words, tuple(lots.values())[:SHOWN], max(len(lots) - SHOWN, 0))


def _came_in(years: Sequence[FoodYear], first: date) -> Iterator[tuple[str, int]]:
    """What came in during a month of the last year, the most first."""
    amounts = (
        (food_name(year.kind, year.names), month.came_in_mg)
        for year in years
        for month in year.months
        if month.first == first and month.came_in_mg
    )
    yield from sorted(amounts, key=lambda pair: (-pair[1], pair[0]))
