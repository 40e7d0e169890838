"""Water, solids and mixing against exercises and tables."""

import pytest

from app.science.composition import (
    GENERAL_ATWATER,
    energy_kcal,
    mass_at_water_kg,
    mix,
    moisture_db,
    water_fraction,
    with_measured,
)
from app.science.foods import food
from tests.published.row import Published

SINGH = "Singh and Heldman, Introduction to Food Engineering, read in lecture slides built on it"
PROBLEMS = "university problem set on drying, statement read in a copy, answer by arithmetic"
EARLE = "Earle, Unit Operations in Food Processing, chapter 2, from memory, answer by arithmetic"
IRRI = "Moisture content calculations, Rice Knowledge Bank, International Rice Research Institute"
SR28 = "National Nutrient Database for Standard Reference, Release 28, USDA, 2015"
BAILEY = "Bailey, Farm and Garden Rule-Book, early 20th century, excerpt"
COFID = "The Composition of Foods Integrated Dataset, Public Health England, 2015"
ROUNDED = "as many digits as printed"

EXERCISES = [
    (moisture_db(0.85), Published(5.67, 0.005, SINGH, "85 % wet is 567 % dry", ROUNDED)),
    (water_fraction(0.90), Published(0.4736, 1e-4, SINGH, "90 % dry is 47.36 % wet", ROUNDED)),
    (
        10.0 * water_fraction(3.20),
        Published(7.619, 5e-4, SINGH, "water in 10 kg at 320 % dry basis", ROUNDED),
    ),
    (
        10.0 - mass_at_water_kg(10.0, water_fraction(3.20), 0.50),
        Published(5.238, 5e-4, SINGH, "10 kg at 320 % dry basis to 50 % wet", ROUNDED),
    ),
    (
        5.0 - mass_at_water_kg(5.0, water_fraction(1.50), 0.20),
        Published(2.5, 1e-9, SINGH, "5 kg at 150 % dry basis to 20 % wet", ROUNDED),
    ),
    (
        mass_at_water_kg(100.0, 0.70, 0.12),
        Published(34.09, 0.005, PROBLEMS, "100 kg cassava, 70 to 12 %", ROUNDED),
    ),
    (
        mass_at_water_kg(200.0, 0.90, 0.12),
        Published(22.73, 0.005, PROBLEMS, "200 kg mushrooms, 90 to 12 %", ROUNDED),
    ),
    (
        mass_at_water_kg(1000.0 * 0.92, 0.86, 0.07),
        Published(138.5, 0.05, EARLE, "1,000 kg potatoes, 8 % peel, 14 to 93 % solids", ROUNDED),
    ),
    (
        mass_at_water_kg(1000.0, 0.25, 0.14),
        Published(872.0, 0.5, IRRI, "1,000 kg paddy, 25 to 14 %", ROUNDED),
    ),
]


@pytest.mark.parametrize(("value", "published"), EXERCISES)
def test_solids_balances_match_textbook_exercises(value, published):
    assert published.agrees(value)


def drying_ratio(fresh: str, dry: str) -> float:
    return 1.0 / mass_at_water_kg(1.0, food(fresh).composition.water, food(dry).composition.water)


_FRUIT = "another sample of the fruit; carbohydrate is by difference"
DRYING_RATIOS = [
    ("09004", "09009", Published(7.33, 0.37, SR28, "carbohydrate, apple", _FRUIT)),
    ("09040", "09041", Published(3.87, 0.19, SR28, "carbohydrate, banana", _FRUIT)),
    ("11282", "11284", Published(8.92, 0.45, SR28, "carbohydrate, onion", _FRUIT)),
    ("09236", "09244", Published(8.72, 0.44, SR28, "carbohydrate, peach", _FRUIT)),
    ("09279", "09289", Published(7.80, 0.39, SR28, "carbohydrate, plum", _FRUIT)),
    (
        "11333",
        "11634",
        Published(14.8, 1.6, SR28, "carbohydrate, green pepper", "1 g water is 1/6 of the yield"),
    ),
]


@pytest.mark.parametrize(("fresh", "dry", "published"), DRYING_RATIOS)
def test_water_alone_tells_how_many_times_lighter_dried_food_is(fresh, dry, published):
    """The expected ratio is that of the carbohydrates the laboratory found, not of the waters."""
    dried, raw = food(dry).composition.carbohydrate, food(fresh).composition.carbohydrate
    assert abs(dried / raw - published.expected) < 0.05
    assert published.agrees(drying_ratio(fresh, dry))


