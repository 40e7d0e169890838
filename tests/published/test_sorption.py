"""Isotherms against published constants, published rules and numerical integration."""

from math import exp

import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from app.science import sorption
from app.science.classes import FoodClass
from app.science.composition import Composition
from app.science.sorption import (
    FRUIT,
    MEAT,
    VEGETABLE,
    equilibrium_water_fraction,
    gab_activity,
    gab_moisture,
    gain_integral,
    water_activity,
)
from tests.published.row import Published

KIRANOUDIS = "Kiranoudis and others 1993 as in Singh 1996, constants read in public source code"
RULES = "Utah State University repost (10 % moisture) and Beuchat 1981 (activity 0.60), copies"
SCIPY = "SciPy, quad and brentq, The SciPy community, 2025"
ISOTHERMS = (MEAT, FRUIT, VEGETABLE)
KELVIN_30_C, GAS = 303.15, 8.314e-3


@pytest.mark.parametrize(
    ("value", "published"),
    [
        (
            VEGETABLE.monolayer.value,
            Published(0.056 * exp(1.39 / (GAS * KELVIN_30_C)), 5e-4, KIRANOUDIS, "m0(T)", "digits"),
        ),
        (
            VEGETABLE.c.value,
            Published(0.017 * exp(20 / (GAS * KELVIN_30_C)), 0.1, KIRANOUDIS, "C(T)", "digits"),
        ),
        (
            VEGETABLE.k.value,
            Published(0.94 * exp(-0.92 / (GAS * KELVIN_30_C)), 6e-4, KIRANOUDIS, "K(T)", "digits"),
        ),
    ],
)
def test_the_constants_of_potato_follow_their_published_temperature_law(value, published):
    assert published.agrees(value)


def test_the_moisture_rule_and_the_activity_rule_meet_in_lean_meat():
    published = Published(0.60, 0.03, RULES, "10 % of the fat-free mass", "two rules, two digits")
    lean = Composition(0.10, 0.85, 0.0, 0.0, 0.05)
    assert published.agrees(water_activity(FoodClass.GAME, lean))


def test_ten_percent_water_in_a_fatty_food_is_far_above_the_activity_rule():
    fatty = Composition(0.10, 0.50, 0.37, 0.0, 0.03)
    assert water_activity(FoodClass.GAME, fatty) > 0.60 + 0.15


@pytest.mark.parametrize("isotherm", ISOTHERMS)
@pytest.mark.parametrize("activity", [0.05, 0.3, 0.6])
def test_the_inverse_isotherm_is_the_root_a_solver_finds(isotherm, activity):
    constants = isotherm.monolayer.value, isotherm.c.value, isotherm.k.value
    moisture = gab_moisture(activity, *constants)
    root = brentq(lambda a: gab_moisture(a, *constants) - moisture, 1e-6, 0.8)
    assert Published(root, 1e-9, SCIPY, "brentq", "solver").agrees(
        gab_activity(moisture, *constants)
    )


@pytest.mark.parametrize("isotherm", ISOTHERMS)
@pytest.mark.parametrize(("start", "end", "humidity"), [(0.0, 0.4, 0.55), (0.3, 0.6, 0.75)])
def test_moisture_gain_is_the_integral_a_quadrature_finds(isotherm, start, end, humidity):
    constants = isotherm.monolayer.value, isotherm.c.value, isotherm.k.value
    step = 1e-6

    def integrand(activity: float) -> float:
        ahead = gab_moisture(activity + step, *constants)
        behind = gab_moisture(max(activity - step, 0.0), *constants)
        return (
            (ahead - behind) / (activity + step - max(activity - step, 0.0)) / (humidity - activity)
        )

    expected = quad(integrand, start, end)[0]
    published = Published(expected, 2e-4 * expected, SCIPY, "quad", "finite differences")
    assert published.agrees(gain_integral(start, end, humidity, isotherm))


def test_the_water_at_the_activity_rule_is_the_root_a_solver_finds():
    def activity(water: float) -> float:
        solids = 1 - water
        food = Composition(water, 0.63 * solids, 0.37 * solids, 0.0, 0.0)
        return water_activity(FoodClass.RED_MEAT, food) - 0.60

    published = Published(brentq(activity, 0.01, 0.2), 1e-9, SCIPY, "brentq", "solver")
    assert published.agrees(equilibrium_water_fraction(FoodClass.RED_MEAT, 0.60, 0.37))


def test_the_limits_are_the_published_ones():
    rows = [
        (sorption.MOISTURE_LIMIT, Published(0.10, 0.0, RULES, "about 10 % or less", "exact")),
        (sorption.ACTIVITY_LIMIT, Published(0.60, 0.0, RULES, "no growth below", "exact")),
        (sorption.LOW_ACID_ACTIVITY, Published(0.85, 0.0, "21 CFR 114.3", "(d)", "exact")),
        (
            sorption.FRUIT_IN_AIR_LIMIT,
            Published(0.20, 0.0, "Utah State University Extension", "80 % solids", "exact"),
        ),
    ]
    assert all(published.agrees(limit.value) for limit, published in rows)
