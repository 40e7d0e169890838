"""Drying in warm air: thin-layer curves, diffusion in a slice, constant and falling rate."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, hypot, inf, log, pi, sqrt

from app.science.classes import FoodClass
from app.science.constants import GAS_CONSTANT, SECONDS_PER_HOUR, ZERO_CELSIUS
from app.science.errors import Impossible, NotCovered, require
from app.science.ranges import Range
from app.science.sources import (
    BERK_2018,
    DOYMAZ_2007,
    HOT_AIR_ABSTRACTS,
    Evidence,
    Source,
    Sourced,
)

# Where the equations and diffusivities of this module stand.
SOURCES: tuple[Source, ...] = (HOT_AIR_ABSTRACTS, DOYMAZ_2007, BERK_2018)

REFERENCE_C = 60.0
REFERENCE_THICKNESS_M = 0.006


@dataclass(frozen=True, slots=True)
class AirDrying:
    """How water moves through slices of one kind of food in air of 60 °C, and what is usual."""

    diffusivity: Sourced  # m²/s at 60 °C
    activation: Sourced  # J/mol
    fresh_water: Sourced  # kg/kg
    final_water: Sourced  # kg/kg
    equilibrium_db: Sourced  # kg/kg dry in the dryer's air


def _judged(value: float, low: float, high: float, unit: str, note: str = "") -> Sourced:
    """A number of our own judgement."""
    return Sourced(value, unit, Evidence.JUDGEMENT, None, low, high, note)


# Pure diffusion goes with the square; but apparent diffusivities grow with thickness (those of
# beef from 2.5 to 10 mm span a factor of thirteen), because air and surface resist too.
THICKNESS_EXPONENT = _judged(1.6, 1.0, 2.0, "", "time against thickness, from 6 mm")
_EQUILIBRIUM = _judged(0.04, 0.02, 0.07, "kg/kg dry", "warm air of about 6 % relative humidity")

MEAT = AirDrying(
    Sourced(
        3.5e-10,
        "m2/s",
        Evidence.COPY,
        HOT_AIR_ABSTRACTS,
        1.6e-10,
        5.6e-10,
        "beef, 0.42 to 5.59e-10 at 30-60 °C and 2.5-10 mm; central value our judgement",
    ),
    Sourced(28.2e3, "J/mol", Evidence.COPY, HOT_AIR_ABSTRACTS, 17.7e3, 32.8e3, "beef"),
    _judged(0.74, 0.70, 0.77, "kg/kg"),
    _judged(0.20, 0.12, 0.26, "kg/kg", "strips that bend and crack"),
    _EQUILIBRIUM,
)
OTHER_MEAT = AirDrying(
    Sourced(
        3.5e-10,
        "m2/s",
        Evidence.JUDGEMENT,
        HOT_AIR_ABSTRACTS,
        1.1e-10,
        7.8e-10,
        "none found for this meat: beef, 40 % wider both ways",
    ),
    MEAT.activation,
    MEAT.fresh_water,
    MEAT.final_water,
    _EQUILIBRIUM,
)
VEGETABLE = AirDrying(
    Sourced(
        6.0e-10,
        "m2/s",
        Evidence.COPY,
        DOYMAZ_2007,
        3.5e-10,
        12e-10,
        "tomato 3.9-7.5e-10 at 55-70 °C, carrot to 18.6e-10; central value our judgement",
    ),
    Sourced(31.5e3, "J/mol", Evidence.COPY, HOT_AIR_ABSTRACTS, 17.4e3, 33.1e3, "carrot, tomato"),
    _judged(0.89, 0.84, 0.94, "kg/kg"),
    _judged(0.08, 0.05, 0.11, "kg/kg", "brittle"),
    _EQUILIBRIUM,
)
FRUIT = AirDrying(
    Sourced(
        4.5e-10,
        "m2/s",
        Evidence.COPY,
        HOT_AIR_ABSTRACTS,
        1.3e-10,
        7.0e-10,
        "apple 2.3-5.0e-10, mango 5.0e-10; a second mango test three times slower sets the low end",
    ),
    Sourced(33e3, "J/mol", Evidence.JUDGEMENT, HOT_AIR_ABSTRACTS, 28e3, 38e3, "mango 38.0"),
    _judged(0.85, 0.80, 0.88, "kg/kg"),
    _judged(0.17, 0.12, 0.22, "kg/kg", "leathery"),
    _EQUILIBRIUM,
)

AIR_DRYING: dict[FoodClass, AirDrying] = {
    FoodClass.RED_MEAT: MEAT,
    FoodClass.GAME: OTHER_MEAT,
    FoodClass.PORK: OTHER_MEAT,
    FoodClass.WILD_MEAT_EATER: OTHER_MEAT,
    FoodClass.POULTRY: OTHER_MEAT,
    FoodClass.GAME_BIRD: OTHER_MEAT,
    FoodClass.FISH_LEAN: OTHER_MEAT,
    FoodClass.VEGETABLE: VEGETABLE,
    FoodClass.FRUIT: FRUIT,
}


def hot_air_hours(
    food_class: FoodClass,
    thickness_m: float,
    temp_c: float,
    initial_water: float | None = None,
    final_water: float | None = None,
    both_faces: bool = True,
) -> Range:
    """Hours to dry slices in a box dehydrator.

    Diffusion in a slab of 6 mm, temperature by Arrhenius from 60 °C, thickness by a power. Every
    parameter is varied alone and the effects on the logarithm of the time are added in squares.

    Args:
        food_class: meat, lean fish, vegetable or fruit. thickness_m: of the slice, m, 1 to 20 mm.
        temp_c: air in the dryer, °C, 35 to 80. initial_water, final_water: kg/kg wet basis, None
        for what is usual. both_faces: False on a solid tray.
    Returns:
        Hours.
    Raises:
        NotCovered: foods without published data. OutOfRange: outside the ranges.
        Impossible: final water below what such air can reach.
    Validity: one layer, air moving; a factor of two to three. Skins, skipped blanching and full
        trays take longer. This is time, not safety: meat is heated first.
    Source: published diffusivities, each in this module; slab diffusion, textbook.
    """
    if food_class not in AIR_DRYING:
        raise NotCovered(f"hot-air drying of {food_class.value}")
    require("thickness_m", thickness_m, 0.001, 0.020, "m")
    require("temp_c", temp_c, 35.0, 80.0, "°C")
    kind = AIR_DRYING[food_class]
    wet = kind.fresh_water.value if initial_water is None else initial_water
    dry = kind.final_water.value if final_water is None else final_water
    require("initial_water", wet, 0.05, 0.98, "kg/kg")
    require("final_water", dry, 0.01, wet - 0.01, "kg/kg")
    path_m = REFERENCE_THICKNESS_M / 2 if both_faces else REFERENCE_THICKNESS_M
    size = thickness_m / REFERENCE_THICKNESS_M
    centre = _Slice(
        kind.diffusivity.value,
        kind.activation.value,
        kind.equilibrium_db.value,
        THICKNESS_EXPONENT.value,
        dry,
    )
    spans = {
        "diffusivity": kind.diffusivity.span,
        "activation": kind.activation.span,
        "equilibrium_db": kind.equilibrium_db.span,
        "power": THICKNESS_EXPONENT.span,
    }
    if final_water is None:
        low, high = kind.final_water.span
        spans["final_water"] = low, min(high, (wet + dry) / 2)
    central = centre.hours(wet, temp_c, path_m, size)
    effects = [
        log(replace(centre, **{name: value}).hours(wet, temp_c, path_m, size) / central)
        for name, span in spans.items()
        for value in span
    ]
    faster, slower = hypot(*(min(e, 0.0) for e in effects)), hypot(*(max(e, 0.0) for e in effects))
    return Range(central * exp(-faster), central, central * exp(slower))


@dataclass(frozen=True, slots=True)
class _Slice:
    """One set of parameters of a slice; units as in AirDrying."""

    diffusivity: float
    activation: float
    equilibrium_db: float
    power: float
    final_water: float

    def hours(self, wet: float, temp_c: float, path_m: float, size: float) -> float:
        """Hours for a slice of this size (1 = 6 mm) that dries along path_m."""
        diffusivity = self.diffusivity * arrhenius(self.activation, temp_c, REFERENCE_C)
        ratio = moisture_ratio(_dry_basis(wet), _dry_basis(self.final_water), self.equilibrium_db)
        seconds = fick_number(ratio) * path_m**2 / diffusivity
        return seconds * exp(self.power * log(size)) / SECONDS_PER_HOUR


def arrhenius(activation_j_mol: float, temp_c: float, reference_c: float) -> float:
    """How much faster at temp_c than at reference_c: exp[-(E/R)(1/T - 1/T_ref)]."""
    zero = ZERO_CELSIUS.value
    difference = 1 / (temp_c + zero) - 1 / (reference_c + zero)
    return exp(-activation_j_mol / GAS_CONSTANT.value * difference)


def moisture_ratio(start_db: float, now_db: float, equilibrium_db: float) -> float:
    """Share of the removable water still there, MR = (X - X_e)/(X_0 - X_e).

    Args:
        start_db, now_db, equilibrium_db: kg water per kg dry matter.
    Returns:
        Above 0, at most 1.
    Raises:
        Impossible: now_db at or below equilibrium: the air cannot dry so far.
        OutOfRange: wetter than at the start.
    Source: definition.
    """
    if not now_db > equilibrium_db:
        raise Impossible("the air cannot dry food so far", equilibrium_db)
    require("now_db", now_db, None, start_db, "kg/kg")
    return (now_db - equilibrium_db) / (start_db - equilibrium_db)


def fick_slab(fourier: float) -> float:
    """Moisture ratio of a slab, MR = (8/π²) Σ (2n+1)⁻² exp[-(2n+1)² π² Fo/4].

    Args:
        fourier: D θ/L², L half the thickness when both faces dry, ≥ 0.
    Returns:
        Moisture ratio, 0 to 1.
    Raises:
        OutOfRange: a negative number.
    Source: diffusion in a slab, textbook.
    Example:
        >>> round(fick_slab(0.5), 3)
        0.236
    """
    require("fourier", fourier, 0.0, None)
    if fourier < 0.02:  # the water has not yet fallen in the middle: exact to 1e-9 and quicker
        return 1.0 - 2.0 * sqrt(fourier / pi)
    terms = ((2 * n + 1) ** 2 for n in range(12))
    return 8 / pi**2 * sum(exp(-odd * pi**2 * fourier / 4) / odd for odd in terms)


def fick_number(ratio: float) -> float:
    """Inverse of fick_slab: the Fourier number at which this share is left."""
    require("ratio", ratio, 1e-9, 1.0)
    low, high = 0.0, 10.0
    for _ in range(60):
        middle = (low + high) / 2
        if fick_slab(middle) > ratio:
            low = middle
        else:
            high = middle
    return (low + high) / 2


@dataclass(frozen=True, slots=True)
class PageCurve:
    """Thin-layer curve of Page, MR = exp(-k θⁿ); n = 1 is Lewis. The unit of k is the fit's."""

    k: float
    n: float

    def ratio(self, time: float) -> float:
        """Moisture ratio after a time, in the unit of time of the fit."""
        return exp(-self.k * time**self.n)

    def time_to(self, ratio: float) -> float:
        """Time to a moisture ratio above 0 and at most 1: (-ln MR/k)^(1/n)."""
        require("ratio", ratio, 1e-12, 1.0)
        return float((-log(ratio) / self.k) ** (1 / self.n))


