"""What food has been through that no mark says: half cooked, rehydrated, thawed, under oil."""

import re

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.models import Addition, Flow, Lot, LotTreatment, Operation, Package
from app.ledger.stock import StockRef, stands
from app.ledger.types import is_set
from app.ledger.windows import treatments_of
from app.ledger.words import AdditionKind, OperationKind
from app.science.classes import DRIED, FoodClass, Treatment
from app.science.packaging import PackagingKind
from app.science.safety.cooking_rules import COOK_PARTIAL
from app.science.safety.rehydration import REHY_REDRY
from app.science.safety.rule import Outcome, Verdict

_PLANT = frozenset({FoodClass.VEGETABLE, FoodClass.FRUIT, FoodClass.DISH})
_FISH = frozenset({FoodClass.FISH_LEAN, FoodClass.FISH_FATTY, FoodClass.SHELLFISH})
_OILY = re.compile(r"\boil(?:ed)?\b|\bconfit\b", re.IGNORECASE)
_GROWN = re.compile(
    r"\b(?:garlic|herbs?|basil|pesto|thyme|rosemary|chil(?:l)?i(?:es)?|mushrooms?|tomato(?:es)?"
    r"|peppers?|onions?|vegetables?)\b",
    re.IGNORECASE,
)


def half_cooked(session: Session, lot: Lot) -> tuple[Verdict, ...]:
    """The caution on storing food that a cook step warmed but did not show to be cooked.

    Food that was chilled since had this said to it then.
    """
    if not lot.is_raw or Treatment.CHILLED in treatments_of(session, lot.id):
        return ()
    if not _was_heated_raw(session, lot.id):
        return ()
    return (Verdict(COOK_PARTIAL, Outcome.CONFIRM),)


def _was_heated_raw(session: Session, lot_id: int) -> bool:
    """Is there a cooking among what it is made of that left it raw?"""
    reached = select(Lot.id).where(Lot.id == lot_id, is_set(Lot.is_raw)).cte("raw", recursive=True)
    step = (
        select(Flow.source_id)
        .join(reached, Flow.result_id == reached.c.id)
        .join(Lot, Lot.id == Flow.source_id)
        .where(is_set(Lot.is_raw), stands(Flow.operation_id))
    )
    reached = reached.union(step)
    cooked = (
        select(Lot.id)
        .join(Operation, Operation.id == Lot.operation_id)
        .where(Lot.id.in_(select(reached.c.id)), Operation.kind == OperationKind.COOK)
    )
    return session.scalar(cooked.limit(1)) is not None


def rehydrated_again(session: Session, lot: Lot) -> tuple[Verdict, ...]:
    """The caution on drying or sealing food that was dry once and got its water back."""
    if not treatments_of(session, lot.id) & DRIED:
        return ()
    return (Verdict(REHY_REDRY, Outcome.CONFIRM),) if _got_water(session, lot.id) else ()


def _got_water(session: Session, lot_id: int) -> bool:
    """Was water added to it, or to what it is made of, after it had been dried?"""
    reached = select(Lot.id).where(Lot.id == lot_id).cte("made_of", recursive=True)
    step = (
        select(Flow.source_id)
        .join(reached, Flow.result_id == reached.c.id)
        .where(stands(Flow.operation_id))
    )
    reached = reached.union(step)
    wetted = (
        select(Lot.id)
        .join(LotTreatment, LotTreatment.lot_id == Lot.id)
        .join(Addition, Addition.operation_id == Lot.operation_id)
        .where(
            Lot.id.in_(select(reached.c.id)),
            LotTreatment.treatment.in_(DRIED),
            Addition.kind == AdditionKind.WATER,
        )
    )
    return session.scalar(wetted.limit(1)) is not None


def is_under_oil(lot: Lot) -> bool:
    """Does its name speak of garlic, herbs or vegetables in oil?

    Example:
        >>> is_under_oil(Lot(name="Garlic in oil", food_class="pantry"))
        True
        >>> is_under_oil(Lot(name="Olive oil", food_class="pantry"))
        False
    """
    grown = FoodClass(lot.food_class) in _PLANT or _GROWN.search(lot.name) is not None
    return grown and _OILY.search(lot.name) is not None


def is_airless_fish(session: Session, lot: Lot, ref: StockRef) -> bool:
    """Is it raw fish in a pack without air, as far as is known?"""
    if FoodClass(lot.food_class) not in _FISH or not lot.is_raw:
        return False
    unit = session.get(Package, ref.package_id) if ref.package_id is not None else None
    if unit is not None:
        return unit.pressure_fraction < 1.0 or unit.absorber_id is not None
    return lot.wrap == PackagingKind.VACUUM_BAG
