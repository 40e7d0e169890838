"""What lay at a place at a time, how warm the air was there, and what was thrown away of it."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.loggers.readings import LoggerReading
from app.ledger.loggers.summaries import hours_above
from app.ledger.models import Entry, Incident, Operation, PlaceReading, Stock
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.stock import stands
from app.science.safety.outage import WARM_C, WARM_HOURS

_ENOUGH_HOURS = 0.01  # less than a minute without a reading is none


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
    return lines[0]._replace(
        units=tuple(unit for line in lines for unit in line.units),
        mass_mg=sum(line.mass_mg for line in lines),
        package_count=len(lines),
        package_number=None,
    )


def _came_there(session: Session, place_id: int) -> dict[tuple[int, int | None], date]:
    """The first day at a place of each lot or package of which something is there now."""
    here = select(Stock.lot_id).where(Stock.place_id == place_id)
    rows = session.execute(
        select(Entry.lot_id, Entry.package_id, func.min(Operation.done_on))
        .join(Operation, Operation.id == Entry.operation_id)
        .where(
            Entry.lot_id.in_(here),
            Entry.place_id == place_id,
            Entry.mass_mg > 0,
            stands(Operation.id),
        )
        .group_by(Entry.lot_id, Entry.package_id)
    ).all()
    return {(lot_id, package_id): day for lot_id, package_id, day in rows}


@dataclass(frozen=True, slots=True)
class Air:
    """The air of a place as logged; hours above 4.4 °C (40 °F), None when not all is known."""

    hours: float | None
    highest_c: float


def air_between(session: Session, place_id: int, begins: datetime, ends: datetime) -> Air | None:
    """How warm the air was from one instant to another, by the readings of the place.

    Returns:
        None without readings. A gap in them leaves the hours unknown, unless those that are known
        are over the limit of two hours already.
    """
    readings = _readings(session, place_id, begins, ends)
    within = [reading.temp_c for reading in readings if begins <= reading.at <= ends]
    if not within:
        return None
    exposure = hours_above(readings, WARM_C.value)
    uncovered = max(readings[0].at - begins, timedelta()) + max(ends - readings[-1].at, timedelta())
    unknown = exposure.unknown_hours + uncovered / timedelta(hours=1)
    hours = min(exposure.hours, (ends - begins) / timedelta(hours=1))
    is_known = unknown < _ENOUGH_HOURS or hours > WARM_HOURS.value
    return Air(hours if is_known else None, max(within))


def _readings(
    session: Session, place_id: int, begins: datetime, ends: datetime
) -> list[LoggerReading]:
    """The readings between two instants, with the last before and the first after them."""
    of_place = (PlaceReading.place_id == place_id, stands(PlaceReading.operation_id))
    before = select(func.max(PlaceReading.at)).where(*of_place, PlaceReading.at <= begins)
    after = select(func.min(PlaceReading.at)).where(*of_place, PlaceReading.at >= ends)
    first, last = session.scalar(before) or begins, session.scalar(after) or ends
    rows = session.execute(
        select(PlaceReading.at, PlaceReading.temp_c)
        .where(*of_place, PlaceReading.at.between(first, last))
        .order_by(PlaceReading.at, PlaceReading.id)
    )
    return [LoggerReading(at, temp_c, None, row) for row, (at, temp_c) in enumerate(rows)]


def discarded_by(session: Session, operation_id: int) -> dict[int, int]:
    """What something that went wrong made the household discard, in mg by lot."""
    rows = session.execute(
        select(Entry.lot_id, func.sum(-Entry.mass_mg).label("mass_mg"))
        .join(Incident, Incident.discard_id == Entry.operation_id)
        .where(Incident.operation_id == operation_id)
        .group_by(Entry.lot_id)
    )
    return {row.lot_id: row.mass_mg for row in rows}