def fit_page(times: Sequence[float], ratios: Sequence[float]) -> PageCurve:
    """Page curve through the household's own weighings, by least squares on the ratio.

    Args:
        times: any unit, ≥ 0, at least three. ratios: moisture ratios, 0 to 1.
    Returns:
        k and n.
    Raises:
        Impossible: fewer than three points.
    Source: Page's form, checked in the tests against a documented data set.
    """
    return _fit(times, ratios, free_exponent=True)


def fit_lewis(times: Sequence[float], ratios: Sequence[float]) -> PageCurve:
    """Lewis curve, MR = exp(-k θ), by least squares; arguments as fit_page."""
    return _fit(times, ratios, free_exponent=False)


def _fit(times: Sequence[float], ratios: Sequence[float], free_exponent: bool) -> PageCurve:
    """Least squares with ln k (and n) free."""
    import numpy as np
    from scipy.optimize import least_squares

    if len(times) < 3 or len(times) != len(ratios):
        raise Impossible("a drying curve needs at least three weighings", 3)
    theta, measured = np.asarray(times, float), np.asarray(ratios, float)
    scale = float(theta.max())

    def misfit(p: Sequence[float]) -> object:
        exponent = p[1] if free_exponent else 1.0
        return np.exp(-np.exp(p[0]) * (theta / scale) ** exponent) - measured

    start = [0.0, 1.0] if free_exponent else [0.0]
    best = least_squares(misfit, start, xtol=1e-12, ftol=1e-12, gtol=1e-12).x
    exponent = float(best[1]) if free_exponent else 1.0
    return PageCurve(exp(float(best[0])) / scale**exponent, exponent)


