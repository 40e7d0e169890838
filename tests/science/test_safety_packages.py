"""Absorbers, jars, labels and rehydration."""

from math import nan

import pytest

from app.science.classes import FoodClass, Form
from app.science.errors import OutOfRange
from app.science.safety.absorbers import (
    AbsorberKind,
    absorber,
    checked_next_day,
    raw_label,
    sealed_jar,
)
from app.science.safety.cooking import cook_target, cooked
from app.science.safety.rehydration import rehydrate
from app.science.safety.rule import allows

TARGET = cook_target([FoodClass.GAME], Form.GROUND).words


def said(verdicts):
    return [(v.id, v.outcome.value) for v in verdicts]


@pytest.mark.parametrize("aw", [0.2, None, nan])
def test_a_moisture_dependent_packet_in_dry_peas_is_confirmed(aw):
    # Article on oxygen scavengers; the 0.65 is from memory.
    verdicts = absorber(AbsorberKind.MOISTURE_DEPENDENT, water_activity=aw)
    assert said(verdicts)[0] == ("ABS-TYPE", "confirm")


def test_the_kind_of_packet_is_asked_and_the_right_one_passes():
    assert said(absorber(AbsorberKind.UNKNOWN))[0] == ("ABS-TYPE", "ask")
    assert not allows(absorber(AbsorberKind.UNKNOWN), {"ABS-TYPE"})
    assert said(absorber(AbsorberKind.SELF_REACTING, water_activity=0.2)) == [
        ("ABS-TYPE", "pass"),
        ("ABS-NOEAT", "note"),
    ]
    moist = absorber(AbsorberKind.MOISTURE_DEPENDENT, water_activity=0.8)
    assert said(moist)[0] == ("ABS-TYPE", "note")


@pytest.mark.parametrize("known", [{"minutes_open": 20}, {"is_hot_and_hard": True}])
def test_a_spent_packet_is_doubted(known):
    # Absorber traders: 15 minutes to 1 hour.
    verdicts = absorber(AbsorberKind.SELF_REACTING, **known)
    assert ("ABS-EXPOSE", "confirm") in said(verdicts)
    assert not allows(verdicts)


def test_absorbers_refuse_numbers_that_cannot_be():
    with pytest.raises(OutOfRange):
        absorber(AbsorberKind.SELF_REACTING, water_activity=20)
    with pytest.raises(OutOfRange):
        absorber(AbsorberKind.SELF_REACTING, minutes_open=-3)


def test_a_loose_pouch_next_day_proves_no_failure():
    # Absorber traders; soft is no proof (our judgement).
    verdicts = checked_next_day(is_tight=False)
    assert said(verdicts) == [("ABS-24H", "note")]
    assert "new absorber" in verdicts[0].sentence
    assert said(checked_next_day(is_tight=True)) == [("ABS-24H", "pass")]
    assert checked_next_day(is_tight=None) == ()


def test_a_sealed_jar_is_not_canned():
    # Utah State University.
    assert "not canned" in sealed_jar()[0].sentence


@pytest.mark.parametrize(
    "text", ["Moose, ground", f"Moose, cook to {TARGET}", "Moose, RAW", "", f"DRAWN {TARGET}"]
)
def test_a_raw_label_without_the_word_or_the_target_is_not_printed(text):
    assert said(raw_label(text, TARGET)) == [("PACK-RAW", "stop")]


def test_a_raw_label_with_both_is_printed():
    assert said(raw_label(f"Moose RAW: cook to {TARGET}", TARGET)) == [("PACK-RAW", "pass")]
    assert said(raw_label("Moose RAW", "")) == [("PACK-RAW", "stop")]


def test_raw_meat_is_cooked_after_rehydrating():
    # Iowa State University: eat as is, except raw meat, poultry, seafood and eggs.
    verdicts = rehydrate(True, target_words=TARGET)
    assert said(verdicts)[0] == ("REHY-RAW", "stop")
    assert TARGET in verdicts[0].sentence
    done = cooked([FoodClass.GAME], Form.GROUND, 160, "F")
    assert said(rehydrate(True, cook=done))[0] == ("REHY-RAW", "pass")
    short = cooked([FoodClass.GAME], Form.GROUND, 150, "F")
    assert said(rehydrate(True, cook=short))[0] == ("REHY-RAW", "stop")


def test_rehydrated_food_still_at_20_degrees_after_2_h_15_stops():
    # USDA FSIS two-hour rule; Food Code 3-501.14(B).
    assert ("REHY-2H", "stop") in said(rehydrate(False, readings=[(0, 30), (2.25, 20)]))


def test_rehydrated_food_chilled_within_four_hours_passes():
    # Food Code 3-501.14(B).
    assert said(rehydrate(False, readings=[(0, 20), (3.9, 5)])) == [("COOL-AMBIENT", "pass")]
    assert ("COOL-AMBIENT", "stop") in said(rehydrate(False, readings=[(0, 20), (4.2, 5)]))


def test_without_a_reading_the_two_hours_are_told():
    assert said(rehydrate(False)) == [("REHY-2H", "note")]
    assert said(rehydrate(False, readings=[(1.0, None)])) == [("COOL-UNPROVEN", "confirm")]


@pytest.mark.parametrize(("in_fridge", "asked"), [(True, False), (False, True), (None, True)])
def test_long_soaks_belong_in_the_fridge(in_fridge, asked):
    verdicts = rehydrate(False, soak_hours=3.0, soaked_in_fridge=in_fridge)
    assert (("REHY-2H", "confirm") in said(verdicts)) is asked


def test_rehydrated_food_is_not_dried_again():
    # Our judgement.
    verdicts = rehydrate(False, dried_or_sealed_again=True)
    assert ("REHY-REDRY", "confirm") in said(verdicts)
