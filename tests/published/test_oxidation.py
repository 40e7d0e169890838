"""Oxidation kinetics against a published study, unit tables and an integrated oxygen balance."""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from scipy.integrate import solve_ivp

from app.science import oxidation
from app.science.oxidation import (
    arrhenius,
    oxygen_ml_of_ppm,
    peroxide_oxygen_ml,
    q10_of_energy,
    rate_days,
    supply_days,
)
from tests.published.row import Published

PARK = "Park and others, Korean J. Food Sci. An. 38: 664, 2018"
ARMSTRONG = "Armstrong 2002, oxygen tolerance of foods, quoted table"
FITNESS = "FitNESS course on food packaging, European Union project, 2020"
NATICK = "Roth and others, report FD-31, US Army Natick Laboratories, 1965"
NCHFP = "Packaging and Storing Dried Foods, University of Georgia, read in a copy"
PEROXIDE_VALUE = "definition: a hydroperoxide holds one O2 and counts two equivalents"
DIGITS = "printed digits"
CAL = 4.184
MONTH_D = 30.4

# Indicator, activation energy in kcal/mol, Q10 and shelf life in months at 283, 298, 308, 318 K
TABLE_6 = {
    "acid value": (6.35, (1.47, 1.42, 1.39, 1.36)),
    "peroxide value": (17.21, (2.84, 2.57, 2.42, 2.29)),
    "TBARS": (12.69, (2.16, 2.01, 1.92, 1.84)),
    "sensory": (11.70, (2.03, 1.90, 1.82, 1.76)),
}
KELVINS = (283, 298, 308, 318)
PEROXIDE = dict(zip(KELVINS, ((0.0439, 36.34), (0.2263, 7.48), (0.5503, 3.22), (1.2760, 1.57)),
                    strict=True))  # fmt: skip
SENSORY = dict(zip(KELVINS, ((0.0070, 18.50), (0.0220, 6.49), (0.0400, 3.42), (0.0690, 1.87)),
                   strict=True))  # fmt: skip


@pytest.mark.parametrize("indicator", TABLE_6)
@pytest.mark.parametrize("column", range(4))
def test_q10_matches_every_row_of_the_published_table(indicator, column):
    energy, q10 = TABLE_6[indicator]
    published = Published(q10[column], 0.011, PARK, f"table 6, {indicator}", "2 decimals")
    assert published.agrees(q10_of_energy(energy * CAL, KELVINS[column] - 273.15))


@pytest.mark.parametrize("kelvin", KELVINS)
def test_the_rate_of_lard_follows_the_published_rates(kelvin):
    expected = PEROXIDE[kelvin][0]
    scatter = "the four points scatter this much about their own line"
    published = Published(expected, 0.13 * expected, PARK, "table 6, POV", scatter)
    factor = arrhenius(oxidation.ENERGY.value, kelvin - 273.15, 24.85)
    assert published.agrees(oxidation.RATE_25_C.value * float(factor))


def test_the_published_rates_give_the_published_energy():
    inverse = [1 / kelvin for kelvin in KELVINS]
    slope = np.polyfit(inverse, np.log([PEROXIDE[k][0] for k in KELVINS]), 1)[0]
    published = Published(17.21 * CAL, 0.5, PARK, "table 6, POV, Ea", "rounding of the rates")
    assert published.agrees(-slope * 8.314462618e-3)
    assert published.agrees(oxidation.ENERGY.value)


def test_the_published_rates_are_per_day():
    """From 9 points to the usual limit of 5 a sensory score falls by 4: only days give that."""
    published = Published(4.0, 0.4, PARK, "table 6, sensory: rate × life", "2 digits of the rates")
    falls = [rate * months * MONTH_D for rate, months in SENSORY.values()]
    assert all(published.agrees(fall) for fall in falls)
    assert not any(published.agrees(fall / 7) for fall in falls)


@pytest.mark.parametrize(
    ("value", "published"),
    [
        (oxygen_ml_of_ppm(5), Published(0.0035, 5e-5, ARMSTRONG, "dried foods, low", DIGITS)),
        (oxygen_ml_of_ppm(15), Published(0.0105, 5e-5, ARMSTRONG, "dried foods, high", DIGITS)),
        (
            oxygen_ml_of_ppm(16.0),
            Published(oxidation.OXYGEN_PER_MEQ.value / 1000, 1e-5, PEROXIDE_VALUE, "16 mg", DIGITS),
        ),
        (
            peroxide_oxygen_ml(1.0, 1.0),
            Published(
                0.5e-3 / PropsSI("Dmolar", "T", 273.15, "P", 101_325, "Oxygen") * 1e6,
                0.02,
                "CoolProp, reference equation of state of oxygen, 2025",
                "half a millimole at 0 °C, 1 atm",
                "real gas, 0.1 %",
            ),
        ),
        (
            270 * oxidation.TOLERANCE.span[1] / 2,
            Published(13.5, 0.01, FITNESS, "270 g at 0.05 mL/g", "half of our upper end"),
        ),
    ],
)  # fmt: skip
def test_amounts_of_oxygen_match_the_published_ones(value, published):
    assert published.agrees(value)


