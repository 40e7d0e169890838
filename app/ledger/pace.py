"""How fast food is taken out of a place, and what is left of it at that rate. Pure arithmetic.

Everything here is an estimate about amounts, never about safety. The past is no promise: a range
says how much the takings scatter, and what limits it is said beside it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import sqrt
from typing import Final, NamedTuple

LEAST_DAYS: Final = 28  # our judgement: less than four weeks tell nothing of a household's rate
RECENT_MONTHS: Final = 3  # with the present one: how the household eats just now
DAYS_A_MONTH: Final = 365.25 / 12


class MonthTaken(NamedTuple):
    """What happened to one food at one place in one month.

    `first` is the month's first day. Masses in kg: taken out in all, the sum of the squares of the
    single takings (kg²), how many there were, and put in. The days are those of the first and the
    last entry of the month.
    """

    first: date
    taken_kg: float
    squares_kg2: float
    takings: int
    put_kg: float
    first_day: date
    last_day: date


@dataclass(frozen=True, slots=True)
class Rate:
    """How fast it is taken out, kg a day, as a range; from how many days and takings."""

    low: float
    central: float
    high: float
    days: int
    takings: int


def month_of(day: date) -> date:
    """The first day of its month."""
    return day.replace(day=1)


def months_on(first: date, count: int) -> date:
    """The first day of the month so many months on (or back, below 0).

    Example:
        >>> months_on(date(2026, 11, 1), 2), months_on(date(2026, 1, 1), -1)
        (datetime.date(2027, 1, 1), datetime.date(2025, 12, 1))
    """
    number = first.year * 12 + first.month - 1 + count
    return date(number // 12, number % 12 + 1, 1)


def balances(now: int, changes: Sequence[int]) -> list[int]:
    """What there was at the end of each month, reckoned back from what is there now.

    Args:
        now: what is on hand, mg (or packages). changes: net change of each month, oldest first;
            the last is the present one, so far.
    Returns:
        As many as changes; the last is `now`.
    Example:
        >>> balances(5, [10, -4, 2])  # 5 now; before the 2 came 3; before 4 were eaten 7
        [7, 3, 5]
    """
    found = [now]
    for change in reversed(changes[1:]):
        found.append(found[-1] - change)
    return found[::-1] if changes else []


def month_end(first: date) -> date:
    """The last day of the month that begins on this day."""
    return months_on(first, 1) - timedelta(days=1)


def days_there(month: MonthTaken, opening_kg: float, closing_kg: float, today: date) -> int:
    """On how many days of a month there was any of it.

    Args:
        opening_kg, closing_kg: what was there when the month began and ended (or today).
    Example:
        >>> bought = MonthTaken(date(2026, 4, 1), 1, 1, 1, 2, date(2026, 4, 11), date(2026, 4, 20))
        >>> days_there(bought, 0.0, 1.0, date(2026, 6, 1))  # from the 11th to the 30th
        20
    """
    if opening_kg <= 0 and month.put_kg <= 0:
        return 0
    end = min(month_end(month.first), today)
    first = month.first if opening_kg > 0 else month.first_day
    last = end if closing_kg > 0 else month.last_day
    return max((last - first).days + 1, 0)


def rate_of(on_hand_kg: float, months: Sequence[MonthTaken], today: date) -> Rate | None:
    """How fast a food was taken out on the days on which there was any; None: not known yet.

    Args:
        on_hand_kg: what is there now. months: one for each month, oldest first, without gaps up to
            the present one.
    Returns:
        The rate over all these months. Its range takes in the rate of the last three months too,
        and widens both by the scatter of a sum of takings at random times, the root of the sum of
        their squares.
    Validity: needs four weeks and one taking; a household that changes its ways makes it wrong.
    Source: the standard error of a compound Poisson sum; taking it as the range is our judgement.
    Example:
        >>> month = MonthTaken(date(2026, 6, 1), 3, 3, 3, 0, date(2026, 6, 3), date(2026, 6, 20))
        >>> rate = rate_of(2.0, [month], date(2026, 6, 30))  # 3 kg in 30 days, by three takings
        >>> rate.central, round(rate.low, 3), round(rate.high, 3), rate.days
        (0.1, 0.042, 0.158, 30)
    """
    days = _days(on_hand_kg, months, today)
    takings = sum(month.takings for month in months)
    if sum(days) < LEAST_DAYS or not takings:
        return None
    spans = [_span(months, days)]
    if sum(days[-RECENT_MONTHS:]) >= LEAST_DAYS:
        spans.append(_span(months[-RECENT_MONTHS:], days[-RECENT_MONTHS:]))
    central = sum(month.taken_kg for month in months) / sum(days)
    low, high = min(span[0] for span in spans), max(span[1] for span in spans)
    return Rate(low, central, high, sum(days), takings)


def _days(on_hand_kg: float, months: Sequence[MonthTaken], today: date) -> list[int]:
    ends = closings_kg(on_hand_kg, months)
    begins = [before_kg(ends[0], months[0]), *ends[:-1]] if months else []
    return [
        days_there(month, opening, closing, today)
        for month, opening, closing in zip(months, begins, ends, strict=True)
    ]


def closings_kg(on_hand_kg: float, months: Sequence[MonthTaken]) -> list[float]:
    """What was there at the end of each month, kg, reckoned back from what is there now."""
    found: list[float] = []
    closing = on_hand_kg
    for month in reversed(months):
        found.append(closing)
        closing = before_kg(closing, month)
    return found[::-1]


def before_kg(closing_kg: float, month: MonthTaken) -> float:
    """What was there when a month began, kg."""
    return _no_dust(closing_kg + month.taken_kg - month.put_kg)


def _no_dust(mass_kg: float) -> float:
    """Sums of floats leave crumbs far below the milligram that the ledger counts."""
    return mass_kg if mass_kg > 5e-7 else 0.0


def _span(months: Sequence[MonthTaken], days: Sequence[int]) -> tuple[float, float]:
    taken = sum(month.taken_kg for month in months)
    scatter = sqrt(sum(month.squares_kg2 for month in months))
    return max(taken - scatter, 0.0) / sum(days), (taken + scatter) / sum(days)


def left_kg(on_hand_kg: float, rate_kg_per_day: float, days: float) -> float:
    """What is left after so many days, kg, if nothing is put in meanwhile; never below 0."""
    return max(on_hand_kg - rate_kg_per_day * days, 0.0)


def outlasting(
    masses_kg: Iterable[float], rate_kg_per_day: float, days: Sequence[int]
) -> list[float]:
    """How much of each lot is still there on a day of its own, if one is eaten after the other.

    Args:
        masses_kg: of the lots in the order in which they are eaten. days: from today to the day
            that is asked about, for each lot.
    Example:
        >>> outlasting([2.0, 3.0], 0.1, [10, 30])  # 1 kg of the first; 2 of 5 kg left, all second
        [1.0, 2.0]
    """
    found, before = [], 0.0
    for mass_kg, ahead in zip(masses_kg, days, strict=True):
        eaten = max(rate_kg_per_day * max(ahead, 0) - before, 0.0)
        found.append(max(mass_kg - eaten, 0.0))
        before += mass_kg
    return found
