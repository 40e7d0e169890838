"""What must hold of water, cold, heat and drying for every input in range."""

from math import isfinite

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.science.classes import FoodClass, Form
from app.science.composition import Composition
from app.science.conduction import slab_hours
from app.science.drying import dry_mass_kg, load_limit_kg, water_to_remove_kg
from app.science.errors import ScienceError
from app.science.freezedrying import FreezeDryer, Slab, freeze_drying_time, sublimation
from app.science.freezing import freezing_hours, thawing_hours
from app.science.hotair import AIR_DRYING, fick_slab, hot_air_hours
from app.science.lethality import equivalent_minutes
from app.science.thermal import (
    conductivity_w_mk,
    density_kg_m3,
    enthalpy_j_kg,
    ice_fraction_chen,
    specific_heat_j_kgk,
)
from app.science.vapour import ice_saturation_pressure_pa, saturation_pressure_pa


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


@st.composite
def foods(draw: st.DrawFn) -> Composition:
    """Any food with water to freeze or to dry."""
    water = draw(between(0.45, 0.95))
    solids = 1 - water
    protein, fat = draw(between(0.0, 0.7)), draw(between(0.0, 0.25))
    ash = 0.03
    rest = max(0.0, 1 - protein - fat - ash)
    return Composition(
        water, protein * solids, fat * solids, rest * solids, ash * solids, 0.3 * rest * solids
    )


@given(between(-90, 199), between(0.01, 1.0))
@settings(max_examples=60, deadline=None)
def test_warmer_water_always_pushes_harder(temp_c: float, step: float) -> None:
    assert saturation_pressure_pa(temp_c) < saturation_pressure_pa(temp_c + step)


@given(between(-90, -0.1))
@settings(max_examples=60, deadline=None)
def test_ice_never_pushes_harder_than_supercooled_water(temp_c: float) -> None:
    assert ice_saturation_pressure_pa(temp_c) <= saturation_pressure_pa(temp_c)


@given(foods(), between(0, 90))
@settings(max_examples=60, deadline=None)
def test_properties_of_any_food_are_physical(food: Composition, temp_c: float) -> None:
    assert 1200 < specific_heat_j_kgk(food, temp_c) < 4300
    assert 850 < density_kg_m3(food, temp_c) < 1400
    k = conductivity_w_mk(food, temp_c)
    assert 0.1 < k.low <= k.central < 0.75


@given(foods(), between(-40, 60), between(0.05, 10))
@settings(max_examples=60, deadline=None)
def test_warmer_food_always_holds_more_heat(food: Composition, temp_c: float, step: float) -> None:
    assert enthalpy_j_kg(food, temp_c, -1.5) < enthalpy_j_kg(food, temp_c + step, -1.5)


@given(foods(), between(-40, 10))
@settings(max_examples=60, deadline=None)
def test_ice_is_never_more_than_the_water(food: Composition, temp_c: float) -> None:
    assert 0 <= ice_fraction_chen(food, temp_c, -1.5) <= food.water


@given(between(0.005, 0.2), between(0.005, 0.1), between(3, 500), between(0, 4))
@settings(max_examples=40, deadline=None)
def test_a_deeper_pan_never_cools_sooner(depth: float, more: float, h: float, air: float) -> None:
    assert slab_hours(depth, 57, 5, air, h) <= slab_hours(depth + more, 57, 5, air, h)
    assert slab_hours(depth, 57, 21, air, h) <= slab_hours(depth, 57, 5, air, h)


@given(foods(), between(0.01, 0.15), between(0.005, 0.05))
@settings(max_examples=40, deadline=None)
def test_thicker_never_freezes_or_thaws_sooner(
    food: Composition, thickness: float, more: float
) -> None:
    for hours in (freezing_hours, thawing_hours):
        thin, thick = hours(thickness, food), hours(thickness + more, food)
        assert thin.central < thick.central
        assert 0 < thin.low <= thin.high
        assert isfinite(thick.high)


@given(foods(), between(0.0, 20.0))
@settings(max_examples=60, deadline=None)
def test_mass_is_conserved_and_never_negative(food: Composition, mass: float) -> None:
    dry, water = dry_mass_kg(mass, food), water_to_remove_kg(mass, food)
    assert dry.central + water.central == pytest.approx(mass)
    assert 0 <= dry.low <= dry.high <= mass
    assert water.low >= -1e-12


