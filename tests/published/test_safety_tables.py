"""The published safety tables, row by row, typed again from the publications named here."""

import pytest

from app.science.classes import FoodClass, Form
from app.science.safety.cooking import COOK_TABLE, cook_target, cooked
from app.science.safety.cooking_time import HOLD_SECONDS, time_temperature_score
from app.science.safety.cooling import cooled
from app.science.safety.drying import TRICHINA_CENTRE, trichina_at_centre, trichina_in_pork
from app.science.safety.fish import FishUse, fish_notes
from app.science.safety.holding import exposure
from app.science.safety.outage import (
    FREEZER_TABLE,
    FRIDGE_TABLE,
    Fate,
    outage_freezer,
    outage_fridge,
)
from app.science.safety.readings import to_celsius
from app.science.safety.rule import Outcome, RuleSet
from tests.published.row import Published

F, W = FoodClass, Form
FSIS = "Safe Minimum Internal Temperature Chart, USDA FSIS, 2012"
GAME = "Game from Farm to Table, USDA FSIS, rev. 2011"
MMWR = "Morbidity and Mortality Weekly Report 73(20), CDC, 2024"
CANADA = "Safe cooking temperatures, Health Canada, 2012 and 2024"
PRINTED = "a limit is printed exactly"


def _row(expected: float, source: str, where: str) -> Published:
    return Published(expected, 0.0, source, where, PRINTED)


US_CHART = [
    (F.RED_MEAT, W.WHOLE, 3.0, _row(145, FSIS, "beef, veal, lamb steaks, chops, roasts")),
    (F.PORK, W.WHOLE, 3.0, _row(145, FSIS, "pork steaks, chops, roasts")),
    (F.RED_MEAT, W.GROUND, 0.0, _row(160, FSIS, "ground meats")),
    (F.PORK, W.GROUND, 0.0, _row(160, FSIS, "ground meats")),
    (F.POULTRY, W.WHOLE, 0.0, _row(165, FSIS, "all poultry, whole bird")),
    (F.POULTRY, W.PIECES, 0.0, _row(165, FSIS, "all poultry, parts")),
    (F.POULTRY, W.GROUND, 0.0, _row(165, FSIS, "ground poultry")),
    (F.EGG, W.GROUND, 0.0, _row(160, FSIS, "egg dishes")),
    (F.FISH_LEAN, W.WHOLE, 0.0, _row(145, "chart, FoodSafety.gov", "fish with fins")),
    (F.FISH_FATTY, W.PIECES, 0.0, _row(145, "chart, FoodSafety.gov", "fish with fins")),
    (F.DISH, W.LIQUID, 0.0, _row(165, FSIS, "leftovers, casseroles")),
    (F.GAME, W.GROUND, 0.0, _row(160, GAME, "ground game")),
    (F.GAME, W.WHOLE, 0.0, _row(160, GAME, "other cuts of game")),
    (F.GAME_BIRD, W.WHOLE, 0.0, _row(165, GAME, "game birds")),
    (F.WILD_MEAT_EATER, W.WHOLE, 0.0, _row(165, MMWR, "bear and other meat-eaters")),
]

#: Rows that no class of ours stands for; the page prints them.
PRINTED_ONLY = [
    ("ham, fresh or smoked, uncooked", 3.0, _row(145, FSIS, "ham, fresh or smoked")),
    (
        "fully cooked ham reheated, packed by an inspected plant",
        0.0,
        _row(140, FSIS, "fully cooked ham, packaged in inspected plants"),
    ),
    ("fully cooked ham reheated, any other", 0.0, _row(165, FSIS, "all other cooked ham")),
    ("stuffing", 0.0, _row(165, FSIS, "stuffing")),
]
#: FoodSafety.gov, Safe Minimum Cooking Temperatures, and Leftovers: what is looked for.
LOOKED_FOR = [
    ("shellfish", "opaque"),
    ("shellfish", "shells open"),
    ("eggs in the shell", "yolk and white firm"),
    ("fish", "falls apart under a fork"),
    ("soups, sauces and gravies reheated", "rolling boil"),
]


