"""What is due to be looked at, and what comes due: worked out from the ledger, never stored."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from functools import cache
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from sqlalchemy import (
    ColumnElement,
    ScalarSelect,
    Select,
    Text,
    and_,
    case,
    exists,
    func,
    or_,
    select,
    type_coerce,
)
from sqlalchemy.orm import Session, aliased

from app.ledger.bulk import read_rows
from app.ledger.calendar import zone_of
from app.ledger.codes import code_of
from app.ledger.holds import active_holds, held_lots
from app.ledger.models import (
    CheckDone,
    Entry,
    Lot,
    LotTreatment,
    Operation,
    Package,
    Packaging,
    Place,
    PlaceReading,
    Stock,
    TrayWeighing,
)
from app.ledger.runs import TrayState, open_runs, trays_of
from app.ledger.stock import stands
from app.ledger.types import day_of, is_set
from app.ledger.words import CheckKind, HoldCause, PlaceKind
from app.science.classes import DRIED
from app.science.dryness import Verdict
from app.science.packaging import PackagingKind
from app.science.safety.checks import (
    LOOK_FIRST_DAYS,
    RESULT_DAYS,
    THERMOMETER_DAYS,
    TRAY_UNKNOWN_HOURS,
    YEARLY_DAYS,
)

SEAL_DAYS = 1  # packing is dated by the day: the day after it is the first that is 24 hours on


class DueKind(StrEnum):
    """What comes due, the more pressing first."""

    HOLD = "hold"  # somebody has to look at it
    TRAY = "tray"
    THERMOMETER = "thermometer"
    RESULT = "result"
    SEAL = "seal"
    LOOK = "look"


@dataclass(frozen=True, slots=True)
class Due:
    """One look: at what, counted from which day, and on which day of the household it is due."""

    kind: DueKind
    number: int  # row number of the lot, place, run or hold it is about
    subject: str
    since: date
    due_on: date
    is_due: bool
    is_overdue: bool
    code: str | None = None  # of the lot
    place: str | None = None  # where all of it lies, if in one place
    place_kind: PlaceKind | None = None
    pack_count: int = 0
    trays: tuple[int, ...] = ()
    due_at: datetime | None = None  # where hours count
    last_c: float | None = None  # the last temperature read
    words: str = ""  # what was said of a hold

    @property
    def key(self) -> str:
        """The same text for the same look, before and after it is taken."""
        return f"{self.kind}-{self.number}"


def due(session: Session, now: datetime) -> list[Due]:
    """What is due at an instant: by kind, the longest overdue first, of seals the freshest."""
    return pressing_first(_expected(session, now, only_due=True))


def pressing_first(items: Iterable[Due]) -> list[Due]:
    """Those of some looks that are due, in the order in which they should be taken."""
    order = list(DueKind)
    return sorted(
        (item for item in items if item.is_due),
        key=lambda x: (order.index(x.kind), _age(x), x.number),
    )


def _age(item: Due) -> int:
    """A seal packed yesterday can still be put right; one that is months old waits."""
    day = item.due_on.toordinal()
    return -day if item.kind is DueKind.SEAL else day


def coming(session: Session, now: datetime, days: int) -> list[Due]:
    """What comes due within so many days of the household's calendar, the soonest first."""
    last = now.astimezone(zone_of(session)).date() + timedelta(days=days)
    return [x for x in expected(session, now) if not x.is_due and x.due_on <= last]


def expected(session: Session, now: datetime) -> list[Due]:
    """Every look that is due or will be, the earliest first; entries taken back count for nothing.

    One SELECT for each kind, however much is on hand; only trays that were weighed back in a
    running dryer are judged one by one.
    """
    return _expected(session, now, only_due=False)


def _expected(session: Session, now: datetime, *, only_due: bool) -> list[Due]:
    """As `expected`; only_due: packs that are to be looked at later may be left out."""
    zone = zone_of(session)
    asked = _Asked(now, zone, now.astimezone(zone).date(), only_due)
    found = [
        *_packs(session, asked),
        *_thermometers(session, asked),
        *_trays(session, asked),
        *_holds(session, asked),
    ]
    order = list(DueKind)
    return sorted(found, key=lambda item: (item.due_on, order.index(item.kind), item.number))


