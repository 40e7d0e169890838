"""How warm places are and were, and what of it changed the windows of the food that lay there."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from enum import StrEnum
from itertools import zip_longest
from zoneinfo import ZoneInfo

from sqlalchemy import Text, func, select, type_coerce
from sqlalchemy.orm import Session

from app.ledger.calendar import zone_of
from app.ledger.climates import StatedClimate, Stretch, Warmth, climates_of, stretches
from app.ledger.incidents import Excursion, excursions_of
from app.ledger.models import (
    Entry,
    Incident,
    IncidentLot,
    LoggerFile,
    Lot,
    Operation,
    Place,
    PlaceReading,
    Stock,
)
from app.ledger.stock import StockRef, kept_at, stands
from app.ledger.windows import places_of
from app.ledger.words import ClimateBasis, IncidentKind, PlaceKind
from app.science.window import Stay

DAY = timedelta(days=1)
SAME_DAY = 1e-6  # days: two instants that are one


@dataclass(frozen=True, slots=True)
class ClimateNow:
    """How warm a place is at this instant, and the statement that says so."""

    warmth: Warmth
    stated: StatedClimate


@dataclass(frozen=True, slots=True)
class DayRead:
    """The lowest and highest reading of one day (of UTC), °C, and how many there were."""

    on: date
    low_c: float
    high_c: float
    count: int


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """A temperature that somebody read and typed."""

    operation_id: int
    at: datetime
    temp_c: float
    typed: str


@dataclass(frozen=True, slots=True)
class FileLine:
    """A logger's file that was read in."""

    operation_id: int
    name: str
    reading_count: int
    gap_count: int


@dataclass(frozen=True, slots=True)
class Story:
    """How warm a place was from a day on: what was stated, and what was read."""

    start: date
    stretches: tuple[Stretch, ...]
    stated: tuple[StatedClimate, ...]
    days: tuple[DayRead, ...]
    typed: tuple[ReadingLine, ...]  # newest first
    files: tuple[FileLine, ...]  # newest first


@dataclass(frozen=True, slots=True)
class Reach:
    """How many lots on hand a change of a place's climate reaches."""

    here: int
    earlier: int  # they lay here, and lie elsewhere now


class Why(StrEnum):
    """Why a stretch of a lot's keeping begins."""

    CAME = "came"  # it came to this place
    TOLD = "told"  # somebody said how warm it is from then on
    LOGGED = "logged"  # a logger's readings show it
    SEASON = "season"  # the next month of a climate by month
    YEAR = "year"  # from then on the mean of the year stands for the months
    OUT = "out"  # something went wrong
    BACK = "back"  # and was over


@dataclass(frozen=True, slots=True)
class Turn:
    """Why a stretch begins, at which place, and for an excursion its cause and hours."""

    why: Why
    place: str
    kind: PlaceKind
    excursion: Excursion | None = None
    cause: IncidentKind | None = None


@dataclass(frozen=True, slots=True)
class KeptAt:
    """A place where food was kept: from when on, how warm, and every change that was stated."""

    place: str
    kind: PlaceKind
    since: date
    first: StatedClimate
    changes: tuple[tuple[date, StatedClimate], ...]


@dataclass(frozen=True, slots=True)
class Kept:
    """Where one lot or package was kept, oldest first, and what went wrong there."""

    places: tuple[KeptAt, ...]
    excursions: tuple[tuple[Excursion, IncidentKind | None], ...]


def climate_now(session: Session, place: Place, at: datetime) -> ClimateNow:
    """How warm a place is at an instant, and how that is known."""
    return _in_force(climates_of(session, place), at, zone_of(session))


def story_of(session: Session, place: Place, *, today: date, days: int) -> Story:
    """How warm a place was for so many days back, or since the first record of it."""
    zone, stated = zone_of(session), climates_of(session, place)
    start = max(today - timedelta(days=days), _first_record(session, place, stated, today, zone))
    begin = datetime.combine(start, time.min, zone)
    return Story(
        start=start,
        stretches=tuple(stretches(stated, zone, start, today + DAY)),
        stated=tuple(stated),
        days=_days_read(session, place.id, begin),
        typed=typed_readings(session, place.id, since=begin),
        files=_files(session, place.id),
    )


