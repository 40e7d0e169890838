"""Freeze-drying against a published example, published times and a check of the integral."""

import pytest

from app.science.classes import FoodClass, Form
from app.science.composition import Composition
from app.science.constants import PASCAL_PER_MICRON
from app.science.freezedrying import (
    FreezeDryer,
    Slab,
    conductive_front_c,
    conductive_hours,
    freeze_drying_time,
    sublimation,
)
from app.science.vapour import (
    GAS_CONSTANT_WATER,
    ice_saturation_pressure_pa,
)
from tests.published.row import Published

COFFEE = "Freeze-drying, encyclopedia article, example Sublimation temperature, read in a copy"
THESIS = "Heat and mass transfer of minced beef, thesis abstract, Bogor Agricultural University"
PILSWORTH = "Pilsworth and others, freeze-drying of raw beef sticks, 1972, read in an abstract"
SKIM_MILK = "Public model of the freeze-drying of skim milk, undated"
KYPC = 3.5e-9 / PASCAL_PER_MICRON  # kg/(m s µmHg) to s

FRONT_C = conductive_front_c(0.035, KYPC, 30.0, 97 * PASCAL_PER_MICRON)
ROWS = [
    (FRONT_C, Published(-29.4, 0.2, COFFEE, "front temperature, °C", "solved on a graph")),
    (
        ice_saturation_pressure_pa(FRONT_C) / PASCAL_PER_MICRON,
        Published(301.0, 9.0, COFFEE, "front pressure, µmHg", "solved on a graph, 0.2 °C"),
    ),
    (
        0.7e-9 / PASCAL_PER_MICRON,
        Published(5e-9, 3e-10, COFFEE, "low end of permeability, s", "one figure printed"),
    ),
    (
        10e-9 / PASCAL_PER_MICRON,
        Published(7e-8, 5.1e-9, COFFEE, "high end of permeability, s", "one figure printed"),
    ),
    (
        0.0013 / (GAS_CONSTANT_WATER * 263.15),
        Published(1.07e-8, 1e-10, THESIS, "low permeability of minced beef", "unit conversion"),
    ),
    (
        0.0024 / (GAS_CONSTANT_WATER * 263.15),
        Published(1.98e-8, 1e-10, THESIS, "high permeability of minced beef", "unit conversion"),
    ),
]


@pytest.mark.parametrize(("value", "published"), ROWS, ids=[row[1].where for row in ROWS])
def test_freeze_drying_agrees_with_print(value: float, published: Published) -> None:
    assert published.agrees(value), f"{value} is not {published.expected}"


def test_published_hours_for_half_an_inch_of_food_lie_in_our_range() -> None:
    # 12.5 mm of food at 75 to 85 % water: 14 to 18 h (COFFEE); heat from one side or both.
    moist = Composition(0.80, 0.15, 0.02, 0.0, 0.01)
    slab = freeze_drying_time(3.0, moist, 0.0125, 0.24, FoodClass.RED_MEAT, Form.WHOLE)
    assert slab.total_hours.low < 18.0
    assert slab.total_hours.high > 14.0


def test_the_conductive_limit_brackets_the_published_time_of_sublimation() -> None:
    # Sublimation takes 60 % of 14 to 18 h (COFFEE): 8.4 to 10.8 h, between both faces and one.
    ice = 719.3
    one_side = conductive_hours(0.0125, ice, 0.035, KYPC, 30.0, 97 * PASCAL_PER_MICRON)
    both_sides = conductive_hours(0.00625, ice, 0.035, KYPC, 30.0, 97 * PASCAL_PER_MICRON)
    assert both_sides < 8.4 < 10.8 < one_side
    assert one_side / both_sides == pytest.approx(4.0)


def test_the_skim_milk_model_ends_near_its_published_horizon() -> None:
    # The public model runs 26,000 s (SKIM_MILK); a quasi-steady front is slower by a few percent
    # because the model starts with the first layer dried and its own latent heat, 2791 kJ/kg.
    slab = Slab(0.00575, 1001.6 - 200.31, 0.0129, 1 / 6.051e7, 2.4, 4.75e3 * 20)
    dryer = FreezeDryer(20.0, 20.0, 20.0, 3.85 + 0.352 * 20 / (1 + 20 / 34), 5.0, 99.0, 0.78 * 0.98)
    run = sublimation(slab, dryer, begin_share=0.015)
    assert run.hours * 3600 == pytest.approx(26_000, rel=0.08)
    assert run.begin.temp_c == pytest.approx(-29.4, abs=0.3)
    assert run.end.temp_c == pytest.approx(-22.0, abs=0.4)


def test_the_stepwise_model_tends_to_the_closed_form_when_only_the_top_is_heated() -> None:
    slab = Slab(0.0125, 719.3, 0.035, KYPC)
    dryer = FreezeDryer(30.0, 30.0, 97 * PASCAL_PER_MICRON, 1e-9, 1e9, 30.0)
    exact = conductive_hours(0.0125, 719.3, 0.035, KYPC, 30.0, 97 * PASCAL_PER_MICRON)
    assert sublimation(slab, dryer).hours == pytest.approx(exact, rel=1e-3)


def test_weight_is_a_quadratic_in_time_as_measured_on_beef_sticks() -> None:
    """In the conductive limit half the depth takes a quarter of the time (PILSWORTH)."""
    half = conductive_hours(0.005, 600.0, 0.056, 1.48e-8, 40.0, 40.0)
    full = conductive_hours(0.010, 600.0, 0.056, 1.48e-8, 40.0, 40.0)
    assert half / full == pytest.approx(0.25)
