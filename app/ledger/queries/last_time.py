"""What people did last time with the same kind of food: a start for the next entry, never a weight.

Only the newest entries are looked through, so that a long ledger answers as quickly as a short one;
what lies further back is no habit any more.
"""

from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import ColumnElement, Select, exists, func, select
from sqlalchemy.orm import Session, aliased

from app.ledger.codes import code_of
from app.ledger.models import (
    Entry,
    Lot,
    LotAllergen,
    LotTreatment,
    Operation,
    Package,
    Place,
    Source,
)
from app.ledger.queries.stock import StockLine
from app.ledger.stock import stands
from app.ledger.types import is_set
from app.ledger.words import OperationKind, PlaceKind, Presence, SourceKind
from app.science.classes import DRIED, FoodClass, Form, Treatment
from app.science.packaging import PackagingKind

RECENT_OPERATIONS = 5_000
HABIT_SPANS = (250, 2_000)  # operations, the newest first
HABIT_LENGTH = 5


@dataclass(frozen=True, slots=True)
class LastTime:
    """The last entry of one kind with this kind of food: when, where to, and how."""

    operation_id: int
    on: date
    place_id: int
    place_kind: PlaceKind
    method: str


@dataclass(frozen=True, slots=True)
class LastPacked:
    """What such food was packed in last."""

    on: date
    packaging_id: int
    absorber_id: int | None
    is_pumped_down: bool
    net_mg: int  # of a package, the middle one
    place_id: int
    place_kind: PlaceKind


@dataclass(frozen=True, slots=True)
class LastIntake:
    """Something that was taken in lately, as a start for taking in more of it."""

    lot_id: int
    on: date
    name: str
    food_ndb: str
    form: Form
    is_raw: bool
    treatments: frozenset[Treatment]
    source_kind: SourceKind
    from_whom: str
    wrap: PackagingKind
    place_id: int
    contains: frozenset[str]  # allergens

    @property
    def code(self) -> str:
        """The code of that lot."""
        return code_of(self.lot_id)


def habit(session: Session, line: StockLine) -> list[OperationKind]:
    """The last steps taken with food of this kind in this state, the newest first."""
    found: list[OperationKind] = []
    newer = 0
    for older in HABIT_SPANS:  # common food is found among the newest few
        rows = session.execute(_steps(line, newer, older).limit(HABIT_LENGTH - len(found)))
        found += [OperationKind(kind) for _, kind in rows]
        newer = older
        if len(found) == HABIT_LENGTH:
            break
    return found


def _steps(line: StockLine, newer: int, older: int) -> Select[Any]:
    """Steps with such food among the operations between so many and so many ago."""
    maker = aliased(Operation)
    package = func.coalesce(Entry.package_id, 0)  # plain, it reads all loose food
    return (
        _taken(line.food_class)
        .add_columns(Operation.kind)
        .join(maker, maker.id == Lot.operation_id)
        .where(
            Lot.form == line.form,
            _is_raw(line),
            maker.kind == line.made_by,
            package != 0 if line.package_count else package == 0,
            _is_recent(older),
            ~_is_recent(newer),
        )
        .group_by(Operation.id, Operation.kind)
        .order_by(Operation.id.desc())
    )


def last_time(session: Session, kind: OperationKind, line: StockLine) -> LastTime | None:
    """The newest entry of a kind that took food of this class, cut and dried or not like this."""
    number = session.scalar(
        _taken(line.food_class)
        .where(
            Operation.kind == kind,
            Lot.form == line.form,
            _is_raw(line),
            _was_dried() if line.is_dried else ~_was_dried(),
            _is_recent(RECENT_OPERATIONS),
        )
        .order_by(Operation.id.desc())
        .limit(1)
    )
    if number is None:
        return None
    row = session.execute(
        select(Operation.done_on, Operation.method, Entry.place_id, Place.kind)
        .join(Entry, Entry.operation_id == Operation.id)
        .join(Place, Place.id == Entry.place_id)
        .where(Operation.id == number, Entry.mass_mg > 0)
        .order_by(Entry.id)
        .limit(1)
    ).first()
    if row is None:
        return None
    return LastTime(number, row.done_on, row.place_id, PlaceKind(row.kind), row.method)


