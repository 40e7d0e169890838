"""Heat in food from its composition: density, specific heat, conductivity, ice, enthalpy."""

from dataclasses import dataclass
from math import log

from app.science.classes import FoodClass
from app.science.composition import Composition
from app.science.errors import require
from app.science.ranges import Range
from app.science.sources import (
    ASHRAE_FOODS,
    CHEN_1985,
    CHOI_OKOS_1986,
    FRICKE_BECKER_2001,
    TCHIGEOV_1979,
    Evidence,
    Source,
    Sourced,
)

# Where the equations of this module stand; the first also holds the table of components.
SOURCES: tuple[Source, ...] = (
    CHOI_OKOS_1986,
    CHEN_1985,
    TCHIGEOV_1979,
    FRICKE_BECKER_2001,
    ASHRAE_FOODS,
)

Polynomial = tuple[float, float, float]  # a + b t + c t², t in °C


@dataclass(frozen=True, slots=True)
class Component:
    """Properties of one pure component of food as polynomials of temperature in °C."""

    conductivity: Polynomial  # W/(m K)
    density: Polynomial  # kg/m³
    specific_heat: Polynomial  # J/(kg K)


# Choi and Okos 1986, -40 to 150 °C. The constant of water's specific heat is 4176.2; the 4128.9 of
# some printings gives 1.3 % too little at 20 °C.
COMPONENTS: dict[str, Component] = {
    "protein": Component(
        (0.17881, 1.1958e-3, -2.7178e-6), (1329.9, -0.5184, 0.0), (2008.2, 1.2089, -1.3129e-3)
    ),
    "fat": Component(
        (0.18071, -2.7604e-4, -1.7749e-7), (925.59, -0.41757, 0.0), (1984.2, 1.4733, -4.8008e-3)
    ),
    "carbohydrate": Component(
        (0.20141, 1.3874e-3, -4.3312e-6), (1599.1, -0.31046, 0.0), (1548.8, 1.9625, -5.9399e-3)
    ),
    "fibre": Component(
        (0.18331, 1.2497e-3, -3.1683e-6), (1311.5, -0.36589, 0.0), (1845.9, 1.8306, -4.6509e-3)
    ),
    "ash": Component(
        (0.32962, 1.4011e-3, -2.9069e-6), (2423.8, -0.28063, 0.0), (1092.6, 1.8896, -3.6817e-3)
    ),
    "water": Component(
        (0.57109, 1.7625e-3, -6.7036e-6),
        (997.18, 3.1439e-3, -3.7574e-3),
        (4176.2, -9.0864e-2, 5.4731e-3),
    ),
    "ice": Component(
        (2.2196, -6.2489e-3, 1.0154e-4), (916.89, -0.13071, 0.0), (2062.3, 6.0769, 0.0)
    ),
}

FUSION_HEAT_FOOD = Sourced(333.6e3, "J/kg", Evidence.UNCHECKED, CHEN_1985)
BOUND_WATER = Sourced(
    0.4, "kg/kg protein", Evidence.UNCHECKED, CHEN_1985, note="water that never freezes"
)
ENTHALPY_ZERO_C = -40.0

_FREEZING_MEAT = Sourced(
    -1.7, "°C", Evidence.UNCHECKED, None, low=-2.2, high=-1.0, note="lean meat and fish"
)
_FREEZING_PLANT = Sourced(
    -1.0, "°C", Evidence.JUDGEMENT, None, low=-1.5, high=-0.5, note="vegetables and fruit"
)
_FREEZING_SOUP = Sourced(
    -0.8, "°C", Evidence.JUDGEMENT, None, low=-1.2, high=-0.5, note="soup with 1 % salt"
)


def initial_freezing(food_class: FoodClass) -> Sourced:
    """Temperature at which the first ice forms in a food of this class, °C, with its range."""
    if food_class in (FoodClass.BROTH, FoodClass.DISH):
        return _FREEZING_SOUP
    return _FREEZING_MEAT if food_class.is_animal else _FREEZING_PLANT


def property_of(component: str, quantity: str, temp_c: float) -> float:
    """One property of one pure component.

    Args:
        component: a key of COMPONENTS. quantity: conductivity, density or specific_heat.
        temp_c: °C, -40 to 150.
    Returns:
        W/(m K), kg/m³ or J/(kg K).
    Raises:
        OutOfRange: temp_c outside the range. KeyError: an unknown component.
    Source: Choi and Okos 1986 (from memory; identical to a reference library in the tests).
    Example:
        >>> round(property_of("protein", "density", 20.0), 1)
        1319.5
    """
    require("temp_c", temp_c, -40.0, 150.0, "°C")
    polynomial: Polynomial = getattr(COMPONENTS[component], quantity)
    a, b, c = polynomial
    return a + b * temp_c + c * temp_c**2


