"""Freezing and thawing against a textbook example, published times and the heat equation."""

import pytest

from app.science.composition import Composition
from app.science.freezing import (
    FreezingFood,
    freezing_food,
    log_mean_difference_k,
    pham_1984_hours,
    pham_1986_hours,
    plank_hours,
    thaw_slab_hours,
    thawing_hours,
)
from app.science.freezing_solution import slab_solution_hours
from tests.published.row import Published

GEANKOPLIS = "Geankoplis, Transport Processes and Unit Operations, 3rd edition, 1993, in a copy"
PHAM = "Erratum to Pham's 1984 method, web page, undated, read in a copy"
TRADE_TIMES = "Thawing times by cut, consumer advice, undated, read in a copy"
DIGITS = "as many digits as printed"
LEAN_BEEF = Composition(0.745, 0.21, 0.03, 0.0, 0.012)

ROWS = [
    (
        plank_hours(0.0635, 0.75 * 335e3 * 1057, 270.4, 244.3, 17.0, 1.038),
        Published(6.65, 0.005, GEANKOPLIS, "example 5.5-2, beef slab, h", DIGITS),
    ),
    (
        log_mean_difference_k(28.5, -2.1, -20.9),
        Published(31.7, 0.06, PHAM, "first mean difference, K", DIGITS),
    ),
    (-2.1 + 20.9, Published(18.8, 0.01, PHAM, "second difference, K", DIGITS)),
]


@pytest.mark.parametrize(("value", "published"), ROWS, ids=[row[1].where for row in ROWS])
def test_freezing_agrees_with_print(value: float, published: Published) -> None:
    assert published.agrees(value), f"{value} is not {published.expected}"


@pytest.mark.parametrize(
    ("thickness_m", "h", "air_c", "centre_c"),
    [(0.0635, 17.0, -28.9, -18.0), (0.05, 10.0, -30.0, -18.0), (0.05, 10.0, -20.0, -10.0)],
)
def test_pham_stays_near_the_heat_equation(
    thickness_m: float, h: float, air_c: float, centre_c: float
) -> None:
    exact = slab_solution_hours(LEAN_BEEF, thickness_m, 10.0, air_c, centre_c, h)
    food = freezing_food(LEAN_BEEF)
    assert pham_1986_hours(thickness_m, food, 10, air_c, centre_c, h) == pytest.approx(
        exact, rel=0.05
    )
    assert pham_1984_hours(thickness_m, food, 10, air_c, centre_c, h) == pytest.approx(
        exact, rel=0.10
    )


def test_pham_is_short_when_the_centre_ends_near_the_air_of_a_household_freezer() -> None:
    exact = slab_solution_hours(LEAN_BEEF, 0.05, 10.0, -20.0, -18.0, 10.0)
    short = pham_1986_hours(0.05, freezing_food(LEAN_BEEF), 10.0, -20.0, -18.0, 10.0)
    assert 0.80 < short / exact < 0.90


def test_pham_without_cooling_before_or_after_is_plank() -> None:
    food = FreezingFood(1057.0, 0.0, 0.0, 251e3, 1.038, -2.75)
    plank = plank_hours(0.0635, 1057.0 * 251e3, -2.75, -28.85, 17.0, 1.038)
    assert pham_1984_hours(0.0635, food, -2.7, -28.85, -5.0, 17.0) == pytest.approx(plank, rel=1e-6)


def test_thawing_a_steak_in_the_refrigerator_takes_the_published_night() -> None:
    # An inch of steak: 12 to 14 h in a refrigerator (TRADE_TIMES); a second answer gives 24 h for
    # an inch of packed ground meat. Our range must reach both.
    times = thawing_hours(0.0254, LEAN_BEEF, 4.0)
    assert times.low < 12.0
    assert 12.0 < times.central < 16.0
    assert times.high > 20.0


@pytest.mark.parametrize(
    ("thickness_m", "h", "air_c"), [(0.0254, 8, 4), (0.05, 8, 4), (0.05, 200, 10)]
)
def test_the_short_thawing_equation_follows_the_heat_equation(
    thickness_m: float, h: float, air_c: float
) -> None:
    exact = slab_solution_hours(LEAN_BEEF, thickness_m, -18.0, air_c, 0.0, h)
    assert thaw_slab_hours(thickness_m, LEAN_BEEF, air_c, h) == pytest.approx(exact, rel=0.08)


def test_the_heat_equation_becomes_plank_when_only_latent_heat_counts() -> None:
    """Nearly pure water, started at its freezing point, thin and slowly cooled."""
    water = Composition(0.97, 0.0, 0.0, 0.03, 0.0)
    food = freezing_food(water, -0.3)
    exact = slab_solution_hours(water, 0.02, -0.2, -20.0, -1.5, 5.0, freezing_c=-0.3)
    frozen_by_then = 0.97 * (1 - 0.3 / 1.5) * 333.6e3
    plank = plank_hours(0.02, food.density_kg_m3 * frozen_by_then, -0.6, -20.0, 5.0, 2.0)
    assert exact == pytest.approx(plank, rel=0.06)
