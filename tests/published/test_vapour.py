"""Water as vapour against published tables and reference libraries."""

import psychrolib
import pytest
from CoolProp.CoolProp import PropsSI
from iapws._iapws import _Ice, _Sublimation_Pressure

from app.science.constants import FUSION_HEAT, ICE_DENSITY, PASCAL_PER_MICRON
from app.science.vapour import (
    atmospheric_pressure_pa,
    frost_point_c,
    humid_enthalpy_j_kg,
    humidity_at_wet_bulb,
    humidity_ratio,
    ice_saturation_pressure_pa,
    latent_heat_sublimation_j_kg,
    latent_heat_vaporisation_j_kg,
    saturation_pressure_pa,
    vapour_volume_m3,
    wet_bulb_c,
)
from tests.published.row import Published

MURPHY_KOOP = "Murphy and Koop, Q. J. R. Meteorol. Soc. 131, 2005"
ASHRAE = "ASHRAE Handbook, Fundamentals, 2017, read in the tests of a reference library"
ALTITUDE = "High-altitude cooking, encyclopedia page citing NOAA and NASA, undated"
LECTURE = "Lecture notes on freeze-drying, undated, read in a copy"
COFFEE = "Freeze-drying, encyclopedia article, undated, read in a copy"
DIGITS = "as many digits as printed"
ASHRAE_FIT = "0.03 %, the spread between the formulations"


def boiling_f(feet: float) -> float:
    """Boiling point by bisection, °F."""
    pressure_pa = atmospheric_pressure_pa(feet * 0.3048)
    low, high = 50.0, 110.0
    for _ in range(50):
        middle = (low + high) / 2
        if saturation_pressure_pa(middle) < pressure_pa:
            low = middle
        else:
            high = middle
    return low * 1.8 + 32


def over_ice(kelvin: float) -> float:
    return ice_saturation_pressure_pa(kelvin - 273.15)


ROWS = [
    *(
        (over_ice(kelvin), Published(pa, digit, MURPHY_KOOP, f"table of ice, {kelvin} K", DIGITS))
        for kelvin, pa, digit in (
            (150.0, 6.106e-6, 5e-10),
            (180.0, 5.3975e-3, 5e-8),
            (210.0, 0.70202, 5e-6),
            (240.0, 27.272, 5e-4),
            (273.15, 611.154, 5e-4),
        )
    ),
    (
        saturation_pressure_pa(240 - 273.15),
        Published(37.667, 5e-4, MURPHY_KOOP, "table of liquid, 240 K", DIGITS),
    ),
    (
        saturation_pressure_pa(0.0),
        Published(611.213, 5e-4, MURPHY_KOOP, "table of liquid, 273.15 K", DIGITS),
    ),
    *(
        (
            ice_saturation_pressure_pa(temp),
            Published(pa, max(0.01, 3e-4 * pa), ASHRAE, f"table 3, {temp} °C", ASHRAE_FIT),
        )
        for temp, pa in ((-60.0, 1.08), (-20.0, 103.24), (-5.0, 401.74))
    ),
    *(
        (
            saturation_pressure_pa(temp),
            Published(pa, 3e-4 * pa, ASHRAE, f"table 3, {temp} °C", ASHRAE_FIT),
        )
        for temp, pa in (
            (5.0, 872.6),
            (25.0, 3169.7),
            (50.0, 12351.3),
            (100.0, 101418.0),
            (150.0, 476101.4),
        )
    ),
    *(
        (
            atmospheric_pressure_pa(metres),
            Published(pa, 1.0, ASHRAE, f"table 1, {metres} m", DIGITS),
        )
        for metres, pa in (
            (-500.0, 107478.0),
            (0.0, 101325.0),
            (500.0, 95461.0),
            (1000.0, 89875.0),
            (4000.0, 61640.0),
            (10000.0, 26436.0),
        )
    ),
    *(
        (boiling_f(feet), Published(temp, within, ALTITUDE, f"{feet} ft", why))
        for feet, temp, within, why in (
            (500, 211.1, 0.2, DIGITS),
            (1000, 210.2, 0.2, DIGITS),
            (2000, 208.4, 0.2, DIGITS),
            (5000, 203.0, 0.2, DIGITS),
            (6000, 201.1, 0.2, DIGITS),
            (10000, 193.6, 0.2, DIGITS),
        )
    ),
    (
        vapour_volume_m3(0.001, 67.0, 20.0),
        Published(2.0, 0.05, LECTURE, "one gram at half a millibar", "printed as a round number"),
    ),
    (
        ice_saturation_pressure_pa(-40.0) / PASCAL_PER_MICRON,
        Published(97.0, 1.0, COFFEE, "ice at -40 °C, µmHg", "rounded, older steam table"),
    ),
    (
        humidity_at_wet_bulb(40.0, 20.0),
        Published(0.0065, 1e-4, ASHRAE, "chart example, 40 °C dry and 20 °C wet", DIGITS),
    ),
    (
        humid_enthalpy_j_kg(40.0, humidity_at_wet_bulb(40.0, 20.0)) / 1e3,
        Published(56.7, 0.1, ASHRAE, "the same example, kJ/kg", DIGITS),
    ),
]


