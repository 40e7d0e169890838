"""Every limit of the safety rules, and every list of species and groups, as published."""

import pytest

from app.science.classes import FoodClass
from app.science.safety.allergens import EU_14, US_9, AllergenGroup
from app.science.safety.catalogue import ALL_RULES, BY_ID
from app.science.safety.cooling import appendix_b_hours, cooled
from app.science.safety.drying import THICK_M, THIN_M
from app.science.safety.fish import EU_PARASITE_TABLE, FishUse, fish_notes
from app.science.safety.game import CWD_COUNTRIES, game_notes
from app.science.safety.low_oxygen import GROWTH_LIMITS
from app.science.safety.readings import to_celsius
from app.science.safety.rule import Outcome, RuleSet
from app.science.sources import Evidence
from tests.published.row import Published

PRINTED = "a limit is printed exactly"
#: Rule, number of its limit, printed value, publication, where in it.
LIMITS = [
    ("COOK-FORM", 0, 145, "Safe Minimum Internal Temperature Chart, USDA FSIS, 2012", "chops, °F"),
    ("COOK-FORM", 1, 160, "Safe Minimum Internal Temperature Chart, USDA FSIS, 2012", "ground, °F"),
    ("COOK-FORM", 2, 165, "Safe Minimum Internal Temperature Chart, USDA FSIS, 2012", "poultry"),
    ("COOK-FORM", 3, 3, "Safe Minimum Internal Temperature Chart, USDA FSIS, 2012", "rest, min"),
    ("COOK-GAME-STRICT", 0, 165, "Food Code 3-401.11, FDA, copies", "wild game animals, °F"),
    ("COOK-COLOUR", 0, 135, "Lyon and others, J. Food Prot. 63:1389, 2000", "brown, °F"),
    ("THERMO", 0, 0, "Checking a thermometer in ice water, industry leaflet", "ice water, °C"),
    ("COOL-2STAGE", 0, 57, "Food Code 3-501.14 as 16 Del. Admin. Code", "start, °C"),
    ("COOL-2STAGE", 1, 21, "Food Code 3-501.14 as 16 Del. Admin. Code", "first stage, °C"),
    ("COOL-2STAGE", 2, 5, "Food Code 3-501.14 as 16 Del. Admin. Code", "end, °C"),
    ("COOL-2STAGE", 3, 2, "Food Code 3-501.14 as 16 Del. Admin. Code", "first stage, h"),
    ("COOL-2STAGE", 4, 6, "Food Code 3-501.14 as 16 Del. Admin. Code", "total of 6 h"),
    ("COOL-AMBIENT", 0, 4, "Food Code 3-501.14(B) as 16 Del. Admin. Code", "from room, h"),
    ("COOL-AMBIENT", 1, 5, "Food Code 3-501.14(B) as 16 Del. Admin. Code", "from room, °C"),
    ("COOL-AU", 0, 60, "Standard 3.2.2, FSANZ, copy", "start, °C"),
    ("COOL-AU", 1, 21, "Standard 3.2.2, FSANZ, copy", "first stage, °C"),
    ("COOL-AU", 2, 5, "Standard 3.2.2, FSANZ, copy", "end, °C"),
    ("COOL-AU", 3, 2, "Standard 3.2.2, FSANZ, copy", "first stage, h"),
    ("COOL-AU", 4, 4, "Standard 3.2.2, FSANZ, copy", "second stage, h"),
    ("COOL-APPB", 0, 1.5, "Appendix B, USDA FSIS, 1999, copies", "130 to 80 °F, h"),
    ("COOL-APPB", 1, 5, "Appendix B, USDA FSIS, 1999, copies", "80 to 40 °F, h"),
    ("HOLD-COLD", 0, 5, "Food Code 3-501.16, FDA, copy", "41 °F"),
    ("HOLD-COLD", 1, 4.4, "Consumer advice on refrigerators, FDA, copies", "40 °F"),
    ("HOLD-HOT", 0, 57, "Food Code 3-501.16, FDA, copy", "135 °F"),
    ("OUT-2H", 0, 2, "Press release on food left out, USDA FSIS, 2016, copy", "h"),
    ("OUT-2H", 1, 1, "Press release on food left out, USDA FSIS, 2016, copy", "h above 90 °F"),
    ("OUT-2H", 2, 32, "Press release on food left out, USDA FSIS, 2016, copy", "90 °F"),
    ("OUT-24", 0, 2, "2-hour/4-hour rule, FSANZ", "back in the fridge, h"),
    ("OUT-24", 1, 4, "2-hour/4-hour rule, FSANZ", "throw away, h"),
    ("OUT-TPHC", 0, 4, "Food Code 3-501.19, FDA, state copies", "from cold or hot, h"),
    ("OUT-TPHC", 1, 6, "Food Code 3-501.19, FDA, state copies", "never above 70 °F, h"),
    ("THAW-WAY", 0, 30, "Safe thawing, USDA, quoted in the press", "fresh water, min"),
    ("THAW-VACFISH", 0, 3.3, "Thawing vacuum-packed fish, MSU Extension", "38 °F"),
    ("REFREEZE", 0, 4.4, "Refreezing thawed food, Washington State University, 2011", "40 °F"),
    ("REFREEZE", 1, 2, "Refreezing thawed food, Washington State University, 2011", "out, h"),
    ("OUT-FREEZER", 0, 48, "Power outages and food, FDA and USDA, copies", "full, h"),
    ("OUT-FREEZER", 1, 24, "Power outages and food, FDA and USDA, copies", "half full, h"),
    ("OUT-FREEZER", 2, 4.4, "Food Safety During Power Outage, FoodSafety.gov, 2021", "40 °F"),
    ("OUT-FREEZER", 3, 2, "Food Safety During Power Outage, FoodSafety.gov, 2021", "h"),
    ("OUT-FREEZER", 4, 6, "Food Safety During Power Outage, FoodSafety.gov, 2021", "vegetables, h"),
    ("OUT-FRIDGE", 0, 4, "Refrigerated Food and Power Outages, FoodSafety.gov, 2010", "shut, h"),
    ("OUT-FRIDGE", 1, 4.4, "Refrigerated Food and Power Outages, FoodSafety.gov, 2010", "40 °F"),
    ("OUT-FRIDGE", 2, 2, "Refrigerated Food and Power Outages, FoodSafety.gov, 2010", "h"),
    ("OUT-FRIDGE", 3, 10, "Food Safety During Power Outage, FoodSafety.gov, 2024", "sauces, 50 °F"),
    ("OUT-FRIDGE", 4, 8, "Food Safety During Power Outage, FoodSafety.gov, 2024", "sauces, h"),
    ("ROP-WET", 0, 0.85, "21 CFR 114.3", "water activity"),
    ("ROP-WET", 1, 0.10, "Food storage booklet, Utah State University, reposted", "10 % water"),
    ("ROP-MARGIN", 0, 0.60, "table after Beuchat 1981, AACC", "no growth at or below"),
    ("ROP-ACID", 0, 4.6, "21 CFR 114.3", "pH"),
    ("ROP-FRIDGE", 0, 14, "7 Pennsylvania Code 46.402", "days"),
    ("FRIDGE-DAYS", 0, 4, "Leftovers and food safety, FoodSafety.gov", "3 to 4 days"),
    ("OIL-GARLIC", 0, 4, "Garlic and vegetables in oil, NCHFP, reviewed 2015", "days"),
    ("OIL-GARLIC", 1, 4.4, "Garlic and vegetables in oil, NCHFP, reviewed 2015", "40 °F"),
    ("JERKY-HEAT", 0, 160, "Jerky and Food Safety, USDA FSIS, copy", "meat, °F"),
    ("JERKY-HEAT", 1, 165, "Jerky and Food Safety, USDA FSIS, copy", "poultry, °F"),
    ("JERKY-HEAT", 2, 54.4, "Jerky and Food Safety, USDA FSIS, copy", "dryer, 130 °F"),
    ("JERKY-HEAT", 3, 135, "Making jerky, University of Minnesota Extension", "oven, 275 °F"),
    ("JERKY-HEAT", 4, 10, "Making jerky, University of Minnesota Extension", "oven, min"),
    ("JERKY-AW", 0, 0.85, "Jerky and Food Safety, USDA FSIS, copy", "water activity"),
    ("JERKY-MPR", 0, 0.75, "Compliance Guideline for Jerky, USDA FSIS, 2004", "moisture: protein"),
    ("FD-PRODUCE", 0, 1, "Hepatitis A on freeze-dried berries, J. Food Prot., 2021", "log"),
    ("BRUC", 0, 160, "Brucellosis: hunters, CDC", "°F"),
    ("LEAD", 0, 45, "Lead fragments in venison, Minnesota DNR, 2008, by the press", "18 inches"),
    ("FIELD-COOL", 0, 4.4, "Field care of venison, Pennsylvania State University, 2022", "40 °F"),
    ("FIELD-COOL", 1, 24, "Field care of venison, weak web copy", "h"),
    ("TRICH-WILD", 0, 165, "Morbidity and Mortality Weekly Report 73(20), CDC, 2024", "°F"),
    ("TRICH-WILD", 1, 110, "Morbidity and Mortality Weekly Report 73(20), CDC, 2024", "days"),
    ("FISH-HIST", 0, 4.4, "Press release on food left out, USDA FSIS, 2016, copy", "40 °F"),
    ("ALG-SO2", 0, 10, "Regulation (EU) 1169/2011, Annex II, summary", "mg/kg"),
    ("ABS-EXPOSE", 0, 15, "Oxygen absorber sheets, several traders", "minutes open"),
    ("ABS-24H", 0, 24, "Oxygen absorber sheets, several traders", "h"),
    ("ABS-UNUSED", 0, 6, "Oxygen absorber sheets, several traders", "months"),
    ("REHY-2H", 0, 2, "Press release on food left out, USDA FSIS, 2016, copy", "h"),
    ("REHY-2H", 1, 4, "Food Code 3-501.14(B) as 16 Del. Admin. Code", "h"),
    ("REHY-2H", 2, 5, "Food Code 3-501.14(B) as 16 Del. Admin. Code", "°C"),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "number", "value", "source", "where"), LIMITS)
