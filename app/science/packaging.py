"""Kinds of package: what passes through film and closure, and how large they are."""

from dataclasses import dataclass
from enum import StrEnum
from math import exp, pi

from app.science.constants import GAS_CONSTANT
from app.science.errors import require
from app.science.sources import BARRIER_SHEETS, BIOSYSTEMS_TABLE, FITNESS_2020, Evidence, Sourced
from app.science.vapour import KELVIN

_OTR = "mL/(m² d atm)"
_WVTR = "g/(m² d) at 38 °C, 90 % humidity"
_LEAK = "mL O₂/d per package"


class PackagingKind(StrEnum):
    """What food is packed in."""

    ZIP_BAG = "zip_bag"
    VACUUM_BAG = "vacuum_bag"
    BUTCHER_PAPER = "butcher_paper"
    METALLISED_POUCH = "metallised_pouch"
    FOIL_POUCH = "foil_pouch"
    GLASS_JAR = "glass_jar"
    STEEL_CAN = "steel_can"
    PLASTIC_BOTTLE = "plastic_bottle"
    PAIL = "pail"
    PAIL_LINED = "pail_lined"
    TUB = "tub"  # a lidded tub: no barrier to count on


@dataclass(frozen=True, slots=True)
class Polymer:
    """A film material: what passes through 1 µm of it (divide by the thickness in µm).

    oxygen in cm³·µm/(m² d bar) at 23 °C, dry; water in g·µm/(m² d) at 38 °C and 90 % humidity.
    """

    words: str
    oxygen: Sourced
    water: Sourced


def _polymer(words: str, oxygen: float, water: float) -> Polymer:
    per_bar, per_day = "cm³·µm/(m² d bar)", "g·µm/(m² d)"
    return Polymer(
        words,
        Sourced(oxygen, per_bar, Evidence.READ, FITNESS_2020),
        Sourced(
            water,
            per_day,
            Evidence.READ,
            FITNESS_2020,
            note="the column was hard to read in the copy; a second table agrees",
        ),
    )


LDPE = _polymer("low-density polyethylene", 178_000.0, 560.0)
HDPE = _polymer("high-density polyethylene", 53_000.0, 145.0)
PET = _polymer("oriented polyester", 1_600.0, 800.0)
NYLON = _polymer("nylon 6", 2_000.0, 4_300.0)


@dataclass(frozen=True, slots=True)
class Packaging:
    """One kind of package as the window model sees it.

    oxygen_rate through the film at 23 °C and 1 atm of oxygen; oxygen_energy of its Arrhenius law;
    water_rate; leak through seal or closure; residual_pressure that its usual way of evacuating
    leaves, as a fraction of the ambient pressure; area_shape: surface = area_shape · volume^(2/3).
    """

    words: str
    oxygen_rate: Sourced
    oxygen_energy: Sourced
    water_rate: Sourced
    leak: Sourced
    residual_pressure: Sourced
    area_shape: Sourced
    is_oxygen_barrier: bool


def _trade(value: float, low: float, high: float, unit: str, note: str = "") -> Sourced:
    return Sourced(value, unit, Evidence.TRADE, BARRIER_SHEETS, low, high, note)


def _guess(value: float, low: float, high: float, unit: str, note: str = "") -> Sourced:
    return Sourced(value, unit, Evidence.JUDGEMENT, None, low, high, note)


def _memory(value: float, low: float, high: float, unit: str, note: str = "") -> Sourced:
    return Sourced(value, unit, Evidence.UNCHECKED, None, low, high, note)


def _derived(value: float, low: float, high: float, unit: str, note: str) -> Sourced:
    return Sourced(value, unit, Evidence.DERIVED, FITNESS_2020, low, high, note)


def _energy(value: float) -> Sourced:
    return Sourced(value, "kJ/mol", Evidence.UNCHECKED)


_NONE = Sourced(0.0, _OTR, Evidence.COMMON_PRACTICE, note="glass and steel let nothing through")
_SEAL = _derived(
    0.003, 0.0003, 0.03, _LEAK, "between a plain heat seal (0.00024) and one 1 µm hole (0.01)"
)
_AIR = Sourced(1.0, "of ambient", Evidence.COMMON_PRACTICE, note="not evacuated")
_SUCTION = _memory(0.3, 0.2, 0.4, "of ambient", "edge suction; a vacuum chamber leaves 0.005-0.02")
_FLAT = Sourced(
    11.2, "", Evidence.DERIVED, note="flat pouch filled to 40 % of its largest volume, see geometry"
)
_ROUND = Sourced(5.7, "", Evidence.DERIVED, note="cylinder as high as 1.3 times its width")

