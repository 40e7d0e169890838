"""Mix: several lots and what seasons them become one, to a fat, water or protein wanted."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from sqlalchemy.orm import Session

from app.ledger.errors import ProblemKind, refuse
from app.ledger.lots import kind_of, known_lot, made_from, need_mass, wrap_for
from app.ledger.makeup import composition_of, makeup_of, mixed, pure
from app.ledger.mass import to_kg, to_mg
from app.ledger.models import Lot
from app.ledger.operations._post import Make, Posted, Posting, Take, losses, post
from app.ledger.refreezing import refreezing
from app.ledger.refrigerated import in_its_days, no_fresher
from app.ledger.safety import gate, together
from app.ledger.seasonings import carried, unrecorded
from app.ledger.stock import StockRef, find_stock
from app.ledger.words import AdditionKind, LossKind, OperationKind
from app.science.blending import Addition, Component, Ingredient, blend_to_target, seasoned_mix
from app.science.classes import FoodClass
from app.science.composition import WATER, Composition
from app.science.errors import Impossible, NotCovered
from app.science.safety.catalogue import BY_ID


class Stuff(StrEnum):
    """What an addition is, as far as the composition goes."""

    SALT = "salt"
    SPICE = "spice"  # counted as dry carbohydrate: our judgement
    WATER = "water"


_MADE_OF = {
    Stuff.SALT: Composition(water=0.0, protein=0.0, fat=0.0, carbohydrate=0.0, ash=1.0),
    Stuff.SPICE: Composition(water=0.0, protein=0.0, fat=0.0, carbohydrate=1.0, ash=0.0),
    Stuff.WATER: WATER,
}


@dataclass(frozen=True, slots=True)
class MixPart:
    """One lot that goes in, and how much of it."""

    ref: StockRef
    mass_mg: int


@dataclass(frozen=True, slots=True)
class Seasoning:
    """Something worked in, as a share of the meat, kg/kg."""

    name: str
    stuff: Stuff
    share: float
    allergens: frozenset[str] | None = None  # None: nobody told; salt and water have none

    @property
    def label(self) -> str:
        """By what its allergens are asked for: salt and water are what they are."""
        return self.name if self.stuff is Stuff.SPICE else str(self.stuff)


@dataclass(frozen=True, slots=True)
class Mix:
    """What goes in, what it is seasoned with, and what came out."""

    parts: tuple[MixPart, ...]
    name: str
    made_mg: int
    place_id: int
    done_on: date
    seasonings: tuple[Seasoning, ...] = ()
    stuck_mg: int = 0
    unexplained_mg: int = 0
    note: str = ""
    reason: str = ""


def mix_lots(session: Session, request: Mix, *, at: datetime, by: int | None) -> Posted:
    """Work several lots together; the result keeps the marks of all.

    Raises:
        Refused: fewer than two lots, more than is on hand, masses that do not add up, or a curing
            salt, which is never worked out here.
    """
    if len(request.parts) < 2:
        raise refuse("parts", ProblemKind.MISSING)
    need_mass({f"parts[{i}].mass": part.mass_mg for i, part in enumerate(request.parts)})
    lots = [known_lot(session, p.ref, f"parts[{i}].ref") for i, p in enumerate(request.parts)]
    parts = [
        (makeup_of(session, lot), to_kg(part.mass_mg))
        for lot, part in zip(lots, request.parts, strict=True)
    ]
    amounts_mg = seasoning_mg(request.seasonings, sum(part.mass_mg for part in request.parts))
    seasoned = [
        (pure(_MADE_OF[s.stuff]), to_kg(mass_mg))
        for s, mass_mg in zip(request.seasonings, amounts_mg, strict=True)
    ]
    makeup = mixed([*parts, *seasoned])
    heaviest = lots[max(range(len(lots)), key=lambda i: request.parts[i].mass_mg)]
    new = made_from(
        session,
        heaviest,
        request.done_on,
        name=request.name,
        food_class=_class(heaviest, lots),
        composition=makeup.composition,
        water_low=makeup.water_low,
        water_high=makeup.water_high,
        water_is_measured=makeup.water_is_measured,
        wrap=wrap_for(kind_of(session, request.place_id)),
        allergens_at_intake=told_allergens(request.seasonings),
    )
    untold = [v for one in request.seasonings for v in unrecorded(one.label, one.allergens)]
    refs = [part.ref for part in request.parts]
    new = no_fresher(session, new, refs, request.place_id)
    posting = Posting(
        OperationKind.BLEND,
        request.done_on,
        note=request.note,
        takes=[
            Take(part.ref, part.mass_mg, f"parts[{i}].mass") for i, part in enumerate(request.parts)
        ],
        makes=[Make(request.place_id, request.made_mg, new)],
        additions=_additions(request.seasonings, amounts_mg),
        losses=losses(
            (LossKind.STUCK, request.stuck_mg), (LossKind.UNEXPLAINED, request.unexplained_mg)
        ),
        checkpoints=[
            *together(
                lambda: gate(untold, request.reason),
                lambda: in_its_days(session, refs, request.done_on, request.reason, at),
                lambda: refreezing(session, refs, request.place_id, request.reason),
            ),
            *carried(session, [lot.id for lot in lots], told_allergens(request.seasonings)),
        ],
    )
    return post(session, posting, at=at, by=by)


def told_allergens(seasonings: Sequence[Seasoning]) -> frozenset[str]:
    """Every allergen that was told of a seasoning."""
    return frozenset().union(*(one.allergens or frozenset() for one in seasonings))


def seasoning_mg(seasonings: Sequence[Seasoning], meat_mg: int) -> list[int]:
    """How much of each seasoning its share of the meat is, in whole milligrams.

    Raises:
        Refused: a curing salt; its dose is for the official guide.
    """
    amounts = []
    for i, one in enumerate(seasonings):
        addition = Addition(one.name, _MADE_OF[one.stuff], one.share)
        try:
            answer = seasoned_mix(WATER, to_kg(meat_mg), [addition])
        except NotCovered as error:
            rule = BY_ID["CAN-NONE"]
            raise refuse(
                f"seasonings[{i}].name",
                ProblemKind.NOT_COVERED,
                sentence=f"{error} (rule {rule.id}: {rule.source or rule.evidence.value}).",
            ) from error
        amounts.append(to_mg(answer.amounts_kg[0]))
    return amounts


def amounts_for(
    session: Session,
    refs: Sequence[StockRef],
    component: Component,
    target: float,
    total_mg: int | None = None,
) -> list[int]:
    """How much of each lot makes a blend of a wanted fraction, with what is on hand as limits.

    Args:
        refs: two lots or more; the first are used first where there is a choice. component, target:
            what is wanted, kg/kg. total_mg: mass of the blend; None: as much as is on hand allows.
    Returns:
        Milligrams of each, in the order given.
    Raises:
        Refused: fewer than two lots, or a target out of reach (with the nearest in reach).
    """
    if len(set(refs)) < 2 or len(set(refs)) < len(refs):
        raise refuse("parts", ProblemKind.MISSING)
    ingredients = []
    for i, ref in enumerate(refs):
        row = find_stock(session, ref)
        composition = composition_of(session, known_lot(session, ref, f"parts[{i}].ref"))
        ingredients.append(Ingredient(composition, 0.0, to_kg(row.mass_mg) if row else 0.0))
    total_kg = None if total_mg is None else to_kg(total_mg)
    try:
        answer = blend_to_target(ingredients, {component: target}, total_kg)
    except Impossible as error:
        raise refuse(
            "target",
            ProblemKind.IMPOSSIBLE,
            component=str(component),
            wanted=target,
            nearest=error.nearest,
        ) from error
    return [to_mg(kg) for kg in answer.amounts_kg]


def _additions(
    seasonings: Sequence[Seasoning], amounts_mg: Sequence[int]
) -> list[tuple[AdditionKind, int, str]]:
    return [
        (
            AdditionKind.WATER if one.stuff is Stuff.WATER else AdditionKind.SEASONING,
            mass_mg,
            one.name,
        )
        for one, mass_mg in zip(seasonings, amounts_mg, strict=True)
        if mass_mg > 0
    ]


def _class(heaviest: Lot, lots: Sequence[Lot]) -> FoodClass:
    """Fat or pantry goods leave a food what it is; foods of different class are a dish."""
    foods = {lot.food_class for lot in lots} - {FoodClass.FAT, FoodClass.PANTRY}
    if len(foods) == 1:
        return FoodClass(foods.pop())
    return FoodClass.DISH if foods else FoodClass(heaviest.food_class)
