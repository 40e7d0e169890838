"""Measure: readings of what a lot is made of; they override what was computed. No mass moves."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.codes import code_of
from app.ledger.errors import Problem, ProblemKind, Refused, refuse
from app.ledger.lots import known_lot
from app.ledger.makeup import WATER_SPREAD
from app.ledger.models import Operation
from app.ledger.operations._post import Measured, Posted, Posting, post
from app.ledger.stock import StockRef
from app.ledger.words import MeasuredBy, OperationKind, ReadingKind


@dataclass(frozen=True, slots=True)
class Value:
    """One fraction that was measured, kg/kg, how, and as typed; spread for water alone."""

    kind: ReadingKind
    fraction: float
    by: MeasuredBy
    typed: str
    spread: float | None = None


@dataclass(frozen=True, slots=True)
class Measure:
    """The lot, and what was measured of it."""

    ref: StockRef
    values: tuple[Value, ...]
    done_on: date
    note: str = ""


def measure(session: Session, request: Measure, *, at: datetime, by: int | None) -> Posted:
    """Record readings of a lot; the windows of everything of that lot are brought up to date.

    What was made of the lot before keeps the composition that was known then.

    Raises:
        Refused: nothing measured, a fraction outside 0 to 1, together more than the whole, or a
            day before the lot was made.
    """
    lot = known_lot(session, request.ref)
    _check(request.values)
    made_on = session.scalar(select(Operation.done_on).where(Operation.id == lot.operation_id))
    if made_on is not None and request.done_on < made_on:
        numbers = {"date": request.done_on, "made": made_on, "code": code_of(lot.id)}
        raise Refused(Problem("done_on", ProblemKind.BEFORE_MADE, numbers))
    posting = Posting(
        OperationKind.MEASURE,
        request.done_on,
        note=request.note,
        readings=[_reading(lot.id, value) for value in request.values],
        also_touched=(lot.id,),
    )
    return post(session, posting, at=at, by=by)


def _reading(lot_id: int, value: Value) -> Measured:
    spread = value.spread
    if spread is None and value.kind is ReadingKind.WATER:
        spread = WATER_SPREAD.value
    return Measured(
        value.kind, value.fraction, value.typed, lot_id=lot_id, by=value.by, spread=spread
    )


def _check(values: Sequence[Value]) -> None:
    if not values:
        raise refuse("water", ProblemKind.MISSING)
    problems = [
        Problem(value.kind, ProblemKind.IMPOSSIBLE, {"reason": "no_fraction"})
        for value in values
        if not 0.0 <= value.fraction <= 1.0
    ]
    if problems:
        raise Refused(*problems)
    if sum(value.fraction for value in values) > 1.0 + 1e-9:
        raise refuse(values[-1].kind, ProblemKind.IMPOSSIBLE, reason="more_than_whole")
