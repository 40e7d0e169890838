"""How much of what to grind together for a wanted fat, water or protein; seasoned mixes.

Curing salts are refused: their dose is a matter of safety, for an official guide and a fine scale.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import inf, isfinite
from typing import Final

from app.science.composition import Composition, mix
from app.science.errors import Impossible, NotCovered, require


class Component(StrEnum):
    """What a blend can be aimed at."""

    WATER = "water"
    PROTEIN = "protein"
    FAT = "fat"


@dataclass(frozen=True, slots=True)
class Ingredient:
    """One food of a blend: at least low_kg of it goes in, at most high_kg is on hand."""

    composition: Composition
    low_kg: float = 0.0
    high_kg: float = inf

    def __post_init__(self) -> None:
        """The limits are masses, in order."""
        require("low_kg", self.low_kg, 0.0, None, "kg")
        require("high_kg", self.high_kg, self.low_kg, None, "kg")


@dataclass(frozen=True, slots=True)
class Blend:
    """An answer: kg of each ingredient in the order given, and what they make."""

    amounts_kg: tuple[float, ...]
    composition: Composition

    @property
    def total_kg(self) -> float:
        """Mass of the blend, kg."""
        return sum(self.amounts_kg)


def fat_source_to_add(
    lean_kg: float, lean_fat: float, source_fat: float, target_fat: float
) -> float:
    """Mass of a second ingredient that brings a first one to a target fat fraction.

        add = m (t - f) / (s - t)

    The source's REAL fat counts: back-fat is about 89 % fat, not 100, and the added mass itself
    makes the batch bigger, so "15 % of 2 kg" is too little. It works downwards too: lean to add
    to a fat mince.

    Args:
        lean_kg: m, mass to be changed, kg. lean_fat: f, its fat fraction, kg/kg.
        source_fat: s, fat fraction of what is added. target_fat: t, fat fraction wanted.
    Returns:
        Mass to add, kg.
    Raises:
        OutOfRange: a mass or a fraction outside the range.
        Impossible: the target is not between f and s; nearest is the fraction nearest to it
            (the source's own fraction is only approached, never reached).
    Source: square of R. A. Pearson; University of Guelph, Dairy Science: Standardization Problems.
    Example:
        >>> round(fat_source_to_add(500.0, 0.04, 0.35, 0.10), 6)
        120.0
    """
    require("lean_kg", lean_kg, 0.0, None, "kg")
    fractions = {"lean_fat": lean_fat, "source_fat": source_fat, "target_fat": target_fat}
    for name, value in fractions.items():
        require(name, value, 0.0, 1.0, "kg/kg")
    if target_fat == lean_fat:
        return 0.0
    low, high = sorted((lean_fat, source_fat))
    if not low <= target_fat <= high or target_fat == source_fat:
        nearest = min((lean_fat, source_fat), key=lambda fat: abs(fat - target_fat))
        raise Impossible("the target fat is not between the two ingredients", nearest)
    return lean_kg * (target_fat - lean_fat) / (source_fat - target_fat)


def blend_to_target(
    ingredients: Sequence[Ingredient],
    targets: Mapping[Component, float],
    total_kg: float | None = None,
) -> Blend:
    """Amounts of two or more ingredients that meet one or more target fractions.

    With total_kg the blend weighs that much; without it, it is as big as the stocks on hand allow.
    Where several answers exist, the ingredients listed first are used first.

    Args:
        ingredients: two or more, with limits in kg. targets: wanted fractions, kg/kg, one or more.
        total_kg: mass of the blend, kg, > 0, or None.
    Returns:
        The amounts and the composition they make.
    Raises:
        OutOfRange: a target, or the total, outside the range.
        Impossible: no amounts within the limits do it; for ONE target, nearest is the fraction
            within reach that is nearest to it; None if the limits do not even allow the total.
    Source: conservation of mass; two ingredients exactly (Pearson), more by linear programme.
    Example:
        >>> lean = Ingredient(Composition(0.74, 0.22, 0.02, 0.0, 0.01))
        >>> back_fat = Ingredient(Composition(0.077, 0.029, 0.887, 0.0, 0.007))
        >>> blend = blend_to_target([lean, back_fat], {Component.FAT: 0.15}, total_kg=2.0)
        >>> [round(kg, 3) for kg in blend.amounts_kg]
        [1.7, 0.3]
    """
    _check_question(ingredients, targets, total_kg)
    if len(ingredients) == 2 and len(targets) == 1 and total_kg is not None:
        amounts = _exact_pair(ingredients, targets, total_kg)
    else:
        amounts = _linear_programme(ingredients, targets, total_kg)
    if amounts is None:
        raise Impossible(
            "no amounts within the limits meet the target",
            _nearest_fraction(ingredients, targets, total_kg),
        )
    parts = zip(ingredients, amounts, strict=True)
    return Blend(amounts, mix((ingredient.composition, kg) for ingredient, kg in parts))


def _check_question(
    ingredients: Sequence[Ingredient], targets: Mapping[Component, float], total_kg: float | None
) -> None:
    require("number of ingredients", len(ingredients), 2, None)
    require("number of targets", len(targets), 1, len(Component))
    for component, target in targets.items():
        require(f"target {component}", target, 0.0, 1.0, "kg/kg")
    if total_kg is not None:
        require("total_kg", total_kg, 1e-6, None, "kg")
    elif not all(isfinite(i.high_kg) for i in ingredients):
        raise Impossible("without a total, every ingredient needs a limit")


def _exact_pair(
    pair: Sequence[Ingredient], targets: Mapping[Component, float], total_kg: float
) -> tuple[float, ...] | None:
    """Closed form for two ingredients, None when it leaves the limits."""
    ((component, target),) = targets.items()
    a, b = (getattr(i.composition, component) for i in pair)
    if a == b:
        return _linear_programme(pair, targets, total_kg)
    first_kg = total_kg * (target - b) / (a - b)
    amounts = (first_kg, total_kg - first_kg)
    slack = 1e-9 * total_kg
    inside = all(
        i.low_kg - slack <= kg <= i.high_kg + slack for i, kg in zip(pair, amounts, strict=True)
    )
    return tuple(max(0.0, kg) for kg in amounts) if inside else None


def _linear_programme(
    ingredients: Sequence[Ingredient], targets: Mapping[Component, float], total_kg: float | None
) -> tuple[float, ...] | None:
    """Σ (c_i - t) x_i = 0 for each target and Σ x_i = total, cheapest by order of the list."""
    from scipy.optimize import linprog

    scale = total_kg or max(sum(i.high_kg for i in ingredients), 1e-6)
    rows = [
        [getattr(i.composition, component) - target for i in ingredients]
        for component, target in targets.items()
    ]
    wanted = [0.0] * len(rows)
    if total_kg is not None:
        rows.append([1.0] * len(ingredients))
        wanted.append(1.0)
    # A later ingredient costs more; without a total every kilogram is worth far more than that.
    worth = 0.0 if total_kg is not None else 1e3
    costs = [order / len(ingredients) - worth for order in range(len(ingredients))]
    bounds = [(i.low_kg / scale, _bound(i.high_kg, scale)) for i in ingredients]
    answer = linprog(costs, A_eq=rows, b_eq=wanted, bounds=bounds)
    if not answer.success or sum(answer.x) <= 1e-9:
        return None
    return tuple(max(0.0, float(x)) * scale for x in answer.x)


def _nearest_fraction(
    ingredients: Sequence[Ingredient], targets: Mapping[Component, float], total_kg: float | None
) -> float | None:
    """The reachable fraction nearest to a single target that cannot be reached."""
    if len(targets) > 1:
        return None
    ((component, target),) = targets.items()
    if total_kg is None:
        return _nearest_end(ingredients, component, target)
    from scipy.optimize import linprog

    fractions = [getattr(i.composition, component) for i in ingredients]
    bounds = [(i.low_kg / total_kg, _bound(i.high_kg, total_kg)) for i in ingredients]
    ends = []
    for sign in (1.0, -1.0):
        costs = [sign * fraction for fraction in fractions]
        answer = linprog(costs, A_eq=[[1.0] * len(fractions)], b_eq=[1.0], bounds=bounds)
        if not answer.success:
            return None
        ends.append(sign * float(answer.fun))
    return min(max(target, ends[0]), ends[1])


def _nearest_end(
    ingredients: Sequence[Ingredient], component: Component, target: float
) -> float | None:
    """With free amounts the extremes: what must go in, and then the richest or the poorest."""
    must = [(i.composition, i.low_kg) for i in ingredients]

    def added(chosen: Ingredient) -> float:
        parts = [*must, (chosen.composition, chosen.high_kg - chosen.low_kg)]
        return float(getattr(mix(parts), component)) if sum(kg for _, kg in parts) > 0 else inf

    reached = [value for value in map(added, ingredients) if isfinite(value)]
    return min(reached, key=lambda value: abs(value - target)) if reached else None


def _bound(high_kg: float, scale: float) -> float | None:
    return high_kg / scale if isfinite(high_kg) else None


class Basis(StrEnum):
    """What the percentage of an addition is counted on."""

    MEAT = "meat"
    TOTAL = "total"


@dataclass(frozen=True, slots=True)
class Addition:
    """Salt, spice, water, onion: a share of the meat or of the finished mix.

    salt_fraction is the common salt in it, kg/kg: 1 for salt, 0.02 for a salted broth.
    """

    name: str
    composition: Composition
    share: float
    basis: Basis = Basis.MEAT
    salt_fraction: float = 0.0


@dataclass(frozen=True, slots=True)
class SeasonedMix:
    """Amounts of the additions in the order given, and what the whole becomes."""

    amounts_kg: tuple[float, ...]
    total_kg: float
    composition: Composition
    salt_fraction: float


_CURING_WORDS: Final = (
    "nitrite",
    "nitrate",
    "curing",
    "saltpetre",
    "saltpeter",
    "pink salt",
    "e249",
    "e250",
    "e251",
    "e252",
)


def seasoned_mix(meat: Composition, meat_kg: float, additions: Sequence[Addition]) -> SeasonedMix:
    """A sausage or another seasoned mix, its additions given as shares of meat or of the whole.

        total = meat (1 + Σ shares of meat) / (1 - Σ shares of total)

    Args:
        meat: composition of the ground meat. meat_kg: its mass, kg, > 0.
        additions: each with its share, ≥ 0, of the meat or of the total.
    Returns:
        kg of each addition, total, composition and salt of the mix.
    Raises:
        OutOfRange: a mass or share outside the range; shares of the total reach 1.
        NotCovered: a curing salt. What is matched is the name; nothing here doses it.
    Source: conservation of mass.
    Example:
        >>> pork = Composition(0.61, 0.17, 0.21, 0.0, 0.01)
        >>> salt = Addition("salt", Composition(0.002, 0, 0, 0, 0.998), 0.018, salt_fraction=1.0)
        >>> round(seasoned_mix(pork, 2.0, [salt]).amounts_kg[0], 3)
        0.036
    """
    require("meat_kg", meat_kg, 1e-6, None, "kg")
    for addition in additions:
        _check_addition(addition)
    of_meat = sum(a.share for a in additions if a.basis is Basis.MEAT)
    of_total = sum(a.share for a in additions if a.basis is Basis.TOTAL)
    require("shares of the total", of_total, 0.0, 0.999, "kg/kg")
    total_kg = meat_kg * (1.0 + of_meat) / (1.0 - of_total)
    amounts = tuple(a.share * (meat_kg if a.basis is Basis.MEAT else total_kg) for a in additions)
    parts = [(a.composition, kg) for a, kg in zip(additions, amounts, strict=True)]
    salt_kg = sum(a.salt_fraction * kg for a, kg in zip(additions, amounts, strict=True))
    return SeasonedMix(amounts, total_kg, mix([(meat, meat_kg), *parts]), salt_kg / total_kg)


def _check_addition(addition: Addition) -> None:
    name = addition.name.casefold()
    if any(word in name for word in _CURING_WORDS):
        raise NotCovered("curing salts")
    require("share", addition.share, 0.0, None, "kg/kg")
    require("salt_fraction", addition.salt_fraction, 0.0, 1.0, "kg/kg")
