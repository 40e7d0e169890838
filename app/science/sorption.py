"""How food holds water: sorption isotherms by class, water activity, and the dryness limits.

All isotherms count water per mass of FAT-FREE dry matter, because fat takes up next to none: the
same water fraction means a wetter food the fatter it is.
"""

from dataclasses import dataclass
from math import log
from typing import TYPE_CHECKING, overload

from app.science.classes import FoodClass
from app.science.composition import Composition
from app.science.errors import require
from app.science.sources import (
    BEUCHAT_1981,
    CFR_114,
    KIRANOUDIS_1993,
    MORAGA_2006,
    NELSON_LABUZA_1992,
    USU_DRYNESS,
    USU_LONG_TERM,
    Evidence,
    Sourced,
)

if TYPE_CHECKING:
    from app.science.draws import Floats, Numbers


@dataclass(frozen=True, slots=True)
class Isotherm:
    """Constants of one class: monolayer m0 (kg/kg fat-free dry matter), C and K."""

    words: str
    monolayer: Sourced
    c: Sourced
    k: Sourced

    @property
    def highest_activity(self) -> float:
        """Where this fit stops making sense: 97 % of the way to its pole at 1/K."""
        return min(0.95, 0.97 / self.k.value)


def _kiranoudis(value: float, unit: str) -> Sourced:
    return Sourced(value, unit, Evidence.COPY, KIRANOUDIS_1993, note="potato, 30 °C")


_MEAT_NOTE = "lean meat, fat-free basis; the weakest of the three isotherms"

MEAT = Isotherm(
    "lean meat",
    Sourced(0.055, "kg/kg", Evidence.UNCHECKED, low=0.045, high=0.07, note=_MEAT_NOTE),
    Sourced(12.0, "", Evidence.UNCHECKED, note=_MEAT_NOTE),
    Sourced(0.90, "", Evidence.UNCHECKED, note=_MEAT_NOTE),
)
FRUIT = Isotherm(
    "freeze-dried kiwifruit at 30 °C, fitted up to an activity of 0.675",
    Sourced(0.046, "kg/kg", Evidence.READ, MORAGA_2006, 0.038, 0.057),
    Sourced(10.6, "", Evidence.READ, MORAGA_2006),
    Sourced(1.20, "", Evidence.READ, MORAGA_2006),
)
VEGETABLE = Isotherm("potato at 30 °C", *(
    _kiranoudis(0.097, "kg/kg"), _kiranoudis(47.5, ""), _kiranoudis(0.653, ""),
))  # fmt: skip

MOISTURE_LIMIT = Sourced(
    0.10,
    "kg water per kg fat-free mass",
    Evidence.COPY,
    USU_LONG_TERM,
    note="said of the whole food; on the fat-free basis by our derivation",
)
ACTIVITY_LIMIT = Sourced(0.60, "", Evidence.COPY, BEUCHAT_1981, note="no microbial growth below")
LOW_ACID_ACTIVITY = Sourced(0.85, "", Evidence.READ, CFR_114)
FRUIT_IN_AIR_LIMIT = Sourced(
    0.20,
    "kg water per kg fat-free mass",
    Evidence.READ,
    USU_DRYNESS,
    note="fruit dried for keeping in ordinary air, never with an absorber or under vacuum",
)
SLOWEST_OXIDATION = Sourced(
    0.27,
    "",
    Evidence.DERIVED,
    NELSON_LABUZA_1992,
    note="middle of the band in which fat oxidises slowest; the number is our reading",
)


def isotherm_of(food_class: FoodClass) -> Isotherm:
    """The isotherm that stands for a class of food.

    Args:
        food_class: any class; grain, legumes and pantry goods are read as starchy vegetables.
    Returns:
        Isotherm.
    Source: the mapping is our judgement; constants at each isotherm.
    """
    if food_class is FoodClass.FRUIT:
        return FRUIT
    return MEAT if food_class.is_animal else VEGETABLE


def gab_moisture(water_activity: float, monolayer: float, c: float, k: float) -> float:
    """Equilibrium moisture by the Guggenheim–Anderson–de Boer isotherm.

        m = m0·C·K·a / [(1 - K·a)(1 - K·a + C·K·a)]

    Args:
        water_activity: a, 0 ≤ a < min(1, 1/K).
        monolayer: m0, kg water per kg dry matter. c, k: C and K, dimensionless, > 0.
    Returns:
        Moisture, kg water per kg dry matter.
    Raises:
        OutOfRange: water_activity beyond the limit above.
    Validity: constants hold for the food, temperature and range they were fitted to.
    Source: equation of van den Berg and Bruin 1981 (from memory, unchecked).
    Example:
        >>> round(gab_moisture(0.4, 0.046, 10.6, 1.20), 4)
        0.0803
    """
    require("water_activity", water_activity, 0.0, min(1.0, 1 / k) - 1e-9)
    x = k * water_activity
    return monolayer * c * x / ((1 - x) * (1 - x + c * x))


def gab_activity(moisture: float, monolayer: float, c: float, k: float) -> float:
    """Water activity at a moisture: the inverse of gab_moisture.

    Args:
        moisture: kg water per kg dry matter, ≥ 0. monolayer, c, k: as in gab_moisture.
    Returns:
        Water activity, 0 ≤ a, at most 1.
    Raises:
        OutOfRange: negative moisture.
    Validity: as gab_moisture; at high moisture the answer is cut at 1.
    Source: the quadratic of the same equation.
    Example:
        >>> round(gab_activity(0.0803, 0.046, 10.6, 1.20), 2)
        0.4
    """
    require("moisture", moisture, 0.0, None, "kg/kg")
    if moisture == 0.0:
        return 0.0
    return min(1.0, activity_at(monolayer / moisture, c, k))


