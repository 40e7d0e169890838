"""What operations were about that move no mass: holds, incidents, looks and climates."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.codes import code_of
from app.ledger.models import (
    CheckDone,
    Climate,
    Hold,
    Incident,
    IncidentLot,
    LoggerFile,
    Lot,
    Package,
    Place,
    PlaceReading,
    Release,
)
from app.ledger.words import (
    CheckKind,
    ClimateBasis,
    Finding,
    HoldCause,
    IncidentFate,
    IncidentKind,
    ReleaseCause,
)


@dataclass(frozen=True, slots=True)
class HoldTold:
    """A hold that was put or lifted; `lifted` says why in the second case."""

    lot_id: int
    code: str
    name: str
    cause: HoldCause
    words: str
    lifted: ReleaseCause | None = None


@dataclass(frozen=True, slots=True)
class FateTold:
    """What an incident meant for one lot or package."""

    lot_id: int
    code: str
    name: str
    package: tuple[int, int] | None  # its number, and of how many; None: loose
    fate: IncidentFate
    is_icy: bool | None
    warm_hours: float | None
    temp_c: float | None
    since: date | None


@dataclass(frozen=True, slots=True)
class IncidentTold:
    """Something that went wrong, as it was told."""

    kind: IncidentKind
    place: str
    from_at: datetime | None
    to_at: datetime | None
    temp_c: float | None
    warm_hours: float | None
    fates: tuple[FateTold, ...] = ()


@dataclass(frozen=True, slots=True)
class CheckTold:
    """A look that was taken."""

    kind: CheckKind
    finding: Finding
    code: str  # of a lot, or ""
    name: str
    place: str


@dataclass(frozen=True, slots=True)
class ClimateTold:
    """How warm a place is said to be from an instant on; the span is that of all its months."""

    place: str
    since: datetime
    basis: ClimateBasis
    is_by_month: bool
    temp_low_c: float
    temp_c: float
    temp_high_c: float
    relative_humidity: float


@dataclass(frozen=True, slots=True)
class FileTold:
    """A logger's file that was read in."""

    place: str
    name: str
    reading_count: int
    gap_count: int


@dataclass(frozen=True, slots=True)
class ReadTold:
    """A temperature of a place that somebody read and typed."""

    place: str
    at: datetime
    temp_c: float
    typed: str


@dataclass(frozen=True, slots=True)
class About:
    """Everything one operation says beside its entries."""

    holds: tuple[HoldTold, ...] = ()
    incident: IncidentTold | None = None
    check: CheckTold | None = None
    climates: tuple[ClimateTold, ...] = ()
    file: FileTold | None = None
    read: tuple[ReadTold, ...] = ()


NOTHING = About()


def about(session: Session, ids: Collection[int]) -> dict[int, About]:
    """What each of these operations was about, with one query for each table."""
    holds, incidents, checks = _holds(session, ids), _incidents(session, ids), _checks(session, ids)
    climates, files, read = _climates(session, ids), _files(session, ids), _read(session, ids)
    return {
        number: About(
            holds.get(number, ()),
            incidents.get(number),
            checks.get(number),
            climates.get(number, ()),
            files.get(number),
            read.get(number, ()),
        )
        for number in {*holds, *incidents, *checks, *climates, *files, *read}
    }


def _holds(session: Session, ids: Collection[int]) -> dict[int, tuple[HoldTold, ...]]:
    put = session.execute(
        select(Hold.operation_id, Hold.lot_id, Lot.name, Hold.cause, Hold.words)
        .join(Lot, Lot.id == Hold.lot_id)
        .where(Hold.operation_id.in_(ids))
        .order_by(Hold.id)
    )
    lifted = session.execute(
        select(Release.operation_id, Hold.lot_id, Lot.name, Hold.cause, Hold.words, Release.cause)
        .join(Hold, Hold.id == Release.hold_id)
        .join(Lot, Lot.id == Hold.lot_id)
        .where(Release.operation_id.in_(ids))
        .order_by(Hold.id)
    )
    found: dict[int, tuple[HoldTold, ...]] = defaultdict(tuple)
    for number, lot_id, name, cause, words in put:
        found[number] += (HoldTold(lot_id, code_of(lot_id), name, HoldCause(cause), words),)
    for number, lot_id, name, cause, words, why in lifted:
        told = HoldTold(lot_id, code_of(lot_id), name, HoldCause(cause), words, ReleaseCause(why))
        found[number] += (told,)
    return found


