"""What was proven of one lot and of all that is in it, and what was not."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import StrEnum

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.codes import code_of
from app.ledger.holds import ActiveHold, holds_on
from app.ledger.makeup import Makeup, makeup_of
from app.ledger.models import (
    CheckDone,
    Checkpoint,
    Entry,
    Flow,
    GameStory,
    Hold,
    IncidentLot,
    Lot,
    LotAllergen,
    LotTreatment,
    Operation,
    Package,
    Reading,
    Release,
)
from app.ledger.queries.allergens import is_fully_known
from app.ledger.queries.history import OperationLine, operations_in
from app.ledger.queries.lot import lot_by_code, marks_on
from app.ledger.queries.thermometers import Record, records, taken_on
from app.ledger.queries.trace import Origin, origins_of, upstream_of
from app.ledger.stock import stands
from app.ledger.words import CheckKind, Mark, OperationKind, PlaceKind, Presence, ReadingKind
from app.science.classes import DRIED, FoodClass, Treatment
from app.science.safety.rule import Outcome

_SHORT_OF_LOTS = (OperationKind.MOVE, OperationKind.OPEN, OperationKind.LOAD)
_NOTES_TELL = (OperationKind.HOLD, OperationKind.RELEASE)  # a result is told by its note
_ALWAYS_TOLD = (OperationKind.COOK, OperationKind.CHILL)


class Lack(StrEnum):
    """What nobody has shown."""

    CENTRE = "centre"  # no reading of the centre of what was cooked
    COOLING = "cooling"  # no reading of the cooling after a cooking
    DRYNESS = "dryness"  # how dry it is was computed, not measured
    SEAL = "seal"  # nobody looked at the seals after packing
    THERMOMETER = "thermometer"  # no reading of a cold place while it lay there
    COOKED = "cooked"  # raw: no cooking met its target


@dataclass(frozen=True, slots=True)
class Unproven:
    """One thing that was not shown, with what it is about."""

    lack: Lack
    operation_id: int | None = None
    on: date | None = None
    record: Record | None = None


@dataclass(frozen=True, slots=True)
class Told:
    """What a hunter told of an animal at intake."""

    code: str
    story: GameStory


@dataclass(frozen=True, slots=True)
class Proof:
    """Everything the page of evidence shows of one lot."""

    lot_id: int
    code: str
    name: str
    is_raw: bool
    treatments: frozenset[Treatment]
    marks: frozenset[Mark]
    contains: tuple[str, ...]
    may_contain: tuple[str, ...]
    allergens_are_known: bool
    harvest: tuple[date, date] | None
    made_on: date
    packages: int
    makeup: Makeup
    origins: tuple[Origin, ...]
    stories: tuple[Told, ...]
    holds: tuple[ActiveHold, ...]
    steps: tuple[OperationLine, ...]
    records: tuple[Record, ...]
    unproven: tuple[Unproven, ...]


def evidence(session: Session, code: str, at: datetime) -> Proof:
    """What stands in the ledger for and against one lot; entries that were taken back do not.

    An upstream lot counts until the day it went into the next one; holds on it always do.
    NotFound when there is no such lot.
    """
    lot = lot_by_code(session, code)
    lots = {lot.id} | upstream_of(session, lot.id)
    rows = session.scalars(select(Lot).where(Lot.id.in_(lots))).all()
    treatments = frozenset(
        Treatment(word)
        for word in session.scalars(
            select(LotTreatment.treatment).where(LotTreatment.lot_id == lot.id)
        )
    )
    lain = records(session, lot.id, lots, at)
    steps = _steps(session, lot.id, rows, lain)
    makeup = makeup_of(session, lot)
    packages = session.scalar(select(func.count(Package.id)).where(Package.lot_id == lot.id)) or 0
    return Proof(
        lot_id=lot.id,
        code=code_of(lot.id),
        name=lot.name,
        is_raw=lot.is_raw,
        treatments=treatments,
        marks=marks_on(session, lot.id),
        contains=_allergens(session, lot.id, Presence.CONTAINS),
        may_contain=_allergens(session, lot.id, Presence.MAY_CONTAIN),
        allergens_are_known=is_fully_known(session, lot.id),
        harvest=(lot.harvest_from, lot.harvest_to) if lot.harvest_from and lot.harvest_to else None,
        made_on=session.get_one(Operation, lot.operation_id).done_on,
        packages=packages,
        makeup=makeup,
        origins=origins_of(session, lot.id),
        stories=_stories(session, lots),
        holds=holds_on(session, lot.id),
        steps=tuple(step for step in steps if _tells(step)),
        records=tuple(lain),
        unproven=(
            *_uncooked(lot),
            *_unread(session, rows, steps),
            *_undry(makeup, treatments),
            *_unsealed(steps, packages),
            *_unwatched(lain),
        ),
    )


def _allergens(session: Session, lot_id: int, presence: Presence) -> tuple[str, ...]:
    query = select(LotAllergen.allergen).where(
        LotAllergen.lot_id == lot_id, LotAllergen.presence == presence
    )
    return tuple(sorted(session.scalars(query)))


def _stories(session: Session, lots: set[int]) -> tuple[Told, ...]:
    rows = session.execute(
        select(Lot.id, GameStory)
        .join(GameStory, GameStory.source_id == Lot.source_id)
        .where(Lot.id.in_(lots))
        .order_by(Lot.id)
    )
    return tuple(Told(code_of(lot_id), story) for lot_id, story in rows)


# -- the steps that bear evidence -----------------------------------------------------------------


def _steps(
    session: Session, lot_id: int, rows: Sequence[Lot], lain: Sequence[Record]
) -> list[OperationLine]:
    """The operations that made these lots or tell of them, each cut to what concerns them."""
    lots = {row.id for row in rows}
    ends = taken_on(session, lot_id, lots)
    ids = {row.operation_id for row in rows} | _of_holds(session, lots) | _warm(session, lain)
    for number, lot, on in _telling(session, lots):
        if lot == lot_id or on <= ends.get(lot, date.max):
            ids.add(number)
    alive = session.scalars(
        select(Operation.id).where(Operation.id.in_(ids), stands(Operation.id))
    ).all()
    return [_cut(step, lots) for step in operations_in(session, alive)]


def _of_holds(session: Session, lots: set[int]) -> set[int]:
    rows = session.execute(
        select(Hold.operation_id, Release.operation_id)
        .outerjoin(Release, Release.hold_id == Hold.id)
        .where(Hold.lot_id.in_(lots))
    )
    return {number for row in rows for number in row if number is not None}


def _warm(session: Session, lain: Sequence[Record]) -> set[int]:
    """Looks at a thermometer that found a place too warm while it lay there."""
    rows = session.execute(
        select(CheckDone.operation_id, CheckDone.place_id, Operation.done_on)
        .join(Operation, Operation.id == CheckDone.operation_id)
        .join(Checkpoint, Checkpoint.operation_id == CheckDone.operation_id)
        .where(
            CheckDone.place_id.in_({record.lay.place_id for record in lain}),
            Checkpoint.outcome.not_in((Outcome.PASS, Outcome.NOTE)),
        )
    )
    return {
        number
        for number, place_id, on in rows
        for lay in (record.lay for record in lain)
        if lay.place_id == place_id and lay.since <= on <= (lay.until or date.max)
    }


def _telling(session: Session, lots: set[int]) -> Iterable[tuple[int, int, date]]:
    """Operation, lot and day of what made no lot of these but tells of one."""
    moved = select(Entry.operation_id, Entry.lot_id).where(
        Entry.lot_id.in_(lots),
        Entry.operation_id.in_(select(Operation.id).where(Operation.kind.in_(_SHORT_OF_LOTS))),
    )
    told = [
        select(table.operation_id, table.lot_id).where(table.lot_id.in_(lots))
        for table in (Reading, CheckDone, IncidentLot, Checkpoint)
    ]
    found = moved.union(*told).subquery()
    rows = session.execute(
        select(found.c.operation_id, found.c.lot_id, Operation.done_on).join(
            Operation, Operation.id == found.c.operation_id
        )
    )
    return [(number, lot, on) for number, lot, on in rows if lot is not None]


def _cut(step: OperationLine, lots: set[int]) -> OperationLine:
    """Only what an operation says of these lots; other notes are no evidence."""
    codes = {code_of(lot) for lot in lots}
    incident = step.about.incident
    if incident is not None:
        fates = tuple(fate for fate in incident.fates if fate.lot_id in lots)
        incident = replace(incident, fates=fates)
    holds = tuple(held for held in step.about.holds if held.lot_id in lots)
    return replace(
        step,
        entries=tuple(e for e in step.entries if e.code in codes),
        readings=tuple(r for r in step.readings if r.lot_id is None or r.lot_id in lots),
        checkpoints=tuple(
            c
            for c in step.checkpoints
            if (c.lot_id is None or c.lot_id in lots)
            and (c.outcome != Outcome.NOTE or step.kind in _NOTES_TELL)
        ),
        about=replace(step.about, incident=incident, holds=holds),
    )


def _tells(step: OperationLine) -> bool:
    about = step.about
    told = about.holds or about.incident or about.check
    return bool(step.kind in _ALWAYS_TOLD or step.checkpoints or step.readings or told)


# -- what was not proven --------------------------------------------------------------------------


def _uncooked(lot: Lot) -> list[Unproven]:
    return [Unproven(Lack.COOKED)] if lot.is_raw else []


def _unread(
    session: Session, rows: Sequence[Lot], steps: Sequence[OperationLine]
) -> list[Unproven]:
    """Cookings without a reading of the centre, and those whose cooling nobody read."""
    made: dict[int, list[Lot]] = defaultdict(list)
    for row in rows:
        made[row.operation_id].append(row)
    later = _made_of(session, {row.id for row in rows})
    operation_of = {row.id: row.operation_id for row in rows}
    cooled = {s.id for s in steps if any(r.kind == ReadingKind.COOLING for r in s.readings)}
    found = []
    for step in steps:
        if step.kind is not OperationKind.COOK:
            continue
        is_animal = any(FoodClass(lot.food_class).is_animal for lot in made[step.id])
        if is_animal and not any(r.kind == ReadingKind.CENTRE for r in step.readings):
            found.append(Unproven(Lack.CENTRE, step.id, step.done_on))
        after = {operation_of[i] for lot in made[step.id] for i in _reached(lot.id, later)}
        if not after & cooled:
            found.append(Unproven(Lack.COOLING, step.id, step.done_on))
    return found


def _made_of(session: Session, lots: set[int]) -> Mapping[int, list[int]]:
    found: dict[int, list[int]] = defaultdict(list)
    rows = session.execute(
        select(Flow.source_id, Flow.result_id).where(
            Flow.source_id.in_(lots), Flow.result_id.in_(lots), stands(Flow.operation_id)
        )
    )
    for source, result in rows:
        found[source].append(result)
    return found


def _reached(lot_id: int, later: Mapping[int, list[int]]) -> set[int]:
    reached: set[int] = set()
    ahead = [lot_id]
    while ahead:
        for result in later.get(ahead.pop(), ()):
            if result not in reached:
                reached.add(result)
                ahead.append(result)
    return reached


def _undry(makeup: Makeup, treatments: frozenset[Treatment]) -> list[Unproven]:
    is_shown = not treatments & DRIED or makeup.water_is_measured
    return [] if is_shown else [Unproven(Lack.DRYNESS)]


def _unsealed(steps: Sequence[OperationLine], packages: int) -> list[Unproven]:
    """Packages whose seals nobody looked at after the day they were closed."""
    looked = any(s.about.check and s.about.check.kind is CheckKind.SEAL for s in steps)
    return [Unproven(Lack.SEAL)] if packages and not looked else []


def _unwatched(lain: Sequence[Record]) -> list[Unproven]:
    return [
        Unproven(Lack.THERMOMETER, record=record)
        for record in lain
        if record.lay.kind is not PlaceKind.ROOM and not record.count
    ]