def typed_readings(
    session: Session, place_id: int, *, since: datetime | None = None
) -> tuple[ReadingLine, ...]:
    """What people read at a place and did not take back, newest first."""
    query = (
        select(PlaceReading.operation_id, PlaceReading.at, PlaceReading.temp_c, PlaceReading.typed)
        .where(
            PlaceReading.place_id == place_id,
            PlaceReading.typed != "",
            stands(PlaceReading.operation_id),
        )
        .order_by(PlaceReading.at.desc(), PlaceReading.id.desc())
    )
    if since is not None:
        query = query.where(PlaceReading.at >= since)
    return tuple(ReadingLine(*row) for row in session.execute(query))


def was_read_in(session: Session, sha256: str) -> bool:
    """Is this very file in the ledger already?"""
    query = select(LoggerFile.operation_id).where(
        LoggerFile.sha256 == sha256, stands(LoggerFile.operation_id)
    )
    return session.scalar(query) is not None


def reach_of(session: Session, place_id: int) -> Reach:
    """The lots on hand that lie at a place, and those that lay there before."""
    here = set(session.scalars(select(Stock.lot_id).where(Stock.place_id == place_id)))
    return Reach(len(here), len(set(kept_at(session, [place_id])) - here))


def kept_of(session: Session, ref: StockRef) -> Kept:
    """Where food was kept and how warm, as it is told on the page of its lot."""
    zone, found = zone_of(session), []
    stays = places_of(session, session.get_one(Lot, ref.lot_id), ref)
    for stay, following in zip_longest(stays, stays[1:]):
        kind = PlaceKind(stay.place.kind)
        end = following.on if following else None
        if kind.is_dryer or (end is not None and end <= stay.on):
            continue
        stated = climates_of(session, stay.place)
        begin = datetime.combine(stay.on, time.min, zone)
        changes = [
            (c.since.astimezone(zone).date(), c)
            for c in stated
            if c.since is not None and c.since > begin
        ]
        found.append(
            KeptAt(
                place=stay.place.name,
                kind=kind,
                since=stay.on,
                first=_in_force(stated, begin, zone).stated,
                changes=tuple((on, c) for on, c in changes if end is None or on < end),
            )
        )
    causes = _causes(session, ref)
    excursions = [(e, causes.get((e.since, e.until))) for e in excursions_of(session, ref)]
    return Kept(tuple(found), tuple(excursions))


def turns_of(
    session: Session, ref: StockRef, start: date, history: Sequence[Stay]
) -> list[Turn | None]:
    """Why each stretch of a history begins; None where the ledger does not tell.

    Args:
        start: day 0 of the history. history: as `windows.keeping_of` gives it.
    """
    zone = zone_of(session)
    midnight = datetime.combine(start, time.min, zone)
    begun = _begun(session, ref, midnight, zone)
    excursions, causes = excursions_of(session, ref), _causes(session, ref)
    return [_turn(stay, begun, excursions, causes, midnight) for stay in history]


def _turn(
    stay: Stay,
    begun: Sequence[tuple[float, Turn]],
    excursions: Sequence[Excursion],
    causes: Mapping[tuple[datetime | None, datetime | None], IncidentKind],
    midnight: datetime,
) -> Turn | None:
    earlier = [turn for day, turn in begun if day <= stay.start_day + SAME_DAY]
    here = [turn for day, turn in begun if _is_same(day, stay.start_day)]
    during = [e for e in excursions if _covers(e, midnight, stay.start_day)]
    over = [e for e in excursions if _is_same(_day(e.until, midnight), stay.start_day)]
    if earlier and stay.temp_low_c is None and during:  # an excursion has no range
        at, out = earlier[-1], during[-1]
        return Turn(Why.OUT, at.place, at.kind, out, causes.get((out.since, out.until)))
    if earlier and over and not here:
        return Turn(Why.BACK, earlier[-1].place, earlier[-1].kind, over[-1])
    return here[-1] if here else None


