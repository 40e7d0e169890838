"""Which row of the outage tables a lot of the household falls under."""

from math import nan

import pytest

from app.science.classes import FoodClass, Form, Treatment
from app.science.errors import OutOfRange
from app.science.safety.outage import OUT_FRIDGE, Fate, answer
from app.science.safety.outage_lots import PANTRY_ROW, fate_in_freezer, fate_in_fridge
from app.science.safety.rule import Outcome
from app.science.sources import Evidence

F, W, T = FoodClass, Form, Treatment
COOKED, THAWED, AIR, FREEZE = {T.COOKED}, {T.THAWED}, {T.DRIED_AIR}, {T.DRIED_FREEZE}
FRESH: frozenset[Treatment] = frozenset()


# FoodSafety.gov, Food Safety During Power Outage, 2021: row, and its fate above 40 °F for 3 hours.
@pytest.mark.parametrize(
    ("food", "form", "done", "row", "warm"),
    [
        (F.GAME, W.GROUND, FRESH, "ground meat", "discard"),
        (F.GAME, W.WHOLE, COOKED, "beef, veal, lamb, pork", "discard"),
        (F.POULTRY, W.GROUND, FRESH, "ground poultry", "discard"),
        (F.FISH_LEAN, W.WHOLE, FRESH, "fish", "discard"),
        (F.DISH, W.PIECES, COOKED, "casseroles, stews, soups", "discard"),
        (F.BROTH, W.LIQUID, COOKED, "casseroles, stews, soups", "discard"),
        (F.VEGETABLE, W.PIECES, {T.BLANCHED}, "vegetables, blanched or packed", "refreeze"),
        (F.VEGETABLE, W.PIECES, COOKED, "casseroles, stews, soups", "discard"),
        (F.VEGETABLE, W.LIQUID, FRESH, "vegetable juice", "refreeze"),
        (F.FRUIT, W.WHOLE, FRESH, "fruit, home or bought packs", "look"),
        (F.FRUIT, W.LIQUID, FRESH, "fruit juice", "look"),
        (F.GRAIN_LEGUME, W.POWDER, FRESH, "flour, cornmeal, nuts", "refreeze"),
        (F.GRAIN_LEGUME, W.POWDER, COOKED, "pasta or rice casseroles", "discard"),
        (F.GRAIN_LEGUME, W.WHOLE, FRESH, "pasta or rice casseroles", "discard"),
        (F.GAME, W.GROUND, {T.DRIED_FREEZE, T.REHYDRATED}, "ground meat", "discard"),
        (F.GAME, W.WHOLE, AIR, "beef, veal, lamb, pork", "discard"),
        (F.GAME, W.GROUND, FREEZE, "sealed dry pouches", "keep"),
        (F.VEGETABLE, W.PIECES, AIR, "sealed dry pouches", "keep"),
        (F.PANTRY, W.WHOLE, FRESH, "salt, sugar, honey, oil", "keep"),
    ],
)
def test_every_kind_of_lot_in_a_failed_freezer(food, form, done, row, warm):
    found = fate_in_freezer(food, form, done, False, 3.0)
    assert (found.row.food, found.fate.value) == (row, warm)


