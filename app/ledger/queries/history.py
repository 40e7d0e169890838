"""Operations as they were written: who, when, what, and what every gram did."""

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any, TypeVar

from sqlalchemy import CompoundSelect, select
from sqlalchemy.orm import Session

from app.ledger.codes import code_of
from app.ledger.errors import NotFound
from app.ledger.models import (
    Addition,
    CheckDone,
    Checkpoint,
    Entry,
    Hold,
    IncidentLot,
    Loss,
    Lot,
    Operation,
    Package,
    Person,
    Place,
    Reading,
    Release,
    Weighing,
)
from app.ledger.queries.about import NOTHING, About, about
from app.ledger.queries.trace import upstream_of
from app.ledger.stock import stands
from app.ledger.words import OperationKind

_Row = TypeVar("_Row", Weighing, Reading, Checkpoint)


@dataclass(frozen=True, slots=True)
class EntryLine:
    """One line of an operation: mass below 0 was taken, above 0 made."""

    code: str
    name: str
    package: tuple[int, int] | None  # its number, and of how many; None: loose
    place: str
    mass_mg: int


@dataclass(frozen=True, slots=True)
class OperationLine:
    """One operation with all its lines."""

    id: int
    kind: OperationKind
    method: str
    done_on: date
    recorded_at: datetime
    person: str
    note: str
    reverses_id: int | None
    reversed_by: int | None
    entries: tuple[EntryLine, ...]
    additions: tuple[tuple[str, int, str], ...]
    losses: tuple[tuple[str, int, str], ...]
    weighings: tuple[Weighing, ...]
    readings: tuple[Reading, ...]
    checkpoints: tuple[Checkpoint, ...]
    about: About = NOTHING
    reversed_kind: OperationKind | None = None  # what kind of operation it takes back

    @property
    def taken_mg(self) -> int:
        """Mass taken from lots."""
        return -sum(entry.mass_mg for entry in self.entries if entry.mass_mg < 0)

    @property
    def made_mg(self) -> int:
        """Mass of the lots made."""
        return sum(entry.mass_mg for entry in self.entries if entry.mass_mg > 0)

    @property
    def judged(self) -> list[Checkpoint]:
        """What was judged, each finding once however many foods it was of."""
        once: dict[object, Checkpoint] = {}
        for c in self.checkpoints:
            once.setdefault((c.rule, c.rule_version, c.outcome, c.sentence, c.reason), c)
        return list(once.values())


def operations(
    session: Session, *, lot_id: int | None = None, limit: int = 50, before: int | None = None
) -> list[OperationLine]:
    """The newest operations first, all of them or only those that tell of a lot.

    A lot's own are those that moved it, measured it, looked at it or went wrong with it, and the
    holds on it or on anything in it. Of what went wrong with a whole place it is told what was
    judged of this lot, not of all that lay beside it.

    Args:
        limit: how many at most. before: only operations with a lower number, for paging.
    """
    query = select(Operation).order_by(Operation.id.desc()).limit(limit)
    if lot_id is not None:
        own = _telling_of(session, lot_id).subquery()
        of_lot = select(own.c.operation_id)
        query = query.where(Operation.id.in_(of_lot) | Operation.reverses_id.in_(of_lot))
    if before is not None:
        query = query.where(Operation.id < before)
    lines = _lines(session, session.scalars(query).all())
    return lines if lot_id is None else [_of_this_lot(line, lot_id) for line in lines]


def _of_this_lot(line: OperationLine, lot_id: int) -> OperationLine:
    if line.about.incident is None:
        return line
    own = tuple(c for c in line.checkpoints if c.lot_id in (None, lot_id))
    return replace(line, checkpoints=own)


def _telling_of(session: Session, lot_id: int) -> CompoundSelect[Any]:
    keepers = {lot_id} | upstream_of(session, lot_id)
    holds = select(Hold.id).where(Hold.lot_id.in_(keepers))
    return (
        select(Entry.operation_id)
        .where(Entry.lot_id == lot_id)
        .union(
            select(Reading.operation_id).where(Reading.lot_id == lot_id),
            select(IncidentLot.operation_id).where(IncidentLot.lot_id == lot_id),
            select(CheckDone.operation_id).where(CheckDone.lot_id == lot_id),
            select(Hold.operation_id).where(Hold.lot_id.in_(keepers)),
            select(Release.operation_id).where(Release.hold_id.in_(holds)),
        )
    )


