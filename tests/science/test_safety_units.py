"""Fahrenheit typed as Celsius is asked about, wherever somebody types a temperature."""

from math import nan

import pytest

from app.science.classes import FoodClass, Form
from app.science.drying import DryerKind
from app.science.safety.cooking import cooked
from app.science.safety.cooking_history import cooked_from_history
from app.science.safety.cooling import cooled
from app.science.safety.drying import dried_meat, trichina_in_pork
from app.science.safety.fish import FishUse, fish_notes
from app.science.safety.game import game_notes
from app.science.safety.holding import held_cold, held_hot, left_out
from app.science.safety.low_oxygen import Kept, under_oil
from app.science.safety.readings import WINDOWS, Reading, unit_ask
from app.science.safety.rehydration import rehydrate
from app.science.safety.thawing import ThawWay, may_refreeze, thawed
from app.science.safety.time_out import time_out

GAME = [FoodClass.GAME]
FRIDGE = ThawWay.REFRIGERATOR


def _cooked(temp, insisted):
    return cooked(GAME, Form.GROUND, temp, "C", insisted=insisted)


def _history(temp, insisted):
    return cooked_from_history(
        GAME, Form.GROUND, [(0, temp), (1, temp)], "C", insisted=insisted
    )  # fmt: skip


def _dried(temp, insisted):
    return dried_meat(
        GAME, DryerKind.AIR, was_cooked=False, centre_before=temp, unit="C", by_wet_heat=True,
        insisted=insisted,
    )  # fmt: skip


def _thawed(temp, insisted):
    return thawed(FRIDGE, is_vacuum_fish=True, warmest_c=temp, insisted=insisted)


def _refrozen(temp, insisted):
    return may_refreeze(FRIDGE, warmest_c=temp, insisted=insisted)


def _refreeze_air(temp, insisted):
    return may_refreeze(FRIDGE, warmest_c=4.0, hours_out=1.5, air_c=temp, insisted=insisted)


def _frozen_fish(temp, insisted):
    return fish_notes(
        FoodClass.FISH_FATTY, "salmon", use=FishUse.RAW, frozen_c=temp, frozen_hours=200.0,
        insisted=insisted,
    )  # fmt: skip


def _warm_fish(temp, insisted):
    return fish_notes(FoodClass.FISH_FATTY, "mackerel", outings=[(3, temp)], insisted=insisted)


def _carcass(temp, insisted):
    return game_notes(FoodClass.GAME, "hare", hours_since_death=3, air_c=temp, insisted=insisted)


# evaluator, a temperature in °F as typed in a field of °C, the words of the question.
TYPED = [
    (_cooked, 160, "160 °F (71.1 °C)"),
    (_history, 160, "160 °F (71.1 °C)"),
    (_dried, 165, "165 °F (73.9 °C)"),
    (lambda temp, insisted: held_cold(temp, insisted=insisted), 40, "40 °F (4.4 °C)"),
    (lambda temp, insisted: held_hot(temp, insisted=insisted), 140, "140 °F (60 °C)"),
    (lambda temp, insisted: left_out([(1, temp)], insisted=insisted), 72, "72 °F (22.2 °C)"),
    (lambda temp, insisted: time_out([(0, 4)], air_c=temp, insisted=insisted).verdicts,
     75, "75 °F (23.9 °C)"),
    (lambda temp, insisted: time_out([(0, temp)], insisted=insisted).verdicts,
     140, "140 °F (60 °C)"),
    (_thawed, 38, "38 °F (3.3 °C)"),
    (_refrozen, 40, "40 °F (4.4 °C)"),
    (_refreeze_air, 72, "72 °F (22.2 °C)"),
    (_frozen_fish, -4, "-4 °F (-20 °C)"),
    (_warm_fish, 77, "77 °F (25 °C)"),
    (_carcass, 55, "55 °F (12.8 °C)"),
    (lambda temp, insisted: under_oil(Kept.FRIDGE, 2, temp, insisted=insisted),
     38, "38 °F (3.3 °C)"),
    (lambda temp, insisted: trichina_in_pork(temp, 20, 0.1, insisted=insisted),
     5, "5 °F (-15 °C)"),
]  # fmt: skip


@pytest.mark.parametrize(("evaluate", "typed", "words"), TYPED)
def test_fahrenheit_in_a_field_of_celsius_is_asked_and_stands_when_insisted(evaluate, typed, words):
    (asked,) = evaluate(typed, insisted=False)
    assert (asked.id, asked.outcome.value) == ("UNIT-ASK", "ask")
    assert f"Did you mean {words}?" in asked.sentence
    assert all(v.id != "UNIT-ASK" for v in evaluate(typed, insisted=True))


@pytest.mark.parametrize(("evaluate", "typed", "words"), TYPED)
def test_no_reading_is_not_asked_about(evaluate, typed, words):
    if evaluate is TYPED[-1][0]:
        return  # the former table refuses what is no number
    for missing in (None, nan):
        assert all(v.id != "UNIT-ASK" for v in evaluate(missing, insisted=False))


@pytest.mark.parametrize("evaluate", [cooled, lambda readings: rehydrate(False, readings=readings)])
def test_a_record_of_cooling_in_fahrenheit_is_asked(evaluate):
    assert evaluate([(0, 135), (2, 70), (6, 41)])[0].id == "UNIT-ASK"


def test_hot_food_is_compared_in_the_unit_typed():
    # Food Code 3-501.16: 135 °F (57 °C).
    assert held_hot(135, "F")[0].outcome.value == "pass"
    assert held_hot(134, "F")[0].outcome.value == "stop"
    assert held_hot(60, "F")[0].id == "UNIT-ASK"


@pytest.mark.parametrize("reading", Reading)
def test_every_window_asks_just_outside_and_not_at_its_ends(reading):
    low, high = (limit.value for limit in WINDOWS[reading])
    for inside in (low, high):
        assert unit_ask(reading, inside, "C") is None
    for outside in (low - 0.1, high + 0.1):
        assert unit_ask(reading, outside, "C").outcome.value == "ask"