def _incidents(session: Session, ids: Collection[int]) -> dict[int, IncidentTold]:
    rows = session.execute(
        select(Incident, func.coalesce(Place.name, ""))
        .outerjoin(Place, Place.id == Incident.place_id)
        .where(Incident.operation_id.in_(ids))
    ).all()
    fates = _fates(session, ids) if rows else {}
    return {
        told.operation_id: IncidentTold(
            IncidentKind(told.kind),
            place,
            told.from_at,
            told.to_at,
            told.temp_c,
            told.warm_hours,
            fates.get(told.operation_id, ()),
        )
        for told, place in rows
    }


def _fates(session: Session, ids: Collection[int]) -> dict[int, tuple[FateTold, ...]]:
    rows = session.execute(
        select(IncidentLot, Lot.name, Package.number, Package.of_count)
        .join(Lot, Lot.id == IncidentLot.lot_id)
        .outerjoin(Package, Package.id == IncidentLot.package_id)
        .where(IncidentLot.operation_id.in_(ids))
        .order_by(IncidentLot.id)
    )
    found: dict[int, list[FateTold]] = defaultdict(list)
    for line, name, number, of_count in rows:
        found[line.operation_id].append(
            FateTold(
                line.lot_id,
                code_of(line.lot_id),
                name,
                (number, of_count) if number else None,
                IncidentFate(line.fate),
                line.is_icy,
                line.warm_hours,
                line.temp_c,
                line.since,
            )
        )
    return {number: tuple(lines) for number, lines in found.items()}


def _checks(session: Session, ids: Collection[int]) -> dict[int, CheckTold]:
    rows = session.execute(
        select(CheckDone, func.coalesce(Lot.name, ""), func.coalesce(Place.name, ""))
        .outerjoin(Lot, Lot.id == CheckDone.lot_id)
        .outerjoin(Place, Place.id == CheckDone.place_id)
        .where(CheckDone.operation_id.in_(ids))
    )
    return {
        done.operation_id: CheckTold(
            CheckKind(done.kind),
            Finding(done.finding),
            code_of(done.lot_id) if done.lot_id else "",
            name,
            place,
        )
        for done, name, place in rows
    }


def _climates(session: Session, ids: Collection[int]) -> dict[int, tuple[ClimateTold, ...]]:
    rows = session.execute(
        select(
            Climate.operation_id,
            Place.name,
            Climate.since,
            Climate.basis,
            func.count(Climate.id),
            func.min(Climate.temp_low_c),
            func.avg(Climate.temp_c),
            func.max(Climate.temp_high_c),
            func.avg(Climate.relative_humidity),
        )
        .join(Place, Place.id == Climate.place_id)
        .where(Climate.operation_id.in_(ids))
        .group_by(Climate.operation_id, Place.name, Climate.since, Climate.basis)
        .order_by(Climate.operation_id, Climate.since)
    )
    found: dict[int, tuple[ClimateTold, ...]] = defaultdict(tuple)
    for number, place, since, basis, count, low, usual, high, humidity in rows:
        told = ClimateTold(place, since, ClimateBasis(basis), count > 1, low, usual, high, humidity)
        found[number] += (told,)
    return found


def _files(session: Session, ids: Collection[int]) -> dict[int, FileTold]:
    rows = session.execute(
        select(LoggerFile, Place.name)
        .join(Place, Place.id == LoggerFile.place_id)
        .where(LoggerFile.operation_id.in_(ids))
    )
    return {
        file.operation_id: FileTold(place, file.name, file.reading_count, file.gap_count)
        for file, place in rows
    }


def _read(session: Session, ids: Collection[int]) -> dict[int, tuple[ReadTold, ...]]:
    """What was read by hand; a logger's readings are told by their file."""
    rows = session.execute(
        select(
            PlaceReading.operation_id,
            Place.name,
            PlaceReading.at,
            PlaceReading.temp_c,
            PlaceReading.typed,
        )
        .join(Place, Place.id == PlaceReading.place_id)
        .where(PlaceReading.operation_id.in_(ids), PlaceReading.typed != "")
        .order_by(PlaceReading.id)
    )
    found: dict[int, tuple[ReadTold, ...]] = defaultdict(tuple)
    for number, place, at, temp_c, typed in rows:
        found[number] += (ReadTold(place, at, temp_c, typed),)
    return found