@pytest.mark.parametrize(("value", "published"), ROWS, ids=[row[1].where for row in ROWS])
def test_water_vapour_agrees_with_the_table(value: float, published: Published) -> None:
    assert published.agrees(value), f"{value} is not {published.expected}"


@pytest.mark.parametrize("temp_c", [0.01, 10.0, 25.0, 50.0, 80.0, 100.0, 130.0, 180.0])
def test_saturation_pressure_and_latent_heat_match_the_international_standard(
    temp_c: float,
) -> None:
    pressure = PropsSI("P", "T", temp_c + 273.15, "Q", 0, "Water")
    heat = PropsSI("H", "T", temp_c + 273.15, "Q", 1, "Water") - PropsSI(
        "H", "T", temp_c + 273.15, "Q", 0, "Water"
    )
    assert saturation_pressure_pa(temp_c) == pytest.approx(pressure, rel=1e-4)
    assert latent_heat_vaporisation_j_kg(temp_c) == pytest.approx(heat, rel=2e-4)


@pytest.mark.parametrize("temp_c", [-60.0, -40.0, -20.0, -10.0, -1.0])
def test_ice_matches_the_international_standard(temp_c: float) -> None:
    kelvin = temp_c + 273.15
    assert over_ice(kelvin) == pytest.approx(_Sublimation_Pressure(kelvin) * 1e6, rel=4e-4)
    ice_j_kg = _Ice(kelvin, 611e-6)["h"] * 1e3
    ideal_gas_j_kg = 2500.9e3 + 1870.0 * (temp_c - 0.01)
    assert latent_heat_sublimation_j_kg(temp_c) == pytest.approx(
        ideal_gas_j_kg - ice_j_kg, rel=1e-3
    )


def test_the_frost_point_is_the_inverse_of_the_reference_sublimation_curve() -> None:
    assert frost_point_c(_Sublimation_Pressure(233.15) * 1e6) == pytest.approx(-40.0, abs=0.005)


def test_melting_heat_and_density_of_ice_match_the_international_standard() -> None:
    ice = _Ice(273.15, 0.101325)
    water = PropsSI("H", "T", 273.16, "P", 101325, "Water")
    assert pytest.approx(water - ice["h"] * 1e3, rel=5e-4) == FUSION_HEAT.value
    assert pytest.approx(ice["rho"], rel=1e-4) == ICE_DENSITY.value


@pytest.mark.parametrize(
    ("temp_c", "humidity", "altitude_m"),
    [(60.0, 0.00726, 0.0), (60.0, 0.00726, 2000.0), (40.0, 0.0064, 0.0), (70.0, 0.02, 500.0)],
)
def test_the_wet_bulb_of_a_box_dryer_matches_the_reference_library(
    temp_c: float, humidity: float, altitude_m: float
) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    pressure = atmospheric_pressure_pa(altitude_m)
    expected = psychrolib.GetTWetBulbFromHumRatio(temp_c, humidity, pressure)
    assert wet_bulb_c(temp_c, humidity, pressure) == pytest.approx(expected, abs=0.02)


def test_humidity_of_room_air_matches_the_reference_library() -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    expected = psychrolib.GetHumRatioFromRelHum(20.0, 0.5, 101325.0)
    assert humidity_ratio(0.5 * saturation_pressure_pa(20.0), 101325.0) == pytest.approx(
        expected, rel=2e-3
    )
