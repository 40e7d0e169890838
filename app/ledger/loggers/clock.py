"""From a logger's wall clock to UTC, through the changes of daylight saving.

Where an hour comes twice and the file does not tell which is meant, the reading is taken that makes
the file last longer (our judgement): the earlier one, but the later one where the file ends in it.
"""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from itertools import groupby
from zoneinfo import ZoneInfo

from app.ledger.loggers.cells import Stamp


def elapsed_hours(start_local: datetime, end_local: datetime, zone: str) -> float:
    """Hours really passed between two times on the kitchen clock.

    Args:
        start_local, end_local: wall-clock times without a zone. zone: IANA name.
    Returns:
        Hours; the longest reading where the clock shows a time twice or never. Negative where the
        end lies before the start.
    Source: IANA Time Zone Database, through zoneinfo.
    Example:
        >>> out, back = datetime(2026, 11, 1, 0, 30), datetime(2026, 11, 1, 2, 30)
        >>> elapsed_hours(out, back, "America/New_York")
        3.0
    """
    place = ZoneInfo(zone)
    began = start_local - max(_offsets(start_local, place))
    ended = end_local - min(_offsets(end_local, place))
    return (ended - began) / timedelta(hours=1)


def to_utc(
    stamps: Sequence[Stamp], zone: str, keeps_standard_time: bool | None
) -> tuple[list[datetime], list[int]]:
    """The instants of a file's times, in the order of its rows.

    Args:
        stamps: times as written; an offset written beside one counts. zone: IANA name.
        keeps_standard_time: True for a logger whose clock is never put forward.
    Returns:
        Instants in UTC, and the indices of times that the zone's clocks never showed: those rows
        are read as if the logger had stayed on standard time.
    """
    place = ZoneInfo(zone)
    if keeps_standard_time:
        fixed = {year: standard_offset(year, place) for year in {s.local.year for s in stamps}}
        return [_at(s.local, s.offset, fixed[s.local.year]) for s in stamps], []
    instants: list[datetime] = []
    never: list[int] = []
    pairs = [
        (s, (s.offset, s.offset) if s.offset is not None else _offsets(s.local, place))
        for s in stamps
    ]
    for twice, group in groupby(pairs, key=lambda pair: pair[1][0] > pair[1][1]):
        members = list(group)
        if twice:
            instants += _twice(
                members, len(instants) + len(members) == len(pairs) and bool(instants)
            )
            continue
        for s, (before, after) in members:
            if before < after:
                never.append(len(instants))
            instants.append(_at(s.local, before, before))
    return instants, never


def standard_offset(year: int, place: ZoneInfo) -> timedelta:
    """The smaller of a zone's offsets from UTC in January and in July: its winter time."""
    return min(_offsets(datetime(year, month, 1), place)[0] for month in (1, 7))  # noqa: DTZ001


def spans_change(locals_: Sequence[datetime], zone: str) -> bool:
    """Do the zone's clocks change between the earliest and the latest of these times?"""
    if not locals_:
        return False
    place = ZoneInfo(zone)
    day, last = min(locals_), max(locals_)
    first = _offsets(day, place)
    while day < last:
        if _offsets(day, place) != first:
            return True
        day += timedelta(days=7)
    return _offsets(last, place) != first


def _twice(
    members: Sequence[tuple[Stamp, tuple[timedelta, timedelta]]], ends_file: bool
) -> list[datetime]:
    """Rows in the hour that comes twice; when the clock steps back, the second hour has begun."""
    steps = [i for i in range(1, len(members)) if members[i][0].local <= members[i - 1][0].local]
    second = steps[0] if steps else (0 if ends_file else len(members))
    return [
        _at(s.local, offsets[i >= second], offsets[1]) for i, (s, offsets) in enumerate(members)
    ]


def _offsets(local: datetime, place: ZoneInfo) -> tuple[timedelta, timedelta]:
    """Offset read as the first and as the second time that the clock shows this."""
    aware = local.replace(tzinfo=place, fold=0)
    first, second = aware.utcoffset(), aware.replace(fold=1).utcoffset()
    assert first is not None  # noqa: S101 (a ZoneInfo always knows)
    assert second is not None  # noqa: S101
    return first, second


def _at(local: datetime, offset: timedelta | None, fallback: timedelta) -> datetime:
    return (local - (fallback if offset is None else offset)).replace(tzinfo=UTC)
