"""What lay at a place at a time."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.models import Entry, Operation
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.stock import undone


def lines_at(session: Session, place_id: int, until: date) -> list[StockLine]:
    """What lies at a place and came there by a day, the sealed packages of a lot on one line.

    The ledger knows the day on which food came, not the hour: what came on that day is listed.
    """
    since = _came_there(session, place_id)
    lines = [
        line
        for line in stock_lines(session, place_id=place_id, one_by_one=True)
        if since.get((line.lot_id, line.ref.package_id), until) <= until
    ]
    groups: dict[object, list[StockLine]] = defaultdict(list)
    for line in lines:
        alone = line.package_count == 0 or line.opened_on is not None
        groups[line.ref if alone else line.lot_id].append(line)
    return [_together(group) for group in groups.values()]


def _together(lines: Sequence[StockLine]) -> StockLine:
    if len(lines) == 1:
        return lines[0]
    return replace(
        lines[0],
        refs=tuple(line.ref for line in lines),
        mass_mg=sum(line.mass_mg for line in lines),
        package_count=len(lines),
        package_number=None,
    )


def _came_there(session: Session, place_id: int) -> dict[tuple[int, int | None], date]:
    """The first day of each lot or package at a place."""
    rows = session.execute(
        select(Entry.lot_id, Entry.package_id, func.min(Operation.done_on))
        .join(Operation, Operation.id == Entry.operation_id)
        .where(Entry.place_id == place_id, Entry.mass_mg > 0, Operation.id.not_in(undone()))
        .group_by(Entry.lot_id, Entry.package_id)
    ).all()
    return {(lot_id, package_id): day for lot_id, package_id, day in rows}
