"""What is on hand, kept in step with the entries by the one writer, and rebuilt from them."""

import re
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import (
    ColumnElement,
    SQLColumnExpression,
    bindparam,
    delete,
    exists,
    func,
    select,
    update,
)
from sqlalchemy.orm import Session, aliased
from sqlalchemy.orm.util import identity_key

from app.ledger.bulk import table_of, write_rows
from app.ledger.errors import NotFound
from app.ledger.models import Entry, Estimate, IncidentLot, Operation, Package, Stock
from app.ledger.words import IncidentFate, OperationKind

_AT_ONCE = 500  # rows asked for by number in one statement
_ROW_NUMBER = re.compile(r"[0-9]{1,18}")  # as many digits as a row number of the file can have


@dataclass(frozen=True, slots=True)
class StockRef:
    """Which food is meant: a lot at a place, or one package of it."""

    lot_id: int
    place_id: int
    package_id: int | None = None

    def __str__(self) -> str:
        """As it stands in a form: lot-place or lot-place-package."""
        package = f"-{self.package_id}" if self.package_id else ""
        return f"{self.lot_id}-{self.place_id}{package}"

    @classmethod
    def parse(cls, text: str) -> "StockRef":
        """Read what `str` wrote; raises NotFound for anything else."""
        parts = text.split("-")
        if len(parts) not in (2, 3) or not all(_ROW_NUMBER.fullmatch(part) for part in parts):
            raise NotFound(text)
        numbers = [int(part) for part in parts]
        return cls(numbers[0], numbers[1], numbers[2] if len(numbers) == 3 else None)


# Put together once: an operation asks for each of its foods several times.
_STOCK = select(Stock).where(
    Stock.lot_id == bindparam("lot"),
    Stock.place_id == bindparam("place"),
    func.coalesce(Stock.package_id, 0) == bindparam("package"),
)


def find_stock(session: Session, ref: StockRef) -> Stock | None:
    """The row of stock, or None when nothing of it is left there."""
    asked = {"lot": ref.lot_id, "place": ref.place_id, "package": ref.package_id or 0}
    return session.scalar(_STOCK, asked)


class OnHand(NamedTuple):
    """What is left of one food at its place, and the number of its row of stock."""

    stock_id: int
    mass_mg: int


_STOCK_ROWS = table_of(Stock)
_stock = _STOCK_ROWS.c
_ON_HAND = select(
    _stock.lot_id, _stock.place_id, _stock.package_id, _stock.id, _stock.mass_mg
).where(
    _stock.lot_id.in_(bindparam("lots", expanding=True)),
    _stock.place_id.in_(bindparam("places", expanding=True)),
    func.coalesce(_stock.package_id, 0).in_(bindparam("packages", expanding=True)),
)


def on_hand(session: Session, refs: Iterable[StockRef]) -> dict[StockRef, OnHand]:
    """What is left of each of these foods, in one question for all; without those all gone."""
    wanted = set(refs)
    if not wanted:
        return {}
    rows = session.execute(_ON_HAND, _asked(wanted)).all()
    found = {StockRef(lot, place, package): OnHand(*rest) for lot, place, package, *rest in rows}
    return {ref: found[ref] for ref in wanted & found.keys()}


def _asked(refs: Collection[StockRef]) -> dict[str, list[int]]:
    """Every lot, place and package among these, as parameters; 0 stands for what is loose."""
    return {
        "lots": [*{ref.lot_id for ref in refs}],
        "places": [*{ref.place_id for ref in refs}],
        "packages": [*{ref.package_id or 0 for ref in refs}],
    }


def stock_of(session: Session, lot_ids: Iterable[int]) -> Sequence[Stock]:
    """Every row of stock of these lots."""
    return session.scalars(select(Stock).where(Stock.lot_id.in_(set(lot_ids)))).all()


def kept_at(session: Session, place_ids: Iterable[int]) -> Sequence[int]:
    """The lots on hand that lie or ever lay at one of these places."""
    been = select(Entry.lot_id).where(Entry.place_id.in_(set(place_ids)))
    return session.scalars(select(Stock.lot_id).where(Stock.lot_id.in_(been)).distinct()).all()


def ref_of(row: Stock) -> StockRef:
    """The reference of a row of stock."""
    return StockRef(row.lot_id, row.place_id, row.package_id)


_REVERSAL, _ITSELF = aliased(Operation), aliased(Operation)


def stands(operation_id: SQLColumnExpression[int]) -> ColumnElement[bool]:
    """Was this operation not taken back, and does it take none back itself?

    Asked row by row of an index, so that the price does not grow with all that was ever reversed.
    """
    takes_back = exists().where(_ITSELF.id == operation_id, _ITSELF.reverses_id.is_not(None))
    return is_kept(operation_id) & ~takes_back