@pytest.mark.parametrize(("label", "hold", "row"), PRINTED_ONLY)
def test_every_row_without_a_class_of_ours_is_printed(label, hold, row):
    (found,) = [target for target in COOK_TABLE if target.label == label]
    assert row.agrees(found.temp_f)
    assert found.hold_minutes == hold


@pytest.mark.parametrize(("label", "words"), LOOKED_FOR)
def test_every_observation_of_the_chart_is_told(label, words):
    assert any(words in row.observation for row in COOK_TABLE if row.label == label)


def test_eggs_in_the_shell_are_looked_at():
    # Safe Minimum Cooking Temperatures, FoodSafety.gov: until yolk and white are firm.
    assert cooked([F.EGG], W.WHOLE, None, "F")[0].outcome is Outcome.CONFIRM


def test_australia_has_no_table_of_its_own_and_takes_the_us_rows():
    for food, form, _, row in US_CHART:
        assert row.agrees(cook_target([food], form, RuleSet.AU).temp_f)


CANADA_CHART = [
    (F.RED_MEAT, W.WHOLE, _row(63, CANADA, "beef, veal, lamb, medium-rare")),
    (F.RED_MEAT, W.GROUND, _row(71, CANADA, "ground meat")),
    (F.PORK, W.GROUND, _row(71, CANADA, "ground pork")),
    (F.PORK, W.WHOLE, _row(71, CANADA, "pork, whole cuts")),
    (F.POULTRY, W.PIECES, _row(74, CANADA, "poultry pieces")),
    (F.POULTRY, W.WHOLE, _row(82, CANADA, "whole poultry (copies of 2012: 85)")),
    (F.FISH_FATTY, W.WHOLE, _row(70, CANADA, "fish")),
    (F.SHELLFISH, W.WHOLE, _row(74, CANADA, "shellfish")),
    (F.EGG, W.GROUND, _row(74, CANADA, "egg dishes")),
    (F.DISH, W.PIECES, _row(74, CANADA, "leftovers")),
    (F.GAME, W.WHOLE, _row(74, CANADA, "game: chops, steaks, roasts")),
    (F.GAME, W.GROUND, _row(74, CANADA, "game: ground")),
    (F.GAME_BIRD, W.WHOLE, _row(82, CANADA, "game birds, whole")),
    (F.GAME_BIRD, W.PIECES, _row(74, CANADA, "game birds: breasts, thighs, wings")),
    (F.WILD_MEAT_EATER, W.WHOLE, _row(74, CANADA, "large game: bear, walrus")),
]


@pytest.mark.parametrize(("food", "form", "hold", "row"), US_CHART)
def test_every_row_of_the_us_charts_is_the_target(food, form, hold, row):
    target = cook_target([food], form)
    assert row.agrees(target.temp_f)
    assert target.hold_minutes == hold
    assert cooked([food], form, row.expected, "F", hold)[0].outcome is Outcome.PASS
    assert cooked([food], form, row.expected - 1, "F", 60.0)[0].outcome is Outcome.STOP


@pytest.mark.parametrize(("food", "form", "row"), CANADA_CHART)
def test_every_row_of_the_canadian_chart_is_the_target(food, form, row):
    assert row.agrees(cook_target([food], form, RuleSet.CA).temp_c)
    verdicts = cooked([food], form, row.expected, "C", rule_set=RuleSet.CA)
    assert verdicts[0].outcome is Outcome.PASS
    below = cooked([food], form, row.expected - 1, "C", rule_set=RuleSet.CA)
    assert below[0].outcome is Outcome.STOP


# Food Standards Agency (UK), Cooking your food, copies: 70 °C 2 min, 75 °C 30 s, 80 °C 6 s.
@pytest.mark.parametrize(("temp", "minutes"), [(70, 2), (75, 0.5), (80, 0.1)])
def test_every_british_row_from_70_degrees_cooks(temp, minutes):
    verdicts = cooked([F.POULTRY], W.WHOLE, temp, "C", minutes, RuleSet.UK)
    assert verdicts[0].outcome is Outcome.PASS


