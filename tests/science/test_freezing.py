import pytest

from app.science.composition import Composition
from app.science.conduction import Surroundings
from app.science.errors import Impossible, OutOfRange
from app.science.freezing import (
    Shape,
    freezing_food,
    freezing_hours,
    pham_1986_hours,
    plank_hours,
    thawing_hours,
)
from app.science.freezing_solution import slab_solution_hours

LEAN = Composition(0.745, 0.21, 0.03, 0.0, 0.012)


def test_a_cylinder_freezes_twice_and_a_sphere_thrice_as_fast_as_a_slab() -> None:
    times = [plank_hours(0.05, 2.6e8, -1.7, -20.0, 10.0, 1.6, shape) for shape in Shape]
    assert times[0] / times[1] == pytest.approx(2.0)
    assert times[0] / times[2] == pytest.approx(3.0)


def test_a_flat_bag_freezes_overnight_in_a_chest_freezer_and_a_brick_does_not() -> None:
    assert freezing_hours(0.025, LEAN).high < 24.0
    assert freezing_hours(0.10, LEAN).central > 24.0


def test_a_freezer_that_is_not_cold_enough_is_refused() -> None:
    with pytest.raises(Impossible):
        freezing_hours(0.05, LEAN, air_c=-8.0)
    with pytest.raises(Impossible):
        slab_solution_hours(LEAN, 0.05, 10.0, -20.0, -25.0, 10.0)
    with pytest.raises(OutOfRange):
        plank_hours(0.0, 2.6e8, -1.7, -20.0, 10.0, 1.6)


def test_thickness_decides_about_thawing_and_cold_water_shortens_it() -> None:
    thin, thick = thawing_hours(0.025, LEAN), thawing_hours(0.09, LEAN)
    assert thick.central > 4 * thin.central
    assert thawing_hours(0.05, LEAN, 10.0, Surroundings.COLD_WATER).high < 6.0
    with pytest.raises(OutOfRange):
        thawing_hours(0.05, LEAN, air_c=0.0)


def test_the_heat_equation_gives_up_after_its_horizon() -> None:
    hours = slab_solution_hours(LEAN, 0.10, 10.0, -20.0, -18.0, 8.0, horizon_hours=1.0)
    assert hours == float("inf")


def test_a_warmer_start_takes_longer_to_freeze() -> None:
    food = freezing_food(LEAN)
    assert pham_1986_hours(0.05, food, 60, -20, -10, 10) > pham_1986_hours(
        0.05, food, 5, -20, -10, 10
    )
