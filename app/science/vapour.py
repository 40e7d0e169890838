"""Water as vapour: saturation pressures over water and ice, latent heats, air at altitude."""

from math import exp, log, sqrt, tanh

from app.science.constants import (
    GAS_CONSTANT,
    MOLAR_MASS_WATER,
    SEA_LEVEL_PRESSURE,
    ZERO_CELSIUS,
)
from app.science.errors import require
from app.science.sources import (
    ASHRAE_FUNDAMENTALS,
    IAPWS_SR1,
    ISO_2533,
    MURPHY_KOOP_2005,
    Source,
)

# Where the equations of this module stand.
SOURCES: tuple[Source, ...] = (MURPHY_KOOP_2005, IAPWS_SR1, ISO_2533, ASHRAE_FUNDAMENTALS)

KELVIN = ZERO_CELSIUS.value
TRIPLE_POINT_C = 0.01
GAS_CONSTANT_WATER = GAS_CONSTANT.value / MOLAR_MASS_WATER.value  # J/(kg K)

_T_CRITICAL_K, _P_CRITICAL_PA, _RHO_CRITICAL = 647.096, 22.064e6, 322.0
_PRESSURE_TERMS = (
    (1.0, -7.85951783),
    (1.5, 1.84408259),
    (3.0, -11.7866497),
    (3.5, 22.6807411),
    (4.0, -15.9618719),
    (7.5, 1.80122502),
)
_LIQUID_TERMS = (
    (1 / 3, 1.99274064),
    (2 / 3, 1.09965342),
    (5 / 3, -0.510839303),
    (16 / 3, -1.75493479),
    (43 / 3, -45.5170352),
    (110 / 3, -6.74694450e5),
)
_VAPOUR_TERMS = (
    (2 / 6, -2.03150240),
    (4 / 6, -2.68302940),
    (8 / 6, -5.38626492),
    (18 / 6, -17.2991605),
    (37 / 6, -44.7586581),
    (71 / 6, -63.9201063),
)


def saturation_pressure_pa(temp_c: float) -> float:
    """Vapour pressure over liquid water, supercooled below 0.01 °C.

    Above 0.01 °C: ln(p/p_c) = (T_c/T) Σ a_i τ^n_i, τ = 1 - T/T_c; below: Murphy and Koop eq. 10.
    The two meet within one part in a million.

    Args:
        temp_c: temperature, °C, -100 to 200.
    Returns:
        Pressure, Pa.
    Raises:
        OutOfRange: temp_c outside the range.
    Validity: 0.1 % and better.
    Source: IAPWS SR1-86 (1992); Murphy and Koop 2005; constants read in copies and checked in
        the tests against reference libraries.
    Example:
        >>> round(saturation_pressure_pa(100.0))
        101418
    """
    require("temp_c", temp_c, -100.0, 200.0, "°C")
    temp_k = temp_c + KELVIN
    if temp_c < TRIPLE_POINT_C:
        return _supercooled_pressure_pa(temp_k)
    return _P_CRITICAL_PA * exp(
        _T_CRITICAL_K / temp_k * _series(_PRESSURE_TERMS, 1 - temp_k / _T_CRITICAL_K)
    )


def ice_saturation_pressure_pa(temp_c: float) -> float:
    """Vapour pressure over ice: what a frozen food can push against a cold condenser.

        ln p = 9.550426 - 5723.265/T + 3.53068 ln T - 0.00728332 T

    Args:
        temp_c: temperature, °C, -163 to 0.01.
    Returns:
        Pressure, Pa.
    Raises:
        OutOfRange: temp_c outside the range.
    Validity: 110 to 273.16 K, within 0.1 %.
    Source: Murphy and Koop 2005, eq. 7 (read in a copy).
    Example:
        >>> round(ice_saturation_pressure_pa(-40.0), 2)
        12.84
    """
    require("temp_c", temp_c, -163.0, TRIPLE_POINT_C, "°C")
    temp_k = temp_c + KELVIN
    return exp(9.550426 - 5723.265 / temp_k + 3.53068 * log(temp_k) - 0.00728332 * temp_k)


