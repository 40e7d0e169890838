"""Cooking: no reading, no wrong unit and no half measure ever takes RAW away."""

from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.science.classes import FoodClass, Form
from app.science.errors import Impossible, OutOfRange
from app.science.safety.cooking import clears_raw, cook_target, cooked
from app.science.safety.cooking_rules import colour_note, thermometer
from app.science.safety.cooking_time import cooked_by_time, time_temperature_score
from app.science.safety.readings import Reading, unit_ask
from app.science.safety.rule import Outcome, RuleSet

ANIMAL = [food for food in FoodClass if food.is_animal]


def said(verdicts):
    return [(v.id, v.outcome.value) for v in verdicts]


def test_ground_venison_at_160_passes_with_the_commercial_note():
    # Game from Farm to Table, USDA FSIS; Food Code 3-401.11 (165 °F).
    verdicts = cooked([FoodClass.GAME], Form.GROUND, 160, "F")
    assert said(verdicts) == [("COOK-FORM", "pass"), ("COOK-GAME-STRICT", "note")]
    assert clears_raw(verdicts)


def test_ground_venison_at_159_stays_raw():
    # Game from Farm to Table, USDA FSIS.
    verdicts = cooked([FoodClass.GAME], Form.GROUND, 159, "F")
    assert said(verdicts) == [("COOK-FORM", "stop"), ("COOK-PARTIAL", "confirm")]
    assert "159 °F" in verdicts[0].sentence
    assert "160 °F (71.1 °C)" in verdicts[0].sentence
    assert not clears_raw(verdicts)


def test_game_at_165_needs_no_note():
    # Food Code 3-401.11.
    assert said(cooked([FoodClass.GAME], Form.GROUND, 165, "F")) == [("COOK-FORM", "pass")]


@pytest.mark.parametrize(("rest", "outcome"), [(3, "pass"), (2, "stop")])
def test_a_pork_chop_at_145_needs_its_three_minutes(rest, outcome):
    # Safe Minimum Internal Temperature Chart, USDA FSIS.
    assert said(cooked([FoodClass.PORK], Form.WHOLE, 145, "F", rest))[0][1] == outcome


def test_a_chop_as_hot_as_ground_meat_needs_no_rest():
    # Our judgement, from the ground-meat row of the same chart.
    assert said(cooked([FoodClass.PORK], Form.WHOLE, 160, "F"))[0][1] == "pass"
    assert said(cooked([FoodClass.PORK], Form.WHOLE, 159, "F"))[0][1] == "stop"


def test_a_chicken_thigh_at_160_is_not_saved_by_ten_minutes():
    # Safe Minimum Internal Temperature Chart, USDA FSIS.
    assert said(cooked([FoodClass.POULTRY], Form.PIECES, 160, "F", 10))[0][1] == "stop"


def test_brown_right_through_is_no_reading():
    # Lyon and others, Journal of Food Protection 63:1389 (2000).
    assert said(colour_note("brown right through")) == [("COOK-COLOUR", "note")]
    assert colour_note("simmered two hours") == ()
    assert said(cooked([FoodClass.RED_MEAT], Form.GROUND, None, "F")) == [("COOK-NOREAD", "stop")]


def test_sausage_of_elk_and_turkey_needs_the_turkeys_target():
    # Safe Minimum Internal Temperature Chart, USDA FSIS; the highest wins (our judgement).
    verdicts = cooked([FoodClass.GAME, FoodClass.POULTRY], Form.GROUND, 162, "F")
    assert said(verdicts)[0] == ("COOK-MIXED", "stop")
    assert "165 °F" in verdicts[0].sentence
    assert clears_raw(cooked([FoodClass.GAME, FoodClass.POULTRY], Form.GROUND, 165, "F"))


@pytest.mark.parametrize("missing", [None, nan, inf, -inf])
@pytest.mark.parametrize("food", ANIMAL)
def test_no_reading_never_clears_raw(food, missing):
    for rule_set in RuleSet:
        verdicts = cooked([food], Form.GROUND, missing, "C", 60.0, rule_set)
        assert not clears_raw(verdicts)
        assert verdicts
        assert Outcome.PASS not in {v.outcome for v in verdicts}


def test_patties_at_55_degrees_are_finished_at_once():
    # Our judgement.
    verdicts = cooked([FoodClass.RED_MEAT], Form.GROUND, 55, "C")
    assert said(verdicts) == [("COOK-FORM", "stop"), ("COOK-PARTIAL", "confirm")]


