"""Incident: something went wrong, lot by lot what it means, and what was done about it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger import windows
from app.ledger.errors import Problem, ProblemKind, Refused, refuse
from app.ledger.lots import known_lot
from app.ledger.models import Incident, IncidentLot
from app.ledger.operations._post import Posted, Posting, post
from app.ledger.operations.hold import PutOnHold, hold
from app.ledger.operations.leave import Leave, discard
from app.ledger.safety import Applied
from app.ledger.stock import StockRef, find_stock, note_openings, stock_of
from app.ledger.words import HoldCause, IncidentFate, IncidentKind, OperationKind
from app.science.safety.rule import Outcome, Verdict


@dataclass(frozen=True, slots=True)
class LotFate:
    """What one row of stock went through, what the rules say, and what was decided.

    `reason` is asked for where somebody decides otherwise than a rule.
    """

    ref: StockRef
    fate: IncidentFate
    verdicts: tuple[Verdict, ...]
    is_icy: bool | None = None
    warm_hours: float | None = None
    temp_c: float | None = None
    since: date | None = None
    reason: str = ""


@dataclass(frozen=True, slots=True)
class WentWrong:
    """What happened, where, from when to when, and what becomes of each row of stock."""

    kind: IncidentKind
    done_on: date
    lots: tuple[LotFate, ...]
    place_id: int | None = None
    from_at: datetime | None = None
    to_at: datetime | None = None
    temp_c: float | None = None
    warm_hours: float | None = None
    note: str = ""


def went_wrong(session: Session, request: WentWrong, *, at: datetime, by: int | None) -> Posted:
    """Record an incident with its evidence; discard and hold what it says, in one transaction.

    Gives the operation of the incident. What is to be discarded leaves by an operation of its own,
    and what somebody has to look at is put on hold: both before it, so that one undo does all.

    Raises:
        Refused: no food named, an end before its beginning or in the future, food that is not on
            hand, or a rule that says discard while the food is to be kept without a reason.
    """
    _check(session, request, at)
    discarded = _discard(session, request, at, by)
    held = _hold(session, request, at, by)
    posting = Posting(
        OperationKind.INCIDENT,
        request.done_on,
        note=request.note,
        method=request.kind,
        checkpoints=[a for line in request.lots for a in _applied(line)],
    )
    posted = post(session, posting, at=at, by=by)
    session.add(
        Incident(
            operation_id=posted.operation_id,
            kind=request.kind,
            place_id=request.place_id,
            from_at=request.from_at,
            to_at=request.to_at,
            temp_c=request.temp_c,
            warm_hours=request.warm_hours,
            discard_id=discarded,
            held_id=held,
        )
    )
    session.add_all(_row(line, posted.operation_id, request.done_on) for line in request.lots)
    session.flush()
    rows = stock_of(session, {line.ref.lot_id for line in request.lots})
    note_openings(session, rows)
    windows.refresh(session, rows)
    return posted


def _check(session: Session, request: WentWrong, at: datetime) -> None:
    if not request.lots:
        raise refuse("lots", ProblemKind.MISSING)
    if request.from_at and request.to_at and request.to_at < request.from_at:
        raise refuse("to_at", ProblemKind.BEFORE_BEGIN)
    for field, instant in (("from_at", request.from_at), ("to_at", request.to_at)):
        if instant is not None and instant > at:
            raise refuse(field, ProblemKind.IN_FUTURE, date=instant.date(), today=at.date())
    problems: list[Problem] = []
    for i, line in enumerate(request.lots):
        lot = known_lot(session, line.ref, "lots")
        if find_stock(session, line.ref) is None:
            numbers = {"on_hand_mg": 0, "taken_mg": 0, "code": lot.name}
            problems.append(Problem(f"lots[{i}]", ProblemKind.NOT_ON_HAND, numbers))
        if line.since is not None and line.since > request.done_on:
            numbers = {"date": line.since, "today": request.done_on}
            problems.append(Problem(f"lots[{i}]", ProblemKind.IN_FUTURE, numbers))
        problems += _overruled(line, f"lots[{i}]")
    if problems:
        raise Refused(*problems)


def _overruled(line: LotFate, field: str) -> list[Problem]:
    """A rule that says discard is only overruled with a reason, which stays in the ledger."""
    stops = [v for v in line.verdicts if v.outcome is Outcome.STOP]
    if not stops or line.fate is IncidentFate.DISCARD or line.reason.strip():
        return []
    verdict = stops[0]
    numbers = {"rule": verdict.id, "sentence": verdict.sentence, "source": verdict.source_text}
    return [Problem(field, ProblemKind.NEEDS_REASON, numbers)]


def _applied(line: LotFate) -> list[Applied]:
    reason = "" if line.fate is IncidentFate.DISCARD else line.reason
    return [Applied(v, reason, line.ref.lot_id) for v in line.verdicts]


def _row(line: LotFate, operation_id: int, done_on: date) -> IncidentLot:
    is_dated = line.fate in (IncidentFate.OPENED, IncidentFate.WORN)
    return IncidentLot(
        operation_id=operation_id,
        lot_id=line.ref.lot_id,
        package_id=line.ref.package_id,
        is_icy=line.is_icy,
        warm_hours=line.warm_hours,
        temp_c=line.temp_c,
        fate=line.fate,
        since=line.since or (done_on if is_dated else None),
    )


def _discard(session: Session, request: WentWrong, at: datetime, by: int | None) -> int | None:
    gone = _refs(request.lots, IncidentFate.DISCARD)
    if not gone:
        return None
    leave = Leave(gone, request.done_on, words=request.kind, note=request.note)
    return discard(session, leave, at=at, by=by).operation_id


def _hold(session: Session, request: WentWrong, at: datetime, by: int | None) -> int | None:
    unsure = _refs(request.lots, IncidentFate.LOOK)
    if not unsure:
        return None
    lot_ids = tuple(dict.fromkeys(ref.lot_id for ref in unsure))
    held = PutOnHold(lot_ids, HoldCause.LOOK_FIRST, request.done_on, words=request.kind)
    return hold(session, held, at=at, by=by).operation_id


def _refs(lots: Sequence[LotFate], fate: IncidentFate) -> tuple[StockRef, ...]:
    return tuple(line.ref for line in lots if line.fate is fate)
