"""Which kind of food a lot counts to when a household asks how much moose or how many beans it has.

A lot's nearest food in the table decides, so that roasts, mince and stew of one animal stand
together whatever they are called. The names and numbers are those of USDA SR28 (2015); what counts
together is our judgement.
"""

import re
from collections.abc import Iterable, Sequence
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
    """How a household calls what it gave these names: the words they all begin with, else "".

    A single name is taken up to its first comma.

    Example:
        >>> called(["Moose roast", "Moose mince", "Moose, diced"])
        'Moose'
        >>> called(["Reindeer, diced"]), called(["Apples", "Apple rings"])
        ('Reindeer', '')
    """
    different = set(names)
    if len(different) == 1:
        return different.pop().split(",")[0].strip()
    spelled = [_WORD.findall(name) for name in different]
    return " ".join(_shared(spelled)) if spelled else ""


def _shared(spelled: Sequence[Sequence[str]]) -> list[str]:
    shortest = min(spelled, key=len)
    for count in range(len(shortest), 0, -1):
        if all(words[:count] == shortest[:count] for words in spelled):
            return list(shortest[:count])
    return []


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
