from dataclasses import replace

import pytest

from app.science.classes import FoodClass, Form
from app.science.composition import Composition
from app.science.errors import Impossible, OutOfRange
from app.science.freezedrying import (
    FreezeDryer,
    Slab,
    conductive_front_c,
    dried_layer,
    freeze_drying_time,
    sublimation,
)

COOKED_GROUND = Slab(0.010, 0.60 * 700 * 0.9, 0.056, 1.45e-8)
MACHINE = FreezeDryer()
VENISON = Composition(0.62, 0.31, 0.05, 0.0, 0.012)


@pytest.mark.parametrize(
    ("depth_m", "hours"),
    # our own model at another time, kept to notice a change
    [(0.010, 4.43), (0.015, 7.2), (0.020, 10.33), (0.025, 13.7)],
)
def test_cooked_ground_meat_dries_as_worked_out_before(depth_m: float, hours: float) -> None:
    run = sublimation(replace(COOKED_GROUND, depth_m=depth_m), MACHINE, begin_share=0.01)
    assert run.hours == pytest.approx(hours, rel=0.02)


def test_twice_the_depth_takes_two_to_four_times_as_long() -> None:
    deep = sublimation(replace(COOKED_GROUND, depth_m=0.020), MACHINE)
    assert 2.0 < deep.hours / sublimation(COOKED_GROUND, MACHINE).hours < 4.0


def test_too_much_heat_is_said_to_melt_the_ice() -> None:
    hot = replace(MACHINE, shelf_c=90.0, tray_w_m2k=60.0)
    assert sublimation(replace(COOKED_GROUND, depth_m=0.025), hot).end.melts
    assert not sublimation(COOKED_GROUND, MACHINE).end.melts
    with pytest.raises(Impossible):
        conductive_front_c(0.056, 1e-10, 60.0, 40.0)


def test_a_chamber_at_melting_pressure_dries_nothing() -> None:
    with pytest.raises(Impossible):
        sublimation(COOKED_GROUND, replace(MACHINE, chamber_pa=700.0))


def test_a_weak_condenser_sets_the_pace() -> None:
    free = freeze_drying_time(2.5, VENISON, 0.012, 0.36)
    held = freeze_drying_time(2.5, VENISON, 0.012, 0.36, ice_rate_kg_h=0.1)
    assert held.sublimation_hours.low > free.sublimation_hours.high
    assert held.sublimation_hours.central == pytest.approx(
        2.5 * (0.62 - 0.125 * 0.38) / 0.1, rel=1e-9
    )


def test_tissue_and_fat_make_the_time_longer_or_less_sure() -> None:
    ground = freeze_drying_time(2.5, VENISON, 0.012, 0.30, form=Form.GROUND).total_hours
    whole = freeze_drying_time(2.5, VENISON, 0.012, 0.30, form=Form.WHOLE).total_hours
    assert whole.central > ground.central
    fatty = Composition(0.62, 0.12, 0.24, 0.0, 0.01)
    doubtful = freeze_drying_time(2.5, fatty, 0.012, 0.30, form=Form.GROUND).sublimation_hours
    sure = freeze_drying_time(2.5, VENISON, 0.012, 0.30, form=Form.GROUND).sublimation_hours
    assert doubtful.high / doubtful.central > sure.high / sure.central


def test_every_food_finds_a_layer() -> None:
    for food_class in FoodClass:
        for form in Form:
            assert dried_layer(food_class, form).permeability.value > 0


def test_a_load_that_cannot_lie_so_is_refused() -> None:
    with pytest.raises(OutOfRange):
        freeze_drying_time(10.0, VENISON, 0.010, 0.36)
    with pytest.raises(OutOfRange):
        freeze_drying_time(2.0, VENISON, 0.10, 0.36)
    with pytest.raises(Impossible):
        freeze_drying_time(2.0, Composition(0.05, 0.6, 0.3, 0.0, 0.05), 0.012, 0.36)
