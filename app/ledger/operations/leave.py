"""Eat, give, discard: food that leaves the ledger, and where it went."""

from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.errors import ProblemKind, refuse
from app.ledger.game import lead_notes
from app.ledger.lots import known_lots
from app.ledger.models import Lot
from app.ledger.operations._post import Posted, Posting, Take, post
from app.ledger.safety import Applied, gate, rule_set_of
from app.ledger.stock import StockRef, on_hand
from app.ledger.temperatures import Typed, mistyped
from app.ledger.words import LossKind, OperationKind
from app.science.classes import FoodClass
from app.science.safety.fish import FishUse
from app.science.safety.readings import Reading
from app.science.safety.rule import Verdict
from app.science.safety.verdicts import fish_notes


@dataclass(frozen=True, slots=True)
class FishEaten:
    """How fish is eaten when it is not cooked through, and how it was frozen before."""

    use: FishUse
    frozen: Typed | None = None  # the warmest it was in that time
    frozen_days: float | None = None
    thickness_m: float | None = None
    is_pellet_fed: bool = False


@dataclass(frozen=True, slots=True)
class Leave:
    """What leaves: whole rows of stock, or part of a single one."""

    refs: tuple[StockRef, ...]
    done_on: date
    mass_mg: int | None = None
    words: str = ""  # to whom it was given, or why it was thrown away
    note: str = ""
    fish: FishEaten | None = None  # None: cooked
    reason: str = ""


def eat(session: Session, request: Leave, *, at: datetime, by: int | None) -> Posted:
    """Record food as eaten.

    Raises:
        Refused: fish that is eaten raw without having been frozen long and cold enough.
    """
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
    takes = _takes(session, request)
    posting = Posting(
        kind,
        request.done_on,
        note=request.note,
        takes=takes,
        losses=[(loss, sum(take.mass_mg for take in takes), request.words)],
        checkpoints=_checkpoints(session, request, kind),
    )
    return post(session, posting, at=at, by=by)


def _checkpoints(session: Session, request: Leave, kind: OperationKind) -> list[Applied]:
    if kind is OperationKind.DISCARD:
        return []
    applied = lead_notes(session, {ref.lot_id for ref in request.refs})
    for lot in known_lots(session, request.refs) if request.fish is not None else ():
        verdicts = _raw_fish(session, lot, request.fish, request.reason)
        applied += [replace(one, lot_id=lot.id) for one in gate(verdicts, request.reason)]
    return applied


def _raw_fish(
    session: Session, lot: Lot, fish: FishEaten | None, reason: str
) -> tuple[Verdict, ...]:
    """Was it frozen against parasites? A cooked fish is not asked."""
    if fish is None or not lot.is_raw:
        return ()
    return mistyped(Reading.FREEZER, fish.frozen, reason) or fish_notes(
        FoodClass(lot.food_class),
        lot.name,
        use=fish.use,
        frozen_c=fish.frozen.temp_c if fish.frozen else None,
        frozen_hours=None if fish.frozen_days is None else 24.0 * fish.frozen_days,
        thickness_m=fish.thickness_m,
        is_pellet_fed=fish.is_pellet_fed,
        insisted=True,  # asked above, in the unit that was typed
        rule_set=rule_set_of(session),
    )


def _takes(session: Session, request: Leave) -> list[Take]:
    """What each food loses; of one that is gone a crumb, which the posting will refuse."""
    there = on_hand(session, request.refs)
    known_lots(session, [ref for ref in request.refs if ref not in there])
    if request.mass_mg is not None:
        return [Take(ref, request.mass_mg, "mass_mg") for ref in request.refs]
    return [Take(ref, there[ref].mass_mg if ref in there else 1, "refs") for ref in request.refs]