def test_160_degrees_celsius_is_asked_and_stands_when_insisted():
    # Our judgement.
    verdicts = cooked([FoodClass.RED_MEAT], Form.GROUND, 160, "C")
    assert said(verdicts) == [("UNIT-ASK", "ask")]
    assert "160 °F" in verdicts[0].sentence
    assert not clears_raw(verdicts)
    assert clears_raw(cooked([FoodClass.RED_MEAT], Form.GROUND, 160, "C", insisted=True))


def test_71_degrees_fahrenheit_is_asked():
    verdicts = cooked([FoodClass.RED_MEAT], Form.GROUND, 71, "F")
    assert said(verdicts) == [("UNIT-ASK", "ask")]
    assert "71 °C" in verdicts[0].sentence


def test_a_freezer_at_0_degrees_is_asked_for_fahrenheit():
    assert "0 °F (-17.8 °C)" in unit_ask(Reading.FREEZER, 0, "C").sentence


def test_an_odd_reading_that_fits_no_unit_is_read_again():
    assert "read it again" in unit_ask(Reading.COOK_CENTRE, 25, "C").sentence
    assert unit_ask(Reading.COOK_CENTRE, nan, "C") is None
    assert unit_ask(Reading.FRIDGE, 40, "F") is None


def test_71_degrees_celsius_is_not_160_fahrenheit_but_canada_prints_71():
    # 71 °C = 159.8 °F; Health Canada prints 71 °C, the US chart 160 °F (71.1 °C).
    assert said(cooked([FoodClass.RED_MEAT], Form.GROUND, 71, "C"))[0][1] == "stop"
    assert said(cooked([FoodClass.RED_MEAT], Form.GROUND, 71.1, "C"))[0][1] == "pass"
    canada = cooked([FoodClass.RED_MEAT], Form.GROUND, 71, "C", rule_set=RuleSet.CA)
    assert said(canada)[0][1] == "pass"


def test_canada_asks_more_of_game():
    # Health Canada, Safe cooking temperatures.
    elk = cooked([FoodClass.GAME], Form.WHOLE, 72, "C", rule_set=RuleSet.CA)
    grouse = cooked([FoodClass.GAME_BIRD], Form.WHOLE, 80, "C", rule_set=RuleSet.CA)
    assert said(elk)[0][1] == said(grouse)[0][1] == "stop"
    assert "74 °C" in elk[0].sentence
    assert "82 °C" in grouse[0].sentence


def test_feral_hog_at_162_stays_raw_and_names_the_worm():
    # MMWR 73(20), CDC 2024.
    verdicts = cooked([FoodClass.WILD_MEAT_EATER], Form.WHOLE, 162, "F")
    assert said(verdicts)[:2] == [("COOK-FORM", "stop"), ("TRICH-WILD", "stop")]


@pytest.mark.parametrize("rule_set", RuleSet)
def test_wild_meat_eaters_need_165_everywhere(rule_set):
    assert cook_target([FoodClass.WILD_MEAT_EATER], Form.GROUND, rule_set).temp_f == 165
    assert not clears_raw(cooked([FoodClass.WILD_MEAT_EATER], Form.GROUND, 73, "C", 30, rule_set))


def test_shellfish_have_no_number_and_a_look_is_confirmed():
    # Safe Minimum Cooking Temperatures chart, FoodSafety.gov.
    verdicts = cooked([FoodClass.SHELLFISH], Form.WHOLE, None, "F")
    assert said(verdicts) == [("COOK-FORM", "confirm")]
    assert "shells open" in verdicts[0].sentence
    assert not clears_raw(verdicts)
    assert clears_raw(verdicts, {"COOK-FORM"})


def test_shellfish_in_a_fish_stew_still_need_the_fish_reading():
    # The fish row of the same chart.
    assert cook_target([FoodClass.SHELLFISH, FoodClass.FISH_LEAN], Form.WHOLE).temp_f == 145


def test_plants_alone_have_no_target():
    assert cooked([FoodClass.VEGETABLE], Form.PIECES, 20, "C") == ()
    with pytest.raises(Impossible):
        cook_target([FoodClass.FRUIT], Form.WHOLE)


def test_an_unknown_unit_and_a_negative_rest_are_refused():
    with pytest.raises(ValueError, match="neither"):
        cooked([FoodClass.PORK], Form.WHOLE, 160, "K")
    for rest in (-1.0, nan):
        with pytest.raises(OutOfRange):
            cooked([FoodClass.PORK], Form.WHOLE, 160, "F", rest)


