"""Allergens of what is on hand: what is known to be in it, and where nobody wrote them down."""

from collections import defaultdict
from dataclasses import dataclass
from functools import cache

from sqlalchemy import Select, bindparam, exists, or_, select
from sqlalchemy.orm import Session

from app.ledger.models import Checkpoint, Flow, Lot, LotAllergen, Operation, Source, Stock
from app.ledger.seasonings import is_plain
from app.ledger.stock import is_kept
from app.ledger.words import OperationKind, Presence, SourceKind
from app.science.classes import FoodClass
from app.science.safety.allergens import ALG_NONE, ALG_UNKNOWN, Allergen, AllergenGroup

# What came from elsewhere and may be made of several things; a plain food is what it is. Ours.
_MAYBE_MIXED = (FoodClass.DISH, FoodClass.BROTH, FoodClass.GRAIN_LEGUME, FoodClass.PANTRY)
_ONE_THING = frozenset({"honey", "sugar", "olive oil"})
_FROM_ELSEWHERE = (SourceKind.SHOP, SourceKind.GIFT, SourceKind.UNKNOWN)


@dataclass(frozen=True, slots=True)
class Allergens:
    """By lot on hand: the groups it contains or may contain, and the lots not fully told."""

    groups: dict[int, frozenset[AllergenGroup]]
    untold: frozenset[int]


def allergens_on_hand(session: Session) -> Allergens:
    """What the ledger knows of the allergens of everything on hand; four SELECTs at most."""
    groups: dict[int, set[AllergenGroup]] = defaultdict(set)
    for lot_id, words in session.execute(_KNOWN):
        groups[lot_id].add(Allergen.parse(words).group)
    asked = session.execute(_untold_in(_ON_HAND))
    roots = [lot_id for lot_id, name in asked if not _is_one_thing(name)]
    reached = session.scalars(_DOWNSTREAM, {"lots": roots}).all() if roots else ()
    known = {lot_id: frozenset(found) for lot_id, found in groups.items()}
    return Allergens(known, frozenset(reached))


def is_fully_known(session: Session, lot_id: int) -> bool:
    """Did everything that went into a lot have its allergens told?"""
    asked = session.execute(_untold_in(_ONE), {"lot": lot_id})
    return all(_is_one_thing(name) for _, name in asked)


def _is_one_thing(name: str) -> bool:
    return is_plain(name) or name.strip().casefold() in _ONE_THING


_ON_HAND = select(Stock.lot_id)
_ONE = select(Lot.id).where(Lot.id == bindparam("lot"))
_KNOWN = select(LotAllergen.lot_id, LotAllergen.allergen).where(LotAllergen.lot_id.in_(_ON_HAND))


@cache
def _untold_in(lots: Select[int]) -> Select[int, str]:
    """The lots in some lots at which something came in whose allergens nobody told.

    Asked from these upwards, so that the price grows with what is in them and not with history.
    """
    reached = select(Lot.id.label("lot")).where(Lot.id.in_(lots)).cte("in_it", recursive=True)
    step = (
        select(Flow.source_id)
        .join(reached, Flow.result_id == reached.c.lot)
        .where(is_kept(Flow.operation_id))
    )
    reached = reached.union(step)
    was_said = exists().where(
        Checkpoint.operation_id == Lot.operation_id, Checkpoint.rule == ALG_UNKNOWN.id
    )
    was_ticked = exists().where(
        LotAllergen.lot_id == Lot.id, LotAllergen.presence == Presence.CONTAINS
    )
    was_none = exists().where(
        Checkpoint.operation_id == Lot.operation_id, Checkpoint.rule == ALG_NONE.id
    )
    came_mixed = (
        (Operation.kind == OperationKind.INTAKE)
        & Lot.food_class.in_(_MAYBE_MIXED)
        & Source.kind.in_(_FROM_ELSEWHERE)
        & ~was_ticked
        & ~was_none
    )
    return (
        select(Lot.id, Lot.name)
        .join(reached, reached.c.lot == Lot.id)
        .join(Operation, Operation.id == Lot.operation_id)
        .outerjoin(Source, Source.id == Lot.source_id)
        .where(or_(was_said, came_mixed))
    )


def _downstream() -> Select[int]:
    """Some lots and all that was made of them."""
    start = select(Lot.id.label("lot")).where(Lot.id.in_(bindparam("lots", expanding=True)))
    reached = start.cte("of_it", recursive=True)
    step = (
        select(Flow.result_id)
        .join(reached, Flow.source_id == reached.c.lot)
        .where(is_kept(Flow.operation_id))
    )
    return select(reached.union(step).c.lot)


_DOWNSTREAM = _downstream()
