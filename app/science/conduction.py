"""Heat through air, water and food: transfer coefficients, the stirred pot, the slab."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import exp, inf, log, pi, sin, tan

from app.science.composition import Composition
from app.science.constants import SECONDS_PER_HOUR
from app.science.errors import require
from app.science.sources import Evidence, Sourced
from app.science.thermal import conductivity_w_mk, density_kg_m3, specific_heat_j_kgk


class Surroundings(StrEnum):
    """What takes the heat away."""

    STILL_AIR = "still_air"
    FAN = "fan"
    COLD_WATER = "cold_water"
    ICE_BATH = "ice_bath"
    PLATE = "plate"


def _coefficient(low: float, central: float, high: float, note: str) -> Sourced:
    """A heat-transfer coefficient of a household."""
    return Sourced(central, "W/(m2 K)", Evidence.JUDGEMENT, None, low, high, note)


HEAT_TRANSFER: dict[Surroundings, Sourced] = {
    Surroundings.STILL_AIR: _coefficient(5.0, 8.0, 12.0, "refrigerator or freezer without a fan"),
    Surroundings.FAN: _coefficient(12.0, 15.0, 25.0, "moving air"),
    Surroundings.COLD_WATER: _coefficient(80.0, 150.0, 300.0, "water changed every 30 min"),
    Surroundings.ICE_BATH: _coefficient(150.0, 400.0, 600.0, "ice and water, stirred"),
    Surroundings.PLATE: _coefficient(50.0, 70.0, 100.0, "pressed on a cold plate"),
}


@dataclass(frozen=True, slots=True)
class Substance:
    """Thermal properties of a food: W/(m K), kg/m³, J/(kg K)."""

    conductivity_w_mk: float
    density_kg_m3: float
    specific_heat_j_kgk: float

    @property
    def diffusivity_m2_s(self) -> float:
        """Thermal diffusivity, m²/s."""
        return self.conductivity_w_mk / (self.density_kg_m3 * self.specific_heat_j_kgk)


STEW = Substance(0.55, 1030.0, 3700.0)


def substance_of(composition: Composition, temp_c: float = 30.0) -> Substance:
    """Thermal properties of an unfrozen food from its composition (Choi and Okos 1986)."""
    return Substance(
        conductivity_w_mk(composition, temp_c).central,
        density_kg_m3(composition, temp_c),
        specific_heat_j_kgk(composition, temp_c),
    )


def time_constant_hours(
    mass_kg: float, specific_heat_j_kgk: float, h_w_m2k: float, area_m2: float
) -> float:
    """Time constant of a stirred pot, τ = m c/(h A): in each τ the difference falls to 37 %.

    Args:
        mass_kg: kg, > 0. specific_heat_j_kgk: J/(kg K). h_w_m2k: W/(m² K), > 0. area_m2: m², > 0.
    Returns:
        Hours.
    Raises:
        OutOfRange: an argument that is not positive.
    Validity: stirred liquid, or Biot number h L/k below 0.1.
    Source: lumped heat balance, textbook.
    """
    for name, value in (("mass_kg", mass_kg), ("h_w_m2k", h_w_m2k), ("area_m2", area_m2)):
        require(name, value, 1e-12, None)
    return mass_kg * specific_heat_j_kgk / (h_w_m2k * area_m2) / SECONDS_PER_HOUR


def lumped_hours(from_c: float, to_c: float, air_c: float, time_constant_hours: float) -> float:
    """Hours for a stirred pot from one temperature to another; infinite if never reached."""
    require("time_constant_hours", time_constant_hours, 0.0, None, "h")
    ratio = unaccomplished(from_c, to_c, air_c)
    return time_constant_hours * -log(ratio) if ratio > 0 else inf


def lumped_temperature_c(
    start_c: float, air_c: float, hours: float, time_constant_hours: float
) -> float:
    """Temperature of a stirred pot after some hours: t_a + (t_0 - t_a) exp(-θ/τ)."""
    require("time_constant_hours", time_constant_hours, 1e-12, None, "h")
    return air_c + (start_c - air_c) * exp(-hours / time_constant_hours)


def slab_root(biot: float, n: int = 1) -> tuple[float, float]:
    """The n-th root ζ of ζ tan ζ = Bi and its coefficient C = 4 sin ζ/(2ζ + sin 2ζ).

    Args:
        biot: h L/k, 1e-6 to 1e6. n: 1, 2, 3...
    Returns:
        ζ and C.
    Raises:
        OutOfRange: outside the range.
    Source: series solution of the slab, textbook.
    Example:
        >>> zeta, c = slab_root(1.0)
        >>> round(zeta, 4), round(c, 4)
        (0.8603, 1.1191)
    """
    require("biot", biot, 1e-6, 1e6)
    low, high = (n - 1) * pi, (n - 0.5) * pi
    for _ in range(60):
        middle = (low + high) / 2
        if middle * tan(middle) < biot:
            low = middle
        else:
            high = middle
    zeta = (low + high) / 2
    return zeta, 4 * sin(zeta) / (2 * zeta + sin(2 * zeta))


def slab_centre_ratio(biot: float, fourier: float, terms: int = 12) -> float:
    """Unaccomplished temperature change at the centre of a slab, Y = Σ C exp(-ζ² Fo).

    Args:
        biot: h L/k. fourier: α θ/L², ≥ 0.005. terms: how many of the series.
    Returns:
        (t - t_a)/(t_0 - t_a), 0 to 1.
    Raises:
        OutOfRange: outside the ranges.
    Source: series solution of the slab, textbook; L is half the depth, or all of it on an
        insulated base.
    """
    require("fourier", fourier, 0.005, None)
    roots = [slab_root(biot, n) for n in range(1, terms + 1)]
    return min(1.0, sum(c * exp(-(zeta**2) * fourier) for zeta, c in roots))


def slab_hours(
    depth_m: float,
    from_c: float,
    to_c: float,
    air_c: float,
    h_w_m2k: float,
    substance: Substance = STEW,
    both_faces: bool = True,
) -> float:
    """Hours until the centre of an unstirred slab, first at one temperature, reaches another.

    Args:
        depth_m: full depth, m, > 0. from_c, to_c, air_c: °C. h_w_m2k: W/(m² K), > 0.
        substance: thermal properties. both_faces: False on an insulated base.
    Returns:
        Hours; infinite when the surroundings are not cold enough.
    Raises:
        OutOfRange: an argument that is not positive.
    Validity: no freezing, uniform start; a tub loses heat through its walls too and is faster.
    Source: series solution of the slab, textbook.
    """
    require("depth_m", depth_m, 1e-6, 10.0, "m")
    require("h_w_m2k", h_w_m2k, 1e-6, None, "W/(m2 K)")
    ratio = unaccomplished(from_c, to_c, air_c)
    if ratio <= 0:
        return inf
    length_m = depth_m / 2 if both_faces else depth_m
    roots = [slab_root(h_w_m2k * length_m / substance.conductivity_w_mk, n) for n in range(1, 13)]
    fourier = _fourier_at(roots, ratio)
    return fourier * length_m**2 / substance.diffusivity_m2_s / SECONDS_PER_HOUR


def unaccomplished(from_c: float, to_c: float, air_c: float) -> float:
    """(t - t_a)/(t_0 - t_a): 1 at the start, 0 when surroundings are reached, below: never."""
    if from_c == air_c:
        return 1.0 if to_c == from_c else 0.0
    ratio = (to_c - air_c) / (from_c - air_c)
    return min(1.0, ratio)


def _fourier_at(roots: Sequence[tuple[float, float]], ratio: float) -> float:
    """Fourier number at which the centre has this ratio left, by bisection."""
    low, high = 0.0, 1.0

    def left(fourier: float) -> float:
        return sum(c * exp(-(zeta**2) * fourier) for zeta, c in roots)

    while left(high) > ratio:
        high *= 2
    for _ in range(60):
        middle = (low + high) / 2
        if left(middle) > ratio:
            low = middle
        else:
            high = middle
    return (low + high) / 2
