"""Freezing and thawing times by short equations: Plank, Pham, and a fit for thawing."""

from dataclasses import dataclass
from enum import StrEnum
from math import log

from app.science.composition import Composition
from app.science.conduction import HEAT_TRANSFER, Surroundings
from app.science.constants import SECONDS_PER_HOUR
from app.science.errors import Impossible, require
from app.science.ranges import Range, spread_of
from app.science.sources import (
    GEANKOPLIS_1993,
    PHAM_1984,
    PHAM_1986,
    Evidence,
    Source,
    Sourced,
)
from app.science.thermal import (
    FUSION_HEAT_FOOD,
    bound_water,
    conductivity_w_mk,
    density_kg_m3,
    ice_fraction_chen,
    specific_heat_unfrozen_j_kgk,
)

# Where the equations of this module stand.
SOURCES: tuple[Source, ...] = (GEANKOPLIS_1993, PHAM_1984, PHAM_1986)

MEAT_FREEZING_C = -1.7
WRAPPED = Sourced(
    0.7, "", Evidence.JUDGEMENT, None, 0.6, 0.8, "share of the heat transfer left through a wrap"
)
THAW_FACTOR = Sourced(
    0.72, "", Evidence.DERIVED, None, 0.67, 0.75, "fitted to ten solutions of the heat equation"
)


class Shape(StrEnum):
    """Shape by which Plank and Pham count the faces."""

    SLAB = "slab"
    CYLINDER = "cylinder"
    SPHERE = "sphere"


_FACES = {Shape.SLAB: 1, Shape.CYLINDER: 2, Shape.SPHERE: 3}


@dataclass(frozen=True, slots=True)
class FreezingFood:
    """What Pham's method asks of a food; SI units, ρ constant."""

    density_kg_m3: float
    unfrozen_j_kgk: float
    frozen_j_kgk: float
    latent_j_kg: float
    frozen_w_mk: float
    freezing_c: float = MEAT_FREEZING_C


def freezing_food(composition: Composition, freezing_c: float = MEAT_FREEZING_C) -> FreezingFood:
    """The properties of Pham's method from a composition.

    Args:
        composition: the food. freezing_c: temperature of first ice, °C.
    Returns:
        Properties; ice and conductivity as at -20 °C.
    Raises:
        OutOfRange: outside the ranges of thermal.py.
    Source: Choi and Okos 1986 and Chen 1985 by way of thermal.py.
    """
    ice = ice_fraction_chen(composition, -20.0, freezing_c)
    return FreezingFood(
        density_kg_m3(composition, 0.0),
        specific_heat_unfrozen_j_kgk(composition.solids),
        1550.0 + 1260.0 * composition.solids,
        FUSION_HEAT_FOOD.value * ice,
        conductivity_w_mk(composition, -20.0, ice).central,
        freezing_c,
    )


def plank_hours(
    thickness_m: float,
    volumetric_latent_j_m3: float,
    freezing_c: float,
    air_c: float,
    h_w_m2k: float,
    frozen_w_mk: float,
    shape: Shape = Shape.SLAB,
) -> float:
    """Freezing time by Plank, τ = ρL/(t_f - t_a) (P D/h + R D²/k).

    Args:
        thickness_m: full thickness or diameter, m, > 0. volumetric_latent_j_m3: ρL, J/m³.
        freezing_c: °C. air_c: °C, below it. h_w_m2k: W/(m² K), > 0. frozen_w_mk: W/(m K), > 0.
        shape: slab frozen from both faces, cylinder or sphere.
    Returns:
        Hours.
    Raises:
        OutOfRange: a size that is not positive. Impossible: air not colder than the food's ice.
    Validity: food at its freezing point, no cooling before or after: 30 to 50 % short in practice.
    Source: Plank's equation, as in Geankoplis, example 5.5-2 (read in a copy).
    Example:
        >>> round(plank_hours(0.0635, 1057 * 0.75 * 335e3, -2.75, -28.85, 17.0, 1.038), 2)
        6.65
    """
    require("thickness_m", thickness_m, 1e-6, 10.0, "m")
    require("h_w_m2k", h_w_m2k, 1e-6, None, "W/(m2 K)")
    require("frozen_w_mk", frozen_w_mk, 1e-6, None, "W/(m K)")
    _must_freeze(air_c, freezing_c)
    faces = _FACES[shape]
    resistance = thickness_m / (2 * faces * h_w_m2k) + thickness_m**2 / (8 * faces * frozen_w_mk)
    return volumetric_latent_j_m3 / (freezing_c - air_c) * resistance / SECONDS_PER_HOUR


