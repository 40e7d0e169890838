"""The foods of the composition table by the names that the reader's language has for them."""

import re
from collections.abc import Iterable

from app.language import SOURCE, _, cached_by_language, language
from app.science.foods import Food, all_foods, find_foods

NUMBERED = re.compile(r"\s*\((\d{5})\)\s*$")


def food_words(food: Food) -> str:
    """A food as it stands in the list of suggestions: its name and its number in the table."""
    return f"{_(food.name)} ({food.ndb_no})"


@cached_by_language(8)
def food_choices() -> list[str]:
    """Every food of the table as it stands in the list of suggestions."""
    return [food_words(food) for food in all_foods()]


def food_of(text: str) -> Food | None:
    """The food that was chosen from the list, or that typed words lead to."""
    match = NUMBERED.search(text)
    if match:
        return next((food for food in all_foods() if food.ndb_no == match[1]), None)
    return next(iter(foods_by_words(text, 1)), None)


def foods_by_words(text: str, most: int) -> list[Food]:
    """Foods whose name holds all the words, in the reader's language or else in English."""
    return _in_other_language(text, most) or find_foods(text, most)


def _in_other_language(text: str, most: int) -> list[Food]:
    wanted = _split(text)
    if language() == SOURCE or not wanted:
        return []
    named = [(_(food.name).casefold(), food) for food in all_foods()]
    found = [(name, food) for name, food in named if all(word in name for word in wanted)]
    ranked = sorted(found, key=lambda pair: (_inside(wanted, pair[0]), len(pair[0]), pair[0]))
    return [food for _name, food in ranked[:most]]


def _inside(wanted: Iterable[str], name: str) -> int:
    """How many of the words only stand inside a longer one."""
    words = set(_split(name))
    return sum(word not in words for word in wanted)


def _split(text: str) -> list[str]:
    return re.findall(r"\w+", text.casefold())