def weigh_again_at(state: TrayState) -> datetime | None:
    """When the next weighing of a tray will tell something; None before the first and when dry."""
    if not state.weighings:
        return None
    hours = TRAY_UNKNOWN_HOURS.value
    if state.dryness is not None:
        if state.dryness.verdict is Verdict.DRY:
            return None
        hours = state.dryness.next_weighing_hours or hours
    last: datetime = state.weighings[-1].weighed_at
    return last + timedelta(hours=hours)


@dataclass(frozen=True, slots=True)
class _Asked:
    """The instant that was asked about, in the household's zone."""

    now: datetime
    zone: ZoneInfo
    today: date
    only_due: bool

    def item(
        self, kind: DueKind, number: int, subject: str, since: date, days: float, **more: Any
    ) -> Due:
        """A look so many days after a day, or at an instant (`due_at`) of its own."""
        at: datetime | None = more.get("due_at")
        due_on = since + timedelta(days=days) if at is None else at.astimezone(self.zone).date()
        is_due = due_on <= self.today if at is None else at <= self.now
        overdue = due_on < self.today
        return Due(kind, number, subject, since, due_on, is_due, overdue, **more)


# -- packs ---------------------------------------------------------------------------------------


class _Packs(NamedTuple):
    """The unopened packs of one lot: when packed, where, how sealed, when last looked at."""

    lot_id: int
    name: str
    packed_on: str
    pack_count: int
    is_sealed: int
    first_place: str
    last_place: str
    is_dried: int
    seal_looked: str | None
    year_looked: str | None


def _packs(session: Session, asked: _Asked) -> Iterable[Due]:
    """The seals a day after packing, and dried food a year after packing or its last look."""
    for row in read_rows(session, _packs_on_hand(), {}):
        packs = _Packs._make(row)
        for kind, since, days in _looks_at(packs, asked.today):
            if asked.only_due and since + timedelta(days=days) > asked.today:
                continue  # a big pantry is mostly that: what nobody asks for is not put in words
            is_together = packs.first_place == packs.last_place
            yield asked.item(
                kind,
                packs.lot_id,
                packs.name,
                since,
                days,
                code=code_of(packs.lot_id),
                place=packs.first_place if is_together else None,
                pack_count=packs.pack_count,
            )


def _looks_at(packs: _Packs, today: date) -> Iterable[tuple[DueKind, date, float]]:
    """The looks that some packs want: of which kind, counted from which day, after how many."""
    packed_on = day_of(packs.packed_on)
    looks = [day for day in (packs.seal_looked, packs.year_looked) if day is not None]
    was_seen = any(day >= packs.packed_on for day in looks)
    a_year = YEARLY_DAYS.value
    if packs.is_sealed and not was_seen and today < packed_on + timedelta(days=a_year):
        yield DueKind.SEAL, packed_on, SEAL_DAYS
    if packs.is_dried:
        since = max(packs.packed_on, packs.year_looked or packs.packed_on)
        yield DueKind.LOOK, day_of(since), a_year


@cache  # putting it together takes as long as asking it
def _packs_on_hand() -> Select[*tuple[Any, ...]]:
    """The columns of `_Packs`, as they are stored, of all lots on hand."""
    dried = exists().where(LotTreatment.lot_id == Lot.id, LotTreatment.treatment.in_(DRIED))
    return (
        select(
            Stock.lot_id,
            Lot.name,
            type_coerce(func.max(Package.packed_on), Text),
            func.count(),
            func.max(case((_is_sealed(), 1), else_=0)),
            func.min(Place.name),
            func.max(Place.name),
            case((dried, 1), else_=0),
            type_coerce(_last_look(CheckKind.SEAL), Text),
            type_coerce(_last_look(CheckKind.LOOK), Text),
        )
        .select_from(Stock)
        .join(Package, Package.id == Stock.package_id)
        .join(Packaging, Packaging.id == Package.packaging_id)
        .join(Lot, Lot.id == Stock.lot_id)
        .join(Place, Place.id == Stock.place_id)
        .where(Stock.opened_on.is_(None))
        .group_by(Stock.lot_id, Lot.id)
    )


def _is_sealed() -> ColumnElement[bool]:
    """Packs of which a look can tell whether they held: drawn tight, or a lid that is down."""
    return or_(
        Package.absorber_id.is_not(None),
        Package.pressure_fraction < 1.0,
        and_(Packaging.kind == PackagingKind.GLASS_JAR, is_set(Package.seal_checked)),
    )


