"""Drying a batch: what it will weigh, how much fits, how long, how much ice and energy."""

from collections.abc import Sequence
from enum import StrEnum
from math import ceil, hypot

from app.science.classes import FoodClass, Form
from app.science.composition import Composition
from app.science.errors import require
from app.science.freezedrying import FreezeDryer, freeze_drying_time
from app.science.hotair import hot_air_hours
from app.science.ranges import Range
from app.science.sources import FNDDS_DENSITY, Evidence, Sourced

__all__ = [
    "BULK_DENSITY",
    "ENERGY_PER_WATER",
    "RESIDUAL_WATER",
    "DryerKind",
    "Range",
    "bulk_density",
    "dry_mass_kg",
    "energy_kwh",
    "freeze_drying_hours",
    "hot_air_hours",
    "ice_kg",
    "load_limit_kg",
    "runs_needed",
    "tray_load_kg",
    "water_to_remove_kg",
]


class DryerKind(StrEnum):
    """How the water leaves."""

    FREEZE = "freeze"
    AIR = "air"


P90 = 1.2816  # standard deviations from the median to the 90th percentile

RESIDUAL_WATER: dict[DryerKind, Sourced] = {
    DryerKind.FREEZE: Sourced(
        0.02, "kg/kg", Evidence.JUDGEMENT, None, 0.01, 0.04, "freeze-dried to a flat weight"
    ),
    DryerKind.AIR: Sourced(
        0.10, "kg/kg", Evidence.JUDGEMENT, None, 0.05, 0.20, "brittle vegetables to bending strips"
    ),
}
ENERGY_PER_WATER: dict[DryerKind, Sourced] = {
    DryerKind.FREEZE: Sourced(
        5.0, "kWh/kg water", Evidence.JUDGEMENT, None, 3.0, 9.0, "small machines; floor about 1.5"
    ),
    DryerKind.AIR: Sourced(
        2.0,
        "kWh/kg water",
        Evidence.JUDGEMENT,
        None,
        1.2,
        4.0,
        "small box; floor 0.68, latent heat",
    ),
}
WATER_SD = 0.02  # kg/kg: how well a household knows the water of a mixed food; our judgement


def _bulk(
    value: float, low: float, high: float, note: str, evidence: Evidence = Evidence.COPY
) -> Sourced:
    """A bulk density; published ones are portions by volume."""
    source = None if evidence is Evidence.JUDGEMENT else FNDDS_DENSITY
    return Sourced(value, "kg/m3", evidence, source, low, high, note)


BULK_DENSITY: dict[str, Sourced] = {
    "soup": _bulk(1025.0, 1000.0, 1054.0, "soups and broths"),
    "stew": _bulk(1017.0, 900.0, 1095.0, "stew and sauced dishes"),
    "vegetable": _bulk(540.0, 460.0, 600.0, "chopped carrot"),
    "fruit": _bulk(620.0, 550.0, 680.0, "peas, berries", Evidence.JUDGEMENT),
    "crumbs": _bulk(550.0, 450.0, 650.0, "cooked ground meat, loose", Evidence.JUDGEMENT),
    "slices": _bulk(850.0, 700.0, 1000.0, "slices in one layer, with gaps", Evidence.JUDGEMENT),
}


def bulk_density(food_class: FoodClass, form: Form) -> Sourced:
    """Density of the food as it lies on a tray, gaps included, kg/m³."""
    if food_class is FoodClass.DISH:
        return BULK_DENSITY["stew"]
    if form is Form.LIQUID or food_class is FoodClass.BROTH:
        return BULK_DENSITY["soup"]
    if food_class is FoodClass.FRUIT:
        return BULK_DENSITY["fruit"]
    if not food_class.is_animal:
        return BULK_DENSITY["vegetable"]
    return BULK_DENSITY["crumbs" if form in (Form.GROUND, Form.POWDER) else "slices"]


def dry_mass_kg(
    mass_kg: float,
    composition: Composition,
    residual_water: Sequence[float] | None = None,
    kind: DryerKind = DryerKind.FREEZE,
    water_sd: float = WATER_SD,
) -> Range:
    """Predicted weight after drying.

        m_dry = m (1 - w)/(1 - w_f)

    Args:
        mass_kg: loaded, kg, ≥ 0. composition: as loaded.
        residual_water: low, central and high water of the dry food, kg/kg; None: usual for kind.
        kind: of dryer. water_sd: standard deviation of the loaded water fraction, kg/kg; 0 when
        measured.
    Returns:
        kg, 10th to 90th percentile, never more than was loaded.
    Raises:
        OutOfRange: outside the ranges.
    Source: conservation of the solids.
    Example:
        >>> from app.science.composition import Composition
        >>> cooked = Composition(0.60, 0.33, 0.05, 0.0, 0.012)
        >>> round(dry_mass_kg(1.36, cooked).central, 3)
        0.555
    """
    require("mass_kg", mass_kg, 0.0, None, "kg")
    require("water_sd", water_sd, 0.0, 0.5, "kg/kg")
    low, middle, high = _residual(residual_water, kind)
    solids_kg = mass_kg * composition.solids
    central = min(mass_kg, solids_kg / (1 - middle))
    unsure = P90 * water_sd * mass_kg / (1 - middle)
    below = hypot(unsure, central - min(central, solids_kg / (1 - low)))
    above = hypot(unsure, max(central, solids_kg / (1 - high)) - central)
    return Range(max(0.0, central - below), central, min(mass_kg, central + above))


