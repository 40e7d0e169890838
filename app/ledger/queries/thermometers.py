"""What thermometers showed at a place while food lay there: how warm at most, and how many gaps."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from sqlalchemy import Text, and_, func, or_, select, type_coerce
from sqlalchemy.orm import Session

from app.ledger.calendar import zone_of
from app.ledger.models import Entry, Flow, Operation, Place, PlaceReading
from app.ledger.stock import stands
from app.ledger.words import PlaceKind

_LISTED = (PlaceKind.FREEZER, PlaceKind.FRIDGE, PlaceKind.ROOM)


@dataclass(frozen=True, slots=True)
class Lay:
    """Food lay at a place from one day to another; `until` None: it still does."""

    place_id: int
    place: str
    kind: PlaceKind
    since: date
    until: date | None


@dataclass(frozen=True, slots=True)
class Record:
    """The readings of a place in such a time; hours are full hours of readings.

    longest_gap is the longest stretch without any reading, both ends of the time included.
    """

    lay: Lay
    count: int
    low_c: float | None
    high_c: float | None
    highest_at: datetime | None  # to the hour
    longest_gap: timedelta


def records(session: Session, lot_id: int, lots: Iterable[int], at: datetime) -> list[Record]:
    """The record of every freezer, refrigerator and shelf a lot and what is in it lay at.

    Args:
        lot_id: the lot. lots: it and everything upstream. at: the instant of asking, for what
            still lies there.
    Returns:
        One record for each place and unbroken time, in the order of time. What was upstream counts
        until the day it went into the next lot.
    """
    lays = _lays(session, lot_id, set(lots))
    spans = [(lay, *_instants(lay, zone_of(session), at)) for lay in lays]
    hours = _hours(session, [(lay.place_id, begin, end) for lay, begin, end in spans])
    return [_record(lay, begin, end, hours[lay.place_id]) for lay, begin, end in spans]


def taken_on(session: Session, lot_id: int, lots: set[int]) -> dict[int, date]:
    """The last day on which each lot upstream went into the next one on the way to this lot."""
    rows = session.execute(
        select(Flow.source_id, func.max(Operation.done_on))
        .join(Operation, Operation.id == Flow.operation_id)
        .where(Flow.source_id.in_(lots), Flow.result_id.in_(lots), stands(Flow.operation_id))
        .group_by(Flow.source_id)
    )
    return {source: on for source, on in rows if source != lot_id}


def _lays(session: Session, lot_id: int, lots: set[int]) -> list[Lay]:
    ends = taken_on(session, lot_id, lots)
    rows = session.execute(
        select(Entry.lot_id, Place, Operation.done_on, Entry.mass_mg)
        .join(Operation, Operation.id == Entry.operation_id)
        .join(Place, Place.id == Entry.place_id)
        .where(
            Entry.lot_id.in_(lots),
            Place.kind.in_(_LISTED),
            stands(Operation.id),
        )
        .order_by(Operation.done_on, Operation.id, Entry.id)
    ).all()
    moves: dict[tuple[int, int], list[tuple[date, int]]] = defaultdict(list)
    places = {place.id: place for _, place, _, _ in rows}
    for lot, place, on, mass_mg in rows:
        moves[(lot, place.id)].append((on, mass_mg))
    spans: dict[int, list[tuple[date, date | None]]] = defaultdict(list)
    for (lot, place_id), lines in moves.items():
        spans[place_id] += _cut(_present(lines), ends.get(lot))
    lays = [
        Lay(place_id, places[place_id].name, PlaceKind(places[place_id].kind), *span)
        for place_id, found in spans.items()
        for span in _joined(found)
    ]
    return sorted(lays, key=lambda lay: (lay.since, lay.place_id))


def _present(lines: Sequence[tuple[date, int]]) -> list[tuple[date, date | None]]:
    """When any of it was there, from its comings and goings."""
    found: list[tuple[date, date | None]] = []
    there_mg, since = 0, None
    for on, mass_mg in lines:
        there_mg += mass_mg
        if since is None and there_mg > 0:
            since = on
        elif since is not None and there_mg <= 0:
            found.append((since, on))
            since = None
    return found if since is None else [*found, (since, None)]


def _cut(
    spans: Iterable[tuple[date, date | None]], end: date | None
) -> list[tuple[date, date | None]]:
    if end is None:
        return list(spans)
    return [(a, end if b is None else min(b, end)) for a, b in spans if a <= end]


def _joined(spans: Iterable[tuple[date, date | None]]) -> list[tuple[date, date | None]]:
    """Times that touch or overlap as one."""
    joined: list[tuple[date, date | None]] = []
    for since, until in sorted(spans, key=lambda span: (span[0], span[1] or date.max)):
        last = joined[-1] if joined else None
        if last is not None and (last[1] is None or since <= last[1]):
            joined[-1] = (last[0], None if None in (last[1], until) else max(last[1], until))  # type: ignore[type-var]
        else:
            joined.append((since, until))
    return joined


def _instants(lay: Lay, zone: ZoneInfo, at: datetime) -> tuple[datetime, datetime]:
    begin = datetime.combine(lay.since, time(), zone).astimezone(UTC)
    if lay.until is None:
        return begin, at
    return begin, datetime.combine(lay.until + timedelta(days=1), time(), zone).astimezone(UTC)


@dataclass(frozen=True, slots=True)
class _Hour:
    begins: datetime
    count: int
    low_c: float
    high_c: float


def _hours(
    session: Session, spans: Sequence[tuple[int, datetime, datetime]]
) -> Mapping[int, list[_Hour]]:
    """The hours with readings, summed up by the database: a logger writes a hundred a day."""
    found: dict[int, list[_Hour]] = defaultdict(list)
    if not spans:
        return found
    hour = func.substr(type_coerce(PlaceReading.at, Text), 1, 13).label("hour")
    wanted = [
        and_(PlaceReading.place_id == place_id, PlaceReading.at >= begin, PlaceReading.at < end)
        for place_id, begin, end in spans
    ]
    rows = session.execute(
        select(
            PlaceReading.place_id,
            hour,
            func.count(PlaceReading.id),
            func.min(PlaceReading.temp_c),
            func.max(PlaceReading.temp_c),
        )
        .where(or_(*wanted), stands(PlaceReading.operation_id))
        .group_by(PlaceReading.place_id, hour)
        .order_by(PlaceReading.place_id, hour)
    )
    for place_id, text, count, low_c, high_c in rows:
        begins = datetime.fromisoformat(f"{text}:00:00+00:00")
        found[place_id].append(_Hour(begins, count, low_c, high_c))
    return found


def _record(lay: Lay, begin: datetime, end: datetime, hours: Sequence[_Hour]) -> Record:
    floor = begin.replace(minute=0, second=0, microsecond=0)
    inside = [hour for hour in hours if floor <= hour.begins < end]
    marks = [begin, *(hour.begins for hour in inside), max(begin, end)]
    gap = max((after - before for before, after in pairwise(marks)), default=timedelta())
    if not inside:
        return Record(lay, 0, None, None, None, gap)
    warmest = max(inside, key=lambda hour: hour.high_c)
    return Record(
        lay,
        sum(hour.count for hour in inside),
        min(hour.low_c for hour in inside),
        warmest.high_c,
        warmest.begins,
        gap,
    )