PACKAGINGS: dict[PackagingKind, Packaging] = {
    PackagingKind.ZIP_BAG: Packaging(
        "thin zip bag (64 µm polyethylene)",
        _derived(2800.0, 1700.0, 4600.0, _OTR, "polyethylene coefficient over 64 µm"),
        _energy(43.0),
        _derived(8.8, 5.0, 15.0, _WVTR, "polyethylene coefficient over 64 µm"),
        _guess(0.05, 0.005, 0.5, _LEAK),
        _AIR,
        _FLAT,
        is_oxygen_barrier=False,
    ),
    PackagingKind.VACUUM_BAG: Packaging(
        "nylon and polyethylene vacuum bag",
        Sourced(60.0, _OTR, Evidence.DERIVED, BIOSYSTEMS_TABLE, 30.0, 110.0),
        _energy(40.0),
        Sourced(7.0, _WVTR, Evidence.DERIVED, BIOSYSTEMS_TABLE, 4.0, 10.0),
        _SEAL,
        _SUCTION,
        _FLAT,
        is_oxygen_barrier=False,
    ),
    PackagingKind.BUTCHER_PAPER: Packaging(
        "coated butcher paper",
        _guess(20_000.0, 10_000.0, 40_000.0, _OTR, "no useful barrier to oxygen"),
        _energy(43.0),
        _memory(10.0, 6.0, 17.0, _WVTR),
        _guess(5.0, 0.5, 50.0, _LEAK, "folded and taped"),
        _AIR,
        _FLAT,
        is_oxygen_barrier=False,
    ),
    PackagingKind.METALLISED_POUCH: Packaging(
        "metallised polyester pouch",
        _trade(1.0, 0.6, 2.0, _OTR),
        _energy(32.0),
        _trade(0.7, 0.4, 2.0, _WVTR),
        _SEAL,
        _SUCTION,
        _FLAT,
        is_oxygen_barrier=True,
    ),
    PackagingKind.FOIL_POUCH: Packaging(
        "foil-laminate pouch (foil of 7 µm or more)",
        _trade(0.03, 0.006, 0.06, _OTR, "thinner foil has pinholes and lets through more"),
        _energy(0.0),
        _trade(0.03, 0.01, 0.05, _WVTR),
        _SEAL,
        _SUCTION,
        _FLAT,
        is_oxygen_barrier=True,
    ),
    PackagingKind.GLASS_JAR: Packaging(
        "glass jar with a sealing lid",
        _NONE,
        _energy(0.0),
        _guess(0.01, 0.003, 0.03, _WVTR, "through the gasket, spread over the whole jar"),
        _guess(0.005, 0.0005, 0.05, _LEAK),
        _memory(0.25, 0.15, 0.35, "of ambient"),
        _ROUND,
        is_oxygen_barrier=True,
    ),
    PackagingKind.STEEL_CAN: Packaging(
        "steel can with a double seam",
        _NONE,
        _energy(0.0),
        _guess(0.003, 0.001, 0.01, _WVTR, "through the seam, spread over the whole can"),
        _guess(0.001, 0.0001, 0.01, _LEAK),
        _AIR,
        _ROUND,
        is_oxygen_barrier=True,
    ),
    PackagingKind.PLASTIC_BOTTLE: Packaging(
        "polyester bottle (0.4 mm wall) with a screw cap",
        _derived(4.0, 2.5, 6.5, _OTR, "polyester coefficient over 400 µm; the wall is judgement"),
        _energy(32.0),
        _derived(2.0, 1.2, 3.3, _WVTR, "polyester coefficient over 400 µm"),
        _guess(0.05, 0.005, 0.5, _LEAK),
        _AIR,
        _ROUND,
        is_oxygen_barrier=False,
    ),
    PackagingKind.PAIL: Packaging(
        "polyethylene pail (1.9 mm wall) with a gasket lid",
        _derived(28.0, 17.0, 46.0, _OTR, "polyethylene coefficient over 1,900 µm"),
        _energy(43.0),
        _derived(0.08, 0.05, 0.13, _WVTR, "polyethylene coefficient over 1,900 µm"),
        _guess(0.5, 0.05, 5.0, _LEAK),
        _AIR,
        _ROUND,
        is_oxygen_barrier=False,
    ),
    PackagingKind.PAIL_LINED: Packaging(
        "pail with a sealed foil-laminate liner",
        _trade(0.03, 0.006, 0.06, _OTR, "the liner's film"),
        _energy(0.0),
        _trade(0.03, 0.01, 0.05, _WVTR, "the liner's film"),
        _guess(0.01, 0.001, 0.1, _LEAK, "a long seal, harder to close well"),
        _AIR,
        _FLAT,
        is_oxygen_barrier=True,
    ),
    PackagingKind.TUB: Packaging(
        "lidded tub",
        _guess(20_000.0, 10_000.0, 40_000.0, _OTR, "not tight"),
        _energy(0.0),
        _guess(10.0, 5.0, 20.0, _WVTR, "not tight"),
        _guess(50.0, 5.0, 500.0, _LEAK, "not tight"),
        _AIR,
        _ROUND,
        is_oxygen_barrier=False,
    ),
}

