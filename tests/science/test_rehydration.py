"""Water back, soaks and trials."""

import pytest

from app.science.errors import Impossible, OutOfRange
from app.science.rehydration import (
    Better,
    Soaking,
    better_soaking,
    published_soak,
    rehydration_ratio,
    us_cups,
    water_to_add_kg,
)


def test_the_ceiling_brings_the_water_fraction_back():
    ceiling = water_to_add_kg(0.1, 0.03, 0.70).high
    assert (0.003 + ceiling) / (0.1 + ceiling) == pytest.approx(0.70)


def test_nothing_is_added_to_what_is_as_wet_as_before():
    assert water_to_add_kg(1.0, 0.7, 0.7).high == pytest.approx(0.0)


def test_drier_before_than_now_is_impossible():
    with pytest.raises(Impossible):
        water_to_add_kg(1.0, 0.5, 0.4)


def test_refused_masses():
    with pytest.raises(OutOfRange):
        us_cups(-1.0)
    with pytest.raises(OutOfRange):
        rehydration_ratio(0.0, 1.0)


@pytest.mark.parametrize(
    ("name", "cups"),
    [
        ("Beans, snap, green, raw", 2.5),
        ("Lima beans, immature seeds, raw", 2.5),
        ("Sweet potato, raw, unprepared", 1.5),
        ("Beet greens, raw", 1.0),
        ("Carrots, raw", 2.25),
        ("Squash, winter, butternut, raw", 1.75),
        ("Onions, dehydrated flakes", 2.0),
    ],
)
def test_soaks_are_found_by_the_name_of_the_food(name, cups):
    assert published_soak(name).cups_water == cups


@pytest.mark.parametrize("name", ["Game meat, deer, ground, raw", "Beans, black, raw", ""])
def test_foods_outside_the_table_have_no_published_soak(name):
    assert published_soak(name) is None


def _side(drained_kg: float, score: float | None = None) -> Soaking:
    return Soaking(0.05, 0.03, 0.70, 0.2, drained_kg, hours=0.5, temp_c=60.0, score=score)


def test_a_trial_is_decided_by_the_score_first():
    assert better_soaking(_side(0.14, 6), _side(0.12, 8)) is Better.SECOND


def test_without_scores_the_water_that_came_back_decides():
    assert better_soaking(_side(0.14), _side(0.12, 8)) is Better.FIRST
    assert better_soaking(_side(0.12), _side(0.14)) is Better.SECOND


def test_two_sides_within_a_step_of_the_scale_are_alike():
    assert better_soaking(_side(0.1400), _side(0.1405)) is Better.NEITHER


def test_a_side_tells_its_numbers():
    side = _side(0.14)
    assert side.ratio == pytest.approx(2.8)
    assert side.water_per_dry == pytest.approx(4.0)
    assert side.coefficient == pytest.approx(0.14 * 0.30 / (0.05 * 0.97))


def test_more_cannot_be_drained_than_was_in_the_bowl():
    with pytest.raises(OutOfRange):
        _side(0.26)
    with pytest.raises(OutOfRange):
        _side(0.12, score=11)
