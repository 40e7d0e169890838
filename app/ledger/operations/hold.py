"""Hold and release: food that is not to be eaten, given or mixed until something is known."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.errors import ProblemKind, refuse
from app.ledger.holds import ActiveHold, active_holds
from app.ledger.models import Hold, Lot, Release
from app.ledger.operations._post import Posted, Posting, post
from app.ledger.safety import Applied, noted
from app.ledger.words import HoldCause, OperationKind, ReleaseCause
from app.science.safety.game import CWD_NEG, CWD_POS
from app.science.safety.rule import Outcome, Verdict


@dataclass(frozen=True, slots=True)
class PutOnHold:
    """The lots to be held, with everything made of them, and why."""

    lot_ids: tuple[int, ...]
    cause: HoldCause
    done_on: date
    words: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class LiftHold:
    """The holds to be lifted, and why."""

    hold_ids: tuple[int, ...]
    cause: ReleaseCause
    done_on: date
    note: str = ""


@dataclass(frozen=True, slots=True)
class TestResult:
    """The result of a test that a hold waited for, and others with it: one animal, several lots."""

    hold_id: int
    is_detected: bool
    done_on: date
    note: str = ""
    also: tuple[int, ...] = ()  # further holds that waited for the same test


def hold(
    session: Session,
    request: PutOnHold,
    *,
    at: datetime,
    by: int | None,
    checkpoints: Sequence[Applied] = (),
) -> Posted:
    """Put lots on hold.

    Raises:
        Refused: no lot, an unknown one, or no words where the cause says nothing by itself.
    """
    if not request.lot_ids:
        raise refuse("lot_ids", ProblemKind.MISSING)
    if any(session.get(Lot, lot_id) is None for lot_id in request.lot_ids):
        raise refuse("lot_ids", ProblemKind.UNKNOWN_LOT)
    if request.cause is HoldCause.OTHER and not request.words.strip():
        raise refuse("words", ProblemKind.MISSING)
    posting = Posting(
        OperationKind.HOLD, request.done_on, note=request.note, checkpoints=checkpoints
    )
    posted = post(session, posting, at=at, by=by)
    session.add_all(
        Hold(
            operation_id=posted.operation_id,
            lot_id=lot_id,
            cause=request.cause,
            words=request.words,
        )
        for lot_id in dict.fromkeys(request.lot_ids)
    )
    session.flush()
    return posted


def release(session: Session, request: LiftHold, *, at: datetime, by: int | None) -> Posted:
    """Lift holds.

    Raises:
        Refused: none chosen, one that does not stand, one that is never lifted (a disease found),
            a test still awaited (write its result instead), or "other" without a note.
    """
    holds = [_standing(session, hold_id) for hold_id in dict.fromkeys(request.hold_ids)]
    if not holds:
        raise refuse("hold_ids", ProblemKind.MISSING)
    for found in holds:
        if not found.cause.can_be_released:
            raise refuse("hold_ids", ProblemKind.NOT_RELEASED, cause=found.cause)
        if found.cause is HoldCause.TEST_AWAITED and not request.note.strip():
            raise refuse("note", ProblemKind.MISSING)
    if request.cause is ReleaseCause.OTHER and not request.note.strip():
        raise refuse("note", ProblemKind.MISSING)
    return _lift(session, holds, request, [], at, by)


def test_result(session: Session, request: TestResult, *, at: datetime, by: int | None) -> Posted:
    """Write the result of a test: not detected lifts the holds, detected makes them final.

    Raises:
        Refused: a hold does not stand, or waits for no test.
    """
    hold_ids = tuple(dict.fromkeys((request.hold_id, *request.also)))
    found = [_standing(session, hold_id) for hold_id in hold_ids]
    if any(held.cause is not HoldCause.TEST_AWAITED for held in found):
        raise refuse("hold_id", ProblemKind.WRONG_STATE, why="no_test_awaited")
    if not request.is_detected:
        lift = LiftHold(hold_ids, ReleaseCause.NOT_DETECTED, request.done_on, request.note)
        return _lift(session, found, lift, noted([Verdict(CWD_NEG, Outcome.NOTE)]), at, by)
    lot_ids = tuple(dict.fromkeys(held.lot_id for held in found))
    final = PutOnHold(
        lot_ids, HoldCause.TEST_POSITIVE, request.done_on, found[0].words, request.note
    )
    stops = [Applied(Verdict(CWD_POS, Outcome.STOP), lot_id=lot_id) for lot_id in lot_ids]
    return hold(session, final, at=at, by=by, checkpoints=stops)


def _standing(session: Session, hold_id: int) -> ActiveHold:
    for found in active_holds(session):
        if found.id == hold_id:
            return found
    raise refuse("hold_ids", ProblemKind.WRONG_STATE, why="no_such_hold")


def _lift(
    session: Session,
    holds: Sequence[ActiveHold],
    request: LiftHold,
    checkpoints: Sequence[Applied],
    at: datetime,
    by: int | None,
) -> Posted:
    posting = Posting(
        OperationKind.RELEASE, request.done_on, note=request.note, checkpoints=checkpoints
    )
    posted = post(session, posting, at=at, by=by)
    session.add_all(
        Release(operation_id=posted.operation_id, hold_id=found.id, cause=request.cause)
        for found in holds
    )
    session.flush()
    return posted
