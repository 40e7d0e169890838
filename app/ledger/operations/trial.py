"""Trial: two soakings of dried food side by side. No mass moves; eating is an entry of its own."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.calendar import today_of
from app.ledger.errors import Problem, ProblemKind, Refused, refuse
from app.ledger.lots import known_lot
from app.ledger.makeup import composition_of
from app.ledger.models import SoakingDone, Trial
from app.ledger.stock import StockRef


@dataclass(frozen=True, slots=True)
class Side:
    """One bowl: what went in, for how long, what it weighed drained, and its score, 1 to 5."""

    ref: StockRef
    dry_mg: int
    water_mg: int
    drained_mg: int
    minutes: float
    temp_c: float
    score: int | None = None


@dataclass(frozen=True, slots=True)
class TrialIn:
    """Both sides, and the day."""

    sides: tuple[Side, Side]
    done_on: date
    note: str = ""


def record_trial(session: Session, request: TrialIn, *, at: datetime, by: int | None) -> int:
    """Write a trial down; gives its number.

    Raises:
        Refused: a lot that was not dried here, a mass that cannot be, a day still to come.
    """
    today = today_of(session, at)
    if request.done_on > today:
        numbers = {"date": request.done_on, "today": today}
        raise Refused(Problem("done_on", ProblemKind.IN_FUTURE, numbers))
    _check(request)
    trial = Trial(done_on=request.done_on, recorded_at=at, person_id=by, note=request.note)
    session.add(trial)
    session.flush()
    for number, side in enumerate(request.sides, start=1):
        session.add(_row(session, trial.id, number, side))
    session.flush()
    return trial.id


def _check(request: TrialIn) -> None:
    problems = []
    for i, side in enumerate(request.sides):
        if side.dry_mg <= 0:
            problems.append(Problem(f"sides[{i}].dry", ProblemKind.NOT_POSITIVE))
        if side.drained_mg <= 0:
            problems.append(Problem(f"sides[{i}].drained", ProblemKind.NOT_POSITIVE))
        if side.drained_mg > side.dry_mg + side.water_mg:
            numbers = {"in_mg": side.dry_mg + side.water_mg, "out_mg": side.drained_mg}
            problems.append(Problem(f"sides[{i}].drained", ProblemKind.MORE_OUT_THAN_IN, numbers))
    if problems:
        raise Refused(*problems)


def _row(session: Session, trial_id: int, number: int, side: Side) -> SoakingDone:
    field = f"sides[{number - 1}].ref"
    lot = known_lot(session, side.ref, field)
    if lot.fresh_water is None:
        raise refuse(field, ProblemKind.WRONG_STATE, why="not_dried")
    return SoakingDone(
        trial_id=trial_id,
        side=number,
        lot_id=lot.id,
        dry_mg=side.dry_mg,
        water_mg=side.water_mg,
        drained_mg=side.drained_mg,
        minutes=side.minutes,
        temp_c=side.temp_c,
        score=side.score,
        dry_water=composition_of(session, lot).water,
        fresh_water=lot.fresh_water,
    )
