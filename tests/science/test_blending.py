"""Blends within limits, impossible blends explained, seasoned mixes."""

import pytest

from app.science.blending import (
    Addition,
    Basis,
    Component,
    Ingredient,
    blend_to_target,
    fat_source_to_add,
    seasoned_mix,
)
from app.science.composition import WATER
from app.science.errors import Impossible, NotCovered, OutOfRange
from app.science.foods import food

MOOSE = food("17172").composition
BACK_FAT = food("10004").composition
PORK = food("10219").composition
SALT = food("02047").composition


def test_burgers_of_moose_take_more_back_fat_than_the_naive_percentage():
    added = fat_source_to_add(2.0, MOOSE.fat, BACK_FAT.fat, 0.15)
    assert added == pytest.approx(0.3870, abs=1e-4)
    assert added > 0.15 * 2.0


def test_lean_can_be_added_to_bring_fat_down():
    assert fat_source_to_add(1.0, 0.30, 0.05, 0.20) == pytest.approx(2.0 / 3.0)


@pytest.mark.parametrize(
    ("lean", "source", "target", "nearest"),
    [(0.02, 0.30, 0.40, 0.30), (0.10, 0.30, 0.05, 0.10), (0.02, 0.30, 0.30, 0.30)],
)
def test_a_fat_out_of_reach_names_the_nearest(lean, source, target, nearest):
    with pytest.raises(Impossible) as caught:
        fat_source_to_add(1.0, lean, source, target)
    assert caught.value.nearest == nearest


def test_the_fat_there_already_needs_nothing():
    assert fat_source_to_add(1.0, 0.1, 0.1, 0.1) == 0.0


def test_two_ingredients_on_hand_limit_the_blend():
    pair = [Ingredient(MOOSE, high_kg=1.0), Ingredient(BACK_FAT, high_kg=5.0)]
    with pytest.raises(Impossible) as caught:
        blend_to_target(pair, {Component.FAT: 0.15}, 2.0)
    assert caught.value.nearest == pytest.approx((MOOSE.fat + BACK_FAT.fat) / 2)


def test_without_a_total_the_blend_is_as_big_as_the_stocks_allow():
    pair = [Ingredient(MOOSE, high_kg=2.0), Ingredient(BACK_FAT, high_kg=5.0)]
    blend = blend_to_target(pair, {Component.FAT: 0.15})
    assert blend.amounts_kg == pytest.approx((2.0, 0.3870), abs=1e-4)
    assert blend.composition.fat == pytest.approx(0.15, abs=1e-6)


def test_without_a_total_a_stock_without_limit_is_refused():
    with pytest.raises(Impossible):
        blend_to_target([Ingredient(MOOSE), Ingredient(BACK_FAT)], {Component.FAT: 0.15})


def test_what_must_go_in_goes_in():
    three = [Ingredient(MOOSE), Ingredient(BACK_FAT), Ingredient(PORK, low_kg=0.5)]
    blend = blend_to_target(three, {Component.FAT: 0.15}, 3.0)
    assert blend.amounts_kg[2] == pytest.approx(0.5, abs=1e-6)  # listed last, used least
    assert blend.total_kg == pytest.approx(3.0)


def test_ingredients_listed_first_are_used_first():
    lean_first = [Ingredient(MOOSE), Ingredient(PORK), Ingredient(BACK_FAT)]
    pork_first = [Ingredient(PORK), Ingredient(MOOSE), Ingredient(BACK_FAT)]
    assert blend_to_target(lean_first, {Component.FAT: 0.15}, 1.0).amounts_kg[0] > 0.25
    assert blend_to_target(pork_first, {Component.FAT: 0.15}, 1.0).amounts_kg[0] > 0.6


def test_an_unreachable_target_names_the_nearest_fraction():
    three = [Ingredient(MOOSE), Ingredient(PORK), Ingredient(WATER, high_kg=0.1)]
    with pytest.raises(Impossible) as caught:
        blend_to_target(three, {Component.FAT: 0.40}, 1.0)
    assert caught.value.nearest == pytest.approx(PORK.fat)


def test_an_unreachable_target_without_total_names_the_nearest_fraction():
    pair = [Ingredient(MOOSE, low_kg=1.0, high_kg=2.0), Ingredient(PORK, high_kg=1.0)]
    with pytest.raises(Impossible) as caught:
        blend_to_target(pair, {Component.FAT: 0.40})
    assert caught.value.nearest == pytest.approx((MOOSE.fat + PORK.fat) / 2)


def test_limits_that_do_not_allow_the_total_have_no_nearest():
    pair = [Ingredient(MOOSE, high_kg=0.5), Ingredient(BACK_FAT, high_kg=0.5)]
    with pytest.raises(Impossible) as caught:
        blend_to_target(pair, {Component.FAT: 0.15}, 2.0)
    assert caught.value.nearest is None


def test_equal_ingredients_are_no_division_by_nought():
    pair = [Ingredient(MOOSE), Ingredient(MOOSE)]
    blend = blend_to_target(pair, {Component.FAT: MOOSE.fat}, 1.0)
    assert blend.total_kg == pytest.approx(1.0)


def test_one_ingredient_or_a_target_above_one_is_refused():
    with pytest.raises(OutOfRange):
        blend_to_target([Ingredient(MOOSE)], {Component.FAT: 0.1}, 1.0)
    with pytest.raises(OutOfRange):
        blend_to_target([Ingredient(MOOSE), Ingredient(PORK)], {Component.FAT: 1.5}, 1.0)
    with pytest.raises(OutOfRange):
        Ingredient(MOOSE, low_kg=2.0, high_kg=1.0)


def test_additions_count_on_the_meat_or_on_the_whole():
    made = seasoned_mix(
        PORK,
        2.0,
        [
            Addition("salt", SALT, 0.018, Basis.TOTAL, salt_fraction=1.0),
            Addition("water", WATER, 0.05),
        ],
    )
    assert made.total_kg == pytest.approx(2.0 * 1.05 / (1.0 - 0.018))
    assert made.salt_fraction == pytest.approx(0.018)
    assert made.amounts_kg[1] == pytest.approx(0.1)
    assert made.composition.ash > PORK.ash
    assert sum(made.amounts_kg) + 2.0 == pytest.approx(made.total_kg)


@pytest.mark.parametrize("name", ["Sodium nitrite", "pink salt", "E250", "curing mix", "Saltpetre"])
def test_curing_salts_are_left_to_an_official_guide(name):
    with pytest.raises(NotCovered):
        seasoned_mix(PORK, 2.0, [Addition(name, SALT, 0.0025)])


def test_additions_that_fill_the_whole_mix_are_refused():
    with pytest.raises(OutOfRange):
        seasoned_mix(PORK, 1.0, [Addition("water", WATER, 1.0, Basis.TOTAL)])
