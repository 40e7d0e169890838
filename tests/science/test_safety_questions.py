"""The form of intake asks what a rule looks at, and nothing else."""

import pytest

from app.science.classes import FoodClass
from app.science.safety.fish import FishUse, fish_notes
from app.science.safety.game import CwdStatus, Step, asks_for_wasting, game_notes
from app.science.safety.intake_questions import GameQuestion, questions_for
from app.science.safety.rule import RuleSet

Q = GameQuestion
SPECIES = [
    (FoodClass.GAME, "moose"),
    (FoodClass.GAME, "Roe deer, doe"),
    (FoodClass.GAME, "hare"),
    (FoodClass.GAME_BIRD, "mallard"),
    (FoodClass.WILD_MEAT_EATER, "wild boar"),
    (FoodClass.WILD_MEAT_EATER, "bear"),
    (FoodClass.FISH_LEAN, "pond perch"),
    (FoodClass.FISH_FATTY, "trout"),
    (FoodClass.FISH_FATTY, "mackerel"),
    (FoodClass.RED_MEAT, "lamb"),
    (FoodClass.SHELLFISH, "crayfish"),
    (FoodClass.VEGETABLE, "beans"),
]
#: For each question, two answers that a rule would tell apart if it looked.
GAME_ANSWERS = {
    Q.CWD_LISTED: ({"cwd_listed": True}, {"cwd_listed": False}),
    Q.AMMUNITION: (
        {"lead_ammunition": None, "is_ground_or_near_wound": True},
        {"lead_ammunition": False, "is_ground_or_near_wound": True},
    ),
    Q.LOOKED_SICK: ({"was_sick": True}, {"was_sick": False}),
    Q.HOURS_TO_COLD: ({"hours_since_death": 30.0}, {"hours_since_death": 3.0}),
    Q.CENTRE_TEMP: (
        {"hours_since_death": 30.0, "centre_c": 9.0},
        {"hours_since_death": 30.0, "centre_c": 4.0},
    ),
    Q.AIR_TEMP: (
        {"hours_since_death": 3.0, "air_c": 12.0},
        {"hours_since_death": 3.0, "air_c": 2.0},
    ),
    Q.HIDE_ON: (
        {"hours_since_death": 3.0, "air_c": 12.0, "is_skinned": False},
        {"hours_since_death": 3.0, "air_c": 12.0, "is_skinned": True},
    ),
}
FROZEN = {"frozen_c": -21.0, "frozen_hours": 200.0, "thickness_m": 0.03}
FISH_ANSWERS = {
    Q.FISH_RAW_USE: ({"use": FishUse.RAW}, {"use": FishUse.COOKED}),
    Q.FISH_WILD: (
        {"use": FishUse.RAW, "is_pellet_fed": False},
        {"use": FishUse.RAW, "is_pellet_fed": True},
    ),
    Q.FISH_FREEZING: ({"use": FishUse.RAW}, {"use": FishUse.RAW} | FROZEN),
    Q.FISH_TEMP: ({"outings": [(3.0, 20.0)]}, {"outings": ()}),
}


def said(verdicts):
    return [(v.id, v.outcome.value, v.sentence) for v in verdicts]


@pytest.mark.parametrize(("food", "species"), SPECIES)
@pytest.mark.parametrize("rule_set", RuleSet)
def test_a_question_is_asked_exactly_where_its_answer_changes_what_is_said(food, species, rule_set):
    asked = questions_for(food, species, rule_set)
    for question, answers in (GAME_ANSWERS | FISH_ANSWERS).items():
        notes = game_notes if question in GAME_ANSWERS else fish_notes
        one, other = (said(notes(food, species, rule_set=rule_set, **known)) for known in answers)
        assert (one != other) is (question in asked), question


@pytest.mark.parametrize("species", ["moose", "roe deer", "elk", "caribou"])
def test_deer_are_asked_about_their_test_where_the_disease_is_found(species):
    # CDC, About Chronic Wasting Disease: US, Canada, Norway, Finland, Sweden, South Korea.
    for country in ("US", "CA", "NO", "FI", "SE", "KR"):
        assert Q.CWD_TEST in questions_for(FoodClass.GAME, species, RuleSet.UK, country)
        assert asks_for_wasting(species, RuleSet.UK, country)
    for rule_set in (RuleSet.UK, RuleSet.AU):
        assert Q.CWD_TEST not in questions_for(FoodClass.GAME, species, rule_set)
    found = {
        said(game_notes(FoodClass.GAME, species, cwd_listed=True, cwd_status=status))[0]
        for status in CwdStatus
    }
    assert len(found) >= 4, "the answers are told apart"


def test_what_it_was_shot_with_has_three_answers():
    # Minnesota DNR 2008: lead; nobody knows is not lead-free.
    def lead(ammunition, **more):
        known = {"lead_ammunition": ammunition, "step": Step.EAT, "cwd_listed": False} | more
        return [v.outcome.value for v in game_notes(FoodClass.GAME, "deer", **known)
                if v.id == "LEAD"]  # fmt: skip

    ground = {"is_ground_or_near_wound": True}
    assert (lead(True, **ground), lead(None, **ground), lead(False, **ground)) == (
        ["note"], ["note"], []
    )  # fmt: skip
    child = {"for_child_or_pregnant": True}
    assert (lead(True, **child), lead(None, **child), lead(False, **child)) == (
        ["confirm"], ["confirm"], []
    )  # fmt: skip


def test_farmed_food_and_plants_are_asked_nothing():
    for food in (FoodClass.RED_MEAT, FoodClass.PORK, FoodClass.POULTRY, FoodClass.FRUIT):
        assert questions_for(food, "deer") == frozenset()