def last_packed(session: Session, line: StockLine) -> LastPacked | None:
    """How such food was packed last, and about how much to a package."""
    last = last_time(session, OperationKind.PACK, line)
    if last is None:
        return None
    packs = session.scalars(
        select(Package)
        .join(Entry, Entry.package_id == Package.id)
        .where(Entry.operation_id == last.operation_id, Entry.mass_mg > 0)
        .order_by(Package.net_mg, Package.id)
    ).all()
    if not packs:
        return None
    middle = packs[len(packs) // 2]
    return LastPacked(
        last.on,
        middle.packaging_id,
        middle.absorber_id,
        middle.pressure_fraction < 1.0,
        middle.net_mg,
        last.place_id,
        last.place_kind,
    )


def last_intakes(session: Session, most: int) -> list[LastIntake]:
    """The newest things taken in, each name once."""
    newest = (
        select(Lot.name, func.max(Lot.id).label("lot_id"))
        .join(Operation, Operation.id == Lot.operation_id)
        .where(_is_intake(), _is_recent(RECENT_OPERATIONS))
        .group_by(Lot.name)
        .order_by(func.max(Lot.id).desc())
        .limit(most)
    )
    return [_intake(session, row.lot_id) for row in session.execute(newest).all()]


def last_intake(session: Session, lot_id: int) -> LastIntake | None:
    """One lot that was taken in; None where it came about in another way."""
    known = session.scalar(
        select(Lot.id)
        .join(Operation, Operation.id == Lot.operation_id)
        .where(Lot.id == lot_id, _is_intake())
    )
    return None if known is None else _intake(session, known)


def _intake(session: Session, lot_id: int) -> LastIntake:
    lot, on = session.execute(
        select(Lot, Operation.done_on)
        .join(Operation, Operation.id == Lot.operation_id)
        .where(Lot.id == lot_id)
    ).one()
    source = session.get(Source, lot.source_id) if lot.source_id else None
    place_id = session.scalar(
        select(Entry.place_id)
        .where(Entry.operation_id == lot.operation_id, Entry.lot_id == lot_id, Entry.mass_mg > 0)
        .order_by(Entry.id)
        .limit(1)
    )
    done = session.scalars(select(LotTreatment.treatment).where(LotTreatment.lot_id == lot_id))
    return LastIntake(
        lot_id=lot_id,
        on=on,
        name=lot.name,
        food_ndb=lot.food_ndb or "",
        form=Form(lot.form),
        is_raw=lot.is_raw,
        treatments=frozenset(map(Treatment, done)),
        source_kind=SourceKind(source.kind) if source else SourceKind.UNKNOWN,
        from_whom=source.from_whom if source else "",
        wrap=PackagingKind(lot.wrap),
        place_id=place_id or 0,
        contains=frozenset(
            session.scalars(
                select(LotAllergen.allergen).where(
                    LotAllergen.lot_id == lot_id, LotAllergen.presence == Presence.CONTAINS
                )
            )
        ),
    )


def _taken(food_class: FoodClass) -> Select[Any]:
    """Operations that took loose or packed food of a class, none taken back."""
    return (
        select(Operation.id)
        .join(Entry, Entry.operation_id == Operation.id)
        .join(Lot, Lot.id == Entry.lot_id)
        .where(Entry.mass_mg < 0, Lot.food_class == food_class, stands(Operation.id))
    )


def _is_raw(line: StockLine) -> ColumnElement[bool]:
    return is_set(Lot.is_raw) if line.is_raw else ~is_set(Lot.is_raw)


def _was_dried() -> ColumnElement[bool]:
    return exists().where(LotTreatment.lot_id == Lot.id, LotTreatment.treatment.in_(DRIED))


def _is_intake() -> ColumnElement[bool]:
    return (
        (Operation.kind == OperationKind.INTAKE) & Lot.food_ndb.is_not(None) & stands(Operation.id)
    )


def _is_recent(most: int) -> ColumnElement[bool]:
    """Is it among so many newest operations?"""
    newest = select(func.coalesce(func.max(aliased(Operation).id), 0)).scalar_subquery()
    return Operation.id > newest - most
