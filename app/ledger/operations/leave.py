"""Eat, give, discard: food that leaves the ledger, and where it went."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.errors import ProblemKind, refuse
from app.ledger.lots import known_lot
from app.ledger.operations._post import Posted, Posting, Take, post
from app.ledger.stock import StockRef, find_stock
from app.ledger.words import LossKind, OperationKind


@dataclass(frozen=True, slots=True)
class Leave:
    """What leaves: whole rows of stock, or part of a single one."""

    refs: tuple[StockRef, ...]
    done_on: date
    mass_mg: int | None = None
    words: str = ""  # to whom it was given, or why it was thrown away
    note: str = ""


def eat(session: Session, request: Leave, *, at: datetime, by: int | None) -> Posted:
    """Record food as eaten."""
    return _leave(session, request, OperationKind.EAT, LossKind.EATEN, at, by)


def give(session: Session, request: Leave, *, at: datetime, by: int | None) -> Posted:
    """Record food as given away, with the name of who got it.

    Raises:
        Refused: no name, so that a recall could not reach them.
    """
    if not request.words.strip():
        raise refuse("words", ProblemKind.MISSING)
    return _leave(session, request, OperationKind.GIVE, LossKind.GIVEN, at, by)


def discard(session: Session, request: Leave, *, at: datetime, by: int | None) -> Posted:
    """Record food as thrown away, with the reason.

    Raises:
        Refused: no reason given.
    """
    if not request.words.strip():
        raise refuse("words", ProblemKind.MISSING)
    return _leave(session, request, OperationKind.DISCARD, LossKind.DISCARDED, at, by)


def _leave(
    session: Session,
    request: Leave,
    kind: OperationKind,
    loss: LossKind,
    at: datetime,
    by: int | None,
) -> Posted:
    if not request.refs:
        raise refuse("refs", ProblemKind.MISSING)
    if request.mass_mg is not None and request.mass_mg <= 0:
        raise refuse("mass_mg", ProblemKind.NOT_POSITIVE)
    if request.mass_mg is not None and len(request.refs) > 1:
        raise refuse("mass_mg", ProblemKind.ONE_AT_A_TIME)
    takes = [_take(session, ref, request) for ref in request.refs]
    posting = Posting(
        kind,
        request.done_on,
        note=request.note,
        takes=takes,
        losses=[(loss, sum(take.mass_mg for take in takes), request.words)],
    )
    return post(session, posting, at=at, by=by)


def _take(session: Session, ref: StockRef, request: Leave) -> Take:
    known_lot(session, ref, "refs")
    row = find_stock(session, ref)
    if request.mass_mg is not None:
        return Take(ref, request.mass_mg, "mass_mg")
    return Take(ref, max(row.mass_mg if row else 0, 1), "refs")
