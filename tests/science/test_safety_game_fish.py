"""Wild game and fish."""

from math import nan

import pytest

from app.science.classes import FoodClass
from app.science.errors import OutOfRange
from app.science.safety.fish import FishUse, fish_notes
from app.science.safety.game import CwdStatus, Step, game_notes
from app.science.safety.rule import RuleSet, allows


def said(verdicts):
    return [(v.id, v.outcome.value) for v in verdicts]


def deer(**known):
    return game_notes(FoodClass.GAME, "roe deer", **({"lead_ammunition": False} | known))


def test_a_deer_whose_test_is_awaited_is_not_mixed():
    # CDC, About Chronic Wasting Disease; the hold is ours.
    known = {"cwd_status": CwdStatus.PENDING, "cwd_listed": True}
    for step in (Step.MIX, Step.EAT, Step.GIVE):
        assert ("CWD-HOLD", "stop") in said(deer(step=step, **known))
    assert ("CWD-HOLD", "note") in said(deer(step=Step.APART, **known))
    assert ("CWD-HOLD", "stop") in said(deer(rule_set=RuleSet.UK, **known))


def test_a_negative_test_lifts_the_hold_with_a_note():
    # CDC, About Chronic Wasting Disease.
    verdicts = deer(cwd_status=CwdStatus.NOT_DETECTED)
    assert said(verdicts)[0] == ("CWD-NEG", "note")
    assert "no guarantee" in verdicts[0].sentence
    assert allows(verdicts)


def test_a_positive_test_stops_for_good():
    # CDC, About Chronic Wasting Disease.
    for step in Step:
        verdicts = deer(cwd_status=CwdStatus.POSITIVE, cwd_listed=False, step=step)
        assert said(verdicts)[0] == ("CWD-POS", "stop")


def test_a_listed_place_without_a_test_asks_for_a_reason():
    # CDC; off where the disease is not found.
    known = {"cwd_status": CwdStatus.NOT_PLANNED, "cwd_listed": True}
    assert said(deer(**known))[0] == ("CWD-HOLD", "confirm")
    assert not any(v.id == "CWD-HOLD" for v in deer(rule_set=RuleSet.UK, **known))
    assert ("CWD-HOLD", "confirm") in said(deer(country="NO", rule_set=RuleSet.UK, **known))


def test_a_place_that_is_not_listed_asks_nothing():
    for status in (CwdStatus.UNKNOWN, CwdStatus.NOT_PLANNED):
        verdicts = deer(cwd_listed=False, cwd_status=status)
        assert not any(v.id.startswith("CWD") for v in verdicts)


@pytest.mark.parametrize("known", [{}, {"cwd_listed": True}, {"cwd_status": CwdStatus.NOT_PLANNED}])
def test_an_unknown_place_or_plan_is_asked(known):
    verdicts = deer(**known)
    assert said(verdicts)[0] == ("CWD-HOLD", "ask")
    assert not allows(verdicts, {"CWD-HOLD"})


def test_a_hare_brings_its_note():
    # Utah Division of Wildlife Resources, Tularemia.
    assert ("TULAR", "note") in said(game_notes(FoodClass.GAME, "Hares, two"))
    assert not any(v.id.startswith("CWD") for v in game_notes(FoodClass.GAME, "hare"))


def test_ground_deer_shot_with_lead_for_a_child_asks_why():
    # Minnesota DNR 2008.
    shot = {"lead_ammunition": True, "is_ground_or_near_wound": True}
    assert ("LEAD", "note") in said(deer(**shot))
    child = deer(for_child_or_pregnant=True, **shot)
    assert ("LEAD", "confirm") in said(child)
    unknown = deer(lead_ammunition=None, for_child_or_pregnant=True)
    assert ("LEAD", "confirm") in said(unknown), "nobody knows is not lead-free"
    assert not any(v.id == "LEAD" for v in deer(is_ground_or_near_wound=True))


@pytest.mark.parametrize(
    ("known", "outcome"),
    [
        ({"hours_since_death": 30, "centre_c": 9.0}, "confirm"),
        ({"hours_since_death": 30, "centre_c": 4.0}, "note"),
        ({"hours_since_death": 30}, "confirm"),
        ({"hours_since_death": 30, "centre_c": nan}, "confirm"),
        ({"hours_since_death": 5, "air_c": 12.0}, "confirm"),
        ({"hours_since_death": 5, "air_c": 12.0, "is_skinned": True}, "note"),
        ({}, "note"),
    ],
)
def test_a_carcass_is_cooled_soon(known, outcome):
    # Pennsylvania State University 2022: 40 °F (4.4 °C) as soon as possible.
    assert ("FIELD-COOL", outcome) in said(deer(cwd_listed=False, **known))


