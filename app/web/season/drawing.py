"""The shelf drawing: one column for each month's end, standing on a line; masses in, px and % out.

What was there is a full column, what came in during its month is hatched on top of it. What is
still to come is a hatched column that hangs between its least and its most, with a tick at what the
rate itself gives, as in the drawing of a window.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from app.language import N_, _, month_words, short_month_words
from app.ledger.pace import months_on

HEIGHT = 52.0  # px of the highest column
_WIDTH = 0.62  # of the room for a month
_LEAST_PX = 1.5  # whatever is there must be seen
NOW = N_("now")


class Span(NamedTuple):
    """What may be left: at the fastest, by the rate itself, at the slowest."""

    least: float
    central: float
    most: float


@dataclass(frozen=True, slots=True)
class Column:
    """One month's end: left edge in per cent, px from above and px high of both of its parts."""

    x: float
    top: float
    full: float
    new: float  # hatched, above the full part

    @property
    def foot(self) -> float:
        """Where the full part begins, px from above."""
        return round(self.top + self.new, 2)


@dataclass(frozen=True, slots=True)
class Ahead:
    """One month's end to come: left edge in per cent; px from above of most, rate and least."""

    x: float
    most: float
    central: float
    least: float

    @property
    def height(self) -> float:
        """Px from the most to the least, enough to be seen."""
        return max(round(self.least - self.most, 2), _LEAST_PX)


@dataclass(frozen=True, slots=True)
class Shelf:
    """Everything the shelf macro draws, and what it says in words."""

    columns: tuple[Column, ...]
    ahead: tuple[Ahead, ...]
    width: float  # per cent, of a column
    today: float | None  # per cent: where the past ends, if anything comes after it
    sentence: str
    height: float = HEIGHT


@dataclass(frozen=True, slots=True)
class MonthMark:
    """The word under a month, at the middle of its room in per cent; few are left on a phone."""

    word: str
    spoken: str
    x: float
    is_minor: bool
    is_now: bool = False


def shelf(
    ends: Sequence[float],
    new: Sequence[float],
    sentence: str,
    ahead: Sequence[Span] = (),
    months_ahead: int = 0,
) -> Shelf:
    """Draw what there was at each month's end, and what may be left at each one to come.

    Args:
        ends: amounts, oldest first, the last one now. new: what of it came in during the month.
        ahead: for the months to come; none where no rate is known. months_ahead: room for so many.
    """
    room = 100 / (len(ends) + months_ahead)
    most = max([*ends, *(span.most for span in ahead)], default=0)
    per_unit = HEIGHT / most if most > 0 else 0.0
    columns = (
        _column(room, i, end, min(fresh, end), per_unit)
        for i, (end, fresh) in enumerate(zip(ends, new, strict=True))
        if end > 0
    )
    return Shelf(
        columns=tuple(columns),
        ahead=tuple(_ahead(room, len(ends) + i, s, per_unit) for i, s in enumerate(ahead)),
        width=round(room * _WIDTH, 3),
        today=round(room * len(ends), 3) if months_ahead else None,
        sentence=sentence,
    )


def _left_edge(room: float, i: int) -> float:
    return round(room * (i + (1 - _WIDTH) / 2), 3)


def _column(room: float, i: int, end: float, new: float, per_unit: float) -> Column:
    tall = max(end * per_unit, _LEAST_PX)
    hatched = tall * new / end
    return Column(
        _left_edge(room, i),
        round(HEIGHT - tall, 2),
        round(tall - hatched, 2),
        round(hatched, 2),
    )


def _ahead(room: float, i: int, span: Span, per_unit: float) -> Ahead:
    least, central, most = (round(HEIGHT - amount * per_unit, 2) for amount in span)
    return Ahead(_left_edge(room, i), most, central, least)


def month_marks(first: date, count: int, ahead: int = 0) -> tuple[MonthMark, ...]:
    """The words under the columns: short names of months, and “now” for the present one."""
    room = 100 / (count + ahead)
    return tuple(
        MonthMark(
            word=_(NOW) if i == count - 1 else _short(months_on(first, i)),
            spoken=month_words(months_on(first, i)),
            x=round(room * (i + 0.5), 3),
            is_minor=(i - count + 1) % 3 != 0,
            is_now=i == count - 1,
        )
        for i in range(count + ahead)
    )


def _short(first: date) -> str:
    """The name of a month without its year, where there is room for three letters."""
    return short_month_words(first).replace(f"{first.year}", "").strip(" .")
