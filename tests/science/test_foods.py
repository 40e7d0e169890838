"""The packaged tables are read whole, classed, and found by what people type."""

import pytest

from app.science.classes import FoodClass, Form
from app.science.errors import NotInTable, OutOfRange, ScienceError
from app.science.foods import all_foods, cooking_yields, find_foods, food
from app.science.foods_sorting import food_class_of, form_of


def test_every_food_and_every_yield_is_read():
    assert len(all_foods()) == 292
    assert len({item.ndb_no for item in all_foods()}) == 292
    assert len(cooking_yields()) == 40


def test_a_food_has_its_row_as_fractions():
    moose = food("17172")
    assert moose.name == "Game meat, moose, raw"
    assert moose.composition.water == pytest.approx(0.7555)
    assert moose.composition.fat == pytest.approx(0.0074)
    assert moose.energy_kcal_per_100g == 102


def test_an_unknown_number_is_a_refusal_and_a_key_error():
    with pytest.raises(NotInTable) as caught:
        food("99999")
    assert isinstance(caught.value, ScienceError)
    assert isinstance(caught.value, KeyError)
    assert str(caught.value) == "the table of foods has no 99999"


def test_what_the_source_leaves_out_stays_unknown():
    assert {f.ndb_no for f in all_foods() if "fibre" in f.not_in_source} == {
        "09030",
        "09244",
        "09289",
    }
    assert all(not f.not_in_source - {"fibre"} for f in all_foods())
    without_refuse = [f for f in all_foods() if f.refuse_fraction is None]
    assert len(without_refuse) == 2
    with pytest.raises(NotInTable):
        without_refuse[0].edible_kg(1.0)


def test_factors_are_the_foods_own_or_none():
    assert sum(f.factors is not None for f in all_foods()) == 266
    assert food("17343").factors is not None
    assert food("17343").factors.protein == 4.27
    assert food("22905").factors is None
    assert food("04002").factors.fat == 9.02  # lard, whose other factors are not given


def test_refuse_is_taken_off_what_was_bought():
    assert food("11124").edible_kg(2.0) == pytest.approx(1.78)
    with pytest.raises(OutOfRange):
        food("11124").edible_kg(-1.0)


CLASSES = {
    FoodClass.WILD_MEAT_EATER: {"17146", "17147", "17158", "17159"},
    FoodClass.GAME_BIRD: {"05144", "05145", "05153", "05154", "05155", "05157", "05158"},
    FoodClass.BROTH: {"06170", "06172", "06174", "06194"},
    FoodClass.FAT: {"04001", "04002", "04520", "10004", "13335"},
    FoodClass.EGG: {"01123", "01124", "01125", "01129", "01132", "01133"},
    FoodClass.DISH: {"16059", "22904", "22905", "22911"},
    FoodClass.PANTRY: {"02047", "04053", "19296", "19335"},
    FoodClass.FISH_LEAN: {
        "15003",
        "15010",
        "15015",
        "15018",
        "15062",
        "15064",
        "15115",
        "15204",
    },
}


@pytest.mark.parametrize(("food_class", "numbers"), CLASSES.items())
def test_small_classes_hold_exactly_these_foods(food_class, numbers):
    assert {f.ndb_no for f in all_foods() if f.food_class is food_class} == numbers


def test_every_food_is_classed_and_no_class_is_a_leftover():
    count = {c: sum(f.food_class is c for f in all_foods()) for c in FoodClass}
    assert sum(count.values()) == 292
    assert count[FoodClass.GAME] == 27
    assert count[FoodClass.RED_MEAT] == 29
    assert count[FoodClass.VEGETABLE] == 78
    assert count[FoodClass.SHELLFISH] == 0  # none in the table; the class is for the household's


@pytest.mark.parametrize(
    ("ndb_no", "food_class"),
    [
        ("17172", FoodClass.GAME),
        ("17177", FoodClass.GAME),
        ("17168", FoodClass.RED_MEAT),
        ("17224", FoodClass.RED_MEAT),
        ("19002", FoodClass.RED_MEAT),
        ("05141", FoodClass.POULTRY),
        ("10123", FoodClass.PORK),
        ("15085", FoodClass.FISH_FATTY),
        ("15086", FoodClass.FISH_FATTY),
        ("35180", FoodClass.FISH_FATTY),
        ("20109", FoodClass.GRAIN_LEGUME),
        ("16069", FoodClass.GRAIN_LEGUME),
        ("11304", FoodClass.VEGETABLE),
        ("09302", FoodClass.FRUIT),
        ("01001", FoodClass.DAIRY),
    ],
)
def test_foods_are_classed_as_a_cook_would(ndb_no, food_class):
    assert food(ndb_no).food_class is food_class


def test_plants_and_pantry_goods_never_carry_the_raw_mark():
    plants = [f for f in all_foods() if f.group.startswith(("Fruit", "Veg", "Cereal", "Sweets"))]
    assert not any(f.food_class.is_animal for f in plants)
    assert not food("04053").food_class.is_animal  # olive oil stands among the fats


@pytest.mark.parametrize(
    ("ndb_no", "form"),
    [
        ("17343", Form.GROUND),
        ("23575", Form.GROUND),
        ("17172", Form.WHOLE),
        ("23093", Form.PIECES),
        ("06170", Form.LIQUID),
        ("01077", Form.LIQUID),
        ("01090", Form.POWDER),
        ("01133", Form.POWDER),
        ("11167", Form.PIECES),
        ("11304", Form.PIECES),
        ("09003", Form.WHOLE),
    ],
)
def test_forms_follow_the_words(ndb_no, form):
    assert food(ndb_no).form is form


def test_a_group_without_a_rule_is_refused():
    with pytest.raises(NotInTable):
        food_class_of("Something new", "Baby Foods", 0.0)
    assert form_of("Something new", "Baby Foods") is Form.WHOLE


def test_shellfish_are_told_from_fish_by_name():
    group = "Finfish and Shellfish Products"
    assert food_class_of("Crayfish, wild, raw", group, 0.01) is FoodClass.SHELLFISH


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("moose", "Game meat, moose, raw"),
        ("raw MOOSE", "Game meat, moose, raw"),
        ("ground venison", "Game meat, deer, ground, raw"),
        ("back-fat", "Pork, fresh, backfat, raw"),
        ("sweetcorn", "Corn, sweet, yellow, raw"),
        ("tomato", "Tomatoes, red, ripe, raw, year round average"),
        ("cherry", "Cherries, sweet, raw"),
        ("brocolli", "Broccoli, raw"),
        ("wild rabit", "Game meat, rabbit, wild, raw"),
        ("freeze dried pepper", "Peppers, sweet, green, freeze-dried"),
        ("80 beef ground", "Beef, ground, 80% lean meat / 20% fat, raw"),
    ],
)
def test_foods_are_found_by_what_people_type(typed, first):
    assert find_foods(typed)[0].name == first


def test_finding_is_limited_and_honest():
    assert len(find_foods("raw", 5)) == 5
    assert find_foods("") == []
    assert find_foods("xylophone quartz") == []
    with pytest.raises(OutOfRange):
        find_foods("moose", 0)


def test_every_food_is_found_by_its_own_name():
    lost = [f.name for f in all_foods() if f not in find_foods(f.name, 292)]
    assert lost == []