@given(
    foods=st.sets(st.sampled_from(ANIMAL), min_size=1),
    more=st.sampled_from(ANIMAL),
    form=st.sampled_from(list(Form)),
    rule_set=st.sampled_from(list(RuleSet)),
)
def test_one_more_ingredient_never_lowers_the_target(foods, more, form, rule_set):
    before, after = cook_target(foods, form, rule_set), cook_target({*foods, more}, form, rule_set)
    assert (after.temp_c or 0) >= (before.temp_c or 0)


@given(
    food=st.sampled_from(ANIMAL),
    form=st.sampled_from(list(Form)),
    rule_set=st.sampled_from(list(RuleSet)),
    low=st.floats(40, 105),
    more=st.floats(0, 60),
    rest=st.floats(0, 30),
)
def test_hotter_never_loses_a_pass(food, form, rule_set, low, more, rest):
    high = min(low + more, 105.0)
    if clears_raw(cooked([food], form, low, "C", rest, rule_set)):
        assert clears_raw(cooked([food], form, high, "C", rest, rule_set))


@given(food=st.sampled_from(ANIMAL), temp_c=st.floats(-80, 60), form=st.sampled_from(list(Form)))
def test_nothing_below_60_degrees_ever_cooks(food, temp_c, form):
    for rule_set in RuleSet:
        verdicts = cooked([food], form, temp_c, "C", 600.0, rule_set, insisted=True)
        assert not clears_raw(verdicts)


@pytest.mark.parametrize(("minutes", "outcome"), [(112, "pass"), (111, "stop")])
def test_intact_beef_at_130_needs_its_112_minutes(minutes, outcome):
    # FSIS Appendix A, 1999: 130 °F, 112 min.
    history = [(0.0, 50.0), *((60.0 + min(at, minutes), 130.0) for at in range(0, 116, 5))]
    verdicts = cooked_by_time(
        FoodClass.RED_MEAT, Form.WHOLE, history, is_moist=True, switched_on=True
    )
    assert verdicts[0].outcome.value == outcome
    assert f"{(minutes * 1000 // 112) / 1000:.3f}" in verdicts[0].sentence


def test_a_slow_or_unrecorded_warming_asks_why():
    # Come-up limit from memory: 6 h from 50 to 130 °F.
    hot = [(at / 1.0, 140.0) for at in range(400, 420, 5)]
    for start in ([], [(0.0, 45.0)]):
        verdicts = cooked_by_time(
            FoodClass.PORK, Form.WHOLE, [*start, *hot], is_moist=True, switched_on=True
        )
        assert [v.outcome.value for v in verdicts] == ["pass", "confirm"]


def test_time_and_temperature_clears_nothing_while_it_is_off():
    hot = [(float(at), 157.0) for at in range(30)]
    verdicts = cooked_by_time(FoodClass.RED_MEAT, Form.WHOLE, hot, is_moist=True)
    assert said(verdicts) == [("COOK-TT", "note")]
    assert not clears_raw(verdicts)


@pytest.mark.parametrize(
    ("food", "form", "moist"),
    [
        (FoodClass.POULTRY, Form.WHOLE, True),
        (FoodClass.GAME, Form.WHOLE, True),
        (FoodClass.RED_MEAT, Form.GROUND, True),
        (FoodClass.RED_MEAT, Form.WHOLE, False),
    ],
)
def test_time_and_temperature_is_for_intact_moist_farmed_meat_alone(food, form, moist):
    hot = [(float(at), 157.0) for at in range(30)]
    verdicts = cooked_by_time(food, form, hot, is_moist=moist, switched_on=True)
    assert said(verdicts) == [("COOK-TT", "stop")]


def test_the_colder_of_two_readings_counts():
    assert time_temperature_score([(0, 150.0), (1, 129.0)]) == 0.0
    assert time_temperature_score([(0, 140.0), (3, 150.0)]) == 0.25


def test_gaps_drop_outs_and_backward_clocks_score_nothing():
    assert time_temperature_score([(0, 150.0), (6, 150.0)]) == 0.0
    assert time_temperature_score([(0, 150.0), (1, nan), (2, 150.0), (3, None)]) == 0.0
    assert time_temperature_score([]) == 0.0
    once = [(0, 140.0), (4, 140.0), (8, 140.0)]
    assert time_temperature_score(once + once) == time_temperature_score(once) < 1.0


def test_a_thermometer_not_known_to_be_checked_is_reminded():
    assert thermometer(True) == ()
    assert said(thermometer(None)) == said(thermometer(False)) == [("THERMO", "note")]
