"""Checks of count: every package was packed once, is at one place, or is gone by what is written.

Mass is the business of other checks; here a package is one thing, whatever it weighs.
"""

from collections.abc import Iterator

from sqlalchemy import Subquery, func, select
from sqlalchemy.orm import Session, aliased

from app.ledger.checks.finding import Finding, lot_words
from app.ledger.models import Entry, Lot, Operation, Package, Place, Stock
from app.ledger.stock import is_kept, stands
from app.ledger.words import DRYERS, OperationKind

_BRINGS_BACK = (OperationKind.STOCKTAKE, OperationKind.CORRECT)


def packages_are_counted(session: Session) -> list[Finding]:
    """Each package is one of those of its lot, was packed once and never came twice.

    It lies at one place, beside what of it is on the trays of a dryer; what is not on hand was
    taken out by an operation, or its packing was taken back.
    """
    changes = _changes()
    return [
        *_miscounted_lots(session),
        *_not_packed_once(session, changes),
        *_brought_back(session, changes),
        *_overfull(session, changes),
        *_at_two_places(session),
        *_never_packed(session),
    ]


def _finding(package_id: int | None, words: str, **numbers: object) -> Finding:
    return Finding("packages_are_counted", f"package {package_id}", words, numbers)


def _changes() -> Subquery:
    """By how much each operation changed each package, in all places together."""
    return (
        select(Entry.package_id, Entry.operation_id, func.sum(Entry.mass_mg).label("change_mg"))
        .where(Entry.package_id.is_not(None))
        .group_by(Entry.package_id, Entry.operation_id)
        .subquery()
    )


def _miscounted_lots(session: Session) -> Iterator[Finding]:
    """The packages of a lot are numbered from 1 to as many as there are, each number once."""
    rows = session.execute(
        select(Package.lot_id, func.count(Package.id), func.min(Package.of_count))
        .group_by(Package.lot_id)
        .having(
            (func.count(Package.id) != func.min(Package.of_count))
            | (func.min(Package.of_count) != func.max(Package.of_count))
            | (func.count(Package.number.distinct()) != func.count(Package.id))
        )
        .order_by(Package.lot_id)
    )
    words = "{count} packages, numbered as {of_count}"
    for lot_id, count, of_count in rows:
        numbers = {"count": count, "of_count": of_count}
        yield Finding("packages_are_counted", lot_words(lot_id), words, numbers)


def _not_packed_once(session: Session, changes: Subquery) -> Iterator[Finding]:
    """The operation that made its lot put its net mass into it."""
    rows = session.execute(
        select(Package.id, Package.net_mg, func.coalesce(changes.c.change_mg, 0))
        .join(Lot, Lot.id == Package.lot_id)
        .outerjoin(
            changes,
            (changes.c.package_id == Package.id) & (changes.c.operation_id == Lot.operation_id),
        )
        .where(func.coalesce(changes.c.change_mg, 0) != Package.net_mg)
        .order_by(Package.id)
    )
    words = "{packed_mg} mg by its packing, {net_mg} mg by its label"
    for package_id, net_mg, packed_mg in rows:
        yield _finding(package_id, words, packed_mg=packed_mg, net_mg=net_mg)


def _brought_back(session: Session, changes: Subquery) -> Iterator[Finding]:
    """After its packing only a stocktake that found it, or a correction, puts anything into it."""
    rows = session.execute(
        select(Package.id, Operation.id, Operation.kind)
        .join(changes, changes.c.package_id == Package.id)
        .join(Operation, Operation.id == changes.c.operation_id)
        .join(Lot, Lot.id == Package.lot_id)
        .where(
            changes.c.change_mg > 0,
            Operation.id != Lot.operation_id,
            Operation.kind.not_in(_BRINGS_BACK),
        )
        .order_by(Package.id, Operation.id)
    )
    for package_id, operation_id, kind in rows:
        words = "filled again by operation {operation_id} ({kind})"
        yield _finding(package_id, words, operation_id=operation_id, kind=kind)


def _overfull(session: Session, changes: Subquery) -> Iterator[Finding]:
    """After no operation is more in it than was packed: then it would be there twice."""
    running = select(
        changes.c.package_id,
        changes.c.operation_id,
        func.sum(changes.c.change_mg)
        .over(partition_by=changes.c.package_id, order_by=changes.c.operation_id)
        .label("inside_mg"),
    ).subquery()
    rows = session.execute(
        select(running, Package.net_mg)
        .join(Package, Package.id == running.c.package_id)
        .where(running.c.inside_mg > Package.net_mg)
        .order_by(running.c.package_id, running.c.operation_id)
    )
    words = "{inside_mg} mg in it after operation {operation_id}, packed with {net_mg} mg"
    for package_id, operation_id, inside_mg, net_mg in rows:
        numbers = {"operation_id": operation_id, "inside_mg": inside_mg, "net_mg": net_mg}
        yield _finding(package_id, words, **numbers)


def _at_two_places(session: Session) -> Iterator[Finding]:
    """Beside the trays of a dryer it lies at one place.

    Versions before let a part of a package be moved; such a package is there once all the same.
    """
    rows = session.execute(
        select(Stock.package_id, func.count(Stock.id))
        .join(Place, Place.id == Stock.place_id)
        .where(Stock.package_id.is_not(None), Place.kind.not_in(DRYERS))
        .group_by(Stock.package_id)
        .having(func.count(Stock.id) > 1)
        .order_by(Stock.package_id)
    )
    for package_id, count in rows:
        if not _was_parted(session, package_id):
            yield _finding(package_id, "lies at {count} places", count=count)


def _was_parted(session: Session, package_id: int | None) -> bool:
    """Did a move leave some of it where it was?"""
    after = (
        select(
            Entry.operation_id,
            Entry.mass_mg,
            func.sum(Entry.mass_mg)
            .over(partition_by=Entry.place_id, order_by=Entry.operation_id)
            .label("left_mg"),
            func.max(Entry.mass_mg).over(partition_by=Entry.operation_id).label("brought_mg"),
        )
        .where(Entry.package_id == package_id)
        .subquery()
    )
    parted = (
        select(after.c.operation_id)
        .join(Operation, Operation.id == after.c.operation_id)
        .where(
            after.c.mass_mg < 0,
            after.c.left_mg > 0,
            after.c.brought_mg > 0,
            Operation.kind.in_((OperationKind.MOVE, OperationKind.STOCKTAKE)),
            stands(Operation.id),
        )
    )
    return session.scalar(parted.limit(1)) is not None


def _never_packed(session: Session) -> Iterator[Finding]:
    """Nothing is on hand of a package whose packing was taken back."""
    packing = aliased(Lot)
    rows = session.scalars(
        select(Stock.package_id)
        .join(Package, Package.id == Stock.package_id)
        .join(packing, packing.id == Package.lot_id)
        .where(~is_kept(packing.operation_id))
        .distinct()
        .order_by(Stock.package_id)
    )
    for package_id in rows:
        yield _finding(package_id, "is on hand, though its packing was taken back")
