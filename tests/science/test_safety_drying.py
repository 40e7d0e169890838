"""Drying and sharing a load: drying does not cook."""

from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.science.classes import FoodClass
from app.science.errors import OutOfRange
from app.science.safety.drying import (
    DryerKind,
    claims_cooked_by_drying,
    dried_meat,
    dried_produce,
    dryer_load,
    trichina_in_pork,
)
from app.science.safety.low_oxygen import Kept
from app.science.safety.rule import Outcome, allows

AIR, FREEZE = DryerKind.AIR, DryerKind.FREEZE


def said(verdicts):
    return [(v.id, v.outcome.value) for v in verdicts]


def strips(food=FoodClass.GAME, **known):
    return dried_meat([food], AIR, was_cooked=False, **({"water_activity": 0.7} | known))


def test_strips_steamed_to_160_then_dried_at_135_pass():
    # USDA FSIS, Jerky and Food Safety.
    verdicts = strips(centre_before=160, unit="F", by_wet_heat=True, dryer_air_c=57.2)
    assert said(verdicts) == [("JERKY-HEAT", "pass"), ("FD-RAW", "note"), ("JERKY-AW", "pass")]


def test_eight_hours_of_dry_air_at_145_stop():
    # USDA FSIS, Jerky and Food Safety.
    verdicts = strips(dryer_air_c=62.8)
    assert said(verdicts)[0] == ("JERKY-HEAT", "stop")
    assert "steam or simmer" in verdicts[0].sentence
    assert said(strips(centre_before=165, unit="F"))[0] == ("JERKY-HEAT", "stop")


@pytest.mark.parametrize("missing", [None, nan])
def test_no_reading_is_not_heated(missing):
    assert said(strips(centre_before=missing, by_wet_heat=True))[0] == ("JERKY-HEAT", "stop")


def test_the_oven_afterwards_is_second_best_for_beef_and_venison_alone():
    # University of Minnesota quoting Wisconsin: 275 °F for 10 min.
    assert said(strips(oven_after=True))[0] == ("JERKY-HEAT", "confirm")
    assert said(strips(FoodClass.POULTRY, oven_after=True))[0] == ("JERKY-HEAT", "stop")
    assert said(strips(FoodClass.WILD_MEAT_EATER, oven_after=True))[0] == ("JERKY-HEAT", "stop")


def test_poultry_strips_need_165():
    # USDA FSIS, Jerky and Food Safety.
    known = {"unit": "F", "by_wet_heat": True}
    assert said(strips(FoodClass.POULTRY, centre_before=164, **known))[0][1] == "stop"
    assert said(strips(FoodClass.POULTRY, centre_before=165, **known))[0][1] == "pass"


def test_cougar_strips_at_160_stop():
    # MMWR 73(20) 2024; Idaho 1995, cougar jerky.
    verdicts = strips(FoodClass.WILD_MEAT_EATER, centre_before=160, unit="F", by_wet_heat=True)
    assert ("JERKY-HEAT", "stop") in said(verdicts)
    assert ("TRICH-WILD", "stop") in said(verdicts)


def test_jerky_of_0_88_is_not_for_the_shelf():
    # USDA FSIS, compliance guideline 2004; 0.85.
    assert said(strips(water_activity=0.88))[-1] == ("JERKY-AW", "stop")
    assert said(strips(water_activity=None))[-1] == ("JERKY-AW", "stop")
    assert said(strips(water_activity=None, kept=Kept.FRIDGE))[-1] == ("JERKY-AW", "confirm")
    with pytest.raises(OutOfRange):
        strips(water_activity=88)


def test_moisture_to_protein_is_a_name_and_no_test():
    # USDA FSIS, compliance guideline 2004.
    verdicts = strips(moisture_protein_ratio=0.75)
    assert said(verdicts)[-1] == ("JERKY-MPR", "note")
    assert not allows(verdicts)


def test_cool_dryer_air_is_noted():
    # USDA FSIS: 130 to 140 °F.
    known = {"centre_before": 72, "unit": "C", "by_wet_heat": True, "dryer_air_c": 45.0}
    assert ("JERKY-HEAT", "note") in said(strips(**known))