def test_a_bushel_of_apples_gives_the_dried_weight_of_the_old_rule():
    published = Published(
        6.75,
        0.75,
        BAILEY,
        "a bushel (48 lb) gives 6 to 7 1/2 lb of dried apples",
        "the rule's own range",
    )
    peeled_lb = food("09004").edible_kg(48.0)
    assert published.agrees(
        mass_at_water_kg(
            peeled_lb, food("09004").composition.water, food("09011").composition.water
        )
    )


def test_peaches_shrink_as_the_old_rule_says():
    published = Published(
        5.5, 1.5, BAILEY, "peaches 4 to 5 : 1 dry-fleshed, often 6 to 7 : 1", "the rule's own range"
    )
    assert published.agrees(drying_ratio("09236", "09246"))


def test_dried_onion_as_calculated_by_an_independent_table():
    published = Published(
        8.8,
        0.3,
        COFID,
        "13-590, onions dried, calculated from raw: protein 8.8 from 1.0",
        "1 digit",
    )
    assert published.agrees(1.0 / mass_at_water_kg(1.0, 0.891, 0.045))


MIXED_BEEF = [
    (0.10, "water", Published(69.45, 0.01, SR28, "23562, 90 % lean", ROUNDED)),
    (0.10, "protein", Published(20.00, 0.01, SR28, "23562, 90 % lean", ROUNDED)),
    (0.10, "ash", Published(0.98, 0.01, SR28, "23562, 90 % lean", ROUNDED)),
    (0.15, "water", Published(65.66, 0.01, SR28, "23567, 85 % lean", ROUNDED)),
    (0.15, "protein", Published(18.59, 0.01, SR28, "23567, 85 % lean", ROUNDED)),
    (0.15, "ash", Published(0.91, 0.01, SR28, "23567, 85 % lean", ROUNDED)),
    (0.20, "water", Published(61.87, 0.01, SR28, "23572, 80 % lean", ROUNDED)),
    (0.20, "protein", Published(17.17, 0.01, SR28, "23572, 80 % lean", ROUNDED)),
    (0.25, "water", Published(58.09, 0.01, SR28, "23577, 75 % lean", ROUNDED)),
    (0.25, "protein", Published(15.76, 0.01, SR28, "23577, 75 % lean", ROUNDED)),
]


@pytest.mark.parametrize(("fat", "component", "published"), MIXED_BEEF)
def test_mixing_lean_and_fat_beef_meets_the_rows_between(fat, component, published):
    lean, fatty = food("23557").composition, food("13498").composition  # 5 and 30 % fat
    share = (0.30 - fat) / 0.25
    mixed = mix([(lean, share), (fatty, 1.0 - share)])
    assert published.agrees(100.0 * getattr(mixed, component))


BROTH_ENERGIES = [
    ("06174", Published(16.0, 1.0, SR28, "energy of fish stock, factors 4, 9, 4", "whole kcal")),
    ("06194", Published(6.0, 1.0, SR28, "energy of chicken broth, factors 4, 9, 4", "whole kcal")),
    ("06170", Published(13.0, 1.0, SR28, "energy of beef stock, none given", "whole kcal")),
    (
        "06172",
        Published(36.0, 2.0, SR28, "energy of chicken stock, none given", "whole kcal"),
    ),
    ("22905", Published(99.0, 2.0, SR28, "energy of beef stew, none given", "whole kcal")),
    (
        "16059",
        Published(103.0, 9.0, SR28, "energy of chili, none given", "fibre counts less"),
    ),
    ("19002", Published(410.0, 4.0, SR28, "energy of jerky, none given", "whole kcal")),
]


@pytest.mark.parametrize(("ndb_no", "published"), BROTH_ENERGIES)
def test_general_factors_give_the_energy_of_mixtures(ndb_no, published):
    assert published.agrees(energy_kcal(food(ndb_no).composition, 0.1, GENERAL_ATWATER))


@pytest.mark.parametrize(
    ("fat", "published"),
    [
        (0.10, Published(69.45, 1.0, SR28, "23562, 90 % lean, water", "lean's own proportions")),
        (0.15, Published(65.66, 1.0, SR28, "23567, 85 % lean, water", "lean's own proportions")),
    ],
)
def test_a_fat_test_on_lean_beef_gives_the_row_of_that_fat(fat, published):
    lean = food("23557").composition
    assert published.agrees(100.0 * with_measured(lean, {"fat": fat}).water)
