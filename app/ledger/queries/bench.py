"""The bench: work in progress, each with its next step."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.calendar import zone_of
from app.ledger.models import Entry, Operation, Place, Run
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.runs import TrayState, open_runs, trays_of
from app.ledger.stock import stands
from app.ledger.words import OperationKind, PlaceKind
from app.science.classes import Treatment

_IN_PROGRESS = frozenset(
    {Treatment.THAWED, Treatment.GROUND, Treatment.COOKED, Treatment.CHILLED, Treatment.BLANCHED}
)


class Stage(StrEnum):
    """What food on the bench is waiting for, the more pressing first."""

    COOLING = "cooling"  # cooked, and no reading shows yet that it is cold
    THAWED = "thawed"  # thawing, or thawed and not worked on
    BETWEEN = "between"  # ground, blended, chilled: the next step is missing
    TO_PACK = "to_pack"  # dry, in the open air


@dataclass(frozen=True, slots=True)
class RunLine:
    """A dryer at work."""

    run: Run
    place: Place
    started_at: datetime
    trays: tuple[TrayState, ...]


@dataclass(frozen=True, slots=True)
class Arrival:
    """When food came to where it lies: the day, and the instant if it was written on that day."""

    on: date
    at: datetime | None


@dataclass(frozen=True, slots=True)
class Bench:
    """Dryers at work, food that waits to be packed, and food between two steps."""

    runs: tuple[RunLine, ...]
    to_pack: tuple[StockLine, ...]
    in_progress: tuple[StockLine, ...]

    def staged(self) -> dict[Stage, list[StockLine]]:
        """Everything but the dryers by what it waits for, empty stages left out."""
        lines = (*self.in_progress, *self.to_pack)
        found = {stage: [x for x in lines if stage_of(x) is stage] for stage in Stage}
        return {stage: lines for stage, lines in found.items() if lines}


def bench(session: Session) -> Bench:
    """What is being worked on now."""
    loose = [line for line in stock_lines(session) if not line.package_count]
    waiting = [line for line in loose if not line.place_kind.is_dryer]
    return Bench(
        runs=tuple(
            RunLine(
                run,
                session.get_one(Place, run.place_id),
                run.started_at,
                tuple(trays_of(session, run)),
            )
            for run in open_runs(session)
        ),
        to_pack=tuple(line for line in waiting if line.is_dried),
        in_progress=tuple(line for line in waiting if not line.is_dried and _is_begun(line)),
    )


def stage_of(line: StockLine) -> Stage:
    """What a line that is being worked on waits for."""
    if line.is_dried:
        return Stage.TO_PACK
    if line.made_by is OperationKind.COOK and line.place_kind is not PlaceKind.FREEZER:
        return Stage.COOLING
    return Stage.THAWED if line.made_by is OperationKind.THAW else Stage.BETWEEN


def arrivals(session: Session, lines: Iterable[StockLine]) -> dict[tuple[int, int], Arrival]:
    """When the lots of these lines came to their places, last, by lot and place; one SELECT.

    An entry that was written on a later day than its work tells no hour.
    """
    wanted = {(line.lot_id, line.place_id) for line in lines}
    zone = zone_of(session)
    return {
        key: Arrival(on, at if at.astimezone(zone).date() == on else None)
        for key, on, at in _comings(session, {lot_id for lot_id, _ in wanted})
        if key in wanted
    }


def _comings(
    session: Session, lot_ids: Collection[int]
) -> list[tuple[tuple[int, int], date, datetime]]:
    """Every time some of these lots was put somewhere, in the order of the ledger."""
    rows = session.execute(
        select(Entry.lot_id, Entry.place_id, Operation.done_on, Operation.recorded_at)
        .join(Operation, Operation.id == Entry.operation_id)
        .where(Entry.lot_id.in_(lot_ids), Entry.mass_mg > 0, stands(Operation.id))
        .order_by(Operation.id, Entry.id)
    )
    return [((lot, place), on, at) for lot, place, on, at in rows]


def _is_begun(line: StockLine) -> bool:
    if line.place_kind is PlaceKind.BENCH:
        return True
    return line.place_kind is PlaceKind.FRIDGE and bool(line.treatments & _IN_PROGRESS)