def water_to_remove_kg(
    mass_kg: float,
    composition: Composition,
    residual_water: Sequence[float] | None = None,
    kind: DryerKind = DryerKind.FREEZE,
    water_sd: float = WATER_SD,
) -> Range:
    """Water that has to leave, kg: what was loaded less what will be left; see dry_mass_kg."""
    dry = dry_mass_kg(mass_kg, composition, residual_water, kind, water_sd)
    return Range(mass_kg - dry.high, mass_kg - dry.central, mass_kg - dry.low)


def ice_kg(mass_kg: float, composition: Composition, water_sd: float = WATER_SD) -> Range:
    """Ice that the condenser of a freeze-dryer must hold, kg: all water that leaves."""
    return water_to_remove_kg(mass_kg, composition, kind=DryerKind.FREEZE, water_sd=water_sd)


def tray_load_kg(tray_area_m2: float, depth_m: float, bulk_kg_m3: float) -> float:
    """Food on trays filled to a depth, m = A d ρ.

    Args:
        tray_area_m2: of all trays, m². depth_m: m. bulk_kg_m3: kg/m³.
    Returns:
        kg.
    Raises:
        OutOfRange: a negative size.
    Source: definition.
    Example:
        >>> round(tray_load_kg(0.12, 0.015, 1025.0), 3)
        1.845
    """
    for name, value in (("tray_area_m2", tray_area_m2), ("depth_m", depth_m)):
        require(name, value, 0.0, None, "m")
    require("bulk_kg_m3", bulk_kg_m3, 1.0, 2000.0, "kg/m3")
    return tray_area_m2 * depth_m * bulk_kg_m3


def load_limit_kg(
    composition: Composition,
    tray_area_m2: float,
    depth_m: float,
    food_class: FoodClass = FoodClass.GAME,
    form: Form = Form.GROUND,
    ice_capacity_kg: float | None = None,
    final_water: float = 0.02,
) -> Range:
    """Most food for one run: what the trays hold, and what the condenser can take as ice.

        m ≤ min[A d ρ, C (1 - w_f)/(w - w_f)]

    Args:
        composition: as loaded. tray_area_m2: of all trays, m². depth_m: m; liquids swell by a
        tenth on freezing, so fill them to nine tenths of the rim.
        food_class, form: choose the bulk density. ice_capacity_kg: C, kg, if known.
        final_water: w_f, kg/kg.
    Returns:
        kg over the range of bulk density.
    Raises:
        OutOfRange: outside the ranges.
    Source: definition; bulk densities in this module.
    """
    require("final_water", final_water, 0.0, 0.5, "kg/kg")
    bulk = bulk_density(food_class, form)
    low, high = bulk.span
    loads = [tray_load_kg(tray_area_m2, depth_m, density) for density in (low, bulk.value, high)]
    if ice_capacity_kg is not None and composition.water > final_water:
        require("ice_capacity_kg", ice_capacity_kg, 0.0, None, "kg")
        most = ice_capacity_kg * (1 - final_water) / (composition.water - final_water)
        loads = [min(load, most) for load in loads]
    return Range(*loads)


def runs_needed(mass_kg: float, load_kg: float) -> int:
    """How many runs it takes to dry a mass, when one run holds load_kg."""
    require("mass_kg", mass_kg, 0.0, None, "kg")
    require("load_kg", load_kg, 1e-6, None, "kg")
    return ceil(mass_kg / load_kg - 1e-9)


def energy_kwh(water_kg: float | Range, kind: DryerKind = DryerKind.FREEZE) -> Range:
    """Electricity to remove water; a plug meter on the household's own machine beats it.

    Args:
        water_kg: to remove, kg, a number or a range. kind: of dryer.
    Returns:
        kWh. Times the price of a kilowatt-hour it is the cost.
    Raises:
        OutOfRange: negative water.
    Validity: our judgement of small machines; the floor is the latent heat, 0.79 kWh/kg of ice.
    Source: ENERGY_PER_WATER, and latent_heat_sublimation_j_kg for the floor.
    """
    water = water_kg if isinstance(water_kg, Range) else Range(water_kg, water_kg, water_kg)
    require("water_kg", water.low, 0.0, None, "kg")
    per_kg = ENERGY_PER_WATER[kind]
    low, high = per_kg.span
    return Range(water.low * low, water.central * per_kg.value, water.high * high)


def freeze_drying_hours(
    load_kg: float,
    composition: Composition,
    depth_m: float,
    tray_area_m2: float,
    food_class: FoodClass = FoodClass.GAME,
    form: Form = Form.GROUND,
    dryer: FreezeDryer | None = None,
    ice_rate_kg_h: float | None = None,
) -> Range:
    """Hours of one freeze-drying run, sublimation and desorption; see freeze_drying_time."""
    time = freeze_drying_time(
        load_kg, composition, depth_m, tray_area_m2, food_class, form, dryer, ice_rate_kg_h
    )
    return time.total_hours


def _residual(residual_water: Sequence[float] | None, kind: DryerKind) -> tuple[float, ...]:
    """Low, central, high residual water, in order and below one half."""
    usual = RESIDUAL_WATER[kind]
    low, high = usual.span
    chosen = tuple(residual_water) if residual_water is not None else (low, usual.value, high)
    if len(chosen) != 3:
        raise ValueError("residual_water is low, central, high")
    Range(*chosen)
    for value in chosen:
        require("residual_water", value, 0.0, 0.5, "kg/kg")
    return chosen
