"""The bench: work in progress, each with its next step."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.ledger.models import Place, Run
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.runs import TrayState, open_runs, trays_of
from app.ledger.words import PlaceKind
from app.science.classes import Treatment

_IN_PROGRESS = frozenset(
    {Treatment.THAWED, Treatment.GROUND, Treatment.COOKED, Treatment.CHILLED, Treatment.BLANCHED}
)


@dataclass(frozen=True, slots=True)
class RunLine:
    """A dryer at work."""

    run: Run
    place: Place
    started_at: datetime
    trays: tuple[TrayState, ...]


@dataclass(frozen=True, slots=True)
class Bench:
    """Dryers at work, food that waits to be packed, and food between two steps."""

    runs: tuple[RunLine, ...]
    to_pack: tuple[StockLine, ...]
    in_progress: tuple[StockLine, ...]


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


def _is_begun(line: StockLine) -> bool:
    if line.place_kind is PlaceKind.BENCH:
        return True
    return line.place_kind is PlaceKind.FRIDGE and bool(line.treatments & _IN_PROGRESS)