# FoodSafety.gov, Refrigerated Food and Power Outages, 2010 and copies of 2024: 5 hours without.
@pytest.mark.parametrize(
    ("food", "form", "done", "raw", "row", "fate"),
    [
        (F.GAME, W.GROUND, FRESH, True, "raw or leftover meat, poultry, fish", "discard"),
        (F.GAME, W.GROUND, THAWED, True, "thawing meat or poultry", "discard"),
        (F.GAME, W.WHOLE, COOKED, False, "raw or leftover meat, poultry, fish", "discard"),
        (F.DISH, W.LIQUID, COOKED, False, "casseroles, soups, stews", "discard"),
        (F.BROTH, W.LIQUID, COOKED, False, "gravy, stuffing, broth", "discard"),
        (F.EGG, W.WHOLE, FRESH, True, "shell eggs, egg dishes", "discard"),
        (F.DAIRY, W.LIQUID, FRESH, True, "milk, cream, yogurt, soy milk", "discard"),
        (F.FRUIT, W.WHOLE, FRESH, False, "whole fruit", "keep"),
        (F.FRUIT, W.WHOLE, THAWED, False, "cut fruit", "discard"),
        (F.FRUIT, W.PIECES, FRESH, False, "cut fruit", "discard"),
        (F.FRUIT, W.LIQUID, FRESH, False, "opened fruit juice", "keep"),
        (F.FRUIT, W.PIECES, AIR, False, "dried fruit", "keep"),
        (F.VEGETABLE, W.WHOLE, {T.CHILLED}, False, "raw whole vegetables", "keep"),
        (F.VEGETABLE, W.PIECES, FRESH, False, "cut or pre-washed vegetables", "discard"),
        (F.VEGETABLE, W.WHOLE, {T.BLANCHED}, False, "cooked vegetables", "discard"),
        (F.VEGETABLE, W.LIQUID, FRESH, False, "opened vegetable juice", "discard"),
        (F.GRAIN_LEGUME, W.WHOLE, COOKED, False, "cooked pasta, rice, potatoes", "discard"),
        (F.GAME, W.WHOLE, AIR, False, "lunch meat, sausage, bacon, dried beef", "discard"),
        (F.GAME, W.GROUND, FREEZE, True, "sealed dry pouches", "keep"),
        (F.GAME, W.GROUND, {T.DRIED_FREEZE, T.REHYDRATED}, True,
         "raw or leftover meat, poultry, fish", "discard"),
        (F.PANTRY, W.LIQUID, FRESH, False, "salt, sugar, honey, oil", "keep"),
    ],
)  # fmt: skip
def test_every_kind_of_lot_in_a_fridge_without_power(food, form, done, raw, row, fate):
    found = fate_in_fridge(food, form, done, raw, None, 5.0)
    assert (found.row.food, found.fate.value) == (row, fate)


def test_what_the_tables_do_not_name_says_that_it_is_ours():
    salt = fate_in_freezer(F.PANTRY, W.POWDER, FRESH, None, None)
    pouch = fate_in_freezer(F.GAME, W.GROUND, FREEZE, False, 40.0)
    for found in (salt, pouch, fate_in_fridge(F.PANTRY, W.POWDER, FRESH, False, None, None)):
        assert found.row.evidence is Evidence.JUDGEMENT
        assert "ur judgement" in found.sentence
        assert found.verdict.outcome is Outcome.PASS
    assert "sealed and dry" in pouch.sentence


def test_still_hard_or_cold_is_refrozen_and_nothing_known_is_warm():
    # FoodSafety.gov, 2021: column "still contains ice crystals".
    assert fate_in_freezer(F.GAME, W.GROUND, FRESH, True, None).fate is Fate.REFREEZE
    assert fate_in_freezer(F.GAME, W.GROUND, FRESH, None, None).fate is Fate.DISCARD
    assert fate_in_freezer(F.GAME, W.GROUND, FRESH, None, nan).fate is Fate.DISCARD
    assert fate_in_fridge(F.GAME, W.GROUND, FRESH, True, None, nan).fate is Fate.DISCARD
    assert fate_in_fridge(F.GAME, W.GROUND, FRESH, True, 2.0, 4.0).fate is Fate.KEEP


def test_raw_juice_spoils_every_open_thing():
    # FoodSafety.gov 2010.
    for food in F:
        found = fate_in_fridge(food, W.WHOLE, FRESH, False, 0.0, 0.0, touched_raw_juice=True)
        assert found.fate is Fate.DISCARD


@pytest.mark.parametrize("food", F)
@pytest.mark.parametrize("form", W)
def test_no_lot_is_without_an_answer(food, form):
    for done in (FRESH, COOKED, THAWED, AIR, FREEZE, {T.DRIED_AIR, T.REHYDRATED}, set(T)):
        for icy in (True, False, None):
            assert fate_in_freezer(food, form, done, icy, None).verdict.sentence
        for raw in (True, False):
            assert fate_in_fridge(food, form, done, raw, None, None).verdict.sentence


def test_hours_below_nothing_are_refused():
    with pytest.raises(OutOfRange):
        fate_in_freezer(F.GAME, W.WHOLE, FRESH, None, -1.0)
    with pytest.raises(OutOfRange):
        fate_in_fridge(F.GAME, W.WHOLE, FRESH, True, -1.0, None)


def test_an_answer_names_its_food_first():
    found = answer(PANTRY_ROW, Fate.KEEP, "", OUT_FRIDGE)
    assert found.sentence == "Salt, sugar, honey, oil: may be kept."
