"""Freeze-drying: a front of ice that sinks through the food while vapour leaves above it."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import exp, hypot, log

from app.science.classes import FoodClass, Form
from app.science.composition import Composition
from app.science.constants import SECONDS_PER_HOUR, STEFAN_BOLTZMANN, ZERO_CELSIUS
from app.science.errors import Impossible, require
from app.science.ranges import Range
from app.science.sources import (
    COFFEE_FREEZE_DRYING,
    MINCED_BEEF_THESIS,
    SKIM_MILK_MODEL,
    Evidence,
    Sourced,
)
from app.science.vapour import ice_saturation_pressure_pa, latent_heat_sublimation_j_kg

_STEPS = 40
_COLDEST_C, _MELTING_C = -70.0, 0.0


@dataclass(frozen=True, slots=True)
class DriedLayer:
    """What the dried layer does: conducts heat down, lets vapour up."""

    conductivity: Sourced  # W/(m K)
    permeability: Sourced  # s, that is kg/(m s Pa)


def _conductivity(value: float, low: float, high: float, evidence: Evidence, note: str) -> Sourced:
    """Conductivity of a dried layer in vacuum."""
    source = MINCED_BEEF_THESIS if evidence is Evidence.READ else COFFEE_FREEZE_DRYING
    return Sourced(value, "W/(m K)", evidence, source, low, high, note)


def _permeability(value: float, low: float, high: float, evidence: Evidence, note: str) -> Sourced:
    """Permeability of a dried layer to vapour."""
    source = MINCED_BEEF_THESIS if evidence is Evidence.DERIVED else COFFEE_FREEZE_DRYING
    return Sourced(value, "s", evidence, source, low, high, note)


GROUND_MEAT = DriedLayer(
    _conductivity(0.056, 0.045, 0.065, Evidence.READ, "minced beef; the range is our judgement"),
    _permeability(1.48e-8, 1.07e-8, 1.98e-8, Evidence.DERIVED, "minced beef, 0.0013-0.0024 m2/s"),
)
WHOLE_MEAT = DriedLayer(
    _conductivity(0.056, 0.045, 0.065, Evidence.READ, "as minced beef; range our judgement"),
    _permeability(1.0e-8, 5.0e-9, 1.48e-8, Evidence.JUDGEMENT, "below minced: whole fibres"),
)
PLANT_PIECES = DriedLayer(
    _conductivity(0.045, 0.035, 0.056, Evidence.JUDGEMENT, "between liquids and meat"),
    _permeability(2.0e-8, 5.0e-9, 7.0e-8, Evidence.COPY, "range of foods; central our judgement"),
)
LIQUID = DriedLayer(
    _conductivity(0.035, 0.013, 0.05, Evidence.COPY, "coffee extract; low end skim milk"),
    _permeability(2.6e-8, 5.0e-9, 7.0e-8, Evidence.COPY, "coffee extract, range of foods"),
)

FAT_THAT_BLOCKS = Sourced(
    0.20, "kg/kg", Evidence.JUDGEMENT, None, note="above it the permeability is doubtful by ±50 %"
)
# "60 % sublimation, 40 % desorption" of a coffee extract; the width is ours.
DESORPTION_SHARE = Sourced(
    0.667, "h per h of sublimation", Evidence.COPY, COFFEE_FREEZE_DRYING, 0.3, 1.2
)
LAST_MOISTURE_DB = Sourced(
    0.125,
    "kg/kg dry",
    Evidence.JUDGEMENT,
    None,
    0.10,
    0.15,
    "water left for desorption when the last ice goes",
)
TRAY_CONTACT = Sourced(
    8.0, "W/(m2 K)", Evidence.COPY, SKIM_MILK_MODEL, 4.0, 20.0, "tray on a warm shelf at 20-40 Pa"
)
TOP_TRANSFER = Sourced(
    5.0, "W/(m2 K)", Evidence.JUDGEMENT, None, 4.0, 6.0, "radiation from the shelf above"
)
CHAMBER_PRESSURE = Sourced(40.0, "Pa", Evidence.JUDGEMENT, None, 15.0, 100.0)
ICE_CONDUCTIVITY = Sourced(1.5, "W/(m K)", Evidence.JUDGEMENT, None, 1.0, 2.4, "frozen food")


@dataclass(frozen=True, slots=True)
class FreezeDryer:
    """A small machine: warm shelves under and over the tray, a pressure that its pump holds."""

    shelf_c: float = 40.0
    plate_c: float = 40.0
    chamber_pa: float = CHAMBER_PRESSURE.value
    tray_w_m2k: float = TRAY_CONTACT.value
    top_w_m2k: float = TOP_TRANSFER.value
    surface_limit_c: float = 50.0
    emissivity: float | None = None  # with it the top is heated by radiation alone


@dataclass(frozen=True, slots=True)
class Slab:
    """Frozen food on a tray, and the layer that its drying leaves."""

    depth_m: float
    ice_kg_m3: float
    conductivity_w_mk: float  # dried layer
    permeability_s: float  # dried layer
    frozen_w_mk: float = ICE_CONDUCTIVITY.value
    surface_resistance_m_s: float = 0.0  # Pa m² s/kg before any layer has formed


@dataclass(frozen=True, slots=True)
class Front:
    """The sublimation front at one moment: temperature and vapour flux."""

    temp_c: float
    flux_kg_m2s: float
    melts: bool


@dataclass(frozen=True, slots=True)
class Sublimation:
    """One run of the model."""

    hours: float
    begin: Front
    end: Front


def conductive_front_c(
    conductivity_w_mk: float, permeability_s: float, surface_c: float, chamber_pa: float
) -> float:
    """Front temperature when heat comes through the dried layer alone; its depth drops out.

        k (T_0 - T_s) = K λ [p_ice(T_s) - p_0]

    Args:
        conductivity_w_mk: k, W/(m K). permeability_s: K, s. surface_c: T_0, °C.
        chamber_pa: partial pressure of water above the food, Pa.
    Returns:
        Front temperature, °C.
    Raises:
        OutOfRange: a value that is not positive. Impossible: the ice would melt.
    Source: quasi-steady front, checked with the example of the encyclopedia article in the tests.
    Example:
        >>> round(conductive_front_c(0.035, 2.625e-8, 30.0, 12.93), 1)
        -29.3
    """
    require("conductivity_w_mk", conductivity_w_mk, 1e-6, None, "W/(m K)")
    require("permeability_s", permeability_s, 1e-14, None, "s")

    def surplus(temp_c: float) -> float:
        heat = conductivity_w_mk * (surface_c - temp_c)
        drive = ice_saturation_pressure_pa(temp_c) - chamber_pa
        return heat - permeability_s * latent_heat_sublimation_j_kg(temp_c) * drive

    if surplus(_MELTING_C) > 0:
        raise Impossible("so much heat melts the ice", _MELTING_C)
    return _root(surplus, _COLDEST_C, _MELTING_C)


def conductive_hours(
    depth_m: float,
    ice_kg_m3: float,
    conductivity_w_mk: float,
    permeability_s: float,
    surface_c: float,
    chamber_pa: float,
) -> float:
    """Hours to dry a slab through its own dried layer: the limit in which time goes with L².

        θ = ρ_w λ L²/(2 k (T_0 - T_s))

    Args:
        depth_m: L, m, the depth from one side, or half of it from both. ice_kg_m3: ρ_w.
        conductivity_w_mk, permeability_s, surface_c, chamber_pa: as conductive_front_c.
    Returns:
        Hours of sublimation.
    Raises:
        OutOfRange, Impossible: as conductive_front_c.
    Source: integral of the quasi-steady front.
    """
    require("depth_m", depth_m, 1e-6, 0.2, "m")
    front_c = conductive_front_c(conductivity_w_mk, permeability_s, surface_c, chamber_pa)
    heat = ice_kg_m3 * latent_heat_sublimation_j_kg(front_c) * depth_m**2
    return heat / (2 * conductivity_w_mk * (surface_c - front_c)) / SECONDS_PER_HOUR


def sublimation(slab: Slab, dryer: FreezeDryer, begin_share: float = 0.0) -> Sublimation:
    """Time until the front has sunk through the food, heated from above and below.

        N = [p_ice(T_s) - p_0]/(R_0 + z/K);  N λ = q_top + q_bottom;  dz/dθ = N/ρ_w

    Args:
        slab: the food. dryer: the machine. begin_share: share of the depth that is dry already.
    Returns:
        Hours, and the front at begin and end. melts: the ice would not have stayed frozen.
    Raises:
        OutOfRange: sizes that are not positive, begin_share outside 0 to 0.99.
    Validity: uniform heat, no leak, condenser that keeps up; quasi-steady.
    Source: quasi-steady front; parameters in this module, each with its own source.
    """
    require("depth_m", slab.depth_m, 1e-4, 0.2, "m")
    require("ice_kg_m3", slab.ice_kg_m3, 1e-3, 1000.0, "kg/m3")
    require("begin_share", begin_share, 0.0, 0.99)
    step_m = slab.depth_m * (1 - begin_share) / _STEPS
    seconds = 0.0
    fronts: list[Front] = []
    for i in range(_STEPS):
        front = _front_at(slab, dryer, slab.depth_m * begin_share + (i + 0.5) * step_m)
        seconds += slab.ice_kg_m3 * step_m / front.flux_kg_m2s
        fronts.append(front)
    return Sublimation(seconds / SECONDS_PER_HOUR, fronts[0], fronts[-1])


def _front_at(slab: Slab, dryer: FreezeDryer, dry_m: float) -> Front:
    """Front under a dried layer: the temperature at which heat and vapour balance."""
    resistance = slab.surface_resistance_m_s + dry_m / slab.permeability_s
    from_tray = 1.0 / (1.0 / dryer.tray_w_m2k + (slab.depth_m - dry_m) / slab.frozen_w_mk)

    def flux(temp_c: float) -> float:
        return max(0.0, ice_saturation_pressure_pa(temp_c) - dryer.chamber_pa) / resistance

    def surplus(temp_c: float) -> float:
        below = from_tray * (dryer.shelf_c - temp_c)
        above = _heat_from_above(slab, dryer, dry_m, temp_c)
        return above + below - flux(temp_c) * latent_heat_sublimation_j_kg(temp_c)

    melts = surplus(_MELTING_C) > 0
    temp_c = _MELTING_C if melts else _root(surplus, _COLDEST_C, _MELTING_C)
    if flux(temp_c) <= 0:
        raise Impossible("the chamber pressure holds the ice back", dryer.chamber_pa)
    return Front(temp_c, flux(temp_c), melts)


def _heat_from_above(slab: Slab, dryer: FreezeDryer, dry_m: float, front_c: float) -> float:
    """Heat through the dried layer, W/m², its surface kept below the limit of the food."""
    layer = slab.conductivity_w_mk / dry_m
    surface_c = dryer.surface_limit_c
    if dryer.emissivity is None:
        open_c = (dryer.top_w_m2k * dryer.plate_c + layer * front_c) / (dryer.top_w_m2k + layer)
    else:
        open_c = _radiated_surface_c(dryer.plate_c, dryer.emissivity, layer, front_c)
    return layer * (min(surface_c, open_c) - front_c)


def _radiated_surface_c(plate_c: float, emissivity: float, layer: float, front_c: float) -> float:
    """Surface temperature at which radiation received equals heat conducted down."""
    zero = ZERO_CELSIUS.value

    def surplus(temp_c: float) -> float:
        gain = (plate_c + zero) ** 4 - (temp_c + zero) ** 4
        return emissivity * STEFAN_BOLTZMANN.value * gain - layer * (temp_c - front_c)

    return _root(surplus, min(front_c, plate_c), max(front_c, plate_c))


def _root(falling: Callable[[float], float], low: float, high: float) -> float:
    """Zero of a falling function by bisection, to a ten-thousandth of a degree."""
    while high - low > 1e-4:
        middle = (low + high) / 2
        if falling(middle) > 0:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def dried_layer(food_class: FoodClass, form: Form) -> DriedLayer:
    """Which measured layer stands in for this food; tissue is slower than what was ground."""
    if form is Form.LIQUID or food_class in (FoodClass.BROTH, FoodClass.DISH):
        return LIQUID
    if not food_class.is_animal:
        return PLANT_PIECES
    return GROUND_MEAT if form in (Form.GROUND, Form.POWDER) else WHOLE_MEAT


@dataclass(frozen=True, slots=True)
class FreezeDryingTime:
    """Hours of one batch, and how close the ice comes to melting."""

    sublimation_hours: Range
    desorption_hours: Range
    total_hours: Range
    front_begin_c: float
    front_end_c: float
    melts: bool
    used: tuple[Sourced, ...]


def freeze_drying_time(
    load_kg: float,
    composition: Composition,
    depth_m: float,
    tray_area_m2: float,
    food_class: FoodClass = FoodClass.GAME,
    form: Form = Form.GROUND,
    dryer: FreezeDryer | None = None,
    ice_rate_kg_h: float | None = None,
) -> FreezeDryingTime:
    """Time of one batch from hard frozen to dry, with its range.

    The parameters vary one at a time between their low and high values; their effects on the
    logarithm of the time are added in squares. Water left when the last ice goes is desorption's.

    Args:
        load_kg: food on all trays, kg. composition: of that food. depth_m: of the food, m.
        tray_area_m2: of all trays. food_class, form: choose the dried layer. dryer: the machine.
        ice_rate_kg_h: most the condenser takes, kg/h, if known.
    Returns:
        Hours of sublimation, desorption and both; front temperatures, °C, of the central case.
    Raises:
        OutOfRange: depth outside 1 to 60 mm, a load denser than 1300 or looser than 100 kg/m³.
        Impossible: nothing to sublime.
    Validity: small machines differ; correct it with the household's own runs. Freezing before the
        run is not counted.
    Source: see sublimation(); desorption from the encyclopedia article.
    """
    require("depth_m", depth_m, 0.001, 0.06, "m")
    require("tray_area_m2", tray_area_m2, 1e-4, None, "m2")
    bulk_kg_m3 = load_kg / (tray_area_m2 * depth_m)
    require("bulk density of the load", bulk_kg_m3, 100.0, 1300.0, "kg/m3")
    ice = composition.water - LAST_MOISTURE_DB.value * composition.solids
    if ice <= 0.01:
        raise Impossible("there is no ice to sublime")
    machine = dryer or FreezeDryer()
    layer = dried_layer(food_class, form)
    k, permeability = layer.conductivity, _with_fat(layer.permeability, composition.fat)
    slab = Slab(depth_m, ice * bulk_kg_m3, k.value, permeability.value)
    central = sublimation(slab, machine)
    low, high = _spread(slab, machine, k, permeability, central.hours)
    slowest = ice * load_kg / ice_rate_kg_h if ice_rate_kg_h else 0.0
    primary = Range(*(max(slowest, hours) for hours in (low, central.hours, high)))
    secondary = _desorption(primary)
    total = _sum_of_independent(primary, secondary)
    used = (k, permeability, TRAY_CONTACT, TOP_TRANSFER, CHAMBER_PRESSURE, DESORPTION_SHARE)
    melts = central.begin.melts or central.end.melts
    return FreezeDryingTime(
        primary, secondary, total, central.begin.temp_c, central.end.temp_c, melts, used
    )


def _with_fat(permeability: Sourced, fat: float) -> Sourced:
    """Fat above a fifth blocks pores: widen the permeability by half both ways."""
    if fat <= FAT_THAT_BLOCKS.value:
        return permeability
    low, high = permeability.span
    note = f"{permeability.note}; widened by half for the fat (our judgement)"
    return replace(permeability, low=low / 1.5, high=high * 1.5, note=note)


def _spread(
    slab: Slab, dryer: FreezeDryer, k: Sourced, permeability: Sourced, central_hours: float
) -> tuple[float, float]:
    """Low and high hours: single effects on ln(time), added in squares on either side."""
    cases: list[tuple[Slab, FreezeDryer]] = []
    cases += [(replace(slab, conductivity_w_mk=value), dryer) for value in k.span]
    cases += [(replace(slab, permeability_s=value), dryer) for value in permeability.span]
    scale = dryer.tray_w_m2k / TRAY_CONTACT.value
    cases += [(slab, replace(dryer, tray_w_m2k=value * scale)) for value in TRAY_CONTACT.span]
    cases += [(slab, replace(dryer, top_w_m2k=value)) for value in TOP_TRANSFER.span]
    if dryer.chamber_pa == CHAMBER_PRESSURE.value:  # not measured: as uncertain as any small pump
        cases += [(slab, replace(dryer, chamber_pa=value)) for value in CHAMBER_PRESSURE.span]
    effects = [log(sublimation(*case).hours / central_hours) for case in cases]
    faster = hypot(*(e for e in effects if e < 0))
    slower = hypot(*(e for e in effects if e > 0))
    return central_hours * exp(-faster), central_hours * exp(slower)


def _desorption(primary: Range) -> Range:
    """Hours for the bound water, a share of the hours of sublimation."""
    low, high = DESORPTION_SHARE.span
    central = primary.central
    return Range(central * low, central * DESORPTION_SHARE.value, central * high)


def _sum_of_independent(first: Range, second: Range) -> Range:
    """Sum of two ranges that err apart: distances from the centre added in squares."""
    central = first.central + second.central
    below = hypot(first.central - first.low, second.central - second.low)
    above = hypot(first.high - first.central, second.high - second.central)
    return Range(central - below, central, central + above)
