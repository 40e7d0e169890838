"""Blends meet their target, or say what would."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

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
from app.science.errors import Impossible
from tests.properties.compositions import compositions

FRACTION = st.floats(0.0, 1.0)
MASS = st.floats(0.05, 20.0)


@given(MASS, FRACTION, FRACTION, st.floats(0.0, 0.99))
def test_a_fat_between_two_ingredients_is_met(lean_kg, lean, source, place):
    assume(abs(source - lean) > 1e-3)
    target = lean + place * (source - lean)
    added = fat_source_to_add(lean_kg, lean, source, target)
    assert added >= 0.0
    assert lean_kg * lean + added * source == pytest.approx((lean_kg + added) * target)


@given(MASS, FRACTION, FRACTION, FRACTION)
def test_a_fat_outside_two_ingredients_names_the_nearer_one(lean_kg, lean, source, target):
    assume(not min(lean, source) <= target <= max(lean, source))
    with pytest.raises(Impossible) as caught:
        fat_source_to_add(lean_kg, lean, source, target)
    nearest = caught.value.nearest
    assert nearest in (lean, source)
    assert abs(nearest - target) == min(abs(lean - target), abs(source - target))


@given(MASS, st.floats(0.0, 0.1), st.floats(0.8, 1.0), st.floats(0.1, 0.4), st.floats(0.1, 0.4))
def test_a_higher_target_never_takes_less_fat(lean_kg, lean, source, one, other):
    low, high = sorted((one, other))
    assert fat_source_to_add(lean_kg, lean, source, low) <= fat_source_to_add(
        lean_kg, lean, source, high
    )


@given(st.lists(compositions(), min_size=2, max_size=4), FRACTION, st.floats(0.1, 10.0))
def test_a_blend_meets_its_target_or_names_the_nearest_reachable(foods, place, total_kg):
    fats = [food.fat for food in foods]
    assume(max(fats) - min(fats) > 0.01)
    target = min(fats) + place * (max(fats) - min(fats))
    ingredients = [Ingredient(food) for food in foods]
    blend = blend_to_target(ingredients, {Component.FAT: target}, total_kg)
    assert blend.total_kg == pytest.approx(total_kg, rel=1e-6)
    assert blend.composition.fat == pytest.approx(target, abs=1e-6)
    assert all(kg >= 0.0 for kg in blend.amounts_kg)
    with pytest.raises(Impossible) as caught:
        blend_to_target(ingredients, {Component.FAT: min(1.0, max(fats) + 0.01)}, total_kg)
    assert caught.value.nearest == pytest.approx(max(fats), abs=1e-6)


@given(compositions(), MASS, st.floats(0.0, 0.5), st.floats(0.0, 0.5))
def test_a_seasoned_mix_weighs_what_went_into_it(meat, meat_kg, of_meat, of_total):
    made = seasoned_mix(
        meat,
        meat_kg,
        [Addition("ice", WATER, of_meat), Addition("stock", WATER, of_total, Basis.TOTAL)],
    )
    assert meat_kg + sum(made.amounts_kg) == pytest.approx(made.total_kg)
    assert made.amounts_kg[1] == pytest.approx(of_total * made.total_kg)
    assert made.composition.protein * made.total_kg == pytest.approx(meat.protein * meat_kg)
