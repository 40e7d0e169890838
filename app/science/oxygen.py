"""Oxygen in a package: the space it fills, how much is sealed in, absorbers, what gets in."""

from math import exp, log

from app.science.constants import SEA_LEVEL_PRESSURE
from app.science.errors import require
from app.science.ranges import Range
from app.science.sources import (
    ABSORBER_REVIEW,
    ABSORBER_TYPES_2013,
    ICAO_ATMOSPHERE,
    Evidence,
    Sourced,
)
from app.science.vapour import KELVIN, atmospheric_pressure_pa

OXYGEN_IN_AIR = Sourced(0.2095, "mole fraction, dry", Evidence.READ, ICAO_ATMOSPHERE)
TRUE_DENSITY = Sourced(
    1350.0,
    "kg/m³",
    Evidence.UNCHECKED,
    low=1300.0,
    high=1500.0,
    note="of the dry food without its pores: pores count as headspace",
)
RATING = Sourced(
    1.0,
    "of the printed rating",
    Evidence.JUDGEMENT,
    low=0.7,
    high=1.3,
    note="single packets vary up to twofold (abstract read)",
)
RESERVE = Sourced(
    0.3,
    "of what is left after the headspace",
    Evidence.JUDGEMENT,
    low=0.09,
    high=1.0,
    note="low end computed from Int. J. Food Sci. Technol. 2013",
)
DRY_SHARE = Sourced(
    3.8 / 43.4,
    "of its capacity",
    Evidence.DERIVED,
    ABSORBER_TYPES_2013,
    note="moisture-activated packets took up 3.8 mL at 43 % humidity, 43.4 mL at 75 %",
)
RESIDUE = Sourced(
    100e-6, "mole fraction", Evidence.READ, ABSORBER_REVIEW, note="what a good absorber leaves"
)
HALF_LIFE_25_C = Sourced(
    1.0, "h", Evidence.READ, ABSORBER_TYPES_2013, note="first order at 25 °C; abstract"
)
HALF_LIFE_COLD = Sourced(
    7.1, "h", Evidence.READ, ABSORBER_TYPES_2013, note="first order at -1.5 °C; abstract"
)


def headspace_m3(
    volume_m3: float, mass_kg: float, true_density_kg_m3: float = TRUE_DENSITY.value
) -> float:
    """Gas space in a package, the pores of the food included.

    Args:
        volume_m3: inner volume of the package, m³. mass_kg: of food, kg.
        true_density_kg_m3: of the food without pores, kg/m³.
    Returns:
        m³.
    Raises:
        OutOfRange: the food alone would fill the package.
    Source: conservation of volume.
    Example:
        >>> round(headspace_m3(0.000946, 0.170) * 1e6)  # a quart of lean freeze-dried meat
        820
    """
    require("mass_kg", mass_kg, 0.0, None, "kg")
    solid = mass_kg / true_density_kg_m3
    require("volume_m3", volume_m3, 1.02 * solid, None, "m³")
    return volume_m3 - solid


def oxygen_ml(
    headspace_m3: float,
    altitude_m: float = 0.0,
    pressure_fraction: float = 1.0,
    temp_c: float = 21.0,
) -> float:
    """Oxygen in a headspace of air, as gas at 0 °C and 1 atm.

        V = headspace · 0.2095 · p/p₀ · 273.15/T

    Args:
        headspace_m3: gas space, m³. altitude_m: where it was sealed, m.
        pressure_fraction: what evacuation left, of the ambient pressure, 0 to 1.
        temp_c: at sealing, °C.
    Returns:
        mL of oxygen at 0 °C and 1 atm.
    Raises:
        OutOfRange: an argument outside its range.
    Validity: dry air; humid air holds up to 3 % less at room temperature.
    Source: gas law; composition of dry air, ICAO 1993.
    Example:
        >>> round(oxygen_ml(0.000820, pressure_fraction=0.2))  # a vacuum still leaves this
        32
    """
    require("headspace_m3", headspace_m3, 0.0, None, "m³")
    require("pressure_fraction", pressure_fraction, 0.0, 1.0)
    require("temp_c", temp_c, -40.0, 60.0, "°C")
    pressure = atmospheric_pressure_pa(altitude_m) / SEA_LEVEL_PRESSURE.value * pressure_fraction
    return headspace_m3 * 1e6 * OXYGEN_IN_AIR.value * pressure * KELVIN / (temp_c + KELVIN)