def parts(
    composition: Composition, ice: float = 0.0, table_compat: bool = False
) -> dict[str, float]:
    """Mass fractions by component, ready for the mixing rules.

    Fibre is taken out of carbohydrate. What the analyses leave over counts as carbohydrate, and
    analyses that add up to more than one are scaled down.

    Args:
        composition: the food. ice: kg ice per kg food, at most its water.
        table_compat: leave the gap empty and count fibre twice, as a published table does: for
            comparison with that table only.
    Returns:
        Fractions by name of component; they sum to 1 unless table_compat.
    Raises:
        OutOfRange: more ice than water, or more fibre than carbohydrate.
    """
    require("ice", ice, 0.0, composition.water + 1e-12, "kg/kg")
    fibre = composition.fibre
    net = max(0.0, composition.carbohydrate - fibre)
    fractions = {
        "water": composition.water - ice,
        "ice": ice,
        "protein": composition.protein,
        "fat": composition.fat,
        "carbohydrate": net,
        "fibre": fibre,
        "ash": composition.ash,
    }
    if table_compat:
        return fractions | {"fibre": 2 * fibre}
    fractions["carbohydrate"] += max(0.0, 1.0 - sum(fractions.values()))
    total = sum(fractions.values())
    return {name: value / total for name, value in fractions.items()}


def specific_heat_j_kgk(
    composition: Composition, temp_c: float, table_compat: bool = False
) -> float:
    """Specific heat of unfrozen food, c = Σ x_i c_i.

    Args:
        composition: the food. temp_c: °C, -40 to 150, above its freezing point.
        table_compat: see parts().
    Returns:
        J/(kg K).
    Raises:
        OutOfRange: temp_c outside the range.
    Validity: about 5 %; the published table of ASHRAE counts fibre twice (docs/science/cooling.md).
    Source: Choi and Okos 1986.
    """
    fractions = parts(composition, table_compat=table_compat)
    return sum(x * property_of(name, "specific_heat", temp_c) for name, x in fractions.items())


def density_kg_m3(composition: Composition, temp_c: float, ice: float = 0.0) -> float:
    """True density without pores, 1/ρ = Σ x_i/ρ_i.

    Args:
        composition: the food. temp_c: °C, -40 to 150. ice: kg ice per kg food.
    Returns:
        kg/m³; divide the volume by (1 - porosity) for bulk density.
    Raises:
        OutOfRange: outside the ranges.
    Source: Choi and Okos 1986.
    """
    fractions = parts(composition, ice)
    return 1.0 / sum(x / property_of(name, "density", temp_c) for name, x in fractions.items())


def conductivity_w_mk(composition: Composition, temp_c: float, ice: float = 0.0) -> Range:
    """Thermal conductivity between the series and the parallel model.

    Args:
        composition: the food. temp_c: °C, -40 to 150. ice: kg ice per kg food.
    Returns:
        W/(m K): low in series, high in parallel. Central is parallel too, which fits meat best.
    Raises:
        OutOfRange: outside the ranges.
    Source: Choi and Okos 1986; choice of the parallel model for meat, from memory.
    """
    fractions = parts(composition, ice)
    volume = {n: x / property_of(n, "density", temp_c) for n, x in fractions.items()}
    total = sum(volume.values())
    share = {n: v / total for n, v in volume.items()}
    k = {n: property_of(n, "conductivity", temp_c) for n in share}
    parallel = sum(share[n] * k[n] for n in share)
    series = 1.0 / sum(share[n] / k[n] for n in share)
    return Range(min(series, parallel), parallel, parallel)


def latent_heat_j_kg(composition: Composition) -> float:
    """Heat that freezes all water of a kilogram of food, J/kg, as published tables count it.

    Source: 334 kJ per kg water, ASHRAE table of thermal properties (read in a copy).
    """
    return 334e3 * composition.water


def bound_water(composition: Composition) -> float:
    """Water that never freezes, kg/kg food: 0.4 kg per kg protein (Chen 1985)."""
    return min(composition.water, BOUND_WATER.value * composition.protein)