def test_the_range_of_tolerance_lies_among_its_independent_sources():
    low, high = oxidation.TOLERANCE.span
    among = Published(0.0070, 0.0035, ARMSTRONG, "dried foods, 5-15 ppm", "their range")
    practice = Published(0.1, 0.0, NATICK, "2 % oxygen in a typical can, derived", "one digit")
    assert among.agrees(low)
    assert practice.agrees(high)
    assert low < 0.05 < high  # the worked example of the packaging course


def test_the_tolerated_oxygen_is_a_peroxide_value_that_studies_call_a_limit():
    """Lean meat of 9 % fat: the fat's own part of what is tolerated, as a peroxide value."""
    published = Published(
        15.0, 10.0, "Pearson 1968: 5; Armstrong 2002: 6-25", "limits", "their span"
    )
    part = oxidation.TOLERANCE.value / oxidation.PIGMENT_SHARE.value
    assert published.agrees(part / (oxidation.OXYGEN_PER_MEQ.value / 1000 * 0.09))


def test_the_life_of_the_packaging_example_is_reproduced():
    """270 g, 0.05 mL/g, 0.0031 mL cm/(d m² bar), 0.21 bar; area and thickness reconstructed."""
    published = Published(3.6, 0.1, FITNESS, "3.6 months; printed area is a slip", "reconstruction")
    ingress = np.array([0.0031 / 0.001 * 0.1935 * 0.21])
    days = supply_days(np.array([13.5]), np.array([0.0]), ingress)
    assert published.agrees(float(days[0]) / 30)


@pytest.mark.parametrize(
    ("food_class", "temp_c", "published"),
    [
        ("fruit", 15.56, Published(365, 15, NCHFP, "fruit, 60 °F: 1 year", "round numbers")),
        ("fruit", 26.67, Published(183, 8, NCHFP, "fruit, 80 °F: 6 months", "round numbers")),
        ("vegetable", 15.56, Published(183, 8, NCHFP, "vegetables, about half", "round numbers")),
        ("vegetable", 26.67, Published(91, 5, NCHFP, "vegetables, about half", "round numbers")),
    ],
)
def test_dried_produce_keeps_in_air_as_long_as_published(food_class, temp_c, published):
    life = oxidation.air_life(oxidation.FoodClass(food_class)).value
    colder = (oxidation.ROOM_C - temp_c) / 10
    assert published.agrees(life * oxidation.AIR_Q10.value**colder)


BALANCE = "oxygen balance of a closed package, integrated with SciPy solve_ivp, 2025"


@pytest.mark.parametrize("residual", [0.0, 2.0, 4.0, 4.2499, 4.25, 10.0, 160.0])
@pytest.mark.parametrize("ingress", [0.003, 0.05, 2.0])
@pytest.mark.parametrize("uptake", [0.02, 0.2])
def test_the_bound_is_never_later_than_the_integrated_balance(residual, ingress, uptake):
    """Never later, and at most 3.3 times earlier (where oxygen sealed in just about suffices)."""
    tolerance, capacity, half = 4.25, 160.0, 0.143

    def balance(_, state):
        inside = max(state[0], 0.0) / capacity
        taken = uptake * (1 + half) * inside / (half + inside)
        return [ingress * (1 - min(inside, 1.0)) - taken, taken]

    def spoiled(_, state):
        return state[1] - tolerance

    spoiled.terminal = True
    run = solve_ivp(balance, (0, 1e5), [residual, 0.0], events=spoiled, rtol=1e-8, max_step=50)
    true_days = float(run.t_events[0][0])
    arrays = [np.array([x]) for x in (tolerance, uptake, residual, capacity, ingress, half)]
    bound = np.maximum(supply_days(arrays[0], arrays[2], arrays[4]), rate_days(*arrays)).item()
    published = Published(true_days, true_days * 0.7, BALANCE, "U = 4.25 mL", "a bound, not a fit")
    assert bound <= true_days * (1 + 1e-6)
    assert published.agrees(bound)
