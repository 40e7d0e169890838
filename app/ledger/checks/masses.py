"""Checks of mass: every operation balances, and what is on hand is what the entries say."""

from collections.abc import Iterable

from sqlalchemy import ScalarSelect, SQLColumnExpression, case, func, or_, select
from sqlalchemy.orm import Session

from app.ledger.checks.finding import Finding, stock_words
from app.ledger.models import Addition, Balance, Entry, Loss, Operation, Package, Stock
from app.ledger.stock import StockRef, ref_of, sums_of_entries


def operations_balance(session: Session) -> list[Finding]:
    """Every operation is closed by a balance row that states its lines, and the two sides agree."""
    columns = Balance.__table__.c
    stated = (columns.taken_mg, columns.added_mg, columns.made_mg, columns.lost_mg)
    sums = (
        _per_operation(Entry, case((Entry.mass_mg < 0, -Entry.mass_mg), else_=0)),
        _per_operation(Addition, Addition.mass_mg),
        _per_operation(Entry, case((Entry.mass_mg > 0, Entry.mass_mg), else_=0)),
        _per_operation(Loss, Loss.mass_mg),
    )
    found = (
        select(Operation.id, *(s.label(f"sum_{i}") for i, s in enumerate(sums)), *stated)
        .outerjoin(Balance.__table__, columns.operation_id == Operation.id)
        .subquery()
    )
    lines, kept = list(found.c)[1:5], list(found.c)[5:]
    astray = [line.is_distinct_from(said) for line, said in zip(lines, kept, strict=True)]
    uneven = lines[0] + lines[1] != lines[2] + lines[3]
    rows = session.execute(select(found).where(or_(uneven, *astray)).order_by(found.c.id))
    return [finding for number, *row in rows for finding in _unbalanced(number, row[:4], row[4:])]


def _per_operation(
    table: type[Entry] | type[Addition] | type[Loss], mass_mg: SQLColumnExpression[int]
) -> ScalarSelect[int]:
    return (
        select(func.coalesce(func.sum(mass_mg), 0))
        .where(table.operation_id == Operation.id)
        .correlate(Operation)
        .scalar_subquery()
    )


def _unbalanced(operation_id: int, lines: list[int], stated: list[int | None]) -> Iterable[Finding]:
    name, subject = "operations_balance", f"operation {operation_id}"
    if stated[0] is None:
        yield Finding(name, subject, "has no balance row")
        return
    for what, lines_mg, stated_mg in zip(
        ("taken", "added", "made", "lost"), lines, stated, strict=True
    ):
        if lines_mg != stated_mg:
            words = "{what} is {lines_mg} mg by its lines, {stated_mg} mg by its balance row"
            numbers = {"what": what, "lines_mg": lines_mg, "stated_mg": stated_mg}
            yield Finding(name, subject, words, numbers)
    into_mg, out_mg = lines[0] + lines[1], lines[2] + lines[3]
    if into_mg != out_mg:
        words = "{into_mg} mg went in, {out_mg} mg came out or was lost"
        yield Finding(name, subject, words, {"into_mg": into_mg, "out_mg": out_mg})


def stock_is_the_entries(session: Session) -> list[Finding]:
    """What is kept as on hand is what the entries sum to, in both directions."""
    by_entries = sums_of_entries(session)
    kept = {ref_of(row): row.mass_mg for row in session.scalars(select(Stock))}
    words = "{entries_mg} mg by the entries, {stock_mg} mg in stock"
    return [
        Finding(
            "stock_is_the_entries",
            stock_words(ref),
            words,
            {"entries_mg": by_entries.get(ref, 0), "stock_mg": kept.get(ref, 0)},
        )
        for ref in sorted(by_entries.keys() | kept.keys(), key=str)
        if by_entries.get(ref, 0) != kept.get(ref, 0)
    ]


def nothing_below_zero(session: Session) -> list[Finding]:
    """After no operation is there less than nothing of a lot, a package, at a place."""
    after = (
        select(
            Entry.lot_id,
            Entry.place_id,
            Entry.package_id,
            Entry.operation_id,
            func.sum(func.sum(Entry.mass_mg))
            .over(
                partition_by=(Entry.lot_id, Entry.place_id, Entry.package_id),
                order_by=Entry.operation_id,
            )
            .label("on_hand_mg"),
        )
        .group_by(Entry.lot_id, Entry.place_id, Entry.package_id, Entry.operation_id)
        .subquery()
    )
    rows = session.execute(select(after).where(after.c.on_hand_mg < 0)).all()
    words = "{on_hand_mg} mg on hand after operation {operation_id}"
    return [
        Finding(
            "nothing_below_zero",
            stock_words(StockRef(lot_id, place_id, package_id)),
            words,
            {"on_hand_mg": on_hand_mg, "operation_id": operation_id},
        )
        for lot_id, place_id, package_id, operation_id, on_hand_mg in rows
    ]


def packages_hold_their_own(session: Session) -> list[Finding]:
    """No package holds more than its net mass, and its entries and stock are of its own lot."""
    rows = session.execute(
        select(Package.id, Package.net_mg, func.sum(Stock.mass_mg))
        .join(Stock, Stock.package_id == Package.id)
        .group_by(Package.id)
        .having(func.sum(Stock.mass_mg) > Package.net_mg)
    )
    name = "packages_hold_their_own"
    words = "{stock_mg} mg in stock, packed with {net_mg} mg"
    findings = [
        Finding(name, f"package {package_id}", words, {"stock_mg": stock_mg, "net_mg": net_mg})
        for package_id, net_mg, stock_mg in rows
    ]
    for table in (Entry, Stock):
        strays = session.execute(
            select(table.id, Package.id)
            .join(Package, Package.id == table.package_id)
            .where(table.lot_id != Package.lot_id)
        )
        findings += [
            Finding(
                name,
                f"package {package_id}",
                "{table} row {row} gives it to another lot",
                {"table": table.__tablename__, "row": row},
            )
            for row, package_id in strays
        ]
    return findings
