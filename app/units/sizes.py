"""Units that a kitchen uses, with their exact sizes and spellings."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import floor


@dataclass(frozen=True, slots=True)
class Dimension:
    """Units of one dimension, each with its size in a base unit and its spellings; the limit."""

    units: Mapping[str, tuple[Fraction, str]]
    limit: Fraction
    joined: tuple[tuple[str, str], ...] = ()

    def unit(self, word: str) -> str | None:
        """The unit's own name for a word as typed ("Lbs." is "lb"), None when unknown."""
        plain = word.casefold().replace(".", "").replace(" ", "")
        for name, (_, spellings) in self.units.items():
            if plain in spellings.split():
                return name
        return None

    def size(self, unit: str) -> Fraction:
        """One of the unit, in the base unit."""
        return self.units[unit][0]


# Sizes are exact by definition: the avoirdupois pound is 0.45359237 kg and the inch 25.4 mm
# (international yard and pound agreement, 1959); the US gallon is 231 cubic inches, the cup 1/16 of
# it. National Institute of Standards and Technology, Handbook 44, appendix C (from memory,
# unchecked; the tests compare every unit with an independent table). A "cup" here is always the US
# customary cup of 236.6 ml, not the metric cup of 250 ml.
POUND_MG = Fraction("453592.37")
INCH_MM = Fraction("25.4")
GALLON_ML = 231 * (INCH_MM / 10) ** 3
CUP_ML, TBSP_ML = GALLON_ML / 16, GALLON_ML / 256
F_DEGREES = Fraction(5, 9)

MASS = Dimension(
    units={
        "mg": (Fraction(1), "mg milligram milligrams"),
        "g": (Fraction(1_000), "g gram grams gramme grammes"),
        "kg": (Fraction(1_000_000), "kg kilo kilos kilogram kilograms"),
        "oz": (POUND_MG / 16, "oz ounce ounces"),
        "lb": (POUND_MG, "lb lbs pound pounds"),
    },
    limit=Fraction(1_000_000_000),
    joined=(("lb", "oz"), ("kg", "g")),
)
LENGTH = Dimension(
    units={
        "mm": (Fraction(1), "mm"),
        "cm": (Fraction(10), "cm"),
        "m": (Fraction(1_000), "m"),
        "in": (INCH_MM, 'in inch inches "'),
    },
    limit=Fraction(100_000),
)
VOLUME = Dimension(
    units={
        "ml": (Fraction(1), "ml cc millilitre millilitres milliliter milliliters"),
        "cl": (Fraction(10), "cl"),
        "dl": (Fraction(100), "dl"),
        "l": (Fraction(1_000), "l litre litres liter liters"),
        "tsp": (TBSP_ML / 3, "tsp teaspoon teaspoons"),
        "tbsp": (TBSP_ML, "tbsp tablespoon tablespoons"),
        "fl oz": (CUP_ML / 8, "floz fluidounce fluidounces"),
        "cup": (CUP_ML, "cup cups"),
        "pint": (GALLON_ML / 8, "pint pints pt"),
        "quart": (GALLON_ML / 4, "quart quarts qt"),
        "gallon": (GALLON_ML, "gallon gallons gal"),
    },
    limit=Fraction(1_000_000),
)
TEMPERATURE = Dimension(
    units={
        "C": (Fraction(1), "c °c degc celsius ℃"),
        "F": (F_DEGREES, "f °f degf fahrenheit ℉"),
    },
    limit=Fraction(1_000),
)


def half_up(value: Fraction) -> int:
    """The nearest whole number; a half goes up."""
    return floor(value + Fraction(1, 2))