def test_every_limit_is_the_printed_one(rule, number, value, source, where):
    row = Published(value, 0.0, source, where, PRINTED)
    assert row.agrees(BY_ID[rule].limits[number].value)


def test_every_limit_from_outside_stands_in_a_table_here():
    ours = {Evidence.JUDGEMENT, Evidence.UNCHECKED}
    tables = {"FISH-PARA", "COOK-TT"}  # row by row in test_safety_tables
    compared = {(rule, number) for rule, number, *_ in LIMITS}
    # What a rule takes over from another row is compared there.
    again = {("COOK-GAME-STRICT", 1), ("THAW-VACFISH", 1), ("THAW-VACFISH", 2), ("ROP-MARGIN", 1),
             ("ROP-ACID", 1), ("FISH-HIST", 1)}  # fmt: skip
    assert [
        (rule.id, number)
        for rule in ALL_RULES
        for number, limit in enumerate(rule.limits)
        if limit.evidence not in ours
        and rule.id not in tables
        and not rule.id.startswith("CHECK-")  # reminders, which stop nothing
        and (rule.id, number) not in compared | again
    ] == []


# Bad Bug Book, factors affecting growth, FDA, 1992 and 1999: least water activity, coldest growth.
@pytest.mark.parametrize(
    ("what", "value"),
    [
        ("Clostridium botulinum A and B", 0.93),
        ("Clostridium botulinum E", 0.965),
        ("Clostridium botulinum E, coldest", 3.3),
        ("Staphylococcus aureus", 0.86),
    ],
)
def test_every_limit_of_growth(what, value):
    row = Published(value, 0.0, "Bad Bug Book, FDA, 1992 and 1999", what, PRINTED)
    assert row.agrees(dict(GROWTH_LIMITS)[what].value)