def frost_point_c(pressure_pa: float) -> float:
    """Temperature at which ice has this vapour pressure.

    Args:
        pressure_pa: partial pressure of water, Pa, 0.01 to 611.6.
    Returns:
        Temperature, °C.
    Raises:
        OutOfRange: no frost point in the range of the ice equation.
    Source: root of ice_saturation_pressure_pa by bisection.
    Example:
        >>> round(frost_point_c(12.84), 1)
        -40.0
    """
    low, high = -100.0, TRIPLE_POINT_C
    require("pressure_pa", pressure_pa, 0.01, ice_saturation_pressure_pa(high), "Pa")
    for _ in range(60):
        middle = (low + high) / 2
        if ice_saturation_pressure_pa(middle) < pressure_pa:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def atmospheric_pressure_pa(altitude_m: float) -> float:
    """Air pressure at an altitude in the standard atmosphere.

        p = 101325 (1 - 2.25577e-5 h)^5.25588

    Args:
        altitude_m: height above the sea, m, -500 to 11000.
    Returns:
        Pressure, Pa. Weather moves the true pressure by about ±2000 Pa.
    Raises:
        OutOfRange: altitude_m outside the range.
    Source: ISO 2533 (1975), troposphere.
    Example:
        >>> round(atmospheric_pressure_pa(1000.0))
        89875
    """
    require("altitude_m", altitude_m, -500.0, 11000.0, "m")
    return float(SEA_LEVEL_PRESSURE.value * (1.0 - 2.25577e-5 * altitude_m) ** 5.25588)


def latent_heat_vaporisation_j_kg(temp_c: float) -> float:
    """Heat that boils away one kilogram of water.

        Clapeyron: λ = T (1/ρ″ - 1/ρ′) dp/dT

    Args:
        temp_c: temperature, °C, 0.01 to 200.
    Returns:
        Latent heat, J/kg.
    Raises:
        OutOfRange: temp_c outside the range.
    Source: densities and pressure of saturation, IAPWS SR1-86 (1992).
    Example:
        >>> round(latent_heat_vaporisation_j_kg(50.0) / 1e3)
        2382
    """
    require("temp_c", temp_c, TRIPLE_POINT_C, 200.0, "°C")
    temp_k = temp_c + KELVIN
    tau = 1 - temp_k / _T_CRITICAL_K
    liquid = _RHO_CRITICAL * (1 + _series(_LIQUID_TERMS, tau))
    vapour = _RHO_CRITICAL * exp(_series(_VAPOUR_TERMS, tau))
    pressure_pa = saturation_pressure_pa(temp_c)
    slope = sum(n * a * tau ** (n - 1) for n, a in _PRESSURE_TERMS)
    per_kelvin = -pressure_pa / temp_k * (log(pressure_pa / _P_CRITICAL_PA) + slope)
    return float(temp_k * (1 / vapour - 1 / liquid) * per_kelvin)


def latent_heat_sublimation_j_kg(temp_c: float) -> float:
    """Heat that turns one kilogram of ice into vapour.

    Args:
        temp_c: temperature, °C, -100 to 0.01.
    Returns:
        Latent heat, J/kg.
    Raises:
        OutOfRange: temp_c outside the range.
    Source: Murphy and Koop 2005, eq. 5 (read in copies).
    Example:
        >>> round(latent_heat_sublimation_j_kg(-20.0) / 1e3, 1)
        2837.9
    """
    require("temp_c", temp_c, -100.0, TRIPLE_POINT_C, "°C")
    temp_k = temp_c + KELVIN
    molar = 46782.5 + 35.8925 * temp_k - 0.07414 * temp_k**2
    return (molar + 541.5 * exp(-((temp_k / 123.75) ** 2))) / MOLAR_MASS_WATER.value


def vapour_volume_m3(mass_kg: float, pressure_pa: float, temp_c: float) -> float:
    """Volume that sublimed water fills: why freeze-drying needs a condenser, not only a pump.

    Args:
        mass_kg: water, kg. pressure_pa: vapour pressure, Pa, > 0. temp_c: vapour, °C.
    Returns:
        Volume, m³, of an ideal gas.
    Raises:
        OutOfRange: a negative mass or no pressure.
    Validity: ideal gas, good below 10 kPa.
    Source: ideal gas law.
    Example:
        >>> round(vapour_volume_m3(0.001, 67.0, 20.0), 2)
        2.02
    """
    require("mass_kg", mass_kg, 0.0, None, "kg")
    require("pressure_pa", pressure_pa, 1e-6, None, "Pa")
    return mass_kg * GAS_CONSTANT_WATER * (temp_c + KELVIN) / pressure_pa


