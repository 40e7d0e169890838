import pytest

from app.science.classes import FoodClass, Form
from app.science.composition import Composition
from app.science.drying import (
    BULK_DENSITY,
    DryerKind,
    bulk_density,
    dry_mass_kg,
    energy_kwh,
    freeze_drying_hours,
    ice_kg,
    load_limit_kg,
    runs_needed,
    tray_load_kg,
    water_to_remove_kg,
)
from app.science.errors import OutOfRange
from app.science.ranges import Range

VENISON = Composition(0.60, 0.33, 0.05, 0.0, 0.012)
SOUP = Composition(0.90, 0.04, 0.02, 0.03, 0.01)


def test_what_was_loaded_is_what_is_left_plus_what_leaves() -> None:
    dry = dry_mass_kg(1.36, VENISON)
    water = water_to_remove_kg(1.36, VENISON)
    assert dry.central + water.central == pytest.approx(1.36)
    assert (dry.low + water.high, dry.high + water.low) == pytest.approx((1.36, 1.36))
    assert ice_kg(1.36, VENISON) == water


def test_a_measured_composition_narrows_the_dry_weight() -> None:
    guessed, measured = dry_mass_kg(1.36, VENISON), dry_mass_kg(1.36, VENISON, water_sd=0.0)
    assert measured.high - measured.low < guessed.high - guessed.low
    assert measured.central == guessed.central


def test_food_drier_than_the_target_loses_nothing() -> None:
    powder = Composition(0.01, 0.6, 0.2, 0.1, 0.05)
    assert dry_mass_kg(0.5, powder, water_sd=0.0).central == 0.5
    assert water_to_remove_kg(0.5, powder, water_sd=0.0).central == 0.0


def test_a_freeze_dryer_leaves_less_water_than_warm_air() -> None:
    frozen, air = dry_mass_kg(1, VENISON), dry_mass_kg(1, VENISON, kind=DryerKind.AIR)
    assert frozen.central < air.central


def test_a_residual_out_of_order_is_refused() -> None:
    with pytest.raises(ValueError, match="not a range"):
        dry_mass_kg(1.0, VENISON, (0.04, 0.02, 0.01))
    with pytest.raises(ValueError, match="low, central, high"):
        dry_mass_kg(1.0, VENISON, (0.04, 0.02))
    with pytest.raises(OutOfRange):
        dry_mass_kg(-1.0, VENISON)


def test_trays_and_condenser_share_the_limit() -> None:
    trays_only = load_limit_kg(SOUP, 0.48, 0.015, FoodClass.BROTH, Form.LIQUID)
    assert trays_only.central == pytest.approx(0.48 * 0.015 * 1025)
    small = load_limit_kg(SOUP, 0.48, 0.015, FoodClass.BROTH, Form.LIQUID, ice_capacity_kg=4.0)
    assert small.central == pytest.approx(4.4545, abs=1e-3)
    meat = load_limit_kg(VENISON, 2.0, 0.015, ice_capacity_kg=4.0)
    assert meat.central == pytest.approx(6.76, abs=0.01)


def test_the_trays_of_the_scenario_hold_what_they_hold() -> None:
    assert tray_load_kg(0.12, 0.015, BULK_DENSITY["crumbs"].value) == pytest.approx(0.99)
    assert tray_load_kg(0.12, 0.015, BULK_DENSITY["vegetable"].value) == pytest.approx(0.972)


def test_runs_are_counted_whole() -> None:
    assert runs_needed(5.0, 2.5) == 2
    assert runs_needed(5.1, 2.5) == 3
    assert runs_needed(0.0, 2.5) == 0


def test_every_food_has_a_bulk_density() -> None:
    for food_class in FoodClass:
        for form in Form:
            assert 300 < bulk_density(food_class, form).value < 1100


def test_energy_takes_a_number_or_a_range() -> None:
    assert energy_kwh(2.0) == energy_kwh(Range(2.0, 2.0, 2.0))
    assert energy_kwh(2.0, DryerKind.AIR).central < energy_kwh(2.0).central
    with pytest.raises(OutOfRange):
        energy_kwh(-1.0)


def test_four_trays_of_soup_take_a_day_or_more_and_of_crumbs_less() -> None:
    soup = freeze_drying_hours(6.5, SOUP, 0.015, 0.43, FoodClass.BROTH, Form.LIQUID)
    crumbs = freeze_drying_hours(2.5, VENISON, 0.012, 0.38)
    assert soup.central > 2 * crumbs.central
    assert soup.high > 24.0
