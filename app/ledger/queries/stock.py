"""What is on hand, as lines for lists: a lot (or its packages) at one place, with its window."""

import json
from collections.abc import Mapping, Sequence
from datetime import date
from functools import cache, lru_cache
from operator import itemgetter
from typing import Any, NamedTuple, TypeAlias

from sqlalchemy import ColumnElement, Select, Text, bindparam, func, select, type_coerce
from sqlalchemy.orm import Session

from app.ledger.bulk import read_rows, table_of
from app.ledger.codes import code_of
from app.ledger.holds import ActiveHold, held_lots, holds_over
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
from app.ledger.types import Whole, day_of
from app.ledger.windows import is_this_model
from app.ledger.words import Mark, OperationKind, PlaceKind
from app.science.classes import DRIED, FoodClass, Form, Treatment

IN_DRYER = "in_dryer"


class WindowDates(NamedTuple):
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


class StockLine(NamedTuple):
    """One line of a list. With packages, mass is their sum and the window is the earliest."""

    lot_id: int
    place_id: int
    units: tuple[tuple[int, int | None], ...]  # place, package (None: loose) of each row of stock
    name: str
    is_raw: bool
    made_on: date
    food_class: FoodClass
    form: Form
    treatments: frozenset[Treatment]
    marks: frozenset[Mark]
    made_by: OperationKind
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
    is_outdated: bool  # the window comes from an older model and is being worked out anew
    holds: tuple[ActiveHold, ...]  # of its own or of something in it

    @property
    def code(self) -> str:
        """The code of the lot."""
        return code_of(self.lot_id)

    @property
    def is_dried(self) -> bool:
        """Has it been through a dryer?"""
        return bool(self.treatments & DRIED)

    @property
    def refs(self) -> tuple[StockRef, ...]:
        """The rows of stock behind the line, in the order of package numbers."""
        return tuple(StockRef(self.lot_id, *unit) for unit in self.units)

    @property
    def ref(self) -> StockRef:
        """The one row of stock behind the line, or the first of its packages."""
        return StockRef(self.lot_id, *self.units[0])


# A row of stock with its package and its window, days as they are stored, is a plain tuple, taken
# apart where it is used: a list of a thousand lines pays for every name.
_Kept: TypeAlias = tuple[Any, ...]
_LOT, _PACKAGE, _PLACE, _MASS, _OPENED, _NUMBER = range(6)
_START, _CENTRAL, _PAYLOAD = 8, 10, 13
_IN_ORDER = itemgetter(_LOT, _PLACE, _NUMBER)


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
    query, lot_query = _queries(lot_id is not None, place_id is not None)
    asked = {"lot": lot_id, "place": place_id}
    rows = sorted(read_rows(session, query, asked), key=_IN_ORDER)
    if not rows:
        return []
    groups: dict[tuple[int, int, int | None], list[_Kept]] = {}
    for row in rows:
        alone = one_by_one or row[_PACKAGE] is None or row[_OPENED] is not None
        key = (row[_LOT], row[_PLACE], row[_PACKAGE] if alone else 0)
        groups.setdefault(key, []).append(row)
    lots = {row[0]: _of(*row[1:]) for row in read_rows(session, lot_query, asked)}
    held = held_lots(session) if lot_id is None else holds_over(session, [lot_id])
    places = {number: _at(*place) for number, *place in read_rows(session, _PLACES, {})}
    packagings: dict[int, str] = dict(read_rows(session, _PACKAGINGS, {}))
    return [
        _line(group, lots[lot], places[place], packagings, held.get(lot, ()))
        for (lot, place, _), group in groups.items()
    ]


def find_line(session: Session, ref: StockRef) -> StockLine | None:
    """The line of exactly one row of stock."""
    for line in stock_lines(session, lot_id=ref.lot_id, one_by_one=True):
        if line.ref == ref:
            return line
    return None


# Straight from the tables: a long list pays for every layer above. What lines share is asked for
# once, and not beside each of them: lots, places, packagings.
_stock, _lot, _operation, _place, _package, _packaging, _estimate = (
    table_of(model).c for model in (Stock, Lot, Operation, Place, Package, Packaging, Estimate)
)
_PLACES = select(_place.id, _place.name, _place.kind)
_PACKAGINGS = select(_packaging.id, _packaging.name)


@cache  # putting them together takes a good part of asking them
def _queries(of_a_lot: bool, at_a_place: bool) -> tuple[Select[Any], Select[Any]]:
    """The rows of stock and their lots: all, or those of the parameters `lot` and `place`."""
    asked = ((_stock.lot_id, "lot", of_a_lot), (_stock.place_id, "place", at_a_place))
    wanted = [column == bindparam(name) for column, name, is_asked in asked if is_asked]
    lots = _lot.id.in_(select(_stock.lot_id).where(*wanted))
    return _query().where(*wanted), _lot_query().where(lots)


