"""What is on hand, as lines for lists: a lot (or its packages) at one place, with its window."""

import json
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from sqlalchemy import Row, Select, func, select
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
    query = _query()
    if lot_id is not None:
        query = query.where(Stock.lot_id == lot_id)
    if place_id is not None:
        query = query.where(Stock.place_id == place_id)
    rows = session.execute(query).all()
    treatments = _treatments(session, {row.lot_id for row in rows})
    held, marks = held_lots(session), _marks(session)
    groups: dict[tuple[object, ...], list[Row[Any]]] = defaultdict(list)
    for row in rows:
        alone = row.package_id is None or one_by_one or row.opened_on is not None
        groups[(row.lot_id, row.place_id, row.package_id if alone else 0)].append(row)
    return [
        replace(
            _line(group, treatments[group[0].lot_id]),
            holds=held.get(group[0].lot_id, ()),
            marks=marks.get(group[0].lot_id, frozenset()),
        )
        for group in groups.values()
    ]


def find_line(session: Session, ref: StockRef) -> StockLine | None:
    """The line of exactly one row of stock."""
    for line in stock_lines(session, lot_id=ref.lot_id, one_by_one=True):
        if line.ref == ref:
            return line
    return None


def _query() -> Select[*tuple[Any, ...]]:
    return (
        select(
            Stock.lot_id,
            Stock.package_id,
            Stock.place_id,
            Stock.mass_mg,
            Stock.opened_on,
            Lot.name,
            Lot.food_class,
            Lot.form,
            Lot.is_raw,
            Operation.kind.label("made_by"),
            Operation.done_on.label("made_on"),
            Place.name.label("place"),
            Place.kind.label("place_kind"),
            Package.number,
            Package.of_count,
            Packaging.name.label("packaging"),
            Estimate.start,
            Estimate.early,
            Estimate.central,
            Estimate.late,
            Estimate.is_capped,
            Estimate.limit_word,
            Estimate.payload,
        )
        .join(Lot, Lot.id == Stock.lot_id)
        .join(Operation, Operation.id == Lot.operation_id)
        .join(Place, Place.id == Stock.place_id)
        .outerjoin(Package, Package.id == Stock.package_id)
        .outerjoin(Packaging, Packaging.id == Package.packaging_id)
        .outerjoin(Estimate, Estimate.stock_id == Stock.id)
        .order_by(Stock.lot_id, Stock.place_id, func.coalesce(Package.number, 0))
    )


def _treatments(session: Session, ids: set[int]) -> dict[int, frozenset[Treatment]]:
    found: dict[int, set[Treatment]] = {lot_id: set() for lot_id in ids}
    rows = session.execute(
        select(LotTreatment.lot_id, LotTreatment.treatment)
        .join(Stock, Stock.lot_id == LotTreatment.lot_id)
        .distinct()
    )
    for lot_id, treatment in rows:
        if lot_id in found:
            found[lot_id].add(Treatment(treatment))
    return {lot_id: frozenset(words) for lot_id, words in found.items()}


def _marks(session: Session) -> dict[int, frozenset[Mark]]:
    """What each lot on hand may carry; few lots do."""
    found: dict[int, set[Mark]] = defaultdict(set)
    rows = session.execute(
        select(LotMark.lot_id, LotMark.mark).join(Stock, Stock.lot_id == LotMark.lot_id).distinct()
    )
    for lot_id, mark in rows:
        found[lot_id].add(Mark(mark))
    return {lot_id: frozenset(marks) for lot_id, marks in found.items()}


def _line(rows: Sequence[Row[Any]], treatments: frozenset[Treatment]) -> StockLine:
    earliest = min(rows, key=lambda row: row.central or date.max)
    row = rows[0]
    packages = [r for r in rows if r.package_id is not None]
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
        made_on=row.made_on,
        place_id=row.place_id,
        place=row.place,
        place_kind=PlaceKind(row.place_kind),
        mass_mg=sum(r.mass_mg for r in rows),
        package_count=len(packages),
        package_number=row.number if len(packages) == 1 else None,
        of_count=row.of_count,
        packaging=row.packaging,
        opened_on=row.opened_on,
        window=_window(earliest),
        limit_word=IN_DRYER if PlaceKind(row.place_kind).is_dryer else earliest.limit_word,
        is_outdated=any(r.payload and not is_of_this_model(json.loads(r.payload)) for r in rows),
    )


def _window(row: Row[Any]) -> WindowDates | None:
    if row.early is None or PlaceKind(row.place_kind).is_dryer:
        return None
    payload = json.loads(row.payload)
    return WindowDates(
        start=row.start,
        early=row.early,
        central=row.central,
        late=row.late,
        is_capped=row.is_capped,
        is_fixed=payload["is_fixed"],
        limit_share=payload["limit_share"],
    )
