"""What is on hand, as lines for lists: a lot (or its packages) at one place, with its window."""

import json
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache, lru_cache
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Select, Text, func, select, type_coerce
from sqlalchemy.orm import Session

from app.ledger.codes import code_of
from app.ledger.holds import ActiveHold, held_lots
from app.ledger.models import (
    Estimate,
    Lot,
    LotMark,
    LotTreatment,
    Operation,
    Package,
    Packaging,
    Place,
    Stock,
)
from app.ledger.stock import StockRef
from app.ledger.types import day_of
from app.ledger.windows import is_of_this_model
from app.ledger.words import Mark, OperationKind, PlaceKind
from app.science.classes import FoodClass, Form, Treatment

IN_DRYER = "in_dryer"


@dataclass(frozen=True, slots=True)
class WindowDates:
    """A storage window as dates, the limit that ends it, and how sure that limit is."""

    start: date
    early: date
    central: date
    late: date
    is_capped: bool
    is_fixed: bool
    limit_share: float

    def share_used(self, today: date) -> float:
        """Share of the central life that has passed; above 1 it is over."""
        life_days = max((self.central - self.start).days, 1)
        return (today - self.start).days / life_days


@dataclass(frozen=True, slots=True)
class StockLine:
    """One line of a list. With packages, mass is their sum and the window is the earliest."""

    refs: tuple[StockRef, ...]
    lot_id: int
    code: str
    name: str
    food_class: FoodClass
    form: Form
    is_raw: bool
    treatments: frozenset[Treatment]
    made_by: OperationKind
    made_on: date
    place_id: int
    place: str
    place_kind: PlaceKind
    mass_mg: int
    package_count: int  # 0: loose
    package_number: int | None  # when the line is a single package
    of_count: int | None
    packaging: str | None
    opened_on: date | None
    window: WindowDates | None
    limit_word: str | None  # the limit, or why there is no window
    is_outdated: bool = False  # the window comes from an older model and is being worked out anew
    holds: tuple[ActiveHold, ...] = ()  # of its own or of something in it
    marks: frozenset[Mark] = frozenset()

    @property
    def is_dried(self) -> bool:
        """Has it been through a dryer?"""
        return bool(self.treatments & {Treatment.DRIED_AIR, Treatment.DRIED_FREEZE})

    @property
    def ref(self) -> StockRef:
        """The one row of stock behind the line, or the first of its packages."""
        return self.refs[0]


class _Kept(NamedTuple):
    """A row of stock with all that its line shows; days as they are stored."""

    lot_id: int
    package_id: int | None
    place_id: int
    mass_mg: int
    opened_on: str | None
    name: str
    food_class: str
    form: str
    is_raw: bool
    made_by: str
    made_on: str
    place: str
    place_kind: str
    number: int | None
    of_count: int | None
    packaging: str | None
    start: str
    early: str | None
    central: str
    late: str
    is_capped: bool
    limit_word: str | None
    payload: str | None


def stock_lines(
    session: Session,
    *,
    lot_id: int | None = None,
    place_id: int | None = None,
    one_by_one: bool = False,
) -> list[StockLine]:
    """Everything on hand, or only one lot's or one place's.

    Args:
        one_by_one: a line for each package; otherwise sealed packages of a lot at one place
            share a line and opened ones stand alone.
    Returns:
        Lines in the order of lots, places and package numbers.
    """
    asked: list[ColumnElement[bool]] = []
    if lot_id is not None:
        asked.append(Stock.lot_id == lot_id)
    if place_id is not None:
        asked.append(Stock.place_id == place_id)
    rows = [_Kept._make(row) for row in session.execute(_query().where(*asked)).all()]
    lots = select(Stock.lot_id).where(*asked)
    treatments, marks = _treatments(session, lots), _marks(session, lots)
    held = held_lots(session)
    groups: dict[tuple[object, ...], list[_Kept]] = defaultdict(list)
    for row in rows:
        alone = row.package_id is None or one_by_one or row.opened_on is not None
        groups[(row.lot_id, row.place_id, row.package_id if alone else 0)].append(row)
    return [
        _line(
            group,
            treatments.get(group[0].lot_id, frozenset()),
            held.get(group[0].lot_id, ()),
            marks.get(group[0].lot_id, frozenset()),
        )
        for group in groups.values()
    ]


def find_line(session: Session, ref: StockRef) -> StockLine | None:
    """The line of exactly one row of stock."""
    for line in stock_lines(session, lot_id=ref.lot_id, one_by_one=True):
        if line.ref == ref:
            return line
    return None