@overload
def activity_at(layers: float, c: float, k: float) -> float: ...
@overload
def activity_at(layers: "Floats", c: "Floats", k: "Floats") -> "Floats": ...
def activity_at(layers: "Numbers", c: "Numbers", k: "Numbers") -> "Numbers":
    """gab_activity for numbers or arrays, unchecked: the root of a quadratic.

    m0·C·x = m·(1 - x)(1 + (C - 1)x) is (C - 1)·x² + (C·m0/m - C + 2)·x - 1 = 0 in x = K·a.

    Args:
        layers: monolayer over moisture, m0/m, > 0. c, k: as in gab_moisture.
    Returns:
        Water activity, not cut at 1.
    """
    half = layers * (c / 2) + (1 - c / 2)
    return (1 / k) / (half + (half * half + (c - 1)) ** 0.5)


def fat_free_moisture_db(composition: Composition) -> float:
    """Water per fat-free dry matter, the moisture that the isotherms count.

    Args:
        composition: of the food; it must have fat-free solids.
    Returns:
        kg water per kg fat-free dry matter.
    Raises:
        OutOfRange: nothing but water and fat.
    Example:
        >>> lean = Composition(0.025, 0.85, 0.09, 0.0, 0.035)
        >>> round(fat_free_moisture_db(lean), 4)
        0.0282
    """
    solids = 1.0 - composition.water - composition.fat
    require("fat_free_solids", solids, 1e-6, 1.0, "kg/kg")
    return composition.water / solids


def water_activity(food_class: FoodClass, composition: Composition) -> float:
    """Water activity of a dry food from its composition, at about room temperature.

    Args:
        food_class: chooses the isotherm. composition: water and fat matter.
    Returns:
        Activity, 0 to 1.
    Raises:
        OutOfRange: nothing but water and fat.
    Validity: dry food; a moist one comes out near 1 and is only known to be "wet". Room
        temperature: between 5 and 40 °C the activity of lean beef does not shift noticeably
        (Trujillo and others 2003, abstract).
    Source: constants at MEAT, FRUIT and VEGETABLE.
    Example:
        >>> fatty = Composition(0.10, 0.50, 0.37, 0.0, 0.03)  # 10 % water in a fatty food: wet
        >>> round(water_activity(FoodClass.RED_MEAT, fatty), 1)
        0.8
    """
    isotherm = isotherm_of(food_class)
    moisture = fat_free_moisture_db(composition)
    return gab_activity(moisture, isotherm.monolayer.value, isotherm.c.value, isotherm.k.value)


def equilibrium_water_fraction(food_class: FoodClass, activity: float, fat_db: float) -> float:
    """Water fraction (wet basis) of a food at a water activity, such as a safety limit.

    Args:
        food_class: chooses the isotherm. activity: 0 to the isotherm's highest_activity.
        fat_db: fat per dry matter, kg/kg, 0 ≤ fat_db < 1.
    Returns:
        kg water per kg food.
    Raises:
        OutOfRange: activity or fat beyond their range.
    Example:
        >>> round(equilibrium_water_fraction(FoodClass.RED_MEAT, 0.60, 0.37), 3)
        0.066
    """
    isotherm = isotherm_of(food_class)
    require("activity", activity, 0.0, isotherm.highest_activity)
    require("fat_db", fat_db, 0.0, 1.0 - 1e-9, "kg/kg")
    moisture = gab_moisture(activity, isotherm.monolayer.value, isotherm.c.value, isotherm.k.value)
    per_dry_matter = moisture * (1 - fat_db)
    return per_dry_matter / (1 + per_dry_matter)


def gain_integral(start: float, end: float, humidity: float, isotherm: Isotherm) -> float:
    """How much moisture gain, weighed by the driving force, lies between two activities.

        I = ∫ (dm/da)/(RH - a) da  from a = start to a = end

    Dividing by the film's permeance, the area and the vapour pressure and multiplying by the
    fat-free dry mass gives the time; the linear isotherm turns it into the familiar
    ln[(me - mi)/(me - mc)].

    Args:
        start, end: water activities, 0 ≤ start ≤ end < humidity.
        humidity: relative humidity outside, 0 to 1. isotherm: of the food.
    Returns:
        kg water per kg fat-free dry matter (the driving force has no unit).
    Raises:
        OutOfRange: the order above is broken or humidity exceeds highest_activity.
    Source: Taoukis, El Meskine and Labuza 1988 (abstract read); the closed form for the GAB
        isotherm by partial fractions is ours and checked against numerical integration.
    """
    require("humidity", humidity, 0.0, isotherm.highest_activity)
    require("end", end, start, humidity - 1e-9)
    require("start", start, 0.0, end)
    c, k = isotherm.c.value, isotherm.k.value

    def part(beta: float, x: float) -> float:
        distance = 1 + beta * k * humidity
        return (
            -1 / (distance * (1 + beta * x))
            + log((1 + beta * x) / (k * (humidity - x / k))) / distance**2
        )

    def primitive(x: float) -> float:
        return part(-1.0, x) + (c - 1) * part(c - 1, x)

    return isotherm.monolayer.value * k * (primitive(k * end) - primitive(k * start))