def _begun(
    session: Session, ref: StockRef, midnight: datetime, zone: ZoneInfo
) -> list[tuple[float, Turn]]:
    """Every stretch at a place with its day, as the history counts days."""
    stays = places_of(session, session.get_one(Lot, ref.lot_id), ref)
    found: list[tuple[float, Turn]] = []
    for stay, following in zip_longest(stays, stays[1:]):
        kind, end = PlaceKind(stay.place.kind), following.on if following else None
        if kind.is_dryer or (end is not None and end <= stay.on):
            continue
        stated = climates_of(session, stay.place)
        for number, stretch in enumerate(stretches(stated, zone, stay.on, end)):
            why = Why.CAME if number == 0 else _why(stretch, stated, zone)
            found.append((_day(stretch.since, midnight), Turn(why, stay.place.name, kind)))
    return found


def _why(stretch: Stretch, stated: Sequence[StatedClimate], zone: ZoneInfo) -> Why:
    if any(c.since == stretch.since for c in stated):
        return Why.LOGGED if stretch.basis is ClimateBasis.LOGGED else Why.TOLD
    climate = _in_force(stated, stretch.since, zone).stated
    return Why.SEASON if stretch.warmth == climate.in_month(stretch.since.month) else Why.YEAR


def _day(at: datetime, midnight: datetime) -> float:
    return (at - midnight) / DAY


def _is_same(day: float, other: float) -> bool:
    return abs(day - other) < SAME_DAY


def _covers(excursion: Excursion, midnight: datetime, day: float) -> bool:
    begins, ends = _day(excursion.since, midnight), _day(excursion.until, midnight)
    return begins - SAME_DAY <= day < ends - SAME_DAY


def _in_force(stated: Sequence[StatedClimate], at: datetime, zone: ZoneInfo) -> ClimateNow:
    found = [c for c in stated if c.since is None or c.since <= at][-1]
    return ClimateNow(found.in_month(at.astimezone(zone).month), found)


def _causes(
    session: Session, ref: StockRef
) -> dict[tuple[datetime | None, datetime | None], IncidentKind]:
    rows = session.execute(
        select(Incident.from_at, Incident.to_at, Incident.kind)
        .join(IncidentLot, IncidentLot.operation_id == Incident.operation_id)
        .where(IncidentLot.lot_id == ref.lot_id, stands(Incident.operation_id))
    )
    return {(since, until): IncidentKind(kind) for since, until, kind in rows}


def _first_record(
    session: Session,
    place: Place,
    stated: Iterable[StatedClimate],
    today: date,
    zone: ZoneInfo,
) -> date:
    """The first day of which anything is known: food that came, a reading, a statement."""
    came = session.scalar(
        select(func.min(Operation.done_on))
        .join(Entry, Entry.operation_id == Operation.id)
        .where(Entry.place_id == place.id)
    )
    read = session.scalar(
        select(func.min(PlaceReading.at)).where(PlaceReading.place_id == place.id)
    )
    said = [c.since.astimezone(zone).date() for c in stated if c.since is not None]
    seen = [came] if came else []
    seen += [read.astimezone(zone).date()] if read else []
    return min([today, *seen, *said])


def _days_read(session: Session, place_id: int, since: datetime) -> tuple[DayRead, ...]:
    """One row for each day: a logger reads hundreds of times a day."""
    on = func.substr(type_coerce(PlaceReading.at, Text), 1, 10)  # instants are ISO text in UTC
    rows = session.execute(
        select(on, func.min(PlaceReading.temp_c), func.max(PlaceReading.temp_c), func.count())
        .where(
            PlaceReading.place_id == place_id,
            PlaceReading.at >= since,
            stands(PlaceReading.operation_id),
        )
        .group_by(on)
        .order_by(on)
    )
    return tuple(DayRead(date.fromisoformat(day), low, high, n) for day, low, high, n in rows)


def _files(session: Session, place_id: int) -> tuple[FileLine, ...]:
    rows = session.execute(
        select(
            LoggerFile.operation_id,
            LoggerFile.name,
            LoggerFile.reading_count,
            LoggerFile.gap_count,
        )
        .where(LoggerFile.place_id == place_id, stands(LoggerFile.operation_id))
        .order_by(LoggerFile.operation_id.desc())
    )
    return tuple(FileLine(*row) for row in rows)