@given(foods(), between(0.1, 1.0), between(0.005, 0.03), between(0.2, 20), between(0.1, 5))
@settings(max_examples=60, deadline=None)
def test_a_bigger_condenser_never_takes_less(
    food: Composition, area: float, depth: float, ice: float, more: float
) -> None:
    small = load_limit_kg(food, area, depth, ice_capacity_kg=ice)
    assert small.central <= load_limit_kg(food, area, depth, ice_capacity_kg=ice + more).central


@given(between(0.002, 0.03), between(1.1, 2.0), between(0, 60), between(5, 150))
@settings(max_examples=30, deadline=None)
def test_deeper_food_takes_longer_but_never_more_than_the_square(
    depth: float, times: float, shelf: float, chamber: float
) -> None:
    dryer = FreezeDryer(shelf, shelf, chamber)
    one = sublimation(Slab(depth, 400, 0.05, 1.5e-8), dryer).hours
    two = sublimation(Slab(depth * times, 400, 0.05, 1.5e-8), dryer).hours
    assert times * one * 0.999 < two < times**2 * one * 1.001


@given(foods(), st.sampled_from(list(FoodClass)), st.sampled_from(list(Form)), between(0.004, 0.03))
@settings(max_examples=30, deadline=None)
def test_freeze_drying_times_are_ranges_without_holes(
    food: Composition, food_class: FoodClass, form: Form, depth: float
) -> None:
    time = freeze_drying_time(0.4 * depth * 700, food, depth, 0.4, food_class, form)
    assert 0 < time.total_hours.low < time.total_hours.central < time.total_hours.high < 1000
    assert time.total_hours.central == pytest.approx(
        time.sublimation_hours.central + time.desorption_hours.central
    )


@given(st.sampled_from(sorted(AIR_DRYING)), between(0.002, 0.018), between(35, 79))
@settings(max_examples=60, deadline=None)
def test_warmer_air_never_takes_longer(food_class: FoodClass, size: float, temp: float) -> None:
    cool, warm = hot_air_hours(food_class, size, temp), hot_air_hours(food_class, size, temp + 1)
    assert warm.central < cool.central
    assert 0 < cool.low < cool.central < cool.high


@given(between(0, 5), between(0.001, 1))
@settings(max_examples=60, deadline=None)
def test_moisture_only_falls(fourier: float, step: float) -> None:
    assert 0 <= fick_slab(fourier + step) < fick_slab(fourier) <= 1


histories = st.lists(st.tuples(between(0.05, 2.0), between(-2, 90)), min_size=1, max_size=12).map(
    lambda steps: [(sum(s for s, _ in steps[: i + 1]), t) for i, (_, t) in enumerate(steps)]
)


@given(histories, between(0, 20))
@settings(max_examples=60, deadline=None)
def test_more_heat_is_never_worth_less(history: list[tuple[float, float]], more: float) -> None:
    hotter = [(h, t + more) for h, t in history]
    worth = equivalent_minutes(history, 60, 5.5)
    assert 0 <= worth <= equivalent_minutes(hotter, 60, 5.5) * (1 + 1e-9)


@given(histories)
@settings(max_examples=60, deadline=None)
def test_credit_never_exceeds_the_hottest_reading_held_throughout(
    history: list[tuple[float, float]],
) -> None:
    hottest = max(t for _, t in history)
    held = [(history[0][0], hottest), (history[-1][0] + 1e-6, hottest)]
    assert equivalent_minutes(history, 60, 5.5) <= equivalent_minutes(held, 60, 5.5) * (1 + 1e-6)


@given(between(-1e4, 1e4), between(-1e4, 1e4))
@settings(max_examples=60, deadline=None)
def test_absurd_inputs_meet_a_refusal_of_the_science(first: float, second: float) -> None:
    for call in (
        lambda: saturation_pressure_pa(first),
        lambda: hot_air_hours(FoodClass.FRUIT, first, second),
        lambda: slab_hours(first, 57, 5, second, 8),
    ):
        try:
            value = call()
        except ScienceError:
            continue
        assert value == value  # a number