def log_mean_difference_k(first_c: float, last_c: float, air_c: float) -> float:
    """Logarithmic mean of the differences to the air while a surface goes from first to last, K."""
    begin, end = first_c - air_c, last_c - air_c
    if not (begin > 0 and end > 0):
        raise Impossible("the food cannot become colder than the air", air_c)
    return begin if abs(begin - end) < 1e-9 else (begin - end) / log(begin / end)


def pham_1984_hours(
    thickness_m: float,
    food: FreezingFood,
    start_c: float,
    air_c: float,
    centre_c: float,
    h_w_m2k: float,
    unfrozen_w_mk: float = 0.5,
) -> float:
    """Freezing time of a slab by Pham's three stages: cooling, freezing, further cooling.

    Args:
        thickness_m: full thickness, both faces, m. food: properties. start_c: °C.
        air_c: °C, below centre_c. centre_c: centre at the end, °C. h_w_m2k: W/(m² K).
        unfrozen_w_mk: conductivity before freezing, W/(m K).
    Returns:
        Hours.
    Raises:
        OutOfRange, Impossible: as plank_hours.
    Validity: short by up to 16 % when the centre ends near the air temperature.
    Source: Pham 1984 (from an erratum page), the Biot number with the full thickness.
    """
    _must_freeze(air_c, min(centre_c, food.freezing_c))
    frozen_biot = h_w_m2k * thickness_m / food.frozen_w_mk
    first_biot = (h_w_m2k * thickness_m / unfrozen_w_mk + frozen_biot) / 2
    mean_end = centre_c - (centre_c - air_c) / (2.0 + 4.0 / frozen_biot)
    stages = (
        (
            food.unfrozen_j_kgk * (start_c - food.freezing_c),
            log_mean_difference_k(start_c, food.freezing_c, air_c),
            1 + first_biot / 6,
        ),
        (food.latent_j_kg, food.freezing_c - air_c, 1 + frozen_biot / 4),
        (
            food.frozen_j_kgk * (food.freezing_c - mean_end),
            log_mean_difference_k(food.freezing_c, mean_end, air_c),
            1 + frozen_biot / 6,
        ),
    )
    per_area = food.density_kg_m3 * thickness_m / (2 * h_w_m2k)
    return per_area * sum(q / dt * biot for q, dt, biot in stages) / SECONDS_PER_HOUR


def pham_1986_hours(
    thickness_m: float,
    food: FreezingFood,
    start_c: float,
    air_c: float,
    centre_c: float,
    h_w_m2k: float,
    shape: Shape = Shape.SLAB,
) -> float:
    """Freezing time by Pham's simplified equation with a mean freezing temperature.

        t_fm = 1.8 + 0.263 t_c + 0.105 t_a;  τ = R/(E h) (ΔH1/ΔT1 + ΔH2/ΔT2)(1 + h R/(2 k_s))

    Args:
        thickness_m: full thickness or diameter, m. food: properties. start_c: °C.
        air_c: °C, below centre_c. centre_c: centre at the end, °C. h_w_m2k: W/(m² K).
        shape: slab frozen from both faces, cylinder or sphere.
    Returns:
        Hours.
    Raises:
        OutOfRange, Impossible: as plank_hours.
    Validity: within 5 % of the heat equation for a centre of -10 °C; short by up to 16 % when the
        centre ends near the air temperature.
    Source: Pham 1986 (from memory, checked against the heat equation in the tests).
    """
    require("thickness_m", thickness_m, 1e-6, 10.0, "m")
    require("h_w_m2k", h_w_m2k, 1e-6, None, "W/(m2 K)")
    mean_c = 1.8 + 0.263 * centre_c + 0.105 * air_c
    _must_freeze(air_c, min(centre_c, mean_c))
    radius_m = thickness_m / 2
    chilling = food.unfrozen_j_kgk * max(0.0, start_c - mean_c)
    freezing = food.latent_j_kg + food.frozen_j_kgk * (mean_c - centre_c)
    heat = chilling / ((start_c + mean_c) / 2 - air_c) + freezing / (mean_c - air_c)
    biot_term = 1 + h_w_m2k * radius_m / (2 * food.frozen_w_mk)
    per_area = food.density_kg_m3 * radius_m / (_FACES[shape] * h_w_m2k)
    return per_area * heat * biot_term / SECONDS_PER_HOUR


