"""How warm a place was, is and is expected to be: what was stated or logged, as stretches."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from sqlalchemy import func, or_, select
from sqlalchemy.orm import Session

from app.ledger.calendar import zone_of
from app.ledger.models import Climate, Place
from app.ledger.stock import stands
from app.ledger.words import ClimateBasis
from app.science.history import mean_kinetic_c

COLDEST_C, HOTTEST_C, HOTTEST_PEAK_C = -40.0, 45.0, 60.0  # what the science takes
MONTHS_IN_FULL = 24  # of a climate by month; beyond them one mean stands for the years


@dataclass(frozen=True, slots=True)
class Warmth:
    """How warm and damp: low, usual and high in °C, relative humidity from 0 to 1."""

    temp_low_c: float
    temp_c: float
    temp_high_c: float
    relative_humidity: float


@dataclass(frozen=True, slots=True)
class Stretch:
    """A place from a local day (and part of it) on; the last one goes on."""

    since: datetime
    warmth: Warmth
    basis: ClimateBasis | None  # None: as told when the place was added


@dataclass(frozen=True, slots=True)
class StatedClimate:
    """What one operation said of a place: one warmth for all the year, or one for each month."""

    operation_id: int | None  # None: as told when the place was added
    since: datetime | None  # None: ever since
    by_month: tuple[Warmth, ...]  # one, or twelve from January on
    basis: ClimateBasis | None

    @property
    def is_by_month(self) -> bool:
        """Does it change with the seasons?"""
        return len(self.by_month) > 1

    @property
    def span_c(self) -> tuple[float, float]:
        """The coldest and the warmest of the year, °C."""
        return min(w.temp_low_c for w in self.by_month), max(w.temp_high_c for w in self.by_month)

    def in_month(self, month: int) -> Warmth:
        """The warmth in a month, 1 to 12."""
        return self.by_month[month - 1] if self.is_by_month else self.by_month[0]

    @property
    def mean(self) -> Warmth:
        """One warmth that ages food about as the year does."""
        return self.by_month[0] if not self.is_by_month else _mean(self.by_month)


def fault_of(warmth: Warmth) -> str | None:
    """What is wrong with a warmth, as a word for the refusal; None when it can be."""
    low, usual, high = warmth.temp_low_c, warmth.temp_c, warmth.temp_high_c
    if not low <= usual <= high:
        return "temperature_order"
    if not (low >= COLDEST_C and usual <= HOTTEST_C and high <= HOTTEST_PEAK_C):
        return "temperature_range"
    return None if 0.0 <= warmth.relative_humidity <= 1.0 else "no_fraction"


def climates_of(session: Session, place: Place) -> list[StatedClimate]:
    """Everything that was said of a place and not taken back, in the order it took effect.

    Of two from the same instant the one written last counts.
    """
    rows = session.scalars(
        select(Climate)
        .where(Climate.place_id == place.id, stands(Climate.operation_id))
        .order_by(Climate.since, Climate.operation_id, Climate.month, Climate.id)
    ).all()
    groups: dict[tuple[datetime, int], list[Climate]] = defaultdict(list)
    for row in rows:
        groups[(row.since, row.operation_id)].append(row)
    by_instant = {since: (operation_id, g) for (since, operation_id), g in groups.items()}
    first = StatedClimate(None, None, (_as_added(place),), None)
    return [first] + [
        StatedClimate(operation_id, since, tuple(map(_warmth, g)), ClimateBasis(g[0].basis))
        for since, (operation_id, g) in by_instant.items()
    ]


def climate_at(session: Session, place: Place, at: datetime) -> StatedClimate:
    """What holds at a place at an instant."""
    return _in_force(climates_of(session, place), at)


def warmth_at(session: Session, place: Place, at: datetime) -> Warmth:
    """How warm a place is at an instant."""
    month = at.astimezone(zone_of(session)).month
    return climate_at(session, place, at).in_month(month)


def warmths_at(session: Session, places: Iterable[Place], at: datetime) -> dict[int, Warmth]:
    """How warm several places are at an instant, by their numbers; one SELECT for all of them."""
    month = at.astimezone(zone_of(session)).month
    found = {place.id: _as_added(place) for place in places}
    newest = (
        select(Climate.place_id.label("place"), func.max(Climate.since).label("since"))
        .where(Climate.since <= at, stands(Climate.operation_id))
        .group_by(Climate.place_id)
        .subquery()
    )
    rows = session.scalars(
        select(Climate)
        .join(newest, (newest.c.place == Climate.place_id) & (newest.c.since == Climate.since))
        .where(
            Climate.place_id.in_(found),
            stands(Climate.operation_id),
            or_(Climate.month.is_(None), Climate.month == month),
        )
        .order_by(Climate.operation_id, Climate.id)
    )
    return found | {row.place_id: _warmth(row) for row in rows}  # of two the one written last


def stretches(
    climates: Sequence[StatedClimate], zone: ZoneInfo, start: date, end: date | None
) -> list[Stretch]:
    """A place from one local day to another (None: for ever), cut where its climate changes.

    A climate by month is followed month by month for two years, then by its mean.
    """
    begin = datetime(start.year, start.month, start.day, tzinfo=zone)
    until = None if end is None else datetime(end.year, end.month, end.day, tzinfo=zone)
    cuts = [c.since.astimezone(zone) for c in climates if c.since is not None and c.since > begin]
    edges = [begin, *(cut for cut in cuts if until is None or cut < until)]
    found: list[Stretch] = []
    for since, following in pairwise([*edges, until]):
        if since is None:
            continue
        stated = _in_force(climates, since)
        found += _seasons(stated, since, following)
    return _joined(found)


def _in_force(climates: Sequence[StatedClimate], at: datetime) -> StatedClimate:
    return [c for c in climates if c.since is None or c.since <= at][-1]


def _seasons(stated: StatedClimate, since: datetime, until: datetime | None) -> Iterable[Stretch]:
    if not stated.is_by_month:
        yield Stretch(since, stated.by_month[0], stated.basis)
        return
    begins = since
    for _ in range(MONTHS_IN_FULL):
        yield Stretch(begins, stated.in_month(begins.month), stated.basis)
        first = begins.replace(day=1, hour=0, minute=0, second=0, microsecond=0)
        begins = (first + timedelta(days=32)).replace(day=1)
        if until is not None and begins >= until:
            return
    yield Stretch(begins, stated.mean, stated.basis)


def _joined(found: Sequence[Stretch]) -> list[Stretch]:
    """Without the cuts at which nothing changes."""
    kept: list[Stretch] = []
    for stretch in found:
        if not kept or kept[-1].warmth != stretch.warmth:
            kept.append(stretch)
    return kept


def _as_added(place: Place) -> Warmth:
    return Warmth(place.temp_low_c, place.temp_c, place.temp_high_c, place.relative_humidity)


def _warmth(row: Climate) -> Warmth:
    return Warmth(row.temp_low_c, row.temp_c, row.temp_high_c, row.relative_humidity)


def _mean(months: Sequence[Warmth]) -> Warmth:
    return Warmth(
        temp_low_c=mean_kinetic_c([w.temp_low_c for w in months]),
        temp_c=mean_kinetic_c([w.temp_c for w in months]),
        temp_high_c=mean_kinetic_c([w.temp_high_c for w in months]),
        relative_humidity=sum(w.relative_humidity for w in months) / len(months),
    )
