"""Smaller functions, each against a printed value or a library where the other tests pass by."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from scipy.special import ndtri

from app.science.classes import FoodClass, Form
from app.science.composition import Composition, with_lost_water, with_water, without
from app.science.conduction import lumped_hours, substance_of, unaccomplished
from app.science.cooking import CookingMethod, reduced
from app.science.cooling import hours_between, longest_time_constants_hours
from app.science.draws import spread, two_sided
from app.science.drying import freeze_drying_hours, ice_kg, tray_load_kg
from app.science.endpoint import still_to_lose_kg, water_by_balance
from app.science.foods import food
from app.science.freezedrying import dried_layer
from app.science.freezing import freezing_hours
from app.science.freezing_solution import slab_solution_hours
from app.science.hotair import moisture_ratio
from app.science.lethality import LethalityTable, judge_history, target_table
from app.science.rehydration import coefficient_of_rehydration
from app.science.sorption import MEAT, activity_at, gab_moisture
from app.science.sources import Evidence, Sourced
from app.science.thermal import (
    conductivity_w_mk,
    ice_fraction_chen,
    initial_freezing,
    specific_heat_unfrozen_j_kgk,
)
from app.science.window import Window, estimate_many
from app.science.yields import cooking_yield
from tests.keepings import LEAN, pouch
from tests.published.row import Published
from tests.published.test_cooling import BALL_HOURS
from tests.published.test_freezing import LEAN_BEEF
from tests.published.test_lethality import PRINTED
from tests.published.test_thermal import CARCASS, SIRLOIN, TABLE

SINGH = "Singh and Heldman, Introduction to Food Engineering, read in lecture slides built on it"
IRRI = "Moisture content calculations, Rice Knowledge Bank, International Rice Research Institute"
GUELPH = "Dairy Science: Standardization Problems, University of Guelph, undated"
SR28 = "National Nutrient Database for Standard Reference, Release 28, USDA, 2015"
YIELDS = "Table of Cooking Yields for Meat and Poultry, Release 2, USDA, 2014"
FNDDS = "Food and Nutrient Database for Dietary Studies, USDA, 2018, read in a copy"
GEANKOPLIS = "Geankoplis, Transport Processes and Unit Operations, 3rd edition, 1993, in a copy"
ASHRAE = "ASHRAE Handbook, Refrigeration, Thermal Properties of Foods, table 3, read in a copy"
EXAMPLE = "ASHRAE Handbook, Refrigeration, example of the 150 kg beef carcass, from memory"
PROBLEMS = "university problem set on drying, statement read in a copy, answer by arithmetic"
COFFEE = "Freeze-drying, encyclopedia article, undated, read in a copy"
THESIS = "Heat and mass transfer of minced beef, thesis abstract, Bogor Agricultural University"
FSIS = "Appendix A, Compliance Guidelines for Lethality, USDA FSIS, 1999, read in two copies"
RANGANNA = "Ranganna, Handbook of Analysis, 1986, example from memory, answer by arithmetic"
SCIPY = "SciPy, The SciPy community, 2025"
NUMPY = "NumPy interp, The NumPy developers, 2025"
PADDY = Composition(0.25, 0.07, 0.02, 0.65, 0.01)
PULP = Composition(3.2 / 4.2, 0.0, 0.0, 1 / 4.2, 0.0)

ROWS = [
    (
        with_lost_water(PADDY, 1000.0, 128.0).water,
        Published(0.14, 1e-4, IRRI, "1,000 kg paddy at 25 % less 128 kg", "three figures"),
    ),
    (
        reduced(PULP, 10.0, 10.0 - 5.238).water,
        Published(0.5, 1e-4, SINGH, "10 kg at 320 % dry basis less 5.238 kg", "printed digits"),
    ),
    (
        without(
            Composition(0.82, 0.03, 0.10, 0.05, 0.0),
            620.0,
            Composition(0.62, 0.02, 0.35, 0.01, 0.0),
            120.0,
        ).fat,
        Published(0.04, 1e-9, GUELPH, "620 kg of 10 % less 120 kg of 35 %", "exact"),
    ),
    *(
        (
            100 * with_water(food(fresh).composition, food(dry).composition.water).carbohydrate,
            Published(
                100 * food(dry).composition.carbohydrate,
                within,
                SR28,
                f"{food(dry).name}, carbohydrate",
                "two crops",
            ),
        )
        for fresh, dry, within in (("09004", "09009", 4.7), ("09040", "09041", 4.4))
    ),
    (
        tray_load_kg(0.01, 0.02366, 541.0),
        Published(0.128, 0.001, FNDDS, "a cup (236.6 mL) of chopped carrot", "whole grams"),
    ),
    (
        lumped_hours(699.9 - 273.15, 474.9 - 273.15, 394.3 - 273.15, BALL_HOURS),
        Published(1.0, 0.005, GEANKOPLIS, "example 5.2-1, one hour", "three figures"),
    ),
    (
        unaccomplished(37.8, 10.0, 1.7),
        Published(
            0.230, 5e-4, GEANKOPLIS, "example 5.5-1, ordinate Y, from memory", "three figures"
        ),
    ),
    (
        substance_of(SIRLOIN).conductivity_w_mk,
        Published(0.498, 0.03, GEANKOPLIS, "example 5.5-1, beef, k", "5 %, another beef"),
    ),
    (
        substance_of(SIRLOIN).specific_heat_j_kgk / 1e3,
        Published(3.48, 0.17, GEANKOPLIS, "example 5.5-1, beef, c", "5 %, another beef"),
    ),
    (
        conductivity_w_mk(SIRLOIN, 4.0).central,
        Published(0.498, 0.03, GEANKOPLIS, "example 5.5-1, beef, k", "5 %, another beef"),
    ),
    *(
        (
            specific_heat_unfrozen_j_kgk(vegetable.solids) / 1e3,
            Published(above, 0.05, ASHRAE, f"{name}, above freezing", "another equation, 1 %"),
        )
        for name, vegetable, _, above, _, _ in TABLE
    ),
    (
        ice_fraction_chen(CARCASS, -20.0, -1.7),
        Published(0.52, 0.06, EXAMPLE, "ice at -20 °C, by another equation", "12 %: they differ"),
    ),
    (
        ice_kg(1.0, Composition(0.75, 0.2, 0.03, 0.0, 0.01), 0.0).low,
        Published(0.6875, 0.06, PROBLEMS, "75 % to 20 %; ours to 4 %", "dries further"),
    ),
    (
        water_by_balance(100.0, 0.70, 34.09, 0.02)[0],
        Published(0.12, 1e-4, PROBLEMS, "100 kg cassava, 70 to 12 %", "four figures"),
    ),
    (
        coefficient_of_rehydration(0.010, 0.05, 0.060, 0.87),
        Published(0.82, 0.005, RANGANNA, "10 g, 5 % to 60 g, 87 %", "two figures"),
    ),
    (
        moisture_ratio(0.38, 0.195, 0.04),
        Published((0.195 - 0.04) / (0.38 - 0.04), 1e-12, GEANKOPLIS, "example 9.7-2", "definition"),
    ),
    (
        dried_layer(FoodClass.RED_MEAT, Form.GROUND).permeability.span[0] * 1e8,
        Published(1.07, 0.005, THESIS, "low permeability of minced beef, 1e-8 s", "digits"),
    ),
    (
        dried_layer(FoodClass.RED_MEAT, Form.GROUND).permeability.span[1] * 1e8,
        Published(1.98, 0.005, THESIS, "high permeability of minced beef, 1e-8 s", "digits"),
    ),
]


@pytest.mark.parametrize(("value", "published"), ROWS)
def test_a_sum_of_the_kitchen_agrees_with_print(value, published):
    assert published.agrees(value), f"{value} is not {published.expected}"


FRIED, GROUND = CookingMethod.PAN_FRIED, Form.GROUND
WEIGHED = [
    (FoodClass.RED_MEAT, GROUND, FRIED, 0.15, 0.67, "beef, 12-22 % fat, crumbles"),
    (FoodClass.RED_MEAT, GROUND, FRIED, 0.08, 0.69, "beef, below 12 % fat, crumbles"),
    (FoodClass.GAME, GROUND, FRIED, 0.07, 0.83, "deer, ground"),
    (FoodClass.GAME, GROUND, FRIED, 0.07, 0.84, "elk, ground"),
    (FoodClass.PORK, GROUND, FRIED, 0.20, 0.67, "pork, 10-27 % fat"),
]


@pytest.mark.parametrize(("kind", "form", "method", "fat", "share", "where"), WEIGHED)
def test_a_weighed_yield_lies_in_the_range_of_its_kind(kind, form, method, fat, share, where):
    ours = cooking_yield(kind, form, method, fat).share
    assert Published(share, 0.0, YIELDS, where, "range decides").lies_within(ours.low, ours.high)


@pytest.mark.parametrize(("name", "freezing_c"), [(row[0], row[2]) for row in TABLE])
def test_published_freezing_points_lie_in_the_range_of_the_class(name, freezing_c):
    published = Published(freezing_c, 0.0, ASHRAE, f"{name}, initial freezing", "range decides")
    assert published.lies_within(*initial_freezing(FoodClass.VEGETABLE).span)


def test_published_hours_of_freeze_drying_lie_in_the_range():
    moist = Composition(0.80, 0.15, 0.02, 0.0, 0.01)
    ours = freeze_drying_hours(3.0, moist, 0.0125, 0.24, FoodClass.RED_MEAT, Form.WHOLE)
    published = Published(16.0, 2.0, COFFEE, "12.5 mm, 14 to 18 h: its middle", "range decides")
    assert published.lies_within(ours.low, ours.high)


def test_the_heat_equation_lies_in_the_range_of_a_wrapped_packet():
    ours = freezing_hours(0.05, LEAN_BEEF, 10.0)
    exact = slab_solution_hours(LEAN_BEEF, 0.05, 10.0, -20.0, -10.0, 5.0)
    source = "SciPy solve_ivp on the heat equation, 2025"
    published = Published(exact, 0.0, source, "50 mm of lean beef at h = 5", "range decides")
    assert published.lies_within(ours.low, ours.high)


@pytest.mark.parametrize("temp_f", [t for t in PRINTED if t >= 130])
def test_a_recorded_history_is_met_at_the_printed_time_and_not_at_half_of_it(temp_f):
    minutes = PRINTED[temp_f][0] / (1.0 if temp_f <= 145 else 60.0)
    temp_c = (temp_f - 32) / 1.8 + 1e-9
    kinds = [FoodClass.RED_MEAT]
    assert target_table(kinds, Form.WHOLE) is LethalityTable.MEAT_6_5
    held = judge_history([(0.0, temp_c), (minutes, temp_c)], kinds, Form.WHOLE)
    half = judge_history([(0.0, temp_c), (minutes / 2, temp_c)], kinds, Form.WHOLE)
    published = Published(6.5, 1e-6, FSIS, f"{temp_f} °F, logs at the printed time", "exact")
    assert held.met
    assert not half.met
    assert published.agrees(held.credited_logs)


def test_hours_in_a_band_are_those_of_a_fine_interpolation():
    readings = [(0.0, 70.0), (0.5, 55.0), (2.0, 24.0), (3.0, 12.0), (6.0, 3.0)]
    at = np.linspace(0, 6, 600_001)
    temps = np.interp(at, *zip(*readings, strict=True))
    expected = float(np.mean((temps >= 5) & (temps <= 57)) * 6)
    published = Published(expected, 1e-4, NUMPY, "five readings", "step of the interpolation")
    assert published.agrees(hours_between(readings).central)


@pytest.mark.parametrize(("stage", "span"), [(0, (57, 21, 2.0)), (1, (21, 5, 4.0))])
def test_the_slowest_pot_that_passes_is_the_root_a_solver_finds(stage, span):
    start, end, hours = span
    air = 3.0
    root = brentq(lambda tau: air + (start - air) * np.exp(-hours / tau) - end, 0.1, 50)
    published = Published(root, 1e-6, SCIPY, f"brentq, stage {stage + 1}", "solver")
    assert published.agrees(longest_time_constants_hours(air)[stage])


def test_what_is_left_to_lose_is_what_an_integrated_decay_leaves():
    run = solve_ivp(lambda _, m: -0.1 * m, (0, 2), [1.0], rtol=1e-10, atol=1e-12)
    left = float(run.y[0, -1])
    published = Published(left / (1 - left), 1e-7, SCIPY, "solve_ivp, k 0.1, 2 h", "solver")
    assert published.agrees(still_to_lose_kg(1.0, 2.0, 0.1))


@pytest.mark.parametrize("activity", [0.1, 0.3, 0.6])
def test_activity_of_arrays_is_the_root_a_solver_finds(activity):
    constants = MEAT.monolayer.value, MEAT.c.value, MEAT.k.value
    moisture = gab_moisture(activity, *constants)
    root = brentq(lambda a: gab_moisture(a, *constants) - moisture, 1e-6, 0.9)
    published = Published(root, 1e-9, SCIPY, "brentq", "solver")
    assert published.agrees(activity_at(constants[0] / moisture, constants[1], constants[2]))


@pytest.mark.parametrize(("share", "expected"), [(0.1, 2.0), (0.5, 3.0), (0.9, 7.0)])
def test_low_central_and_high_are_the_percentiles_they_claim(share, expected):
    parameter = Sourced(3.0, "d", Evidence.JUDGEMENT, low=2.0, high=7.0)
    score = np.array([ndtri(share)])
    below, above = two_sided(score)
    published = Published(expected, 1e-6, SCIPY, f"ndtri of {share}", "definition")
    assert published.agrees(float(spread(parameter, score)[0]))
    assert published.agrees(float(3.0 + (3.0 - 2.0) * below[0] + (7.0 - 3.0) * above[0]))


def test_many_lots_at_once_keep_the_order_of_the_trade():
    """Lean in foil keeps 10 to 25 years (common practice, no source), and less when warmer."""
    from tests.keepings import room

    found = estimate_many([pouch(LEAN, history=room(c)) for c in (15.0, 21.0, 27.0)])
    windows = [window for window in found if isinstance(window, Window)]
    published = Published(17.5, 7.5, "common practice, no source", "lean, 10-25 years", "its range")
    assert published.agrees(windows[1].central_days / 365.25)
    assert all(a.central_days > b.central_days for a, b in pairwise(windows))