def freezing_hours(
    thickness_m: float,
    composition: Composition,
    start_c: float = 20.0,
    air_c: float = -20.0,
    surroundings: Surroundings = Surroundings.STILL_AIR,
    centre_c: float = -10.0,
    wrapped: bool = True,
    freezing_c: float = MEAT_FREEZING_C,
) -> Range:
    """Hours until a flat packet is frozen through.

    Args:
        thickness_m: full thickness, cold from both faces, m. composition: the food.
        start_c, air_c: °C. surroundings: what takes the heat. centre_c: frozen through, °C.
        wrapped: in a bag or paper. freezing_c: temperature of first ice, °C.
    Returns:
        Hours over the plausible heat transfer.
    Raises:
        OutOfRange, Impossible: as plank_hours.
    Validity: Pham 1986, within 5 % for the default end; the heat transfer of a household freezer
        is our judgement and makes the range. Packets stacked or touching take longer.
    Source: Pham 1986; properties of thermal.py.
    """
    food = freezing_food(composition, freezing_c)
    cases = [
        pham_1986_hours(thickness_m, food, start_c, air_c, centre_c, h)
        for h in _transfer(surroundings, wrapped)
    ]
    return spread_of((cases[0], cases[1], cases[2]))


def thaw_slab_hours(
    thickness_m: float,
    composition: Composition,
    air_c: float,
    h_w_m2k: float,
    freezing_c: float = MEAT_FREEZING_C,
    factor: float = THAW_FACTOR.value,
) -> float:
    """Thawing time of a slab from -18 °C to a centre of 0 °C, a shortened Plank.

        τ = 0.72 ρL/(t_a - t_f) (D/(2h) + D²/(8 k_u)),  k_u = 0.5 W/(m K), L = (x_w - x_b) L0

    Args:
        thickness_m: full thickness, both faces, m. composition: the food. air_c: °C, 1 to 30.
        h_w_m2k: W/(m² K). freezing_c: °C. factor: 0.67 to 0.75.
    Returns:
        Hours.
    Raises:
        OutOfRange: outside the ranges.
    Validity: factor fitted to ten solutions of the heat equation for lean meat.
    Source: our own solutions, compared with published household times in the tests.
    """
    require("thickness_m", thickness_m, 1e-6, 0.5, "m")
    require("air_c", air_c, 1.0, 30.0, "°C")
    require("h_w_m2k", h_w_m2k, 1e-6, None, "W/(m2 K)")
    latent = (composition.water - bound_water(composition)) * FUSION_HEAT_FOOD.value
    resistance = thickness_m / (2 * h_w_m2k) + thickness_m**2 / (8 * 0.5)
    heat = density_kg_m3(composition, 0.0) * latent / (air_c - freezing_c)
    return factor * heat * resistance / SECONDS_PER_HOUR


def thawing_hours(
    thickness_m: float,
    composition: Composition,
    air_c: float = 4.0,
    surroundings: Surroundings = Surroundings.STILL_AIR,
    wrapped: bool = False,
    freezing_c: float = MEAT_FREEZING_C,
) -> Range:
    """Hours until a flat packet is thawed through; thickness decides, not weight.

    Args:
        thickness_m: full thickness, both faces, m. composition: the food. air_c: °C, 1 to 30.
        surroundings: refrigerator air, cold water. wrapped: in thick paper. freezing_c: °C.
    Returns:
        Hours over the plausible heat transfer and factor.
    Raises:
        OutOfRange: outside the ranges.
    Validity: wide slab; a compact piece takes 2.5 to 3 times less (our judgement).
    Source: thaw_slab_hours.
    """
    slow, central, fast = _transfer(surroundings, wrapped)
    low, high = THAW_FACTOR.span
    return spread_of(
        (
            thaw_slab_hours(thickness_m, composition, air_c, fast, freezing_c, low),
            thaw_slab_hours(thickness_m, composition, air_c, central, freezing_c),
            thaw_slab_hours(thickness_m, composition, air_c, slow, freezing_c, high),
        )
    )


def _transfer(surroundings: Surroundings, wrapped: bool) -> tuple[float, float, float]:
    """Low, central and high heat transfer, W/(m² K), through a wrap or not."""
    h = HEAT_TRANSFER[surroundings]
    low, high = h.span
    if not wrapped:
        return low, h.value, high
    least, most = WRAPPED.span
    return low * least, h.value * WRAPPED.value, high * most


def _must_freeze(air_c: float, target_c: float) -> None:
    """Refuse air that is not colder than what it is to bring about."""
    if not air_c < target_c:
        raise Impossible("the air is not cold enough", target_c)