def test_found_dead_is_not_eaten():
    # CDC.
    assert said(deer(was_sick=True))[0] == ("GAME-SICK", "stop")


def test_feral_hog_at_intake():
    # CDC, Brucellosis: hunters; MMWR 73(20) 2024.
    hog = said(game_notes(FoodClass.WILD_MEAT_EATER, "feral hog", lead_ammunition=False))
    assert ("BRUC", "note") in hog
    assert ("TRICH-WILD", "note") in hog


def test_ducks_given_away_are_noted_and_not_stopped():
    # 50 CFR 20.40.
    ducks = game_notes(FoodClass.GAME_BIRD, "ducks", step=Step.GIVE, lead_ammunition=False)
    assert ("GAME-LAW", "note") in said(ducks)
    assert allows(ducks)


def test_farmed_lamb_has_no_game_notes():
    assert game_notes(FoodClass.RED_MEAT, "lamb", was_sick=True) == ()


def test_species_are_whole_words():
    assert not any(v.id == "TULAR" for v in game_notes(FoodClass.GAME, "shared antelope"))


def raw_fish(species="salmon", **known):
    given = {"use": FishUse.RAW, "thickness_m": 0.05} | known
    return fish_notes(FoodClass.FISH_FATTY, species, **given)


def test_a_month_in_a_home_freezer_does_not_make_salmon_safe_raw():
    # Food Code 3-402.11.
    verdicts = raw_fish(frozen_c=-18.0, frozen_hours=30 * 24.0)
    assert said(verdicts) == [("FISH-PARA", "stop")]
    assert "-18" in verdicts[0].sentence or "−18" in verdicts[0].sentence


@pytest.mark.parametrize(
    "known", [{}, {"frozen_c": -25.0}, {"frozen_hours": 200.0}, {"frozen_c": nan}]
)
@pytest.mark.parametrize("use", [use for use in FishUse if use is not FishUse.COOKED])
def test_unknown_freezing_stops_every_raw_use(use, known):
    assert said(raw_fish(**(known | {"use": use}))) == [("FISH-PARA", "stop")]


def test_thick_fish_is_outside_the_rule_and_unknown_thickness_is_asked():
    # FDA, Fish and Fishery Products Hazards: not over 6 inches.
    cold = {"frozen_c": -21.0, "frozen_hours": 170.0}
    assert said(raw_fish(**cold))[0][1] == "pass"
    assert said(raw_fish(**(cold | {"thickness_m": 0.2})))[0][1] == "stop"
    assert said(raw_fish(**(cold | {"thickness_m": None})))[0][1] == "confirm"


def test_exempt_fish_are_noted():
    # Food Code 3-402.11: listed tunas, pellet-fed farmed fish.
    assert said(raw_fish("yellowfin tuna"))[0][1] == "note"
    assert said(raw_fish("trout", is_pellet_fed=True))[0][1] == "note"
    assert said(raw_fish("tuna"))[0][1] == "stop"


def test_the_british_row_is_a_day_at_minus_20():
    # Regulation (EC) 853/2004.
    cold = {"frozen_c": -20.0, "frozen_hours": 24.0}
    assert said(raw_fish(rule_set=RuleSet.UK, **cold))[0][1] == "pass"
    assert said(raw_fish(**cold))[0][1] == "stop"


def test_cooked_fish_that_stayed_cold_has_no_notes():
    assert fish_notes(FoodClass.FISH_LEAN, "cod") == ()
    assert fish_notes(FoodClass.RED_MEAT, "lamb", use=FishUse.RAW) == ()


def test_mackerel_three_hours_warm_is_not_saved_by_cooking():
    # FDA CPG 540.525, 2024.
    verdicts = fish_notes(FoodClass.FISH_FATTY, "Mackerel", outings=[(3.0, 25.0)])
    assert said(verdicts) == [("FISH-HIST", "stop")]
    assert fish_notes(FoodClass.FISH_FATTY, "trout", outings=[(3.0, 25.0)]) == ()
    assert fish_notes(FoodClass.FISH_FATTY, "mackerel", outings=[(1.0, 25.0)]) == ()
    with pytest.raises(OutOfRange):
        fish_notes(FoodClass.FISH_FATTY, "mackerel", outings=[(nan, 25.0)])
