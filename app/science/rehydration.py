"""Water for dried food: how much to put back, what is published, and what a trial of two shows."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from app.science.composition import mass_at_water_kg
from app.science.errors import Impossible, OutOfRange, require
from app.science.ranges import Range
from app.science.sources import (
    JFE_FREEZE_DRIED_FRUIT,
    MSU_DRIED_VEGETABLES,
    UF_DRIED_VEGETABLES,
    Evidence,
    Source,
    Sourced,
)

WATER_TAKEN_BACK: Final = Sourced(
    0.90,
    "share of the water that drying took",
    Evidence.COPY,
    JFE_FREEZE_DRIED_FRUIT,
    low=0.70,
    high=1.00,
    note="freeze-dried fruit regained up to 90 %; the low end is our judgement, the high end is "
    "the ceiling",
)
US_CUP_M3: Final = 236.588e-6  # 8 US fluid ounces of 29.5735 mL
WATER_DENSITY_KG_M3: Final = 998.2  # at 20 °C


def water_to_add_kg(dry_kg: float, dry_water: float, fresh_water: float) -> Range:
    """Water that brings a dried food back to how wet it was.

        ceiling = m_dry (1 - w_dry)/(1 - w_fresh) - m_dry

    Args:
        dry_kg: net mass of the package, kg. dry_water: water fraction now, wet basis, kg/kg.
        fresh_water: water fraction to come back to (as cooked, or fresh), kg/kg, ≥ dry_water.
    Returns:
        kg of water: high is the ceiling, all that drying took; central and low what food usually
        takes up. Pour up to the ceiling, then drain or boil off what is left over.
    Raises:
        OutOfRange: a mass or a fraction outside the range.
        Impossible: the food was drier before than it is now.
    Validity: dried food never takes back more than it lost; over-dried crust takes back less.
    Source: conservation of the solids; WATER_TAKEN_BACK.
    Example:
        >>> round(water_to_add_kg(0.78, 0.02, 0.68).high, 2)
        1.61
    """
    require("dry_kg", dry_kg, 0.0, None, "kg")
    require("dry_water", dry_water, 0.0, 1.0, "kg/kg")
    require("fresh_water", fresh_water, 0.0, 0.999, "kg/kg")
    if fresh_water < dry_water:
        raise Impossible("it was drier before than it is now", dry_water)
    ceiling_kg = max(0.0, mass_at_water_kg(dry_kg, dry_water, fresh_water) - dry_kg)
    low, high = WATER_TAKEN_BACK.span
    return Range(low, WATER_TAKEN_BACK.value, high).times(ceiling_kg)


def us_cups(water_kg: float) -> float:
    """Water as US cups of 236.588 mL at 20 °C.

    Args:
        water_kg: mass, kg.
    Returns:
        Cups.
    Raises:
        OutOfRange: a negative mass.
    Source: the US cup is half a US pint (16 US fluid ounces); water at 20 °C, 998.2 kg/m³.
    Example:
        >>> round(us_cups(0.5), 2)
        2.12
    """
    require("water_kg", water_kg, 0.0, None, "kg")
    return water_kg / (WATER_DENSITY_KG_M3 * US_CUP_M3)


class SoakWater(StrEnum):
    """With which water the published soak begins."""

    ROOM = "room"  # fruit
    BOILING = "boiling"  # vegetables


@dataclass(frozen=True, slots=True)
class Soak:
    """One row of the published table: cups of water to ONE CUP of dried food, by volume.

    For air-dried produce. Soaks of more than 2 hours belong in the refrigerator (same bulletin).
    """

    food: str
    cups_water: float
    min_hours: float
    water: SoakWater
    evidence: Evidence = Evidence.COPY
    source: Source = UF_DRIED_VEGETABLES


def _fruit(food: str, cups_water: float, min_hours: float) -> Soak:
    return Soak(food, cups_water, min_hours, SoakWater.ROOM)


def _vegetable(food: str, cups_water: float, min_hours: float) -> Soak:
    return Soak(food, cups_water, min_hours, SoakWater.BOILING)


# The whole table was read in a third-party copy, its first rows in two; a second list gives green
# beans 2 1/4 cups and 1 1/2 hours, onions 1 hour and pears 1 hour. Whether fruit takes cold and
# vegetables boiling water stands in a footnote known from memory and from that second list.
SOAKS: Final = (
    _fruit("apples", 1.5, 0.5),
    _fruit("pears", 1.75, 1.25),
    _fruit("peaches", 2.0, 1.25),
    _vegetable("asparagus", 2.25, 1.5),
    _vegetable("lima beans", 2.5, 1.5),
    _vegetable("green beans", 2.5, 1.0),
    _vegetable("beets", 2.75, 1.5),
    _vegetable("carrots", 2.25, 1.0),
    _vegetable("cabbage", 3.0, 1.0),
    _vegetable("corn", 2.25, 0.5),
    _vegetable("okra", 3.0, 0.5),
    _vegetable("onions", 2.0, 0.75),
    _vegetable("peas", 2.5, 0.5),
    _vegetable("pumpkin", 3.0, 1.0),
    _vegetable("squash", 1.75, 1.0),
    _vegetable("spinach", 1.0, 0.5),
    _vegetable("sweet potato", 1.5, 0.5),
    _vegetable("greens", 1.0, 0.75),
)
# "Root, stem and seed vegetables": another bulletin's general rule, hours in cold water to cover.
SOAK_COLD_HOURS: Final = Sourced(
    1.0, "h", Evidence.READ, MSU_DRIED_VEGETABLES, low=0.5, high=2.0, note="1/2 to 2 hours"
)


def published_soak(name: str) -> Soak | None:
    """The published soak for a food, by the words of its name; None where there is none.

    Args:
        name: as in the composition table, "Beans, snap, green, raw", or as somebody says it.
    Returns:
        The row all of whose words stand in the name; of several the one with most words, then
        the later one (beet greens are greens).
    Source: Reynolds, Using Dried Vegetables, University of Florida Extension, table 1.
    Example:
        >>> published_soak("Corn, sweet, yellow, raw").cups_water
        2.25
        >>> published_soak("Game meat, moose, raw") is None
        True
    """
    words = {_singular(word) for word in name.casefold().replace(",", " ").split()}
    fitting = [soak for soak in reversed(SOAKS) if _soak_words(soak) <= words]
    return max(fitting, key=lambda soak: len(_soak_words(soak)), default=None)


def _soak_words(soak: Soak) -> set[str]:
    return {_singular(word) for word in soak.food.split()}


def _singular(word: str) -> str:
    return word[:-1] if word.endswith("s") and not word.endswith("ss") else word


def rehydration_ratio(dry_kg: float, drained_kg: float) -> float:
    """Drained mass after soaking over dry mass.

    Args:
        dry_kg: mass of the dried sample, kg. drained_kg: after soaking and draining, kg.
    Returns:
        Ratio, dimensionless.
    Raises:
        OutOfRange: a mass outside the range.
    Source: rehydration test as suggested by the US Department of Agriculture, read in a copy.
    Example:
        >>> round(rehydration_ratio(0.010, 0.028), 1)
        2.8
    """
    require("dry_kg", dry_kg, 1e-9, None, "kg")
    require("drained_kg", drained_kg, 0.0, None, "kg")
    return drained_kg / dry_kg


def coefficient_of_rehydration(
    dry_kg: float, dry_water: float, drained_kg: float, fresh_water: float
) -> float:
    """How far a food came back: 1 means as heavy as before drying.

        COR = m_drained (1 - w_fresh) / [m_dry (1 - w_dry)]

    Args:
        dry_kg: mass of the dried sample, kg. dry_water: its water fraction, kg/kg.
        drained_kg: mass after soaking and draining, kg. fresh_water: water before drying, kg/kg.
    Returns:
        Coefficient, dimensionless; solids lost to the soaking water make it a little low.
    Raises:
        OutOfRange: a mass or a fraction outside the range.
    Source: Ranganna, Handbook of Analysis and Quality Control for Fruit and Vegetable Products,
        1986 (from memory, unchecked).
    Example:
        >>> round(coefficient_of_rehydration(0.010, 0.05, 0.060, 0.88), 2)
        0.76
    """
    require("dry_water", dry_water, 0.0, 0.999, "kg/kg")
    require("fresh_water", fresh_water, 0.0, 0.999, "kg/kg")
    ratio = rehydration_ratio(dry_kg, drained_kg)
    return ratio * (1.0 - fresh_water) / (1.0 - dry_water)


@dataclass(frozen=True, slots=True)
class Soaking:
    """One side of a trial as it was done: masses, kg; fractions, kg/kg; score 0 to 10 or None."""

    dry_kg: float
    dry_water: float
    fresh_water: float
    water_kg: float
    drained_kg: float
    hours: float
    temp_c: float
    score: float | None = None

    def __post_init__(self) -> None:
        """Nothing comes out of a bowl that did not go in."""
        require("water_kg", self.water_kg, 0.0, None, "kg")
        require("hours", self.hours, 0.0, None, "h")
        require("temp_c", self.temp_c, 0.0, 100.0, "°C")
        if self.score is not None:
            require("score", self.score, 0.0, 10.0)
        most_kg = self.dry_kg + self.water_kg
        if not self.drained_kg <= most_kg * (1.0 + 1e-9):
            raise OutOfRange("drained_kg", self.drained_kg, 0.0, most_kg, "kg")

    @property
    def ratio(self) -> float:
        """Rehydration ratio."""
        return rehydration_ratio(self.dry_kg, self.drained_kg)

    @property
    def coefficient(self) -> float:
        """Coefficient of rehydration."""
        return coefficient_of_rehydration(
            self.dry_kg, self.dry_water, self.drained_kg, self.fresh_water
        )

    @property
    def water_per_dry(self) -> float:
        """The line for the label: kg of water to a kg of dried food, as poured."""
        return self.water_kg / self.dry_kg


class Better(StrEnum):
    """Which side of a trial to repeat."""

    FIRST = "first"
    SECOND = "second"
    NEITHER = "neither"


NOTICEABLE: Final = Sourced(
    0.02,
    "coefficient of rehydration",
    Evidence.JUDGEMENT,
    note="two sides nearer than this are alike: a 1 g step on a 50 g sample",
)


def better_soaking(first: Soaking, second: Soaking) -> Better:
    """Compare two sides of a trial: the eater's score decides, else the water that came back.

    Args:
        first, second: the two sides.
    Returns:
        The better one, or neither when scores are equal or missing and the coefficients alike.
    Source: our judgement; a score on one side only does not count.
    """
    if first.score is not None and second.score is not None and first.score != second.score:
        return Better.FIRST if first.score > second.score else Better.SECOND
    gap = first.coefficient - second.coefficient
    if abs(gap) <= NOTICEABLE.value:
        return Better.NEITHER
    return Better.FIRST if gap > 0.0 else Better.SECOND
