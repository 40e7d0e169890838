"""Small facts of compositions."""

import pytest

from app.science.composition import (
    KILOJOULES_PER_KILOCALORIE,
    WATER,
    Composition,
    energy_kcal,
    mix,
    water_fraction,
    with_added_water,
    with_lost_water,
    with_water,
    without,
)
from app.science.errors import Impossible, OutOfRange
from app.science.foods import food

DEER = Composition(water=0.7357, protein=0.2296, fat=0.0242, carbohydrate=0.0, ash=0.0116)


def test_taking_water_away_and_giving_it_back_changes_nothing():
    dried = with_lost_water(DEER, 2.0, 1.2)
    back = with_added_water(dried, 0.8, 1.2)
    assert back.protein == pytest.approx(DEER.protein)
    assert back.water == pytest.approx(DEER.water)


def test_losing_water_is_the_same_as_naming_the_new_water():
    lost = with_lost_water(DEER, 1.0, 0.5)
    assert lost.fat == pytest.approx(with_water(DEER, lost.water).fat)


def test_more_water_than_there_is_cannot_be_lost():
    with pytest.raises(Impossible) as caught:
        with_lost_water(DEER, 1.0, 0.8)
    assert caught.value.nearest == pytest.approx(0.7357)


def test_a_part_with_more_fat_than_the_whole_cannot_be_taken():
    with pytest.raises(Impossible):
        without(DEER, 1.0, food("10004").composition, 0.2)


def test_nothing_is_left_when_all_is_taken():
    with pytest.raises(OutOfRange):
        without(DEER, 1.0, DEER, 1.0)


def test_energy_counts_mass_and_factors():
    fat = Composition(0.0, 0.0, 1.0, 0.0, 0.0)
    assert energy_kcal(fat, 1.0) == pytest.approx(9000.0)
    assert energy_kcal(WATER, 1.0) == 0.0
    assert food("04002").energy_kcal(0.1) == pytest.approx(902.0)
    assert pytest.approx(4.184) == KILOJOULES_PER_KILOCALORIE


@pytest.mark.parametrize("bad", [-0.1, float("nan")])
def test_moistures_outside_the_range_are_refused(bad):
    with pytest.raises(OutOfRange):
        water_fraction(bad)


def test_mixing_keeps_the_fibre():
    corn, peas = food("11167").composition, food("11304").composition
    assert mix([(corn, 1.0), (peas, 1.0)]).fibre == pytest.approx((0.020 + 0.057) / 2)


def test_a_composition_tells_its_bases_and_its_residue():
    pork = food("10219").composition
    assert pork.moisture_db == pytest.approx(0.6106 / 0.3894)
    assert pork.fat_free_moisture == pytest.approx(0.6106 / 0.7881)
    assert pork.fat_db == pytest.approx(0.2119 / 0.3894)
    assert food("15078").composition.residue == pytest.approx(-0.0333)  # the worst of the table
    assert WATER.moisture_db == float("inf")