def ice_fraction_chen(composition: Composition, temp_c: float, freezing_c: float) -> float:
    """Ice in food by Chen: x_i = (x_w - x_b)(1 - t_f/t).

    Args:
        composition: the food. temp_c: °C, -45 and above. freezing_c: t_f, °C, below 0.
    Returns:
        kg ice per kg food, 0 at and above the freezing point.
    Raises:
        OutOfRange: outside the ranges.
    Source: Chen 1985 (from memory), judged best for ice by Fricke and Becker 2001.
    """
    require("temp_c", temp_c, -45.0, None, "°C")
    require("freezing_c", freezing_c, -10.0, -0.01, "°C")
    if temp_c >= freezing_c:
        return 0.0
    return (composition.water - bound_water(composition)) * (1.0 - freezing_c / temp_c)


def ice_fraction_tchigeov(water: float, temp_c: float, freezing_c: float) -> float:
    """Ice in food by Tchigeov: x_i = 1.105 x_w/[1 + 0.7138/ln(t_f - t + 1)].

    Args:
        water: kg/kg. temp_c: °C, -45 and above. freezing_c: t_f, °C, below 0.
    Returns:
        kg ice per kg food, 0 at and above the freezing point.
    Raises:
        OutOfRange: outside the ranges.
    Source: Tchigeov 1979 (from memory).
    Example:
        >>> round(ice_fraction_tchigeov(0.58, -20.0, -1.7), 2)
        0.52
    """
    require("water", water, 0.0, 1.0, "kg/kg")
    require("temp_c", temp_c, -45.0, None, "°C")
    require("freezing_c", freezing_c, -10.0, -0.01, "°C")
    if temp_c >= freezing_c:
        return 0.0
    return min(water, 1.105 * water / (1.0 + 0.7138 / log(freezing_c - temp_c + 1.0)))


def specific_heat_unfrozen_j_kgk(solids: float) -> float:
    """Chen's short form, c = 4190 - 2300 x_s - 628 x_s³, J/(kg K) (Chen 1985, from memory)."""
    require("solids", solids, 0.0, 1.0, "kg/kg")
    return 4190.0 - 2300.0 * solids - 628.0 * solids**3


def specific_heat_frozen_j_kgk(
    composition: Composition, temp_c: float, freezing_c: float, table_compat: bool = False
) -> float:
    """Apparent specific heat of freezing food, latent heat of its ice included.

        c = 1550 + 1260 x_s - (x_w - x_b) L0 t_f/t²

    Args:
        composition: the food. temp_c: °C, -45 up to freezing_c. freezing_c: °C, below 0.
        table_compat: count fibre twice, see parts().
    Returns:
        J/(kg K).
    Raises:
        OutOfRange: outside the ranges.
    Source: Chen 1985 (from memory).
    """
    require("freezing_c", freezing_c, -10.0, -0.01, "°C")
    require("temp_c", temp_c, -45.0, freezing_c, "°C")
    solids = composition.solids
    if table_compat:
        solids = sum(parts(composition, table_compat=True).values()) - composition.water
    freezable = composition.water - bound_water(composition)
    latent = freezable * FUSION_HEAT_FOOD.value * freezing_c / temp_c**2
    return 1550.0 + 1260.0 * solids - latent


def enthalpy_j_kg(composition: Composition, temp_c: float, freezing_c: float) -> float:
    """Enthalpy of food above -40 °C.

        below t_f: H = (t - t_r)[1550 + 1260 x_s - (x_w - x_b) L0 t_f/(t_r t)]
        above: H = H_f + (t - t_f) c_u

    Args:
        composition: the food. temp_c: °C, -45 to 100. freezing_c: °C, below 0.
    Returns:
        J/kg, zero at -40 °C.
    Raises:
        OutOfRange: outside the ranges.
    Source: Chen 1985 (from memory), judged best for enthalpy by Fricke and Becker 2001.
    """
    require("temp_c", temp_c, -45.0, 100.0, "°C")
    require("freezing_c", freezing_c, -10.0, -0.01, "°C")
    freezable = composition.water - bound_water(composition)
    below = min(temp_c, freezing_c)
    latent = freezable * FUSION_HEAT_FOOD.value * freezing_c / (ENTHALPY_ZERO_C * below)
    frozen = (below - ENTHALPY_ZERO_C) * (1550.0 + 1260.0 * composition.solids - latent)
    unfrozen = specific_heat_unfrozen_j_kgk(composition.solids)
    return frozen + max(0.0, temp_c - freezing_c) * unfrozen
