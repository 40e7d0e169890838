"""Mass fractions of a food, and what mixing, taking away and drying do to them."""

from collections.abc import Iterable
from dataclasses import dataclass, fields

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