# FSIS Appendix B, option 1: 130 to 80 °F within 1.5 h, 80 to 40 °F within 5 h more.
@pytest.mark.parametrize(
    ("first", "second", "met"), [(1.5, 5.0, True), (1.6, 4.9, False), (1.4, 5.1, False)]
)
def test_the_plants_guideline_holds_to_its_hours(first, second, met):
    readings = [(0.0, 54.4), (first, 26.6), (first + second, 4.4)]
    assert (appendix_b_hours(readings) is not None) is met


# Standard 3.2.2, FSANZ: from 60 °C, not 57; four hours more, however fast the first stage was.
def test_the_australian_clock_starts_at_60_and_gives_four_hours_more():
    for readings, outcome in (
        ([(0, 60), (2, 21), (6, 5)], Outcome.PASS),
        ([(0, 60), (2.1, 21), (5, 5)], Outcome.STOP),
        ([(0, 60), (0.5, 21), (4.6, 5)], Outcome.STOP),
        ([(0, 59), (1, 58), (2.5, 21), (5, 5)], Outcome.STOP),
    ):
        (verdict,) = cooled(readings, rule_set=RuleSet.AU)
        assert (verdict.id, verdict.outcome) == ("COOL-AU", outcome)


def test_six_and_twenty_seven_inches_of_the_former_pork_rule():
    # Former 9 CFR 318.10: 6 inches and 27 inches.
    assert pytest.approx(6 * 0.0254, abs=0.0005) == THIN_M
    assert pytest.approx(27 * 0.0254, abs=0.0005) == THICK_M


