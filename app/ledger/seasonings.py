"""Allergens of what was never a lot: seasonings and the like, told or not."""

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.models import LotAllergen
from app.ledger.safety import Applied, noted
from app.ledger.words import Presence
from app.science.safety.allergens import Allergen
from app.science.safety.rule import Verdict
from app.science.safety.verdicts import merged, unknown_ingredient

_PLAIN = frozenset(
    {"", "salt", "sea salt", "table salt", "rock salt", "coarse salt", "water", "ice"}
)  # empty: counted as salt


def unrecorded(name: str, allergens: frozenset[str] | None) -> tuple[Verdict, ...]:
    """Ask for a reason where nobody told the allergens of a seasoning.

    Args:
        name: as typed; salt and water have none. allergens: as told; empty is an answer, None not.
    """
    return unknown_ingredient(name, is_recorded=is_plain(name) or allergens is not None)


def is_plain(name: str) -> bool:
    """Is it salt or water, as typed, which carry no allergen?"""
    return name.strip().casefold() in _PLAIN


def carried(session: Session, lot_ids: Sequence[int], told: frozenset[str]) -> list[Applied]:
    """The note on every allergen that a mixture carries, of its lots and of its seasoning."""
    contained = session.scalars(
        select(LotAllergen.allergen).where(
            LotAllergen.lot_id.in_(lot_ids), LotAllergen.presence == Presence.CONTAINS
        )
    )
    return noted(merged(map(Allergen.parse, [*contained, *told])))
