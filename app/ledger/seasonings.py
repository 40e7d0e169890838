"""Allergens of what was never a lot: seasonings and the like, told or not."""

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.models import Checkpoint, Lot
from app.ledger.queries.trace import trace
from app.ledger.stock import undone
from app.science.safety.allergens import ALG_UNKNOWN
from app.science.safety.rule import Verdict
from app.science.safety.verdicts import unknown_ingredient

_PLAIN = frozenset(
    {"", "salt", "sea salt", "table salt", "rock salt", "coarse salt", "water", "ice"}
)  # empty: counted as salt


def unrecorded(name: str, allergens: frozenset[str] | None) -> tuple[Verdict, ...]:
    """Ask for a reason where nobody told the allergens of a seasoning.

    Args:
        name: as typed; salt and water have none. allergens: as told; empty is an answer, None not.
    """
    is_plain = name.strip().casefold() in _PLAIN
    return unknown_ingredient(name, is_recorded=is_plain or allergens is not None)


def is_fully_known(session: Session, lot_id: int) -> bool:
    """Did everything that went into a lot have its allergens told?"""
    ids = {lot_id} | {traced.lot_id for traced in trace(session, lot_id).upstream}
    untold = (
        select(Checkpoint.id)
        .join(Lot, Lot.operation_id == Checkpoint.operation_id)
        .where(
            Lot.id.in_(ids),
            Checkpoint.rule == ALG_UNKNOWN.id,
            Checkpoint.operation_id.not_in(undone()),
        )
    )
    return session.scalar(untold.limit(1)) is None
