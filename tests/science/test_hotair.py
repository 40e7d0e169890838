import pytest

from app.science.classes import FoodClass
from app.science.errors import Impossible, NotCovered, OutOfRange
from app.science.hotair import (
    PageCurve,
    fick_number,
    fick_slab,
    fit_page,
    hot_air_hours,
    moisture_ratio,
    two_period_hours,
)


def test_thicker_cooler_or_one_sided_takes_longer() -> None:
    base = hot_air_hours(FoodClass.VEGETABLE, 0.005, 60.0).central
    assert hot_air_hours(FoodClass.VEGETABLE, 0.008, 60.0).central > base
    assert hot_air_hours(FoodClass.VEGETABLE, 0.005, 50.0).central > base
    assert hot_air_hours(
        FoodClass.VEGETABLE, 0.005, 60.0, both_faces=False
    ).central == pytest.approx(4 * base)


def test_meat_without_its_own_data_is_less_sure_than_beef() -> None:
    beef = hot_air_hours(FoodClass.RED_MEAT, 0.006, 60.0)
    game = hot_air_hours(FoodClass.GAME, 0.006, 60.0)
    assert game.low < beef.low < beef.high < game.high


@pytest.mark.parametrize("food_class", [FoodClass.EGG, FoodClass.DAIRY, FoodClass.FISH_FATTY])
def test_foods_without_published_data_are_not_covered(food_class: FoodClass) -> None:
    with pytest.raises(NotCovered):
        hot_air_hours(food_class, 0.005, 60.0)


def test_air_cannot_dry_below_its_own_humidity() -> None:
    with pytest.raises(Impossible):
        hot_air_hours(FoodClass.VEGETABLE, 0.005, 60.0, final_water=0.03)
    with pytest.raises(OutOfRange):
        hot_air_hours(FoodClass.VEGETABLE, 0.005, 95.0)
    with pytest.raises(OutOfRange):
        moisture_ratio(1.0, 2.0, 0.1)


def test_fruit_that_is_nearly_dry_needs_only_a_little_longer() -> None:
    rest = hot_air_hours(FoodClass.FRUIT, 0.005, 60.0, initial_water=0.20)
    assert 0 < rest.low < rest.central < hot_air_hours(FoodClass.FRUIT, 0.005, 60.0).central
    with pytest.raises(OutOfRange):
        hot_air_hours(FoodClass.FRUIT, 0.005, 60.0, initial_water=0.17)


def test_the_slab_series_and_its_inverse_agree_from_wet_to_dry() -> None:
    for ratio in (0.999, 0.9, 0.5, 0.1, 0.01):
        assert fick_slab(fick_number(ratio)) == pytest.approx(ratio, rel=1e-3)


def test_a_page_curve_is_recovered_from_its_own_points() -> None:
    curve = PageCurve(0.02, 1.3)
    times = [0, 10, 20, 40, 80]
    fitted = fit_page(times, [curve.ratio(t) for t in times])
    assert (fitted.k, fitted.n) == pytest.approx((0.02, 1.3), rel=1e-4)
    assert curve.ratio(curve.time_to(0.2)) == pytest.approx(0.2)
    with pytest.raises(Impossible):
        fit_page([0, 10], [1, 0.5])


def test_drying_that_never_reaches_the_critical_moisture_has_one_rate() -> None:
    assert two_period_hours(2.0, 0.5, 1.0, 0.05, 0.5) == pytest.approx(2.0)
    with pytest.raises(Impossible):
        two_period_hours(2.0, 0.5, 0.05, 0.05, 0.5)
