"""Holds: which food is not to be eaten, given or mixed for now. They are asked of the genealogy."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Select, and_, bindparam, exists, select
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


_STANDS = and_(
    ~exists().where(Release.hold_id == Hold.id, is_kept(Release.operation_id)),
    is_kept(Hold.operation_id),
)
_ACTIVE = (
    select(Hold.id, Hold.lot_id, Lot.name, Hold.cause, Hold.words, Operation.done_on)
    .join(Operation, Operation.id == Hold.operation_id)
    .join(Lot, Lot.id == Hold.lot_id)
    .where(_STANDS)
    .order_by(Hold.id)
)


def active_holds(session: Session) -> list[ActiveHold]:
    """Every hold that stands, the oldest first."""
    return _told(session, _ACTIVE)


def _told(session: Session, query: Select[int, int, str, str, str, date]) -> list[ActiveHold]:
    return [
        ActiveHold(hold_id, lot_id, code_of(lot_id), name, HoldCause(cause), words, on)
        for hold_id, lot_id, name, cause, words, on in session.execute(query)
    ]


def _downstream() -> Select[int, int]:
    """Every lot that holds keep: the hold, the lot."""
    start = select(Hold.id.label("hold"), Hold.lot_id.label("lot"))
    start = start.where(Hold.id.in_(bindparam("holds", expanding=True)))
    reached = start.cte("held", recursive=True)
    step = (
        select(reached.c.hold, Flow.result_id)
        .join(reached, Flow.source_id == reached.c.lot)
        .where(is_kept(Flow.operation_id))
    )
    reached = reached.union(step)  # UNION, not ALL: diamonds would multiply
    return select(reached.c.hold, reached.c.lot)


_DOWNSTREAM = _downstream()


def held_lots(session: Session) -> dict[int, tuple[ActiveHold, ...]]:
    """Every lot under a hold of its own or of something in it, with those holds."""
    holds = {hold.id: hold for hold in active_holds(session)}
    if not holds:
        return {}
    by_lot: dict[int, set[int]] = defaultdict(set)
    for hold_id, lot_id in session.execute(_DOWNSTREAM, {"holds": list(holds)}):
        by_lot[lot_id].add(hold_id)
    return {lot_id: tuple(holds[i] for i in sorted(ids)) for lot_id, ids in by_lot.items()}


def _upstream() -> Select[int, int]:
    """Which holds that stand lie on lots or on anything in them: the lot asked about, the hold."""
    begun = select(Lot.id.label("asked"), Lot.id.label("lot"))
    begun = begun.where(Lot.id.in_(bindparam("lots", expanding=True)))
    reached = begun.cte("in_it", recursive=True)
    step = (
        select(reached.c.asked, Flow.source_id)
        .join(reached, Flow.result_id == reached.c.lot)
        .where(is_kept(Flow.operation_id))
    )
    reached = reached.union(step)  # UNION, not ALL: diamonds would multiply
    return select(reached.c.asked, Hold.id).join(Hold, Hold.lot_id == reached.c.lot).where(_STANDS)


_UPSTREAM = _upstream()


def holds_over(session: Session, lot_ids: Iterable[int]) -> dict[int, tuple[ActiveHold, ...]]:
    """The holds that keep each of some lots; lots that none keeps are left out.

    Asked from the lots upwards, so that the price grows with what is in them, and neither with all
    holds there ever were nor with all that was made of the food on hold.
    """
    pairs = session.execute(_UPSTREAM, {"lots": sorted(set(lot_ids))}).all()
    if not pairs:
        return {}
    told = _told(session, _ACTIVE.where(Hold.id.in_({hold_id for _, hold_id in pairs})))
    by_lot: dict[int, set[int]] = defaultdict(set)
    for lot_id, hold_id in pairs:
        by_lot[lot_id].add(hold_id)
    return {i: tuple(hold for hold in told if hold.id in ids) for i, ids in by_lot.items()}


def holds_on(session: Session, lot_id: int) -> tuple[ActiveHold, ...]:
    """The holds that keep one lot."""
    return holds_over(session, [lot_id]).get(lot_id, ())


def leaving_problems(session: Session, lots: Iterable[tuple[int, str]]) -> list[Problem]:
    """What speaks against eating or giving these lots; each with the field it was chosen in."""
    asked = list(lots)
    held = holds_over(session, [lot_id for lot_id, _ in asked])
    return [_problem(field, lot_id, held[lot_id]) for lot_id, field in asked if lot_id in held]


def mixing_problems(session: Session, groups: Iterable[Sequence[tuple[int, str]]]) -> list[Problem]:
    """What speaks against putting lots together: food under a hold is kept apart from other food.

    Args:
        groups: for each thing made, the lots it is made of with the fields they were chosen in.
    """
    mixed = [group for group in groups if len({lot_id for lot_id, _ in group}) > 1]
    held = holds_over(session, [i for group in mixed for i, _ in group]) if mixed else {}
    problems: list[Problem] = []
    for group in mixed:
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