def operations_in(session: Session, ids: Collection[int]) -> list[OperationLine]:
    """These operations, by the day they were done and then as they were written."""
    rows = session.scalars(
        select(Operation).where(Operation.id.in_(ids)).order_by(Operation.done_on, Operation.id)
    ).all()
    return _lines(session, rows)


def operation(session: Session, operation_id: int) -> OperationLine:
    """One operation; NotFound when there is none."""
    row = session.get(Operation, operation_id)
    if row is None:
        raise NotFound(str(operation_id))
    return _lines(session, [row])[0]


def newest_operation(session: Session) -> int | None:
    """The number of the newest operation that was not taken back, for the undo button."""
    return session.scalar(
        select(Operation.id)
        .where(Operation.kind != OperationKind.CORRECT, stands(Operation.id))
        .order_by(Operation.id.desc())
        .limit(1)
    )


def _lines(session: Session, rows: Sequence[Operation]) -> list[OperationLine]:
    ids = [row.id for row in rows]
    people = {person.id: person.name for person in session.scalars(select(Person))}
    reversals = {
        target: number
        for number, target in session.execute(
            select(Operation.id, Operation.reverses_id).where(Operation.reverses_id.in_(ids))
        )
    }
    kinds = _kinds(session, [row.reverses_id for row in rows if row.reverses_id])
    entries = _entries(session, ids)
    additions, losses = _amounts(session, Addition, ids), _amounts(session, Loss, ids)
    weighings, readings = _rows(session, Weighing, ids), _rows(session, Reading, ids)
    checkpoints = _rows(session, Checkpoint, ids)
    told = about(session, ids)
    return [
        OperationLine(
            id=row.id,
            kind=OperationKind(row.kind),
            method=row.method,
            done_on=row.done_on,
            recorded_at=row.recorded_at,
            person=people.get(row.person_id or 0, ""),
            note=row.note,
            reverses_id=row.reverses_id,
            reversed_by=reversals.get(row.id),
            entries=tuple(entries.get(row.id, ())),
            additions=tuple(additions[row.id]),
            losses=tuple(losses[row.id]),
            weighings=tuple(weighings[row.id]),
            readings=tuple(readings[row.id]),
            checkpoints=tuple(checkpoints[row.id]),
            about=told.get(row.id, NOTHING),
            reversed_kind=kinds.get(row.reverses_id or 0),
        )
        for row in rows
    ]


def _kinds(session: Session, ids: Collection[int]) -> dict[int, OperationKind]:
    rows = session.execute(select(Operation.id, Operation.kind).where(Operation.id.in_(ids)))
    return {number: OperationKind(kind) for number, kind in rows}


def _entries(session: Session, ids: Sequence[int]) -> dict[int, list[EntryLine]]:
    rows = session.execute(
        select(
            Entry.operation_id,
            Entry.lot_id,
            Entry.mass_mg,
            Lot.name,
            Place.name.label("place"),
            Package.number,
            Package.of_count,
        )
        .join(Lot, Lot.id == Entry.lot_id)
        .join(Place, Place.id == Entry.place_id)
        .outerjoin(Package, Package.id == Entry.package_id)
        .where(Entry.operation_id.in_(ids))
        .order_by(Entry.mass_mg < 0, Entry.id)
    ).all()
    lines: dict[int, list[EntryLine]] = {}
    for row in rows:
        package = (row.number, row.of_count) if row.number else None
        lines.setdefault(row.operation_id, []).append(
            EntryLine(code_of(row.lot_id), row.name, package, row.place, row.mass_mg)
        )
    return lines


def _amounts(
    session: Session, table: type[Addition] | type[Loss], ids: Sequence[int]
) -> dict[int, list[tuple[str, int, str]]]:
    rows = session.execute(
        select(table.operation_id, table.kind, table.mass_mg, table.words).where(
            table.operation_id.in_(ids)
        )
    )
    found: dict[int, list[tuple[str, int, str]]] = defaultdict(list)
    for number, kind, mass_mg, words in rows:
        found[number].append((kind, mass_mg, words))
    return found


def _rows(session: Session, table: type[_Row], ids: Sequence[int]) -> dict[int, list[_Row]]:
    found: dict[int, list[_Row]] = defaultdict(list)
    for row in session.scalars(select(table).where(table.operation_id.in_(ids)).order_by(table.id)):
        found[row.operation_id].append(row)
    return found
