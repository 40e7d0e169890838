"""What a stocktake asks of the ledger: the rows of a place, and where else a lot may be."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.codes import code_of
from app.ledger.models import Entry, Lot, Operation, Package
from app.ledger.queries.history import EntryLine, OperationLine, operation
from app.ledger.queries.search import find_lots
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.stock import StockRef, stands
from app.ledger.words import OperationKind


class Found(NamedTuple):
    """One difference: what it is, its mass in mg, and of what was moved from where to where."""

    code: str
    name: str
    package: tuple[int, int] | None
    mass_mg: int
    came_from: str = ""
    went_to: str = ""


MOST_LOTS = 8  # for one word that was looked for


@dataclass(frozen=True, slots=True)
class Gone:
    """Food of which the ledger has nothing left: how it went, and what a package of it weighed."""

    ref: StockRef  # as it would lie at the place of the stocktake
    code: str
    name: str
    number: int | None  # of a package
    net_mg: int | None
    went_by: OperationKind | None
    went_on: date | None


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A lot that was looked up: what of it lies at other places, and what of it is gone."""

    lot_id: int
    code: str
    name: str
    lines: tuple[StockLine, ...]
    gone: tuple[Gone, ...]


def rows_at(session: Session, place_id: int) -> list[StockLine]:
    """Every row of stock of a place by name: packages one by one, loose lots by their mass."""
    lines = stock_lines(session, place_id=place_id, one_by_one=True)
    return sorted(lines, key=lambda x: (x.name.casefold(), x.lot_id, x.package_number or 0))


def lots_meant(session: Session, words: str) -> list[int]:
    """Lots on hand that some words may mean, a few at most."""
    lots = dict.fromkeys(line.lot_id for line in find_lots(session, words))
    return list(lots)[:MOST_LOTS]


def elsewhere(session: Session, lot_ids: Sequence[int], place_id: int) -> list[Elsewhere]:
    """What of some lots the ledger has at other places or not at all; unknown lots are left out."""
    found = []
    for lot_id in dict.fromkeys(lot_ids):
        lot = session.get(Lot, lot_id)
        if lot is None:
            continue
        lines = stock_lines(session, lot_id=lot_id, one_by_one=True)
        gone = _gone(session, lot, place_id, {line.ref.package_id for line in lines})
        others = tuple(x for x in lines if x.place_id != place_id and not x.place_kind.is_dryer)
        found.append(Elsewhere(lot_id, code_of(lot_id), lot.name, others, tuple(gone)))
    return found


def _gone(session: Session, lot: Lot, place_id: int, there: set[int | None]) -> list[Gone]:
    packages = session.scalars(
        select(Package).where(Package.lot_id == lot.id).order_by(Package.number)
    ).all()
    taken_back = select(Operation.id).where(Operation.reverses_id == lot.operation_id)
    if session.scalar(taken_back) is not None:
        return []  # it never was: the entry that made it was taken back
    numbers: list[Package | None] = list(packages) or [None]
    gone = []
    for package in numbers:
        package_id = package.id if package else None
        if package_id in there:
            continue
        last = _last_taken(session, lot.id, package_id)
        gone.append(
            Gone(
                StockRef(lot.id, place_id, package_id),
                code_of(lot.id),
                lot.name,
                package.number if package else None,
                package.net_mg if package else None,
                OperationKind(last.kind) if last else None,
                last.done_on if last else None,
            )
        )
    return gone


def _last_taken(session: Session, lot_id: int, package_id: int | None) -> Operation | None:
    newest = (
        select(func.max(Entry.operation_id))
        .where(
            Entry.lot_id == lot_id,
            Entry.package_id.is_not_distinct_from(package_id),
            Entry.mass_mg < 0,
            stands(Entry.operation_id),
        )
        .scalar_subquery()
    )
    return session.scalar(select(Operation).where(Operation.id == newest))


@dataclass(frozen=True, slots=True)
class TakenStock:
    """A stocktake as it was written: each difference on one line, in mg."""

    line: OperationLine
    missing: tuple[Found, ...]
    extra: tuple[Found, ...]
    moved: tuple[Found, ...]


def taken_stock(session: Session, operation_id: int) -> TakenStock | None:
    """A stocktake with its differences; None when that operation is another one.

    Raises:
        NotFound: no such operation.
    """
    line = operation(session, operation_id)
    if line.kind is not OperationKind.STOCKTAKE:
        return None
    entries: dict[tuple[str, str, tuple[int, int] | None], list[EntryLine]] = {}
    for entry in line.entries:
        entries.setdefault((entry.code, entry.name, entry.package), []).append(entry)
    missing: list[Found] = []
    extra: list[Found] = []
    moved: list[Found] = []
    for one, of_one in entries.items():
        net_mg = sum(entry.mass_mg for entry in of_one)
        here = next((e.place for e in of_one if e.mass_mg > 0), of_one[0].place)
        for entry in of_one:
            if entry.place != here:
                moved.append(Found(*one, -entry.mass_mg, entry.place, here))
        if net_mg:
            (extra if net_mg > 0 else missing).append(Found(*one, abs(net_mg)))
    return TakenStock(line, tuple(missing), tuple(extra), tuple(moved))
