"""Which kind of food a lot counts to when a household asks how much moose or how many beans it has.

A lot's nearest food in the table decides, so that roasts, mince and stew of one animal stand
together whatever they are called. The names and numbers are those of USDA SR28 (2015); what counts
together is our judgement.
"""

import re
from collections.abc import Iterable
from functools import cache
from typing import Final

from app.science.classes import FoodClass
from app.science.foods import all_foods

_BY_CLASS: Final = {
    FoodClass.FAT: "Fats",
    FoodClass.BROTH: "Broth",
    FoodClass.EGG: "Eggs",
}
_OF_UNKNOWN: Final = {  # where the nearest food was never told
    FoodClass.RED_MEAT: "Meat",
    FoodClass.PORK: "Pork",
    FoodClass.GAME: "Game",
    FoodClass.WILD_MEAT_EATER: "Game",
    FoodClass.POULTRY: "Poultry",
    FoodClass.GAME_BIRD: "Game birds",
    FoodClass.FISH_LEAN: "Fish",
    FoodClass.FISH_FATTY: "Fish",
    FoodClass.SHELLFISH: "Shellfish",
    FoodClass.DAIRY: "Milk and cheese",
    FoodClass.VEGETABLE: "Vegetables",
    FoodClass.FRUIT: "Fruit",
    FoodClass.GRAIN_LEGUME: "Grain and pulses",
    FoodClass.DISH: "Dishes",
    FoodClass.PANTRY: "From the pantry",
}
_BY_WORDS: Final = (  # the first whose words begin the table's name decides
    ("Beans, snap", "Green beans"),
    ("Beans,", "Beans"),
    ("Beef", "Beef"),
    ("Snacks, beef", "Beef"),
    ("Chickpeas", "Chickpeas"),
    ("Chili", "Chili"),
    ("Corn, sweet", "Sweetcorn"),
    ("Game meat, boar", "Wild boar"),
    ("Ground turkey", "Turkey"),
    ("Prunes", "Plums"),
    ("Raisins", "Grapes"),
    ("Squash, summer", "Summer squash"),
    ("Squash, winter", "Winter squash"),
    ("Steelhead trout", "Trout"),
    ("Sugars", "Sugar"),
    ("Tomato", "Tomatoes"),
)
_GENERAL: Final = re.compile(r"(?:Game meat|Fish) ?, ")
_WORD: Final = re.compile(r"[^\s,;:()/]+")


def kind_of(food_ndb: str | None, food_class: str) -> str:
    """The kind a lot counts to, in English; the same word for the same kind.

    Args:
        food_ndb: number of the nearest food of the table, or None. food_class: a FoodClass.
    Example:
        >>> kind_of("17172", "game"), kind_of("09011", "fruit"), kind_of("10004", "fat")
        ('Moose', 'Apples', 'Fats')
    """
    known = FoodClass(food_class)
    if known in _BY_CLASS:
        return _BY_CLASS[known]
    return _of_table().get(food_ndb or "", "") or _OF_UNKNOWN[known]


def every_kind() -> list[str]:
    """Every word that `kind_of` can give."""
    told = {kind_of(one.ndb_no, one.food_class) for one in all_foods()}
    return sorted({*told, *_OF_UNKNOWN.values()})


def called(names: Iterable[str]) -> str:
    """How a household calls what it gave these names, else "".

    That is a name up to its first comma with which all the others begin: words that are merely
    shared, as "Dried", say nothing of the food.

    Example:
        >>> called(["Reindeer, diced", "Reindeer mince"])
        'Reindeer'
        >>> called(["Dried apples", "Dried apple rings"])
        ''
    """
    spelled = {name: tuple(_WORD.findall(name)) for name in names}
    for short in sorted({name.split(",")[0].strip() for name in spelled}, key=len):
        words = tuple(_WORD.findall(short))
        if words and all(other[: len(words)] == words for other in spelled.values()):
            return short
    return ""


@cache
def _of_table() -> dict[str, str]:
    return {one.ndb_no: _named(one.name) for one in all_foods()}


def _named(name: str) -> str:
    """The kind by a name of the table: its first part, or its second after a general word."""
    for words, kind in _BY_WORDS:
        if name.startswith(words):
            return kind
    first = _GENERAL.sub("", name).split(",")[0]
    return first[:1].upper() + first[1:]
