"""How long food was warm before: earlier mishaps of its own and of what it was made of."""

from collections import defaultdict
from collections.abc import Sequence

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from app.ledger.models import Flow, Incident, IncidentLot, Operation
from app.ledger.queries.stock import StockLine
from app.ledger.stock import StockRef, stands
from app.ledger.words import IncidentKind, OperationKind

#: Hours between 4 and 60 °C, and the warmth of the air in °C, None when it is not known.
Outing = tuple[float, float | None]


def outings_of(session: Session, lines: Sequence[StockLine]) -> dict[StockRef, list[Outing]]:
    """The earlier outings of these lines since their last cooking, by the reference of each line.

    A cooking begins anew; thawing, grinding, mixing and packing do not: what went into a lot
    brings its outings with it, all hours together. Cooking does not undo poison that was made,
    but what a table discards is gone before it is cooked.
    """
    before = _uncooked_sources(session, {line.lot_id for line in lines})
    rows = _warm_rows(session, {lot for lots in before.values() for lot in lots})
    found: dict[StockRef, list[Outing]] = {}
    for line in lines:
        found[line.ref] = [
            outing
            for lot_id in sorted(before[line.lot_id])
            for package_id, outing in rows.get(lot_id, ())
            if lot_id != line.lot_id or package_id in (None, *_packages(line))
        ]
    return found


def _packages(line: StockLine) -> list[int]:
    return [ref.package_id for ref in line.refs if ref.package_id is not None]


def _uncooked_sources(session: Session, lot_ids: set[int]) -> dict[int, set[int]]:
    """Each lot with everything in it that was not cooked since; one query for all."""
    start = select(Flow.result_id.label("lot"), Flow.result_id.label("source"))
    reached = start.where(Flow.result_id.in_(lot_ids)).cte("uncooked", recursive=True)
    reached = reached.union(
        select(reached.c.lot, Flow.source_id)
        .join(reached, Flow.result_id == reached.c.source)
        .join(Operation, Operation.id == Flow.operation_id)
        .where(Operation.kind != OperationKind.COOK, stands(Flow.operation_id))
    )
    found: dict[int, set[int]] = {lot_id: {lot_id} for lot_id in lot_ids}
    for lot_id, source in session.execute(select(reached.c.lot, reached.c.source)):
        found[lot_id].add(source)
    return found


def _warm_rows(session: Session, lot_ids: set[int]) -> dict[int, list[tuple[int | None, Outing]]]:
    found: dict[int, list[tuple[int | None, Outing]]] = defaultdict(list)
    rows = session.execute(
        select(IncidentLot, Incident.kind, Incident.temp_c)
        .join(Incident, Incident.operation_id == IncidentLot.operation_id)
        .where(*_warm(lot_ids))
        .order_by(IncidentLot.id)
    )
    for row, kind, temp_c in rows:
        of_air = kind == IncidentKind.LEFT_OUT  # elsewhere the temperature is that of the food
        air_c = (row.temp_c if row.temp_c is not None else temp_c) if of_air else None
        found[row.lot_id].append((row.package_id, (row.warm_hours or 0.0, air_c)))
    return found


def _warm(lot_ids: set[int]) -> tuple[ColumnElement[bool], ...]:
    return (
        IncidentLot.lot_id.in_(lot_ids),
        IncidentLot.warm_hours > 0,
        stands(IncidentLot.operation_id),
    )
