"""Weigh back: a tray taken out for a moment and weighed, to judge dryness. No mass moves."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.ledger.errors import ProblemKind, refuse
from app.ledger.models import Tray, TrayWeighing
from app.ledger.runs import is_over, known_run


@dataclass(frozen=True, slots=True)
class WeighBack:
    """One tray of a run and what it weighs now, tray included."""

    run_id: int
    number: int
    gross_mg: int
    gross_typed: str


def weigh_back(session: Session, request: WeighBack, *, at: datetime) -> None:
    """Record the weighing of one tray.

    Raises:
        NotFound: no such run.
        Refused: no such tray, the run is over, or a weight that cannot be (below the empty tray,
            or above what was loaded).
    """
    run = known_run(session, request.run_id)
    tray = session.get(Tray, (run.id, request.number))
    if tray is None:
        raise refuse("number", ProblemKind.UNKNOWN_CHOICE)
    if is_over(session, run.id):
        raise refuse("gross", ProblemKind.WRONG_STATE, why="run_is_over")
    if request.gross_mg <= tray.tare_mg:
        raise refuse(
            "gross",
            ProblemKind.TARE_ABOVE_GROSS,
            gross_mg=request.gross_mg,
            tare_mg=tray.tare_mg,
        )
    if request.gross_mg > tray.gross_mg:
        raise refuse(
            "gross",
            ProblemKind.MORE_OUT_THAN_IN,
            in_mg=tray.gross_mg,
            out_mg=request.gross_mg,
        )
    session.add(
        TrayWeighing(
            run_id=run.id,
            number=tray.number,
            weighed_at=at,
            gross_mg=request.gross_mg,
            gross_typed=request.gross_typed,
        )
    )
    session.flush()