@cache  # putting it together takes a good part of asking it
def _query() -> Select[*tuple[Any, ...]]:
    """The columns of `_Kept`, straight from the tables: a long list pays for every layer above."""
    stock, lot, operation, place, package, packaging, estimate = (
        table.__table__.c for table in (Stock, Lot, Operation, Place, Package, Packaging, Estimate)
    )
    dates = (estimate.start, estimate.early, estimate.central, estimate.late)
    return (
        select(
            *(stock.lot_id, stock.package_id, stock.place_id, stock.mass_mg),
            type_coerce(stock.opened_on, Text),
            *(lot.name, lot.food_class, lot.form, lot.is_raw, operation.kind),
            type_coerce(operation.done_on, Text),
            *(place.name, place.kind, package.number, package.of_count, packaging.name),
            *(type_coerce(day, Text) for day in dates),
            *(estimate.is_capped, estimate.limit_word, estimate.payload),
        )
        .select_from(Stock.__table__)
        .join(Lot.__table__, lot.id == stock.lot_id)
        .join(Operation.__table__, operation.id == lot.operation_id)
        .join(Place.__table__, place.id == stock.place_id)
        .outerjoin(Package.__table__, package.id == stock.package_id)
        .outerjoin(Packaging.__table__, packaging.id == package.packaging_id)
        .outerjoin(Estimate.__table__, estimate.stock_id == stock.id)
        .order_by(stock.lot_id, stock.place_id, func.coalesce(package.number, 0))
    )


def _treatments(session: Session, lots: Select[int]) -> dict[int, frozenset[Treatment]]:
    column = LotTreatment.__table__.c
    rows = (
        select(column.lot_id, func.aggregate_strings(column.treatment, " "))
        .where(column.lot_id.in_(lots))
        .group_by(column.lot_id)
    )
    return {lot_id: _treatments_in(words) for lot_id, words in session.execute(rows).all()}


@lru_cache(maxsize=256)  # of the many sets there could be, a household has a few
def _treatments_in(words: str) -> frozenset[Treatment]:
    return frozenset(map(Treatment, words.split()))


def _marks(session: Session, lots: Select[int]) -> dict[int, frozenset[Mark]]:
    """What each of these lots may carry; few lots do."""
    found: dict[int, list[Mark]] = defaultdict(list)
    column = LotMark.__table__.c
    rows = select(column.lot_id, column.mark).where(column.lot_id.in_(lots))
    for lot_id, mark in session.execute(rows).all():
        found[lot_id].append(Mark(mark))
    return {lot_id: frozenset(marks) for lot_id, marks in found.items()}


def _line(
    rows: Sequence[_Kept],
    treatments: frozenset[Treatment],
    holds: tuple[ActiveHold, ...],
    marks: frozenset[Mark],
) -> StockLine:
    earliest = rows[0] if len(rows) == 1 else min(rows, key=lambda row: row.central or "~")
    row, kind = rows[0], PlaceKind(rows[0].place_kind)
    packages = len(rows) if row.package_id is not None else 0  # what is loose stands alone
    return StockLine(
        refs=tuple(StockRef(r.lot_id, r.place_id, r.package_id) for r in rows),
        lot_id=row.lot_id,
        code=code_of(row.lot_id),
        name=row.name,
        food_class=FoodClass(row.food_class),
        form=Form(row.form),
        is_raw=row.is_raw,
        treatments=treatments,
        made_by=OperationKind(row.made_by),
        made_on=day_of(row.made_on),
        place_id=row.place_id,
        place=row.place,
        place_kind=kind,
        mass_mg=sum(r.mass_mg for r in rows),
        package_count=packages,
        package_number=row.number if packages == 1 else None,
        of_count=row.of_count,
        packaging=row.packaging,
        opened_on=day_of(row.opened_on) if row.opened_on else None,
        window=None if kind.is_dryer else _window(earliest),
        limit_word=IN_DRYER if kind.is_dryer else earliest.limit_word,
        is_outdated=any(r.payload and not is_of_this_model(_told(r.payload)) for r in rows),
        holds=holds,
        marks=marks,
    )


def _window(row: _Kept) -> WindowDates | None:
    if row.early is None or row.payload is None:
        return None
    told = _told(row.payload)
    return WindowDates(
        start=day_of(row.start),
        early=day_of(row.early),
        central=day_of(row.central),
        late=day_of(row.late),
        is_capped=row.is_capped,
        is_fixed=told["is_fixed"],
        limit_share=told["limit_share"],
    )


@lru_cache(maxsize=4096)  # packages of a lot have the same, and the list is asked for often
def _told(payload: str) -> Mapping[str, Any]:
    found: dict[str, Any] = json.loads(payload)
    return found
