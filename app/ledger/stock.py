"""What is on hand, kept in step with the entries by the one writer, and rebuilt from them."""

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import (
    ColumnElement,
    SQLColumnExpression,
    bindparam,
    exists,
    func,
    select,
)
from sqlalchemy.orm import Session, aliased

from app.ledger.errors import NotFound
from app.ledger.models import Entry, Estimate, IncidentLot, Operation, Package, Stock
from app.ledger.words import IncidentFate, OperationKind

_ROW_NUMBER = re.compile(r"[0-9]{1,18}")  # as many digits as a row number of the file can have


@dataclass(frozen=True, slots=True)
class StockRef:
    """Which food is meant: a lot at a place, or one package of it."""

    lot_id: int
    place_id: int
    package_id: int | None = None

    def __str__(self) -> str:
        """As it stands in a form: lot-place or lot-place-package."""
        parts = [self.lot_id, self.place_id, *([self.package_id] if self.package_id else [])]
        return "-".join(str(part) for part in parts)

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


def apply_entries(session: Session, entries: Iterable[Entry]) -> list[Stock]:
    """Move the entries' masses in the stock table; give back the rows that remain."""
    change: dict[StockRef, int] = defaultdict(int)
    for entry in entries:
        change[StockRef(entry.lot_id, entry.place_id, entry.package_id)] += entry.mass_mg
    rows: list[Stock] = []
    for ref, delta_mg in change.items():
        row = find_stock(session, ref)
        mass_mg = (row.mass_mg if row else 0) + delta_mg
        if mass_mg == 0:
            if row is not None:
                _remove(session, row)
            continue
        if row is None:
            row = Stock(lot_id=ref.lot_id, place_id=ref.place_id, package_id=ref.package_id)
            session.add(row)
        row.mass_mg = mass_mg
        rows.append(row)
    session.flush()
    rows += _of_packages(session, {ref.package_id for ref in change}, but=rows)
    note_openings(session, rows)
    return rows


def _of_packages(
    session: Session, package_ids: Iterable[int | None], but: Iterable[Stock]
) -> list[Stock]:
    """Other rows of the same packages: what is left beside what lies on a tray, opened with it."""
    numbers = [number for number in package_ids if number is not None]
    if not numbers:
        return []
    known = {row.id for row in but}
    found = session.scalars(select(Stock).where(Stock.package_id.in_(numbers)).order_by(Stock.id))
    return [row for row in found if row.id not in known]


def _remove(session: Session, row: Stock) -> None:
    """Take a row away with its window: SQLite gives its number to the next row of stock."""
    kept = session.get(Estimate, row.id)
    if kept is not None:
        session.delete(kept)
    session.delete(row)


# What was done to a package: nobody puts food on a tray, or takes a part of it, through a seal.
_OPENINGS = (
    select(Operation.done_on)
    .join(Entry, Entry.operation_id == Operation.id)
    .join(Package, Package.id == Entry.package_id)
    .where(Entry.package_id == bindparam("package"), stands(Operation.id))
    .group_by(Operation.id, Operation.done_on, Operation.kind, Package.net_mg)
    .having(
        Operation.kind.in_((OperationKind.OPEN, OperationKind.LOAD))
        | func.sum(Entry.mass_mg).between(1 - Package.net_mg, -1)
    )
)
_FAILURES = select(IncidentLot.since).where(
    IncidentLot.package_id == bindparam("package"),
    IncidentLot.fate == IncidentFate.OPENED,
    stands(IncidentLot.operation_id),
)


def opened_on(session: Session, package_id: int | None) -> date | None:
    """The day a package was opened, a part of it was taken or its seal failed; the first of them.

    What was taken back does not count. None: it is sealed, or no package.
    """
    if package_id is None:
        return None
    asked = {"package": package_id}
    days = [*session.scalars(_OPENINGS, asked), *session.scalars(_FAILURES, asked)]
    return min((day for day in days if day is not None), default=None)


def note_openings(session: Session, rows: Iterable[Stock]) -> None:
    """Bring the day of opening of these rows up to date, after a seal failed or that was undone."""
    for row in rows:
        row.opened_on = opened_on(session, row.package_id)
    session.flush()


_ARRIVAL = (
    select(func.min(Operation.done_on))
    .join(Entry, Entry.operation_id == Operation.id)
    .where(
        Entry.lot_id == bindparam("lot"),
        Entry.place_id == bindparam("place"),
        Entry.package_id.is_not_distinct_from(bindparam("package")),
        Entry.mass_mg > 0,
        stands(Operation.id),
    )
)


def there_since(session: Session, ref: StockRef) -> date | None:
    """The day the first of this food came to its place; None when none ever did."""
    asked = {"lot": ref.lot_id, "place": ref.place_id, "package": ref.package_id}
    return session.scalar(_ARRIVAL, asked)


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
    for row in session.scalars(select(Stock)).all():
        _remove(session, row)
    session.flush()
    for ref, mass_mg in sums_of_entries(session).items():
        session.add(
            Stock(
                lot_id=ref.lot_id,
                place_id=ref.place_id,
                package_id=ref.package_id,
                mass_mg=mass_mg,
                opened_on=opened_on(session, ref.package_id),
            )
        )
    session.flush()
    return session.scalars(select(Stock)).all()
