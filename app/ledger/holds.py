"""Holds: which food is not to be eaten, given or mixed for now. They are asked of the genealogy."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import exists, select
from sqlalchemy.orm import Session

from app.ledger.codes import code_of
from app.ledger.errors import Problem, ProblemKind
from app.ledger.models import Flow, Hold, Lot, Operation, Release
from app.ledger.stock import is_kept
from app.ledger.words import HoldCause


@dataclass(frozen=True, slots=True)
class ActiveHold:
    """A hold that has not been lifted, and the lot it was put on."""

    id: int
    lot_id: int
    code: str
    name: str
    cause: HoldCause
    words: str
    since: date


_ACTIVE = (
    select(Hold, Lot.name, Operation.done_on)
    .join(Operation, Operation.id == Hold.operation_id)
    .join(Lot, Lot.id == Hold.lot_id)
    .where(
        ~exists().where(Release.hold_id == Hold.id, is_kept(Release.operation_id)),
        is_kept(Hold.operation_id),
    )
    .order_by(Hold.id)
)


def active_holds(session: Session) -> list[ActiveHold]:
    """Every hold that stands, the oldest first."""
    rows = session.execute(_ACTIVE).all()
    return [
        ActiveHold(
            hold.id, hold.lot_id, code_of(hold.lot_id), name, HoldCause(hold.cause), hold.words, on
        )
        for hold, name, on in rows
    ]


def held_lots(session: Session) -> dict[int, tuple[ActiveHold, ...]]:
    """Every lot under a hold of its own or of something in it, with those holds."""
    holds = {hold.id: hold for hold in active_holds(session)}
    if not holds:
        return {}
    start = select(Hold.id.label("hold"), Hold.lot_id.label("lot")).where(Hold.id.in_(holds))
    reached = start.cte("held", recursive=True)
    step = (
        select(reached.c.hold, Flow.result_id)
        .join(reached, Flow.source_id == reached.c.lot)
        .where(is_kept(Flow.operation_id))
    )
    reached = reached.union(step)  # UNION, not ALL: diamonds would multiply
    by_lot: dict[int, set[int]] = defaultdict(set)
    for hold_id, lot_id in session.execute(select(reached.c.hold, reached.c.lot)):
        by_lot[lot_id].add(hold_id)
    return {lot_id: tuple(holds[i] for i in sorted(ids)) for lot_id, ids in by_lot.items()}


def holds_on(session: Session, lot_id: int) -> tuple[ActiveHold, ...]:
    """The holds that keep one lot."""
    return held_lots(session).get(lot_id, ())


def leaving_problems(session: Session, lots: Iterable[tuple[int, str]]) -> list[Problem]:
    """What speaks against eating or giving these lots; each with the field it was chosen in."""
    held = held_lots(session)
    return [_problem(field, lot_id, held[lot_id]) for lot_id, field in lots if lot_id in held]


def mixing_problems(session: Session, groups: Iterable[Sequence[tuple[int, str]]]) -> list[Problem]:
    """What speaks against putting lots together: food under a hold is kept apart from other food.

    Args:
        groups: for each thing made, the lots it is made of with the fields they were chosen in.
    """
    held: dict[int, tuple[ActiveHold, ...]] | None = None
    problems: list[Problem] = []
    for group in groups:
        if len({lot_id for lot_id, _ in group}) < 2:
            continue
        held = held_lots(session) if held is None else held
        holds = {lot_id: held.get(lot_id, ()) for lot_id, _ in group}
        if len(set(holds.values())) > 1:
            problems += [_problem(f, lot_id, holds[lot_id]) for lot_id, f in group if holds[lot_id]]
    return problems


def _problem(field: str, lot_id: int, holds: Sequence[ActiveHold]) -> Problem:
    first = holds[0]
    numbers: dict[str, object] = {
        "code": code_of(lot_id),
        "cause": first.cause,
        "words": first.words,
        "held_code": first.code,
        "held_name": first.name,
    }
    return Problem(field, ProblemKind.ON_HOLD, numbers)
