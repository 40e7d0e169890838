"""The few words by which the models sort foods: class, form, treatment."""

from enum import StrEnum
from typing import Final


class FoodClass(StrEnum):
    """What a food is, as far as drying, sorption, storage and safety differ."""

    RED_MEAT = "red_meat"  # beef, veal, lamb, goat
    PORK = "pork"
    GAME = "game"  # four-footed wild plant-eaters and rabbits
    WILD_MEAT_EATER = "wild_meat_eater"  # bear, boar, walrus, fox...
    POULTRY = "poultry"
    GAME_BIRD = "game_bird"
    FISH_LEAN = "fish_lean"
    FISH_FATTY = "fish_fatty"
    SHELLFISH = "shellfish"
    EGG = "egg"
    DAIRY = "dairy"
    FAT = "fat"  # back-fat, suet, rendered fats
    BROTH = "broth"
    VEGETABLE = "vegetable"
    FRUIT = "fruit"
    GRAIN_LEGUME = "grain_legume"
    DISH = "dish"  # stews and other mixtures
    PANTRY = "pantry"  # salt, sugar, honey, plant oils: what goes into other food

    @property
    def is_animal(self) -> bool:
        """Does the raw mark apply to it?"""
        plants = (FoodClass.VEGETABLE, FoodClass.FRUIT, FoodClass.GRAIN_LEGUME, FoodClass.PANTRY)
        return self not in plants


class Form(StrEnum):
    """How it is cut, as far as limits differ."""

    WHOLE = "whole"  # roasts, steaks, fillets, whole or sliced produce
    PIECES = "pieces"  # trim, stew meat, diced
    GROUND = "ground"
    LIQUID = "liquid"
    POWDER = "powder"


class Treatment(StrEnum):
    """What has been done to keep it; a lot's state is the set of these."""

    THAWED = "thawed"
    GROUND = "ground"
    COOKED = "cooked"
    CHILLED = "chilled"
    BLANCHED = "blanched"
    DRIED_AIR = "dried_air"
    DRIED_FREEZE = "dried_freeze"
    REHYDRATED = "rehydrated"


DRIED: Final = frozenset({Treatment.DRIED_AIR, Treatment.DRIED_FREEZE})