@pytest.mark.parametrize(("temp", "minutes"), [(70, 1.9), (75, 0.4), (69, 10), (65, 14), (60, 93)])
def test_no_british_row_is_cut_short_and_none_below_70_degrees_is_used(temp, minutes):
    verdicts = cooked([F.RED_MEAT], W.GROUND, temp, "C", minutes, RuleSet.UK)
    assert verdicts[0].outcome is Outcome.STOP


@pytest.mark.parametrize("row", [row for row in COOK_TABLE if row.temp_f is not None])
def test_both_printed_units_of_a_target_are_the_same_temperature(row):
    # Whole degrees Celsius are printed rounded, by up to 0.6 K (71 for 160 °F, 82 for 180 °F).
    assert to_celsius(row.temp_f, "F") == pytest.approx(row.temp_c, abs=0.6)


# FSIS, Compliance Guidelines for Meeting Lethality Performance Standards, Appendix A, 1999,
# column of 6.5 log, typed from a copy of the guideline.
APPENDIX_A = """130 112 min;131 89 min;132 71 min;133 56 min;134 45 min;135 36 min;136 28 min;
137 23 min;138 18 min;139 15 min;140 12 min;141 9 min;142 8 min;143 6 min;144 5 min;145 4 min;
146 169 sec;147 134 sec;148 107 sec;149 85 sec;150 67 sec;151 54 sec;152 43 sec;153 34 sec;
154 27 sec;155 22 sec;156 17 sec;157 14 sec"""


