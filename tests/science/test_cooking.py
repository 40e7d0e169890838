"""The pot, cooking yields and blanching."""

import pytest

from app.science.classes import FoodClass, Form
from app.science.composition import Composition, mix, with_added_water
from app.science.cooking import (
    CookingMethod,
    blanched,
    boiling_point_c,
    cooked_mass_kg,
    drained,
    fat_layer_kg,
    reduced,
    skimmed,
)
from app.science.errors import Impossible, NotInTable, OutOfRange
from app.science.foods import food
from app.science.sources import Evidence
from app.science.yields import cooking_yield

MOOSE = food("17172").composition
PORK = food("10219").composition


def test_water_boils_near_a_hundred_degrees_at_the_sea():
    assert boiling_point_c(0.0) == pytest.approx(99.97, abs=0.01)
    with pytest.raises(OutOfRange):
        boiling_point_c(12000.0)


def test_ground_elk_broiled_takes_the_published_rows_of_game():
    cooked = cooked_mass_kg(
        food("17338").composition, 2.0, CookingMethod.BROILED, FoodClass.GAME, Form.GROUND
    )
    assert cooked.evidence is Evidence.COPY
    assert cooked.mass_kg.low == pytest.approx(2.0 * 0.7556)
    assert cooked.mass_kg.high == pytest.approx(2.0 * 0.8891)


def test_ground_beef_takes_the_row_of_its_fat():
    shares = [
        cooking_yield(FoodClass.RED_MEAT, Form.GROUND, CookingMethod.ROASTED, fat).share.central
        for fat in (0.07, 0.15, 0.28)
    ]
    assert shares == pytest.approx([0.72, 0.70, 0.63])


def test_roast_moose_falls_back_on_protein():
    estimate = cooking_yield(FoodClass.GAME, Form.WHOLE, CookingMethod.ROASTED, 0.01)
    assert estimate.evidence is Evidence.DERIVED
    assert 0.7598 in estimate.share  # moose itself: 22.24 / 29.27


def test_simmered_mince_is_called_our_judgement():
    estimate = cooking_yield(FoodClass.GAME, Form.GROUND, CookingMethod.SIMMERED, 0.01)
    assert estimate.evidence is Evidence.JUDGEMENT


def test_a_stand_in_is_called_our_judgement():
    estimate = cooking_yield(FoodClass.GAME_BIRD, Form.WHOLE, CookingMethod.ROASTED, 0.05)
    assert estimate.evidence is Evidence.JUDGEMENT
    assert estimate.rows


def test_organs_bacon_and_bone_in_cuts_are_not_counted_as_plain_meat():
    rows = cooking_yield(FoodClass.RED_MEAT, Form.WHOLE, CookingMethod.BRAISED, 0.1).rows
    assert {row.description for row in rows} == {
        "Beef, retail cuts, all, boneless",
        "Lamb, retail cuts, shoulder, shank, breast, flank",
    }


@pytest.mark.parametrize("food_class", [FoodClass.VEGETABLE, FoodClass.EGG, FoodClass.BROTH])
def test_what_is_not_meat_has_no_cooking_yield(food_class):
    with pytest.raises(NotInTable):
        cooking_yield(food_class, Form.WHOLE, CookingMethod.SIMMERED, 0.0)


def test_pork_of_twenty_percent_fat_sets_a_layer_worth_lifting():
    layer = fat_layer_kg(PORK, 2.0)
    assert 0.01 < layer.low < layer.central < layer.high < 0.5 * PORK.fat * 2.0


def test_a_lifted_layer_takes_fat_and_leaves_the_rest():
    pot = with_added_water(PORK, 2.0, 1.0)
    parts = skimmed(pot, 3.0, 0.10)
    assert parts.fat.fat == pytest.approx(0.95)
    assert parts.unexplained_fat_kg == 0.0
    back = mix([(parts.rest, 2.9), (parts.fat, 0.10)])
    assert back.fat == pytest.approx(pot.fat)
    assert back.protein == pytest.approx(pot.protein)


def test_more_fat_than_the_table_knew_is_told():
    pot = with_added_water(MOOSE, 3.0, 1.0)
    parts = skimmed(pot, 4.0, 0.10)
    assert parts.rest.fat == pytest.approx(0.0, abs=1e-12)
    assert parts.unexplained_fat_kg == pytest.approx(0.095 - 0.0074 * 3.0)


def test_no_layer_changes_nothing():
    pot = with_added_water(MOOSE, 3.0, 1.0)
    assert skimmed(pot, 4.0, 0.0).rest == pot


def test_a_layer_heavier_than_fat_and_water_is_impossible():
    dry = Composition(water=0.05, protein=0.8, fat=0.05, carbohydrate=0.0, ash=0.05)
    with pytest.raises(Impossible) as caught:
        skimmed(dry, 1.0, 0.5)
    assert caught.value.nearest == pytest.approx(0.10)


def test_a_drained_pot_gives_thin_broth_and_firm_meat():
    pot = with_added_water(MOOSE, 3.4, 1.0)
    parts = drained(pot, 4.4, 2.55, 1.85)
    assert parts.liquid.water > 0.96
    assert parts.meat.protein > 0.26
    assert parts.liquid.solids in parts.liquid_solids
    back = mix([(parts.meat, 2.55), (parts.liquid, 1.85)])
    assert back.ash == pytest.approx(pot.ash)


def test_what_was_spilt_at_draining_was_like_the_pot():
    pot = with_added_water(MOOSE, 3.4, 1.0)
    parts = drained(pot, 4.4, 2.5, 1.8)
    back = mix([(parts.meat, 2.5), (parts.liquid, 1.8)])
    assert back.protein == pytest.approx(pot.protein)


def test_more_out_of_the_pot_than_went_in_is_impossible():
    pot = with_added_water(MOOSE, 3.4, 1.0)
    with pytest.raises(Impossible) as caught:
        drained(pot, 4.4, 2.6, 1.9)
    assert caught.value.nearest == 4.4


def test_more_liquid_than_the_pot_holds_is_impossible():
    with pytest.raises(Impossible) as caught:
        drained(MOOSE, 1.0, 0.1, 0.9)
    assert 0.75 < caught.value.nearest < 0.82


def test_a_pot_without_broth_is_all_meat():
    assert drained(MOOSE, 1.0, 1.0, 0.0).meat.protein == pytest.approx(MOOSE.protein)


def test_boiling_down_a_broth_keeps_its_solids():
    broth = food("06170").composition
    thick = reduced(broth, 2.0, 0.5)
    assert thick.solids * 0.5 == pytest.approx(broth.solids * 2.0)
    with pytest.raises(Impossible):
        reduced(broth, 2.0, 0.01)


def test_blanched_corn_loses_a_little_and_takes_up_water():
    corn = food("11167").composition
    parts = blanched(corn, 1.0, 1.01)
    assert parts.food.water > corn.water
    assert parts.food.fibre * 1.01 == pytest.approx(corn.fibre)
    assert parts.solids.low < parts.food.solids < parts.solids.high
    with pytest.raises(Impossible):
        blanched(corn, 1.0, 0.2)
