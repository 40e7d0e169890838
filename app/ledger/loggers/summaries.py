"""What a place's readings come to: months, and hours above a limit."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby, pairwise
from zoneinfo import ZoneInfo

from app.ledger.loggers.readings import LoggerReading
from app.science.sources import Evidence, Sourced

#: A thermometer read morning and evening still speaks for the time between; longer is not known.
MAX_HOLD_HOURS = Sourced(12.0, "h", Evidence.JUDGEMENT)
#: Between readings further apart than this, growth is not known.
MAX_BRIDGED_HOURS = Sourced(0.5, "h", Evidence.JUDGEMENT)
_HOUR = timedelta(hours=1)

Weighted = tuple[LoggerReading, float]


@dataclass(frozen=True, slots=True)
class MonthSummary:
    """A calendar month of readings by time; low and high are the 10th and 90th percentile."""

    first_day: date  # of the readings, on the household's calendar
    last_day: date
    count: int
    low_c: float
    mean_c: float
    high_c: float
    lowest_c: float
    highest_c: float
    relative_humidity: float | None  # mean, fraction


@dataclass(frozen=True, slots=True)
class Exposure:
    """Hours above a limit; `unknown_hours` are no evidence of having been below it."""

    hours: float
    longest_run_hours: float
    unknown_hours: float


def by_month(readings: Sequence[LoggerReading], zone: str) -> tuple[MonthSummary, ...]:
    """Sum up readings by calendar month.

    A reading holds until the next, at most for MAX_HOLD_HOURS; the rest of a longer gap counts for
    nothing. The last of a run holds as long as the one before it.

    Args:
        readings: in any order. zone: IANA name, whose calendar counts.
    Validity: a percentile is the lowest reading that, with those below it, held for that share of
        the time; MAX_HOLD_HOURS is our judgement.
    """
    place = ZoneInfo(zone)
    ordered = sorted(readings, key=lambda reading: reading.at)
    dated = [
        (reading.at.astimezone(place).date(), (reading, hours))
        for reading, hours in zip(ordered, _holds(ordered), strict=True)
    ]
    months = groupby(dated, key=lambda pair: (pair[0].year, pair[0].month))
    return tuple(_month(list(members)) for _, members in months)


def hours_above(readings: Sequence[LoggerReading], limit_c: float) -> Exposure:
    """How long food was above a limit.

    Between two readings at most half an hour apart the higher one counts. Time between readings
    further apart is unknown, and ends a run; so does a clock that goes back.

    Args:
        readings: in the order of the file. limit_c: °C; a reading at the limit is not above it.
    Validity: speaks only for the time between the first and the last reading.
    """
    hours = longest = run = unknown = 0.0
    for earlier, later in pairwise(readings):
        step = (later.at - earlier.at) / _HOUR
        if not 0.0 <= step <= MAX_BRIDGED_HOURS.value:
            unknown += max(step, 0.0)
            run = 0.0
        elif max(earlier.temp_c, later.temp_c) > limit_c:
            hours += step
            run += step
            longest = max(longest, run)
        else:
            run = 0.0
    return Exposure(hours, longest, unknown)


def _holds(ordered: Sequence[LoggerReading]) -> list[float]:
    """Hours that each reading speaks for."""
    most = MAX_HOLD_HOURS.value
    holds = [min((b.at - a.at) / _HOUR, most) for a, b in pairwise(ordered)]
    return [*holds, holds[-1] if holds else most] if ordered else []


def _month(members: Sequence[tuple[date, Weighted]]) -> MonthSummary:
    weighted = [pair for _, pair in members]
    temps = [(reading.temp_c, hours) for reading, hours in weighted]
    humid = [
        (reading.relative_humidity, hours)
        for reading, hours in weighted
        if reading.relative_humidity is not None
    ]
    return MonthSummary(
        first_day=members[0][0],
        last_day=members[-1][0],
        count=len(members),
        low_c=_percentile(temps, 0.10),
        mean_c=_mean(temps),
        high_c=_percentile(temps, 0.90),
        lowest_c=min(temps)[0],
        highest_c=max(temps)[0],
        relative_humidity=_mean(humid) if humid else None,
    )


def _mean(weighted: Sequence[tuple[float, float]]) -> float:
    total = sum(hours for _, hours in weighted)
    if total <= 0.0:
        return sum(value for value, _ in weighted) / len(weighted)
    return sum(value * hours for value, hours in weighted) / total


def _percentile(weighted: Sequence[tuple[float, float]], share: float) -> float:
    """The lowest value that, with all below it, holds for at least a share of the time."""
    ranked = sorted(weighted)
    wanted = share * sum(hours for _, hours in ranked) * (1.0 - 1e-12)
    passed = 0.0
    for value, hours in ranked:
        passed += hours
        if passed >= wanted and hours > 0.0:
            return value
    return ranked[-1][0]
