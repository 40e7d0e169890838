"""Mass fractions of a food, and what mixing, taking away and drying do to them."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from typing import Final

from app.science.errors import Impossible, require


@dataclass(frozen=True, slots=True)
class Composition:
    """Mass fractions (kg per kg of food, wet basis) of one food.

    Carbohydrate is by difference and INCLUDES fibre, as in the table of USDA SR28; fibre is the
    part of it that is fibre. The sum of water, protein, fat, carbohydrate and ash need not be 1:
    analyses of animal foods set carbohydrate to 0 (see docs/science.md); `residue` is the gap.
    """

    water: float
    protein: float
    fat: float
    carbohydrate: float
    ash: float
    fibre: float = 0.0

    def __post_init__(self) -> None:
        """Every fraction lies between 0 and 1."""
        for field in fields(self):
            require(field.name, getattr(self, field.name), 0.0, 1.0, "kg/kg")

    @property
    def residue(self) -> float:
        """What the analyses leave over or count twice, kg/kg (may be negative)."""
        return 1.0 - (self.water + self.protein + self.fat + self.carbohydrate + self.ash)

    @property
    def solids(self) -> float:
        """Everything that is not water, kg/kg."""
        return 1.0 - self.water

    @property
    def moisture_db(self) -> float:
        """Water per dry matter, kg/kg (dry basis)."""
        return self.water / self.solids if self.solids > 0 else float("inf")

    @property
    def fat_free_moisture(self) -> float:
        """Water per mass of everything that is not fat, kg/kg: what the dryness gate looks at."""
        fat_free = 1.0 - self.fat
        return self.water / fat_free if fat_free > 0 else 0.0

    @property
    def fat_db(self) -> float:
        """Fat per dry matter, kg/kg."""
        return self.fat / self.solids if self.solids > 0 else 0.0


WATER: Final = Composition(water=1.0, protein=0.0, fat=0.0, carbohydrate=0.0, ash=0.0)
COMPONENTS: Final = ("water", "protein", "fat", "carbohydrate", "ash", "fibre")


def mix(parts: Iterable[tuple[Composition, float]]) -> Composition:
    """Composition of several foods ground or stirred together.

    Args:
        parts: pairs of a composition and its mass in kg, mass ≥ 0, their sum > 0.
    Returns:
        The mass-weighted mean of every fraction.
    Raises:
        Impossible: nothing to mix. OutOfRange: a negative mass.
    Source: conservation of mass.
    """
    pairs = list(parts)
    for _, mass_kg in pairs:
        require("mass_kg", mass_kg, 0.0, None, "kg")
    total_kg = sum(mass_kg for _, mass_kg in pairs)
    if total_kg <= 0:
        raise Impossible("there is nothing to mix")
    mean = {
        f.name: sum(getattr(c, f.name) * kg for c, kg in pairs) / total_kg
        for f in fields(Composition)
    }
    return Composition(**{name: min(1.0, value) for name, value in mean.items()})


def with_water(composition: Composition, water: float) -> Composition:
    """The same solids at another water content, as after drying or soaking.

    Args:
        composition: what it was. water: the new water fraction, kg/kg, 0 ≤ water < 1.
    Returns:
        Composition whose solids keep their proportions.
    Raises:
        OutOfRange: water outside the range, or a food without solids.
    Source: conservation of the solids.
    """
    require("water", water, 0.0, 1.0 - 1e-9, "kg/kg")
    require("solids", composition.solids, 1e-9, 1.0, "kg/kg")
    scale = (1.0 - water) / composition.solids
    scaled = {f.name: min(1.0, getattr(composition, f.name) * scale) for f in fields(composition)}
    return Composition(**(scaled | {"water": water}))


MEASURABLE: Final = ("water", "protein", "fat", "carbohydrate", "ash")


def with_measured(composition: Composition, measured: Mapping[str, float]) -> Composition:
    """A composition in which what was measured stands, and the rest makes room for it.

    The fractions that were not measured keep their proportions to each other; fibre keeps its
    share of the carbohydrate. For water alone it is what with_water gives.

    Args:
        composition: as computed. measured: fractions by name, kg/kg, of MEASURABLE.
    Returns:
        Composition with every measured value as it was measured.
    Raises:
        OutOfRange: a fraction outside 0 to 1.
        Impossible: the measured fractions exceed the whole; nearest is 1.
    Source: conservation of mass; that the unmeasured keep their proportions is our judgement.
    Example:
        >>> lean = Composition(water=0.75, protein=0.22, fat=0.02, carbohydrate=0.0, ash=0.01)
        >>> round(with_measured(lean, {"fat": 0.10}).water, 4)
        0.6888
    """
    for name, value in measured.items():
        require(name, value, 0.0, 1.0, "kg/kg")
    rest = 1.0 - sum(measured.values())
    if rest < -1e-9:
        raise Impossible("the measured parts are more than the whole", 1.0)
    rest_before = 1.0 - sum(getattr(composition, name) for name in measured)
    scale = max(rest, 0.0) / rest_before if rest_before > 1e-9 else 0.0
    found = {name: min(1.0, getattr(composition, name) * scale) for name in MEASURABLE}
    found |= {name: measured[name] for name in MEASURABLE if name in measured}
    carbohydrate = composition.carbohydrate
    share = composition.fibre / carbohydrate if carbohydrate > 0 else 0.0
    return replace(composition, **found, fibre=min(1.0, share * found["carbohydrate"]))


def without(whole: Composition, whole_kg: float, part: Composition, part_kg: float) -> Composition:
    """What stays when a part of known composition is taken away: the inverse of mix.

    Args:
        whole, part: compositions. whole_kg, part_kg: masses, kg, 0 ≤ part_kg < whole_kg.
    Returns:
        Composition of the rest; whole = rest + part for every component, to rounding.
    Raises:
        OutOfRange: a mass outside the range.
        Impossible: the part holds more of a component than the whole does.
    Source: conservation of mass.
    Example:
        >>> lean = Composition(water=0.75, protein=0.22, fat=0.02, carbohydrate=0.0, ash=0.01)
        >>> tub = mix([(lean, 2.0), (WATER, 0.5)])
        >>> round(without(tub, 2.5, WATER, 0.5).fat, 6)
        0.02
    """
    require("whole_kg", whole_kg, 0.0, None, "kg")
    require("part_kg", part_kg, 0.0, whole_kg, "kg")
    rest_kg = whole_kg - part_kg
    require("rest_kg", rest_kg, 1e-9, None, "kg")
    rest: dict[str, float] = {}
    for name in COMPONENTS:
        held_kg = getattr(whole, name) * whole_kg
        left_kg = held_kg - getattr(part, name) * part_kg
        if left_kg < -1e-9 * whole_kg:
            raise Impossible(f"the part holds more {name} than the whole", nearest=held_kg)
        share = max(0.0, left_kg) / rest_kg
        rest[name] = min(1.0, share) if share < 1.0 + 1e-9 else share  # rounding only
    return Composition(**rest)


def with_lost_water(composition: Composition, mass_kg: float, lost_kg: float) -> Composition:
    """After a loss that is water alone: evaporation, and drip counted as water.

    Drip carries a little protein and salt, too little to count beside the spread of the raw
    table; melted fat is never drip here, it is weighed as skimmed.

    Args:
        composition: before. mass_kg: mass before, kg. lost_kg: water lost, kg.
    Returns:
        Composition of mass_kg - lost_kg.
    Raises:
        Impossible: more water lost than there was; nearest is the water there was, kg.
    Source: conservation of mass; that these losses are water alone is our judgement.
    """
    return without(composition, mass_kg, WATER, lost_kg)


def with_added_water(composition: Composition, mass_kg: float, added_kg: float) -> Composition:
    """After water was poured on or soaked up.

    Args:
        composition: before. mass_kg: mass before, kg. added_kg: water taken up, kg.
    Returns:
        Composition of mass_kg + added_kg.
    Raises:
        OutOfRange: a negative mass. Impossible: no mass at all.
    Source: conservation of mass.
    """
    return mix([(composition, mass_kg), (WATER, added_kg)])


def moisture_db(water: float) -> float:
    """Water per dry matter (dry basis) of a water fraction (wet basis): X = w/(1 - w).

    Args:
        water: wet basis, kg/kg, 0 ≤ water < 1.
    Returns:
        Dry basis, kg water per kg dry matter.
    Raises:
        OutOfRange: water outside the range.
    Source: definition; Singh and Heldman, Introduction to Food Engineering, chapter 1.
    Example:
        >>> round(moisture_db(0.85), 2)
        5.67
    """
    require("water", water, 0.0, 1.0 - 1e-9, "kg/kg")
    return water / (1.0 - water)


def water_fraction(moisture_db: float) -> float:
    """Water fraction (wet basis) of a moisture on dry basis: w = X/(1 + X).

    Args:
        moisture_db: kg water per kg dry matter, ≥ 0.
    Returns:
        Wet basis, kg/kg.
    Raises:
        OutOfRange: a negative moisture.
    Source: definition; Singh and Heldman, Introduction to Food Engineering, chapter 1.
    Example:
        >>> round(water_fraction(0.90), 4)
        0.4737
    """
    require("moisture_db", moisture_db, 0.0, None, "kg/kg")
    return moisture_db / (1.0 + moisture_db)


def mass_at_water_kg(mass_kg: float, water: float, new_water: float) -> float:
    """Mass of the same solids at another water content.

        m2 = m1 (1 - w1)/(1 - w2)

    Args:
        mass_kg: mass now, kg. water, new_water: water fractions, wet basis, kg/kg, < 1.
    Returns:
        Mass then, kg.
    Raises:
        OutOfRange: a mass or a fraction outside the range.
    Source: conservation of the solids.
    Example:
        >>> round(mass_at_water_kg(100.0, 0.70, 0.12), 2)
        34.09
    """
    require("mass_kg", mass_kg, 0.0, None, "kg")
    require("water", water, 0.0, 1.0, "kg/kg")
    require("new_water", new_water, 0.0, 1.0 - 1e-9, "kg/kg")
    return mass_kg * (1.0 - water) / (1.0 - new_water)


@dataclass(frozen=True, slots=True)
class AtwaterFactors:
    """Energy that each component yields, kcal per gram of it."""

    protein: float
    fat: float
    carbohydrate: float


GENERAL_ATWATER: Final = AtwaterFactors(protein=4.0, fat=9.0, carbohydrate=4.0)
KILOJOULES_PER_KILOCALORIE: Final = 4.184


def energy_kcal(
    composition: Composition, mass_kg: float, factors: AtwaterFactors = GENERAL_ATWATER
) -> float:
    """Food energy by Atwater factors.

        E = m (f_P P + f_F F + f_C C)

    Args:
        composition: of the food; carbohydrate by difference, fibre included, as in the table.
        mass_kg: mass, kg. factors: kcal/g; a food's own (Food.factors) or the general 4, 9, 4.
    Returns:
        Energy, kcal (4.184 kJ each).
    Raises:
        OutOfRange: a negative mass.
    Validity: the general factors are for mixtures; a food's own are better for one food. No
        factor for alcohol or organic acids.
    Source: Merrill and Watt, Energy Value of Foods, Agriculture Handbook 74, 1955, rev. 1973, as
        cited by the documentation of USDA SR28.
    Example:
        >>> deer = Composition(water=0.7115, protein=0.2178, fat=0.0713, carbohydrate=0, ash=0.0088)
        >>> round(energy_kcal(deer, 0.1), 1)
        151.3
    """
    require("mass_kg", mass_kg, 0.0, None, "kg")
    kcal_per_g = (
        factors.protein * composition.protein
        + factors.fat * composition.fat
        + factors.carbohydrate * composition.carbohydrate
    )
    return kcal_per_g * mass_kg * 1e3