def _query() -> Select[*tuple[Any, ...]]:
    """The columns of a row of stock."""
    dates = (_estimate.start, _estimate.early, _estimate.central, _estimate.late)
    return (
        select(
            *(_stock.lot_id, _stock.package_id, _stock.place_id, _stock.mass_mg),
            type_coerce(_stock.opened_on, Text),
            *(func.coalesce(_package.number, 0), _package.of_count, _package.packaging_id),
            *(type_coerce(day, Text) for day in dates),
            *(type_coerce(_estimate.is_capped, Whole), _estimate.payload, _estimate.limit_word),
        )
        .select_from(table_of(Stock))
        .outerjoin(table_of(Package), _package.id == _stock.package_id)
        .outerjoin(table_of(Estimate), _estimate.stock_id == _stock.id)
        .order_by(_stock.lot_id, func.coalesce(_stock.package_id, 0), _stock.place_id)  # an index
    )


def _lot_query() -> Select[*tuple[Any, ...]]:
    """The lots by number with what `_of` takes, as it is stored."""
    treatments, marks = table_of(LotTreatment).c, table_of(LotMark).c
    return select(
        *(_lot.id, _lot.name, type_coerce(_lot.is_raw, Whole)),
        *(type_coerce(_operation.done_on, Text), _lot.food_class, _lot.form),
        _together(treatments.treatment, treatments.lot_id),
        _together(marks.mark, marks.lot_id),
        _operation.kind,
    ).join_from(table_of(Lot), table_of(Operation), _operation.id == _lot.operation_id)


def _together(words: ColumnElement[str], of_lot: ColumnElement[int]) -> ColumnElement[str]:
    """The words of a lot in one column, "" for none."""
    joined = select(func.aggregate_strings(words, " ")).where(of_lot == _lot.id)
    return func.coalesce(joined.correlate(table_of(Lot)).scalar_subquery(), "")


def _at(name: str, kind: str) -> tuple[str, PlaceKind, bool]:
    """What all lines at one place share, and whether no window runs there."""
    return name, PlaceKind(kind), PlaceKind(kind).is_dryer


def _of(  # one argument for each column
    name: str,
    is_raw: int,
    on: str,
    food_class: str,
    form: str,
    treatments: str,
    marks: str,
    by: str,
) -> tuple[Any, ...]:
    """What all lines of one lot share, in the order of `StockLine`."""
    return (name, bool(is_raw), day_of(on), *_sort_of(food_class, form, treatments, marks, by))


@lru_cache(maxsize=1024)  # of the many sorts of food there could be, a household has a few
def _sort_of(
    food_class: str, form: str, treatments: str, marks: str, made_by: str
) -> tuple[FoodClass, Form, frozenset[Treatment], frozenset[Mark], OperationKind]:
    return (
        FoodClass(food_class),
        Form(form),
        frozenset(map(Treatment, treatments.split())),
        frozenset(map(Mark, marks.split())),
        OperationKind(made_by),
    )


def _line(
    rows: Sequence[_Kept],
    of: tuple[Any, ...],
    place: tuple[str, PlaceKind, bool],
    packagings: Mapping[int, str],
    holds: tuple[ActiveHold, ...],
) -> StockLine:
    (lot_id, package_id, place_id, mass_mg, opened_on, number, of_count, packaging_id,
     *dates, payload, limit) = rows[0]  # fmt: skip
    place_name, place_kind, dries = place
    if len(rows) == 1:
        units: tuple[tuple[int, int | None], ...] = ((place_id, package_id),)
    else:
        number = None
        *dates, payload, limit = min(rows, key=_by_end)[_START:]
        mass_mg = sum([row[_MASS] for row in rows])
        units = tuple([(row[_PLACE], row[_PACKAGE]) for row in rows])
    window, model = _window(*dates, payload)
    columns = (
        lot_id,
        place_id,
        units,
        *of,
        place_name,
        place_kind,
        mass_mg,
        0 if package_id is None else len(rows),  # what is loose stands alone
        number or None,
        of_count,
        packagings.get(packaging_id) if packaging_id else None,
        day_of(opened_on) if opened_on else None,
        None if dries else window,
        IN_DRYER if dries else limit,
        _is_outdated(model) if len(rows) == 1 else _is_any_outdated(rows),
        holds,
    )
    return StockLine._make(columns)  # in a third of the time that naming each would take


def _by_end(row: _Kept) -> str:
    """What is used up first stands first; what has no window, last."""
    return row[_CENTRAL] or "~"


@lru_cache(maxsize=4096)  # lots of one day have the same, and the list is asked for often
def _window(
    start: str, early: str | None, central: str, late: str, is_capped: int, payload: str | None
) -> tuple[WindowDates | None, str | None]:
    """The dates of a window, and the version of the model that gave them."""
    if early is None or payload is None:
        return None, _model_of(payload)
    told = json.loads(payload)
    window = WindowDates(
        start=day_of(start),
        early=day_of(early),
        central=day_of(central),
        late=day_of(late),
        is_capped=bool(is_capped),
        is_fixed=told["is_fixed"],
        limit_share=told["limit_share"],
    )
    return window, _model_of(payload)


@lru_cache(maxsize=4096)
def _model_of(payload: str | None) -> str | None:
    """The version of the model that an estimate tells of; None where there is no estimate."""
    return None if payload is None else str(json.loads(payload).get("model", ""))


def _is_outdated(model: str | None) -> bool:
    return model is not None and not is_this_model(model)


def _is_any_outdated(rows: Sequence[_Kept]) -> bool:
    return any(_is_outdated(_model_of(payload)) for payload in {row[_PAYLOAD] for row in rows})