def absorber_needed_ml(
    volume_m3: float,
    mass_kg: float,
    altitude_m: float = 0.0,
    pressure_fraction: float = 1.0,
    self_activated: bool = True,
) -> Range:
    """Absorber to seal in with a dry food, as its printed rating.

    low: just the oxygen, packets as rated; central: the computed oxygen over
    a weak packet; high: half as much again, kept for what leaks in. Buy the next size above
    central, or high for keeping many years.

    Args:
        volume_m3: of the package, m³. mass_kg: of food, kg. altitude_m: m.
        pressure_fraction: what evacuation left, 0 to 1.
        self_activated: carries its own moisture; the other kind hardly works in dry food.
    Returns:
        Range, mL of oxygen by the printed rating ("cc").
    Raises:
        OutOfRange: food does not fit, or an argument outside its range.
    Source: gas law; margins our judgement from the spread of packets (RATING), DRY_SHARE.
    Example:
        >>> need = absorber_needed_ml(0.000946, 0.170)
        >>> round(need.low), round(need.central), round(need.high)
        (159, 228, 342)
    """
    lightest, typical = (
        headspace_m3(volume_m3, mass_kg, density)
        for density in (TRUE_DENSITY.span[0], TRUE_DENSITY.value)
    )
    share = 1.0 if self_activated else DRY_SHARE.value
    weak = RATING.span[0]
    low = oxygen_ml(lightest, altitude_m, pressure_fraction) / share
    central = oxygen_ml(typical, altitude_m, pressure_fraction) / share / weak
    return Range(low, central, 1.5 * central)


def ingress_ml_per_day(
    oxygen_rate: float, area_m2: float, leak_ml_per_day: float, altitude_m: float = 0.0
) -> float:
    """Oxygen that enters a package whose inside holds none.

        J = OTR·A·0.2095·p/p₀ + leak

    Args:
        oxygen_rate: of the film at its temperature, mL/(m² d atm). area_m2: surface, m².
        leak_ml_per_day: through seal or closure, mL O₂/d. altitude_m: m.
    Returns:
        mL of oxygen at 0 °C and 1 atm, per day.
    Raises:
        OutOfRange: a negative argument.
    Source: definition of the transmission rate, measured at 1 atm of oxygen.
    Example:
        >>> round(ingress_ml_per_day(60, 0.12, 0.003), 2)
        1.51
    """
    for name, value in (
        ("oxygen_rate", oxygen_rate), ("area_m2", area_m2), ("leak_ml_per_day", leak_ml_per_day),
    ):  # fmt: skip
        require(name, value, 0.0, None)
    pressure = atmospheric_pressure_pa(altitude_m) / SEA_LEVEL_PRESSURE.value
    return oxygen_rate * area_m2 * OXYGEN_IN_AIR.value * pressure + leak_ml_per_day


def absorber_hours(oxygen_before: float, oxygen_after: float, temp_c: float) -> float:
    """Time an absorber takes to bring oxygen down, first order.

    Args:
        oxygen_before, oxygen_after: any one unit, before ≥ after > 0. temp_c: -5 to 40 °C.
    Returns:
        Hours.
    Raises:
        OutOfRange: an argument outside its range.
    Validity: well sized, self-activated; packets differ up to twofold.
    Source: half-lives 1.0 h at 25 °C and 7.1 h at -1.5 °C (abstract, 2013), Arrhenius between.
    Example:
        >>> round(absorber_hours(0.2095, 0.0001, 21.0), 1)
        14.5
    """
    require("oxygen_after", oxygen_after, 1e-12, oxygen_before)
    require("temp_c", temp_c, -5.0, 40.0, "°C")
    warm, cold = 25.0 + KELVIN, -1.5 + KELVIN
    slope = log(HALF_LIFE_COLD.value / HALF_LIFE_25_C.value) / (1 / cold - 1 / warm)
    half_life = HALF_LIFE_25_C.value * exp(slope * (1 / (temp_c + KELVIN) - 1 / warm))
    return half_life * log(oxygen_before / oxygen_after, 2)