def two_period_hours(
    start_db: float, critical_db: float, final_db: float, equilibrium_db: float, rate_db_h: float
) -> float:
    """Hours with a constant rate down to the critical moisture and a falling one after it.

        θ = (X1 - X_c)/Φ + ((X_c - X_e)/Φ) ln[(X_c - X_e)/(X_2 - X_e)]

    Args:
        start_db, critical_db, final_db, equilibrium_db: kg/kg dry. rate_db_h: Φ, kg/kg dry per h.
    Returns:
        Hours; a critical moisture at or above the start means that the rate falls throughout.
    Raises:
        OutOfRange: no rate. Impossible: final at or below equilibrium.
    Source: Berk, Food Process Engineering and Technology, eq. 22.19 (read in the source).
    """
    require("rate_db_h", rate_db_h, 1e-9, inf, "1/h")
    if not final_db > equilibrium_db:
        raise Impossible("the air cannot dry food so far", equilibrium_db)
    constant = max(0.0, start_db - max(critical_db, final_db))
    begin = min(start_db, critical_db)
    if final_db >= begin:
        return constant / rate_db_h
    slope = rate_db_h / (critical_db - equilibrium_db)
    return (
        constant / rate_db_h + log((begin - equilibrium_db) / (final_db - equilibrium_db)) / slope
    )


def _dry_basis(water: float) -> float:
    """Wet to dry basis."""
    return water / (1 - water)