@pytest.mark.parametrize("line", APPENDIX_A.replace("\n", "").split(";"))
def test_every_row_of_appendix_a_scores_one_at_its_own_time_and_less_before(line):
    temp_f, hold, unit = line.split()
    minutes = float(hold) * (1.0 if unit == "min" else 1 / 60)
    steps = [min(minutes, 5.0 * step) for step in range(int(minutes // 5) + 2)]
    assert time_temperature_score([(at, float(temp_f)) for at in steps]) == pytest.approx(1.0)
    short = [(at * 0.99, float(temp_f)) for at in steps]
    assert time_temperature_score(short) < 1.0
    assert len(HOLD_SECONDS) == 28


# Food Code 3-401.11, copies: comminuted meat 155 °F 17 s, 150 °F 1 min, 145 °F 3 min.
@pytest.mark.parametrize(("temp_f", "seconds"), [(155, 17), (150, 60), (145, 180)])
def test_appendix_a_never_asks_less_than_the_food_code(temp_f, seconds):
    assert HOLD_SECONDS[temp_f] >= seconds


def test_above_157_degrees_the_row_of_157_counts():
    # Appendix A prints 0 s from 158 °F; counting 14 s is our judgement.
    assert time_temperature_score([(0, 160.0), (14 / 60, 160.0)]) == pytest.approx(1.0)


# Food Code 3-501.14 as in 16 Del. Admin. Code and Minn. Rules 4626.0385: 57 to 21 °C within 2 h,
# to 5 °C within a total of 6 h; from room temperature within 4 h. FSANZ Standard 3.2.2: 60 to
# 21 °C in 2 h and to 5 °C in 4 h more.
@pytest.mark.parametrize(
    ("readings", "ambient", "rule_set", "outcome"),
    [
        ([(0, 57), (2, 21), (6, 5)], False, RuleSet.US, Outcome.PASS),
        ([(0, 57), (2.1, 21), (6, 5)], False, RuleSet.US, Outcome.STOP),
        ([(0, 57), (2, 21), (6.1, 5)], False, RuleSet.US, Outcome.STOP),
        ([(0, 57), (0.5, 21), (6, 5)], False, RuleSet.US, Outcome.PASS),
        ([(0, 60), (1, 21), (5, 5)], False, RuleSet.AU, Outcome.PASS),
        ([(0, 60), (1, 21), (5.1, 5)], False, RuleSet.AU, Outcome.STOP),
        ([(0, 22), (4, 5)], True, RuleSet.US, Outcome.PASS),
        ([(0, 22), (4.1, 5)], True, RuleSet.US, Outcome.STOP),
    ],
)
def test_cooling_holds_to_the_printed_hours(readings, ambient, rule_set, outcome):
    assert cooled(readings, ambient, rule_set)[0].outcome is outcome


# FoodSafety.gov, Food Safety During Power Outage, frozen food (emergency toolkit copy of 2011 and
# newspaper copies): columns "still contains ice crystals" and "above 40 °F for over 2 hours".
FREEZER = """beef, veal, lamb, pork|refreeze|discard
ground meat|refreeze|discard
poultry|refreeze|discard
ground poultry|refreeze|discard
liver, kidney, heart|refreeze|discard
casseroles, stews, soups|refreeze|discard
fish|refreeze|discard
shellfish|refreeze|discard
breaded seafood|refreeze|discard
milk|refreeze|discard
soft and semi-soft cheese|refreeze|discard
eggs out of the shell, egg products|refreeze|discard
shredded cheese|refreeze|discard
cheesecake|refreeze|discard
casseroles with milk, cream, eggs or soft cheese|refreeze|discard
ice cream, frozen yogurt|discard|discard
hard cheese|refreeze|refreeze
fruit juice|refreeze|look
fruit, home or bought packs|refreeze|look
vegetable juice|refreeze|discard
vegetables, blanched or packed|refreeze|discard
bread, rolls, muffins, cakes without custard|refreeze|refreeze
waffles, pancakes, bagels|refreeze|refreeze
flour, cornmeal, nuts|refreeze|refreeze
pie crust|refreeze|refreeze
bread dough|refreeze|refreeze
pastry with custard or cheese|refreeze|discard
pasta or rice casseroles|refreeze|discard
frozen meals, pizza, meat pie|refreeze|discard"""


@pytest.mark.parametrize("line", FREEZER.splitlines())
def test_every_row_of_the_freezer_table(line):
    food, icy, warm = line.split("|")
    assert outage_freezer(food, True, None).fate == icy
    assert outage_freezer(food, False, 0.0).fate == icy
    assert outage_freezer(food, False, 7.0).fate == warm
    assert outage_freezer(food, None, None).fate == warm


def test_the_freezer_table_has_no_row_that_is_not_published():
    assert {row.food for row in FREEZER_TABLE} == {
        line.split("|")[0] for line in FREEZER.splitlines()
    }


# FoodSafety.gov, Refrigerated Food and Power Outages, 2010, and copies of 2024: above 40 °F for
# over 2 hours.
FRIDGE = {
    Fate.DISCARD: """raw or leftover meat, poultry, fish|soy meat substitutes
thawing meat or poultry|meat, egg or seafood salads|gravy, stuffing, broth
lunch meat, sausage, bacon, dried beef|pizza|opened canned meat or fish
ham marked keep refrigerated|casseroles, soups, stews|soft cheese|shredded cheese|low-fat cheese
milk, cream, yogurt, soy milk|opened infant formula|shell eggs, egg dishes
custards, puddings, quiche|cut fruit|sliced or shredded coconut|fish and oyster sauce
creamy dressings|opened pasta sauce|dough|cooked pasta, rice, potatoes|fresh pasta|cheesecake
custard pies|cooked vegetables|cut or pre-washed vegetables|opened vegetable juice|garlic in oil""",
    Fate.KEEP: """hard cheese|processed cheese|grated cheese in a can|butter, margarine|whole fruit
opened fruit juice|opened canned fruit|dried fruit|peanut butter|jelly, relish, mustard, ketchup
olives, pickles|Worcestershire, soy, barbecue, hoisin sauce|vinegar dressings
bread, cakes, tortillas|breakfast breads|fruit pies|raw whole vegetables|mushrooms, herbs""",
    Fate.LOOK: "mayonnaise|tartar sauce|horseradish",
}
FRIDGE_ROWS = [
    (food, fate) for fate, foods in FRIDGE.items() for food in foods.replace("\n", "|").split("|")
]


@pytest.mark.parametrize(("food", "fate"), FRIDGE_ROWS)
def test_every_row_of_the_fridge_table(food, fate):
    assert outage_fridge(food, hours_above_4_4c=2.1).fate is fate
    assert outage_fridge(food).fate is fate, "nothing known counts as warm"
    assert outage_fridge(food, hours_above_4_4c=2.0, power_out_hours=4.0).fate is Fate.KEEP


def test_the_fridge_table_has_one_row_of_our_own_and_no_other():
    unpublished = {row.food for row in FRIDGE_TABLE} - {food for food, _ in FRIDGE_ROWS}
    assert unpublished == {"sealed dry pouches"}


# Former 9 CFR 318.10 (removed 2018) and JAMA 155:1394 (1954): days up to and above 6 inches.
@pytest.mark.parametrize(("temp_f", "thin", "thick"), [(5, 20, 30), (-10, 10, 20), (-20, 6, 12)])
def test_every_row_of_the_former_freezing_table_for_pork(temp_f, thin, thick):
    temp_c = round(to_celsius(temp_f, "F"), 1)
    for thickness_m, days in ((0.15, thin), (0.30, thick)):
        met = trichina_in_pork(temp_c, days, thickness_m)[0]
        missed = trichina_in_pork(temp_c, days - 1, thickness_m)[0]
        assert met.outcome is missed.outcome is Outcome.NOTE
        assert met.sentence.startswith("Met")
        assert f"asks {days} days" in missed.sentence


# The same rule's hours at the centre, as printed in a veterinary review of trichinellosis.
@pytest.mark.parametrize(
    ("centre_c", "hours"),
    [(-17.8, 106), (-20.6, 82), (-23.3, 63), (-26.1, 48), (-28.9, 35), (-31.7, 22), (-34.5, 8),
     (-37.2, 0.5)],
)  # fmt: skip
def test_every_row_of_the_former_table_of_centre_temperatures(centre_c, hours):
    assert trichina_at_centre(centre_c, hours)
    assert not trichina_at_centre(centre_c, hours * 0.99)
    assert not trichina_at_centre(centre_c + 0.1, hours)
    assert len(TRICHINA_CENTRE) == 8


# Food Code 3-402.11 as WAC 246-215-03425: 168 h at −20 °C; solid at −35 °C then 15 h there, or
# 24 h at −20 °C.
@pytest.mark.parametrize(
    ("temp_c", "hours", "solid", "outcome"),
    [
        (-20, 168, False, Outcome.PASS),
        (-20, 167, False, Outcome.STOP),
        (-19.9, 168, False, Outcome.STOP),
        (-35, 15, True, Outcome.PASS),
        (-35, 14, True, Outcome.STOP),
        (-20, 24, True, Outcome.PASS),
        (-20, 23, True, Outcome.STOP),
        (-20, 24, False, Outcome.STOP),
    ],
)
def test_every_row_of_the_fish_freezing_rule(temp_c, hours, solid, outcome):
    verdicts = fish_notes(
        F.FISH_FATTY, "salmon", use=FishUse.RAW, frozen_c=temp_c, frozen_hours=hours,
        solid_at_minus_35=solid, thickness_m=0.05,
    )  # fmt: skip
    assert verdicts[0].outcome is outcome


# USDA FSIS, press release of 2016 on food left out, copy: two hours, one hour above 90 °F.
@pytest.mark.parametrize(("air_c", "hours"), [(20.0, 2.0), (32.0, 2.0), (33.0, 1.0)])
def test_time_out_is_used_up_at_the_printed_hours(air_c, hours):
    row = _row(1.0, "press release on food left out, USDA FSIS, 2016, copy", f"{hours:g} h")
    assert row.agrees(exposure([(hours, air_c)], unknown_is_hot=False))
    assert row.agrees(exposure([(hours / 2, air_c), (hours / 2, air_c)], unknown_is_hot=False))