# Tularemia, Utah Division of Wildlife Resources.
@pytest.mark.parametrize("species", ["rabbit", "hare", "beaver", "muskrat"])
def test_every_animal_of_the_tularaemia_page_brings_its_note(species):
    assert "TULAR" in {v.id for v in game_notes(FoodClass.GAME, species)}


# Brucellosis: hunters, CDC: feral hog, elk, bison, caribou, moose, deer.
@pytest.mark.parametrize("species", ["feral hog", "elk", "bison", "caribou", "moose", "deer"])
def test_every_animal_of_the_brucellosis_page_brings_its_note(species):
    assert "BRUC" in {v.id for v in game_notes(FoodClass.GAME, species)}
    assert "BRUC" not in {v.id for v in game_notes(FoodClass.GAME, "hare")}


# About Chronic Wasting Disease, CDC, 2024: animals and countries.
@pytest.mark.parametrize("species", ["deer", "elk", "moose", "caribou"])
def test_every_animal_and_country_of_the_wasting_disease(species):
    assert {"US", "CA", "NO", "FI", "SE", "KR"} == CWD_COUNTRIES
    assert game_notes(FoodClass.GAME, species)[0].id == "CWD-HOLD"


# Compliance Policy Guide 540.525, FDA, 2024, and copies naming the species.
@pytest.mark.parametrize(
    "species", ["tuna", "mackerel", "mahi-mahi", "bluefish", "sardine", "amberjack"]
)
def test_every_fish_of_the_histamine_guide_stops_when_it_was_warm(species):
    assert fish_notes(FoodClass.FISH_FATTY, species, outings=[(3, 25)])[0].id == "FISH-HIST"


# Food Code 3-402.11: the tunas that need no freezing.
@pytest.mark.parametrize("tuna", ["albacore", "yellowfin", "blackfin", "bluefin", "bigeye"])
def test_every_listed_tuna_is_exempt_and_no_other_fish(tuna):
    def raw(species):
        return fish_notes(FoodClass.FISH_FATTY, species, use=FishUse.RAW)[0].outcome

    assert raw(f"{tuna} tuna") is Outcome.NOTE
    assert raw(tuna) is Outcome.STOP


def test_the_european_rows_of_freezing_fish():
    # Regulation (EC) 853/2004, Annex III: −20 °C for 24 h (copy), −35 °C for 15 h (from memory).
    rows = [(temp_c.value, hours.value) for temp_c, hours, _ in EU_PARASITE_TABLE]
    assert rows == [(-20, 24), (-35, 15)]


# Regulation (EU) 1169/2011, Annex II, as summarised by the University of Nebraska.
ANNEX_II = """gluten crustaceans eggs fish peanuts soybeans milk nuts celery mustard sesame
sulphites lupin molluscs"""
# Food Allergen Labeling and Consumer Protection Act 2004; FASTER Act 2021.
NINE = "milk eggs fish crustaceans nuts peanuts gluten soybeans sesame"  # gluten: wheat alone


@pytest.mark.parametrize(("law", "groups"), [(ANNEX_II, EU_14), (NINE, US_9)])
def test_every_allergen_group_of_the_law_is_there(law, groups):
    assert {group.name.lower() for group in groups} == set(law.split())
    assert len(AllergenGroup) == 14


# The words a label and a run sheet carry; common practice and our judgement.
@pytest.mark.parametrize(
    ("rule", "words"),
    [
        ("ABS-NOEAT", ["Remove packet", "Do not eat"]),
        ("PACK-HANDLE", ["cool, dry and dark", "opened"]),
        ("JAR-VAC", ["not canned", "dry food only"]),
        ("TULAR", ["gloves"]),
        ("BRUC", ["gloves", "eyes", "reproduction"]),
        ("FISH-PARA", ["−18 °C never does it"]),
        ("GAME-LAW", ["Check your hunting rules"]),
    ],
)
def test_the_notes_on_every_label_say_what_they_must(rule, words):
    assert all(word in BY_ID[rule].words for word in words)


# Both units of a printed limit: 41 °F is 5.0 °C, 40 °F 4.4, 135 °F 57.2, 38 °F 3.3, 50 °F 10.
@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [(41, 5), (40, 4.4), (135, 57.2), (38, 3.3), (50, 10), (130, 54.4)]
)
def test_both_units_of_a_limit_are_one_temperature(fahrenheit, celsius):
    assert to_celsius(fahrenheit, "F") == pytest.approx(celsius, abs=0.05)