def is_kept(operation_id: SQLColumnExpression[int]) -> ColumnElement[bool]:
    """Was this operation not taken back? Enough for rows that no correction writes, as flows."""
    return ~exists().where(_REVERSAL.reverses_id == operation_id)


class Moved(NamedTuple):
    """Mass that an entry took from a food (below 0) or put to it, mg."""

    ref: StockRef
    mass_mg: int


def apply_entries(
    session: Session, entries: Iterable[Moved], there: Mapping[StockRef, OnHand]
) -> list[Stock]:
    """Move the entries' masses in the stock table; give back the rows that remain.

    Everything is asked and written for all entries at once, past the object mapper; rows that
    somebody holds as objects are told of it.

    Args:
        entries: what was moved. there: what is on hand of some of it, as asked in this transaction.
    """
    change: dict[StockRef, int] = defaultdict(int)
    for ref, mass_mg in entries:
        change[ref] += mass_mg
    before = {**there, **on_hand(session, change.keys() - there.keys())}
    after = {ref: change[ref] + (before[ref].mass_mg if ref in before else 0) for ref in change}
    _remove(session, [row.stock_id for ref, row in before.items() if not after[ref]])
    remaining = {ref: mass_mg for ref, mass_mg in after.items() if mass_mg}
    changed = {before[ref].stock_id: mg for ref, mg in remaining.items() if ref in before}
    _write_masses(session, changed)
    _insert(session, {ref: mg for ref, mg in remaining.items() if ref not in before})
    rows = _rows(session, change, remaining)
    note_openings(session, rows)
    return rows


def _insert(session: Session, masses_mg: Mapping[StockRef, int]) -> None:
    rows = [
        {
            "lot_id": ref.lot_id,
            "place_id": ref.place_id,
            "package_id": ref.package_id,
            "mass_mg": mass_mg,
            "opened_on": None,
        }
        for ref, mass_mg in masses_mg.items()
    ]
    write_rows(session, Stock, rows)


_NEW_MASS = (
    update(_STOCK_ROWS).where(_stock.id == bindparam("row")).values(mass_mg=bindparam("mass"))
)


def _write_masses(session: Session, masses_mg: Mapping[int, int]) -> None:
    if masses_mg:
        session.execute(_NEW_MASS, [{"row": row, "mass": mg} for row, mg in masses_mg.items()])
        for number in masses_mg:
            held = _as_object(session, Stock, number)
            if held is not None:
                session.expire(held)


_OF_PACKAGES = (
    select(Stock)
    .where(
        Stock.lot_id.in_(bindparam("lots", expanding=True)),
        Stock.package_id.in_(bindparam("packages", expanding=True)),
    )
    .order_by(Stock.id)
)
_LOOSE = (
    select(Stock)
    .where(Stock.lot_id.in_(bindparam("lots", expanding=True)), Stock.package_id.is_(None))
    .order_by(Stock.id)
)


def _rows(
    session: Session, touched: Collection[StockRef], remaining: Collection[StockRef]
) -> list[Stock]:
    """What remains, and what else lies of the packages touched: opened with what went on a tray."""
    packed = [ref for ref in touched if ref.package_id is not None]
    loose = {ref for ref in remaining if ref.package_id is None}
    rows = [*session.scalars(_OF_PACKAGES, _asked(packed))] if packed else []
    if loose:
        found = session.scalars(_LOOSE, _asked(loose))
        rows += [row for row in found if ref_of(row) in loose]
    return rows


_NO_WINDOWS = delete(table_of(Estimate)).where(
    table_of(Estimate).c.stock_id.in_(bindparam("rows", expanding=True))
)
_GONE = delete(_STOCK_ROWS).where(_stock.id.in_(bindparam("rows", expanding=True)))


def _remove(session: Session, numbers: Sequence[int]) -> None:
    """Take rows away with their windows: SQLite gives their numbers to the next rows of stock."""
    for some in _portions(numbers):
        session.execute(_NO_WINDOWS, {"rows": some})
        session.execute(_GONE, {"rows": some})
    for number in numbers:
        for held in (_as_object(session, table, number) for table in (Estimate, Stock)):
            if held is not None:
                session.expunge(held)


def _portions(numbers: Sequence[int]) -> Iterator[Sequence[int]]:
    """A statement takes a limited number of parameters."""
    for begin in range(0, len(numbers), _AT_ONCE):
        yield numbers[begin : begin + _AT_ONCE]