def humidity_ratio(vapour_pa: float, pressure_pa: float) -> float:
    """Water carried by one kilogram of dry air.

        W = 0.621945 p_w / (p - p_w)

    Args:
        vapour_pa: partial pressure of water, Pa, ≥ 0. pressure_pa: air pressure, Pa, above it.
    Returns:
        kg water per kg dry air.
    Raises:
        OutOfRange: more vapour than air.
    Source: ASHRAE Handbook, Fundamentals 2017, ch. 1 (read in a copy).
    """
    require("pressure_pa", pressure_pa, 1.0, None, "Pa")
    require("vapour_pa", vapour_pa, 0.0, pressure_pa * 0.999, "Pa")
    return 0.621945 * vapour_pa / (pressure_pa - vapour_pa)


def humid_enthalpy_j_kg(temp_c: float, humidity: float) -> float:
    """Enthalpy of moist air above 0 °C dry air and liquid water, J per kg of dry air.

    Args:
        temp_c: air, °C, 0 to 150. humidity: kg water per kg dry air, ≥ 0.
    Returns:
        Enthalpy, J/kg dry air.
    Raises:
        OutOfRange: outside the ranges.
    Source: ASHRAE Handbook, Fundamentals 2017, ch. 1 (read in a copy).
    """
    require("temp_c", temp_c, 0.0, 150.0, "°C")
    require("humidity", humidity, 0.0, None, "kg/kg")
    return 1006.0 * temp_c + humidity * (2501e3 + 1860.0 * temp_c)


def wet_bulb_c(temp_c: float, humidity: float, pressure_pa: float = 101325.0) -> float:
    """Temperature of a wet surface in warm air: what moist food feels at first in a dehydrator.

    Args:
        temp_c: air, °C, 0 to 150. humidity: kg water per kg dry air. pressure_pa: air, Pa.
    Returns:
        Wet-bulb temperature, °C, ≥ 0.
    Raises:
        OutOfRange: outside the ranges, or air so dry and cold that the wet bulb freezes.
    Source: ASHRAE Handbook, Fundamentals 2017, ch. 1, eq. 33, solved by bisection.
    Example:
        >>> round(wet_bulb_c(60.0, 0.00726), 1)
        26.1
    """
    require("temp_c", temp_c, 0.0, 150.0, "°C")
    low, high = 0.0, min(temp_c, 99.0 * sqrt(pressure_pa / 101325.0))
    require("humidity", humidity, humidity_at_wet_bulb(temp_c, low, pressure_pa), None, "kg/kg")
    for _ in range(50):
        middle = (low + high) / 2
        if humidity_at_wet_bulb(temp_c, middle, pressure_pa) < humidity:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def humidity_at_wet_bulb(temp_c: float, wet_c: float, pressure_pa: float = 101325.0) -> float:
    """Humidity of air from its dry-bulb and wet-bulb temperatures.

    Args:
        temp_c: air, °C. wet_c: wet bulb, °C, 0 to temp_c. pressure_pa: air, Pa.
    Returns:
        kg water per kg dry air; negative when no air is so dry.
    Raises:
        OutOfRange: outside the ranges.
    Source: ASHRAE Handbook, Fundamentals 2017, ch. 1, eq. 33.
    Example:
        >>> round(humidity_at_wet_bulb(40.0, 20.0), 4)
        0.0064
    """
    require("wet_c", wet_c, 0.0, temp_c, "°C")
    wet = min(saturation_pressure_pa(wet_c), 0.99 * pressure_pa)
    numerator = (2501.0 - 2.326 * wet_c) * humidity_ratio(wet, pressure_pa)
    return (numerator - 1.006 * (temp_c - wet_c)) / (2501.0 + 1.86 * temp_c - 4.186 * wet_c)


def _supercooled_pressure_pa(temp_k: float) -> float:
    """Murphy and Koop 2005, eq. 10; 123 to 332 K."""
    log_t = log(temp_k)
    first = 54.842763 - 6763.22 / temp_k - 4.210 * log_t + 0.000367 * temp_k
    second = 53.878 - 1331.22 / temp_k - 9.44523 * log_t + 0.014025 * temp_k
    return exp(first + tanh(0.0415 * (temp_k - 218.8)) * second)


def _series(terms: tuple[tuple[float, float], ...], tau: float) -> float:
    """Σ a τ^n."""
    return float(sum(a * tau**n for n, a in terms))
