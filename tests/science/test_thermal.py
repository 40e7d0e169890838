import pytest

from app.science.classes import FoodClass
from app.science.composition import Composition
from app.science.errors import OutOfRange
from app.science.thermal import (
    conductivity_w_mk,
    density_kg_m3,
    enthalpy_j_kg,
    ice_fraction_chen,
    initial_freezing,
    parts,
    specific_heat_frozen_j_kgk,
    specific_heat_j_kgk,
)

VENISON = Composition(0.735, 0.23, 0.024, 0.0, 0.0116)
CARROT = Composition(0.8779, 0.0103, 0.0019, 0.1014, 0.0087, 0.03)


def test_the_parts_of_a_food_sum_to_one_and_count_fibre_once() -> None:
    for food in (VENISON, CARROT):
        assert sum(parts(food).values()) == pytest.approx(1.0)
    assert parts(CARROT)["carbohydrate"] + parts(CARROT)["fibre"] == pytest.approx(0.1014, abs=2e-3)


def test_analyses_that_add_up_to_more_than_one_are_scaled_down() -> None:
    heavy = Composition(0.75, 0.22, 0.03, 0.01, 0.01)
    assert sum(parts(heavy).values()) == pytest.approx(1.0)


def test_a_published_table_counts_fibre_twice_and_the_app_does_not() -> None:
    ours = specific_heat_j_kgk(CARROT, 0.0)
    table = specific_heat_j_kgk(CARROT, 0.0, table_compat=True)
    assert table - ours == pytest.approx(0.03 * 1845.9, rel=0.03)


def test_the_apparent_heat_is_the_slope_of_the_enthalpy() -> None:
    for temp_c in (-30.0, -12.0, -5.0):
        slope = (
            enthalpy_j_kg(VENISON, temp_c + 0.001, -1.7)
            - enthalpy_j_kg(VENISON, temp_c - 0.001, -1.7)
        ) / 0.002
        assert specific_heat_frozen_j_kgk(VENISON, temp_c, -1.7) == pytest.approx(slope, rel=1e-4)


def test_ice_grows_as_it_gets_colder_and_never_takes_the_bound_water() -> None:
    ice = [ice_fraction_chen(VENISON, temp, -1.7) for temp in (-1.7, -3.0, -10.0, -40.0)]
    assert ice[0] == 0.0
    assert ice == sorted(ice)
    assert ice[-1] < VENISON.water - 0.4 * VENISON.protein


def test_frozen_food_conducts_better_and_is_lighter() -> None:
    ice = ice_fraction_chen(VENISON, -20.0, -1.7)
    assert (
        conductivity_w_mk(VENISON, -20.0, ice).central > 2 * conductivity_w_mk(VENISON, 5.0).central
    )
    assert density_kg_m3(VENISON, -20.0, ice) < density_kg_m3(VENISON, 5.0)


def test_more_ice_than_water_is_refused() -> None:
    with pytest.raises(OutOfRange):
        density_kg_m3(VENISON, -20.0, ice=0.8)


def test_every_class_of_food_has_a_freezing_point_below_zero() -> None:
    for food_class in FoodClass:
        low, high = initial_freezing(food_class).span
        assert low <= initial_freezing(food_class).value <= high < 0