def _as_object(session: Session, table: type[Stock] | type[Estimate], number: int) -> Any:
    """The row as an object, if somebody holds it; nothing is asked."""
    return session.identity_map.get(identity_key(table, number))


# What was done to packages: nobody puts food on a tray, or takes a part of it, through a seal.
_OPENINGS = (
    select(Entry.package_id, Operation.done_on)
    .join(Entry, Entry.operation_id == Operation.id)
    .join(Package, Package.id == Entry.package_id)
    .where(Entry.package_id.in_(bindparam("packages", expanding=True)), stands(Operation.id))
    .group_by(Entry.package_id, Operation.id, Operation.done_on, Operation.kind, Package.net_mg)
    .having(
        Operation.kind.in_((OperationKind.OPEN, OperationKind.LOAD))
        | func.sum(Entry.mass_mg).between(1 - Package.net_mg, -1)
    )
)
_FAILURES = select(IncidentLot.package_id, IncidentLot.since).where(
    IncidentLot.package_id.in_(bindparam("packages", expanding=True)),
    IncidentLot.fate == IncidentFate.OPENED,
    stands(IncidentLot.operation_id),
)


def openings_of(session: Session, package_ids: Iterable[int | None]) -> dict[int, date]:
    """The day each package was opened, a part of it was taken or its seal failed: the first.

    What was taken back does not count. Those that are sealed are left out.
    """
    numbers = sorted({number for number in package_ids if number is not None})
    found: dict[int, date] = {}
    for some in _portions(numbers):
        for query in (_OPENINGS, _FAILURES):
            for package_id, day in session.execute(query, {"packages": some}).all():
                if package_id is not None and day is not None:
                    found[package_id] = min(day, found.get(package_id, day))
    return found


def opened_on(session: Session, package_id: int | None) -> date | None:
    """The day one package was opened; None: it is sealed, or no package."""
    return openings_of(session, [package_id]).get(package_id or 0)


def note_openings(session: Session, rows: Iterable[Stock]) -> None:
    """Bring the day of opening of these rows up to date, after a seal failed or that was undone."""
    known = list(rows)
    openings = openings_of(session, [row.package_id for row in known])
    for row in known:
        opened = openings.get(row.package_id or 0)
        if row.opened_on != opened:
            row.opened_on = opened
    session.flush()


_entry, _operation = table_of(Entry).c, table_of(Operation).c
_ARRIVALS = (
    select(_entry.lot_id, _entry.place_id, _entry.package_id, func.min(_operation.done_on))
    .join_from(table_of(Entry), table_of(Operation), _operation.id == _entry.operation_id)
    .where(
        _entry.lot_id.in_(bindparam("lots", expanding=True)),
        _entry.place_id.in_(bindparam("places", expanding=True)),
        _entry.mass_mg > 0,
        stands(_operation.id),
    )
    .group_by(_entry.lot_id, _entry.place_id, _entry.package_id)
)
_PACKED_ARRIVALS = _ARRIVALS.where(_entry.package_id.in_(bindparam("packages", expanding=True)))
_LOOSE_ARRIVALS = _ARRIVALS.where(_entry.package_id.is_(None))


def arrivals_of(session: Session, refs: Iterable[StockRef]) -> dict[StockRef, date]:
    """The day the first of each food came to its place; without those that never did."""
    wanted = set(refs)
    found: dict[StockRef, date] = {}
    packed = {ref for ref in wanted if ref.package_id is not None}
    for query, some in ((_PACKED_ARRIVALS, packed), (_LOOSE_ARRIVALS, wanted - packed)):
        if some:
            rows = session.execute(query, _asked(some)).all()
            found |= {StockRef(lot, place, package): day for lot, place, package, day in rows}
    return {ref: found[ref] for ref in wanted & found.keys()}


def sums_of_entries(session: Session) -> dict[StockRef, int]:
    """What should be on hand by the entries alone."""
    rows = session.execute(
        select(Entry.lot_id, Entry.place_id, Entry.package_id, func.sum(Entry.mass_mg))
        .group_by(Entry.lot_id, Entry.place_id, Entry.package_id)
        .having(func.sum(Entry.mass_mg) != 0)
    ).all()
    return {StockRef(lot, place, package): mass for lot, place, package, mass in rows}


def rebuild(session: Session) -> Sequence[Stock]:
    """Throw the stock table away and make it again from the entries."""
    _remove(session, session.scalars(select(Stock.id)).all())
    _insert(session, sums_of_entries(session))
    rows = session.scalars(select(Stock).order_by(Stock.id)).all()
    note_openings(session, rows)
    return rows
