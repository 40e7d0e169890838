"""Which foods count together."""

import pytest

from app.ledger.food_kinds import called, every_kind, kind_of
from app.science.classes import FoodClass
from app.science.foods import all_foods, food


@pytest.mark.parametrize(
    ("number", "kind"),
    [
        ("17172", "Moose"),
        ("17331", "Bison"),  # "Game meat , bison", with a space too many in the table
        ("05666", "Turkey"),
        ("15115", "Trout"),
        ("35180", "Trout"),
        ("11052", "Green beans"),
        ("16037", "Beans"),
        ("11485", "Winter squash"),
        ("10004", "Fats"),
        ("06172", "Broth"),
        ("01123", "Eggs"),
    ],
)
def test_a_food_counts_to_its_animal_or_plant(number: str, kind: str) -> None:
    assert kind_of(number, food(number).food_class) == kind


def test_what_was_made_of_an_animal_counts_to_it_whatever_became_of_it() -> None:
    assert kind_of("17003", FoodClass.DISH) == kind_of("17224", FoodClass.RED_MEAT) == "Lamb"


@pytest.mark.parametrize("food_class", FoodClass)
def test_food_that_nobody_found_in_the_table_has_a_kind_too(food_class: FoodClass) -> None:
    assert kind_of(None, food_class) in every_kind()


def test_every_food_of_the_table_has_a_kind_that_is_a_word() -> None:
    kinds = {kind_of(one.ndb_no, one.food_class) for one in all_foods()}
    assert kinds <= set(every_kind())
    assert all(kind[0].isupper() and "," not in kind for kind in kinds)


@pytest.mark.parametrize(
    ("names", "words"),
    [
        (["Moose", "Moose mince"], "Moose"),
        (["Moose roast", "Moose mince"], ""),  # the kind says it: "Moose"
        (["Dried tomatoes", "Dried tomato rings"], ""),
        (["Apples", "Apple rings"], ""),
        ([", odd"], ""),
        (["Green beans", "Green beans, to dry"], "Green beans"),
        (["Winter squash"], "Winter squash"),
        (["Reindeer, diced"], "Reindeer"),
        (["Hens", "Chicken liver"], ""),
        ([], ""),
    ],
)
def test_a_food_is_called_by_a_name_with_which_all_its_lots_begin(
    names: list[str], words: str
) -> None:
    assert called(names) == words