def _last_look(kind: CheckKind) -> ScalarSelect[date]:
    """The day of the newest look of a kind at a lot, unless it was taken back."""
    posted = aliased(Operation)
    return (
        select(func.max(posted.done_on))
        .join(CheckDone, CheckDone.operation_id == posted.id)
        .where(
            CheckDone.lot_id == Stock.lot_id,
            CheckDone.kind == kind,
            stands(CheckDone.operation_id),
        )
        .correlate(Stock)
        .scalar_subquery()
    )


# -- freezers and refrigerators ------------------------------------------------------------------


def _thermometers(session: Session, asked: _Asked) -> Iterable[Due]:
    """The cold places that hold food, a week after a person or a logger read them."""
    for row in session.execute(_cold_places()):
        seen = row.at.astimezone(asked.zone).date() if row.at else row.used_since
        yield asked.item(
            DueKind.THERMOMETER,
            row.id,
            row.name,
            seen,
            THERMOMETER_DAYS.value,
            place=row.name,
            place_kind=PlaceKind(row.kind),
            last_c=row.temp_c,
        )


@cache
def _cold_places() -> Select[*tuple[Any, ...]]:
    newest = (
        select(PlaceReading.id)
        .where(PlaceReading.place_id == Place.id, stands(PlaceReading.operation_id))
        .order_by(PlaceReading.at.desc(), PlaceReading.id.desc())
        .limit(1)
        .correlate(Place)
        .scalar_subquery()
    )
    first = (
        select(func.min(Entry.id))
        .where(Entry.place_id == Place.id)
        .correlate(Place)
        .scalar_subquery()
    )
    reading, entry, used = aliased(PlaceReading), aliased(Entry), aliased(Operation)
    return (
        select(
            Place.id,
            Place.name,
            Place.kind,
            reading.at,
            reading.temp_c,
            used.done_on.label("used_since"),
        )
        .select_from(Place)
        .join(entry, entry.id == first)
        .join(used, used.id == entry.operation_id)
        .outerjoin(reading, reading.id == newest)
        .where(
            Place.kind.in_((PlaceKind.FREEZER, PlaceKind.FRIDGE)),
            exists().where(Stock.place_id == Place.id),
        )
    )


# -- trays ---------------------------------------------------------------------------------------


def _trays(session: Session, asked: _Asked) -> Iterable[Due]:
    """The dryers at work of which a tray was weighed back and is to be weighed again."""
    runs = open_runs(session)
    weighed = set(
        session.scalars(
            select(TrayWeighing.run_id)
            .where(TrayWeighing.run_id.in_([run.id for run in runs]))
            .distinct()
        )
        if runs
        else ()
    )
    for run in runs:
        if run.id not in weighed:
            continue
        place = session.get_one(Place, run.place_id)
        times = {s.tray.number: weigh_again_at(s) for s in trays_of(session, run)}
        soonest = min((at for at in times.values() if at is not None), default=None)
        if soonest is None:
            continue
        by = max(soonest, asked.now)  # what is due by then is weighed in one go
        yield asked.item(
            DueKind.TRAY,
            run.id,
            place.name,
            run.started_at.astimezone(asked.zone).date(),
            0,
            place=place.name,
            due_at=soonest,
            trays=tuple(number for number, at in times.items() if at is not None and at <= by),
        )


# -- holds ---------------------------------------------------------------------------------------


def _holds(session: Session, asked: _Asked) -> Iterable[Due]:
    """The results that are awaited, and what somebody has to look at as long as any is left."""
    holds = active_holds(session)
    left: set[int] = set()
    if any(hold.cause is HoldCause.LOOK_FIRST for hold in holds):
        left = _holds_with_food(session)
    found = {hold.lot_id for hold in holds if hold.cause is HoldCause.TEST_POSITIVE}
    for hold in holds:
        more = {"code": hold.code, "words": hold.words}
        if hold.cause is HoldCause.TEST_AWAITED and hold.lot_id not in found:
            yield asked.item(
                DueKind.RESULT, hold.id, hold.name, hold.since, RESULT_DAYS.value, **more
            )
        elif hold.cause is HoldCause.LOOK_FIRST and hold.id in left:
            yield asked.item(
                DueKind.HOLD, hold.id, hold.name, hold.since, LOOK_FIRST_DAYS.value, **more
            )


def _holds_with_food(session: Session) -> set[int]:
    on_hand = set(session.scalars(select(Stock.lot_id).distinct()))
    held = held_lots(session)
    return {hold.id for lot_id, holds in held.items() if lot_id in on_hand for hold in holds}