def test_a_centre_typed_in_the_wrong_unit_is_asked():
    assert said(strips(centre_before=160, unit="C", by_wet_heat=True)) == [("UNIT-ASK", "ask")]


def test_raw_elk_from_the_freeze_dryer_is_still_raw():
    # Kansas State University 2021.
    assert said(dried_meat([FoodClass.GAME], FREEZE, was_cooked=False)) == [("FD-RAW", "note")]
    assert dried_meat([FoodClass.GAME], FREEZE, was_cooked=True) == ()
    assert said(claims_cooked_by_drying()) == [("FD-RAW", "stop")]


@given(
    st.sampled_from([food for food in FoodClass if food.is_animal]),
    st.sampled_from(list(DryerKind)),
    st.one_of(st.none(), st.floats()),
    st.booleans(),
    st.booleans(),
)
def test_no_drying_says_anything_that_clears_raw(food, dryer, centre, wet, oven):
    verdicts = dried_meat(
        [food], dryer, was_cooked=False, centre_before=centre, by_wet_heat=wet, oven_after=oven
    )
    marks = {"FD-RAW", "UNIT-ASK"} & {v.id for v in verdicts}
    assert marks
    assert not any(v.id.startswith("COOK-") for v in verdicts)


def test_raw_strawberries_are_washed_not_cleaned_by_drying():
    # Journal of Food Protection 2021.
    assert said(dried_produce(FoodClass.FRUIT)) == [("FD-PRODUCE", "note")]
    assert dried_produce(FoodClass.GAME) == ()


def test_raw_elk_and_peas_in_one_load_make_the_peas_raw():
    # MMWR 73(20) 2024: two of six ate only the vegetables.
    verdicts, raw = dryer_load({"K7M2": True, "9Q2X": False})
    assert said(verdicts) == [("RAW-SEPARATE", "confirm")]
    assert raw == {"K7M2", "9Q2X"}
    assert "9Q2X" in verdicts[0].sentence


def test_an_unknown_mark_counts_as_raw():
    assert dryer_load({"a": None, "b": False})[1] == {"a", "b"}


def test_loads_of_one_kind_and_clean_machines_say_nothing():
    assert dryer_load({"a": False, "b": False}) == ((), frozenset())
    assert dryer_load({"a": True, "b": True}) == ((), frozenset({"a", "b"}))
    assert dryer_load({"a": True, "b": False}, clean_down=True) == ((), frozenset({"a"}))


@given(st.dictionaries(st.text(max_size=3), st.sampled_from([True, False, None])), st.booleans())
def test_no_load_ever_loses_a_raw_mark(marks, clean):
    _, raw = dryer_load(marks, clean_down=clean)
    assert {code for code, mark in marks.items() if mark is not False} <= raw <= set(marks)


@pytest.mark.parametrize(
    ("thickness_m", "words"), [(0.10, "Met the former"), (0.25, "asks 30 days")]
)
def test_farmed_pork_at_minus_15_for_20_days(thickness_m, words):
    # Former 9 CFR 318.10.
    verdicts = trichina_in_pork(-15.0, 20.0, thickness_m)
    assert said(verdicts) == [("TRICH-PORK", "note")]
    assert words in verdicts[0].sentence
    assert "stays RAW" in verdicts[0].sentence


def test_a_freezer_above_minus_15_never_met_the_former_rule():
    assert "Not cold enough" in trichina_in_pork(-14.0, 400.0, 0.05)[0].sentence


@pytest.mark.parametrize("bad", [(nan, 20, 0.1), (-15, -1, 0.1), (-15, 20, 0.8), (5, nan, 0.1)])
def test_the_former_table_is_not_stretched(bad):
    with pytest.raises(OutOfRange):
        trichina_in_pork(*bad)


def test_outcomes_are_never_passes_for_raw_strips_without_evidence():
    assert Outcome.PASS not in {v.outcome for v in strips(water_activity=None)}
