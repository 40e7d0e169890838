"""By which words of its name a food of the table gets its class and its form.

Rules are read from the top; the first whose words all stand in the name decides, else the group.
The rules are ours; the names and groups are those of USDA SR28.
"""

from typing import Final

from app.science.classes import FoodClass, Form
from app.science.errors import NotInTable
from app.science.sources import Evidence, Sourced

FATTY_FISH_FROM: Final = Sourced(
    0.05,
    "kg fat per kg",
    Evidence.JUDGEMENT,
    note="fish at or above is fatty; salmon is fatty by name, being caught lean and fat",
)

_CLASS_BY_WORDS: Final = (
    (("chili with beans",), FoodClass.DISH),
    (("backfat",), FoodClass.FAT),
    (("suet",), FoodClass.FAT),
    (("noodles",), FoodClass.GRAIN_LEGUME),
    (("oil, olive",), FoodClass.PANTRY),
    (("salt, table",), FoodClass.PANTRY),
    (("bear",), FoodClass.WILD_MEAT_EATER),
    (("boar",), FoodClass.WILD_MEAT_EATER),
    (("pheasant",), FoodClass.GAME_BIRD),
    (("quail",), FoodClass.GAME_BIRD),
    (("duck", "wild"), FoodClass.GAME_BIRD),
    (("bison", "grass-fed"), FoodClass.GAME),
    (("game meat, goat",), FoodClass.RED_MEAT),  # listed under game, but it is the farm animal
    (("game meat",), FoodClass.GAME),
    (("egg, ",), FoodClass.EGG),
    (("beef jerky",), FoodClass.RED_MEAT),
    (("beef, cured",), FoodClass.RED_MEAT),
)

_CLASS_BY_GROUP: Final = {
    "Dairy and Egg Products": FoodClass.DAIRY,
    "Spices and Herbs": FoodClass.VEGETABLE,
    "Fats and Oils": FoodClass.FAT,
    "Poultry Products": FoodClass.POULTRY,
    "Soups, Sauces, and Gravies": FoodClass.BROTH,
    "Fruits and Fruit Juices": FoodClass.FRUIT,
    "Pork Products": FoodClass.PORK,
    "Vegetables and Vegetable Products": FoodClass.VEGETABLE,
    "Beef Products": FoodClass.RED_MEAT,
    "Legumes and Legume Products": FoodClass.GRAIN_LEGUME,
    "Lamb, Veal, and Game Products": FoodClass.RED_MEAT,
    "Sweets": FoodClass.PANTRY,
    "Cereal Grains and Pasta": FoodClass.GRAIN_LEGUME,
    "Meals, Entrees, and Side Dishes": FoodClass.DISH,
}

_FISH_GROUPS: Final = ("Finfish and Shellfish Products", "American Indian/Alaska Native Foods")
_SHELLFISH_WORDS: Final = ("crab", "shrimp", "lobster", "clam", "mussel", "oyster", "crayfish")

_FORM_BY_WORDS: Final = (
    (("egg, whole, dried",), Form.POWDER),
    (("powder",), Form.POWDER),
    (("milk, dry",), Form.POWDER),
    (("dry form",), Form.POWDER),  # mashed potato flakes
    (("sugars",), Form.POWDER),
    (("salt, table",), Form.POWDER),
    (("ground",), Form.GROUND),
    (("chopped and formed",), Form.GROUND),
    (("milk, ",), Form.LIQUID),
    (("cream, fluid",), Form.LIQUID),
    (("juice, raw",), Form.LIQUID),
    (("oil, ",), Form.LIQUID),
    (("honey",), Form.LIQUID),
    (("egg, white",), Form.LIQUID),
    (("egg, yolk",), Form.LIQUID),
    (("scrambled",), Form.PIECES),
    (("paste",), Form.LIQUID),
    (("flakes",), Form.PIECES),
    (("for stew",), Form.PIECES),
    (("kernels",), Form.PIECES),
    (("corn, sweet",), Form.PIECES),
    (("peas, ",), Form.PIECES),
    (("lima beans",), Form.PIECES),
    (("chopped",), Form.PIECES),
    (("pumpkin, canned",), Form.PIECES),
    (("freeze-dried",), Form.PIECES),
)

_FORM_BY_GROUP: Final = {
    "Soups, Sauces, and Gravies": Form.LIQUID,
    "Legumes and Legume Products": Form.PIECES,
    "Cereal Grains and Pasta": Form.PIECES,
    "Meals, Entrees, and Side Dishes": Form.PIECES,
}


def food_class_of(name: str, group: str, fat: float) -> FoodClass:
    """Class of a food by its name, its group in the table, and, for fish, its fat fraction.

    Args:
        name, group: as in the table. fat: fat fraction, kg/kg.
    Returns:
        The class.
    Raises:
        NotInTable: a group for which there is no rule.
    """
    words = name.casefold()
    if group in _FISH_GROUPS:
        return _fish_class(words, fat)
    for needed, food_class in _CLASS_BY_WORDS:
        if all(word in words for word in needed):
            return food_class
    if group not in _CLASS_BY_GROUP:
        raise NotInTable("the rule of food classes", group)
    return _CLASS_BY_GROUP[group]


def form_of(name: str, group: str) -> Form:
    """Form of a food as the table describes it; whole where it says nothing else."""
    words = name.casefold()
    for needed, form in _FORM_BY_WORDS:
        if all(word in words for word in needed):
            return form
    return _FORM_BY_GROUP.get(group, Form.WHOLE)


def _fish_class(words: str, fat: float) -> FoodClass:
    if any(word in words for word in _SHELLFISH_WORDS):
        return FoodClass.SHELLFISH
    is_fatty = fat >= FATTY_FISH_FROM.value or "salmon" in words
    return FoodClass.FISH_FATTY if is_fatty else FoodClass.FISH_LEAN