BULK_DENSITY = Sourced(
    220.0, "kg/m³", Evidence.UNCHECKED, low=150.0, high=300.0, note="freeze-dried meat, poured"
)
FILL_FRACTION = Sourced(
    0.40, "", Evidence.JUDGEMENT, low=0.35, high=0.45, note="of a flat pouch's largest volume"
)
HEADROOM = Sourced(1.15, "", Evidence.JUDGEMENT, note="package volume over bulk volume of food")


@dataclass(frozen=True, slots=True)
class Geometry:
    """Outer surface and inner volume of a package."""

    area_m2: float
    volume_m3: float


def pouch_geometry(
    width_m: float, height_m: float, fill_fraction: float = FILL_FRACTION.value
) -> Geometry:
    """Surface and filled volume of a flat pouch from its flat inner size.

        A = 2·w·h,  V = fill · w³·[h/(π·w) - 0.142·(1 - 10^(-h/w))], w the shorter side

    Args:
        width_m, height_m: flat inner size, m, 0.02 to 2. fill_fraction: of the largest volume a
            pouch can be blown up to, 0 to 1.
    Returns:
        Geometry.
    Raises:
        OutOfRange: a size or fraction outside its range.
    Validity: thin film; gussets add volume; a square pouch holds up to 14 % more than this.
    Source: A. C. Robin, Paper Bag Problem, Mathematics Today, 2004 (read in a copy); fill our
        judgement.
    Example:
        >>> round(pouch_geometry(0.203, 0.279, 1.0).volume_m3 * 1000, 1)
        2.5
    """
    require("width_m", width_m, 0.02, 2.0, "m")
    require("height_m", height_m, 0.02, 2.0, "m")
    require("fill_fraction", fill_fraction, 0.0, 1.0)
    short, long = sorted((width_m, height_m))
    largest = short**3 * (long / (pi * short) - 0.142 * (1 - 10 ** (-long / short)))
    return Geometry(2 * short * long, fill_fraction * largest)


def jar_geometry(volume_m3: float, slenderness: float = 1.3) -> Geometry:
    """Surface of a round jar, can, bottle or pail of a volume.

    Args:
        volume_m3: inner volume, m³, > 0. slenderness: height over diameter, 0.2 to 5.
    Returns:
        Geometry with the surface of the closed cylinder.
    Raises:
        OutOfRange: an argument outside its range.
    Source: geometry.
    Example:
        >>> round(jar_geometry(0.000946).area_m2, 3)
        0.054
    """
    require("volume_m3", volume_m3, 1e-6, 1.0, "m³")
    require("slenderness", slenderness, 0.2, 5.0)
    diameter = (4 * volume_m3 / (pi * slenderness)) ** (1 / 3)
    return Geometry(pi * diameter**2 * (0.5 + slenderness), volume_m3)


def typical_geometry(kind: PackagingKind, net_mass_kg: float) -> Geometry:
    """Volume and surface of an ordinary package for a mass of dried food.

    Args:
        kind: of package. net_mass_kg: of food, kg, 0.001 to 100.
    Returns:
        Geometry; ask the household for the real size where it matters.
    Raises:
        OutOfRange: mass outside the range.
    Source: BULK_DENSITY, HEADROOM and the shape of each kind.
    Example:
        >>> round(typical_geometry(PackagingKind.FOIL_POUCH, 0.17).volume_m3 * 1000, 2)
        0.89
    """
    require("net_mass_kg", net_mass_kg, 0.001, 100.0, "kg")
    volume = HEADROOM.value * net_mass_kg / BULK_DENSITY.value
    return Geometry(typical_area_m2(kind, volume), volume)


def typical_area_m2(kind: PackagingKind, volume_m3: float) -> float:
    """Surface of an ordinary package of a volume.

    Args:
        kind: of package. volume_m3: inner volume, m³, > 0.
    Returns:
        m².
    """
    return float(PACKAGINGS[kind].area_shape.value * volume_m3 ** (2 / 3))


def film_rate(coefficient: float, thickness_um: float) -> float:
    """Transmission of a film from the coefficient of its polymer.

    Args:
        coefficient: per µm of thickness, as in Polymer. thickness_um: µm, 1 to 10,000.
    Returns:
        The same unit, per m².
    Raises:
        OutOfRange: thickness outside the range.
    Source: FitNESS course (2020): transmission falls with thickness.
    Example:
        >>> round(film_rate(LDPE.oxygen.value, 64))
        2781
    """
    require("thickness_um", thickness_um, 1.0, 10_000.0, "µm")
    return coefficient / thickness_um


def film_temperature_factor(packaging: Packaging, temp_c: float) -> float:
    """How much faster oxygen passes the film than at its test temperature of 23 °C.

    Args:
        packaging: the kind. temp_c: °C, -40 to 60.
    Returns:
        Factor, 1 at 23 °C.
    Raises:
        OutOfRange: temperature outside the range.
    Source: Arrhenius law, energies from memory, unchecked.
    """
    require("temp_c", temp_c, -40.0, 60.0, "°C")
    energy = packaging.oxygen_energy.value * 1000
    return exp(-energy / GAS_CONSTANT.value * (1 / (temp_c + KELVIN) - 1 / (23 + KELVIN)))
