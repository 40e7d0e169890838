"""Oxygen in packages against a property library, trade rules and published absorber rates."""

import pytest
from CoolProp.CoolProp import PropsSI

from app.science.oxygen import (
    absorber_hours,
    absorber_needed_ml,
    headspace_m3,
    oxygen_ml,
)
from tests.published.row import Published

COOLPROP = "CoolProp, reference equations of state, 2025"
USU = "Oxygen Removal, Utah State University Extension, undated"
PACKETS = "Int. J. Food Sci. Technol., doi 10.1111/ijfs.12100, 2013, abstract"
TRADE = "trade sheet of an absorber, undated"
QUART_M3, GALLON_M3 = 946e-6, 3785e-6
WHEAT_KG_M3 = 772.0  # 60 lb in a bushel, the standard weight


def test_oxygen_in_air_of_a_headspace_matches_the_property_library():
    moles = 0.2095 * PropsSI("Dmolar", "T", 294.15, "P", 101_325, "Air") * 1e-3
    expected = moles / PropsSI("Dmolar", "T", 273.15, "P", 101_325, "Oxygen") * 1e6
    published = Published(expected, 0.2, COOLPROP, "1 L at 21 °C", "real gas, 0.1 %")
    assert published.agrees(oxygen_ml(1e-3))


def test_oxygen_of_thin_air_matches_the_property_library():
    moles = 0.2095 * PropsSI("Dmolar", "T", 294.15, "P", 83_500, "Air") * 1e-3
    expected = moles / PropsSI("Dmolar", "T", 273.15, "P", 101_325, "Oxygen") * 1e6
    published = Published(expected, 0.5, COOLPROP, "1 L at 1,600 m, 83.5 kPa", "pressure digits")
    assert published.agrees(oxygen_ml(1e-3, altitude_m=1600))


def test_one_packet_of_300_for_a_gallon_is_a_rule_for_grain():
    published = Published(300, 40, USU, "one 300 cc for up to a gallon", "one size fits all grain")
    headspace = headspace_m3(GALLON_M3, WHEAT_KG_M3 * GALLON_M3, 1400.0)
    assert published.agrees(oxygen_ml(headspace))


def test_the_rule_of_the_gallon_falls_short_for_freeze_dried_meat():
    need = absorber_needed_ml(GALLON_M3, 0.2e3 * GALLON_M3)
    assert need.low > 2 * 300


@pytest.mark.parametrize(
    ("temp_c", "published"),
    [
        (25.0, Published(1.0, 0.01, PACKETS, "half-life at 25 °C", "2 digits")),
        (-1.5, Published(7.1, 0.01, PACKETS, "half-life at -1.5 °C", "2 digits")),
    ],
)
def test_the_half_life_of_an_absorber_is_the_published_one(temp_c, published):
    assert published.agrees(absorber_hours(1.0, 0.5, temp_c))


def test_an_absorber_is_done_within_the_day_the_trade_promises():
    published = Published(24.0, 0.0, TRADE, "below 0.01 % in 24 h", "upper bound")
    assert absorber_hours(0.2095, 0.0001, 21.0) < published.expected


def test_a_moisture_activated_packet_must_be_eleven_times_larger_in_dry_food():
    published = Published(43.4 / 3.8, 0.1, PACKETS, "43.4 mL at 75 %, 3.8 mL at 43 %", "2 digits")
    own = absorber_needed_ml(QUART_M3, 0.17)
    moist = absorber_needed_ml(QUART_M3, 0.17, self_activated=False)
    assert published.agrees(moist.central / own.central)
