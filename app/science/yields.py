"""Which published cooking yields fit a piece of meat, and what protein says where none do."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from app.science.classes import FoodClass, Form
from app.science.errors import NotInTable, require
from app.science.foods import CookingYield, cooking_yields, food
from app.science.ranges import Range
from app.science.sources import Evidence, Sourced


class CookingMethod(StrEnum):
    """How meat is cooked, as far as the tables tell it apart."""

    SIMMERED = "simmered"
    BRAISED = "braised"
    ROASTED = "roasted"
    BROILED = "broiled"
    PAN_FRIED = "pan_fried"


@dataclass(frozen=True, slots=True)
class YieldEstimate:
    """Cooked mass over raw mass as a range, how well it is known, and the rows behind it."""

    share: Range
    evidence: Evidence
    rows: tuple[CookingYield, ...] = ()


SIMMERED_GROUND_YIELD: Final = Sourced(
    0.75,
    "kg cooked per kg raw",
    Evidence.JUDGEMENT,
    low=0.65,
    high=0.85,
    note="no table; protein ties of stewed meats give 0.62 to 0.78, of stewed mince 0.78 to 0.90",
)
TIE_ERROR: Final = Sourced(
    0.03,
    "kg/kg",
    Evidence.DERIVED,
    note="a protein tie meets the published yields of deer, elk and beef within 3 points",
)

_METHOD_WORDS: Final = {
    CookingMethod.SIMMERED: ("simmered",),
    CookingMethod.BRAISED: ("braised",),
    CookingMethod.ROASTED: ("roasted",),
    CookingMethod.BROILED: ("broiled or grilled", "pan-broiled"),
    CookingMethod.PAN_FRIED: ("pan-fried", "pan-browned", "pan-broiled"),
}
_CLASS_WORDS: Final = {
    FoodClass.RED_MEAT: ("beef", "lamb"),
    FoodClass.PORK: ("pork",),
    FoodClass.GAME: ("bison", "deer", "elk"),
    FoodClass.WILD_MEAT_EATER: (),
    FoodClass.POULTRY: ("chicken", "turkey"),
    FoodClass.GAME_BIRD: (),
    FoodClass.FISH_LEAN: (),
    FoodClass.FISH_FATTY: (),
}
# Where the table is silent: the other moist method, then the nearest meat; judgement, and said so.
_OTHER_MOIST: Final = {
    CookingMethod.SIMMERED: CookingMethod.BRAISED,
    CookingMethod.BRAISED: CookingMethod.SIMMERED,
}
_NEAREST_MEAT: Final = {
    FoodClass.GAME: FoodClass.RED_MEAT,
    FoodClass.WILD_MEAT_EATER: FoodClass.PORK,
    FoodClass.GAME_BIRD: FoodClass.POULTRY,
}
_NOT_PLAIN_MEAT: Final = ("variety meats", "gizzard", "giblets", "bacon", "sausage", "bone in")

# Raw and cooked rows of the composition table, for want of a weighed yield.
_TIES: Final = {
    (FoodClass.RED_MEAT, CookingMethod.SIMMERED, False): (("23093", "23090"),),
    (FoodClass.RED_MEAT, CookingMethod.BROILED, True): (("17224", "17225"),),
    (FoodClass.PORK, CookingMethod.BROILED, True): (("10219", "10220"),),
    (FoodClass.GAME, CookingMethod.SIMMERED, False): (("17180", "17181"), ("17177", "17179")),
    (FoodClass.GAME, CookingMethod.BRAISED, False): (("17180", "17181"), ("17177", "17179")),
    (FoodClass.GAME, CookingMethod.ROASTED, False): (
        ("17144", "17145"),
        ("17156", "17157"),
        ("17162", "17163"),
        ("17164", "17165"),
        ("17166", "17167"),
        ("17172", "17173"),
        ("17177", "17178"),
        ("17183", "17184"),
    ),
    (FoodClass.GAME, CookingMethod.PAN_FRIED, True): (
        ("17149", "17148"),
        ("17330", "17331"),
        ("17338", "17339"),
        ("17343", "17344"),
    ),
    (FoodClass.WILD_MEAT_EATER, CookingMethod.SIMMERED, False): (("17146", "17147"),),
    (FoodClass.WILD_MEAT_EATER, CookingMethod.BRAISED, False): (("17146", "17147"),),
    (FoodClass.WILD_MEAT_EATER, CookingMethod.ROASTED, False): (("17158", "17159"),),
    (FoodClass.POULTRY, CookingMethod.PAN_FRIED, True): (
        ("05332", "05333"),
        ("05305", "05306"),
        ("05665", "05666"),
        ("05668", "05669"),
    ),
    (FoodClass.FISH_LEAN, CookingMethod.ROASTED, False): (("15064", "15204"),),
    (FoodClass.FISH_LEAN, CookingMethod.BROILED, False): (("15064", "15204"),),
    (FoodClass.FISH_FATTY, CookingMethod.ROASTED, False): (
        ("15076", "15209"),
        ("15085", "15086"),
        ("15236", "15237"),
    ),
}


def cooking_yield(
    food_class: FoodClass, form: Form, method: CookingMethod, fat: float
) -> YieldEstimate:
    """Cooked mass over raw mass of meat, boneless.

    Published rows of the same kind of meat, form and method first, ground meat by its fat class;
    else the ratio of protein before and after (protein stays); else the same of the other moist
    method or of the nearest meat, marked as judgement.

    Args:
        food_class: a meat, bird or fish. form: ground or not is what matters.
        method: how it is cooked. fat: raw fat fraction, kg/kg.
    Returns:
        The range of the samples (lowest to highest, central the mean of the rows' yields).
    Raises:
        NotInTable: neither a row nor a pair of foods covers the question.
    Source: USDA Table of Cooking Yields for Meat and Poultry, Release 2, 2014; ties from USDA SR28.
    """
    if food_class not in _CLASS_WORDS:
        raise NotInTable("the table of cooking yields", str(food_class))
    is_ground = form is Form.GROUND
    if is_ground and method is CookingMethod.SIMMERED:
        given = SIMMERED_GROUND_YIELD
        low, high = given.span
        return YieldEstimate(Range(low, given.value, high), given.evidence)
    own = _published(food_class, is_ground, method, fat) or _tied(food_class, is_ground, method)
    return own or _stand_in(food_class, is_ground, method, fat)


def protein_tie(raw_protein: float, cooked_protein: float) -> float:
    """Yield by protein as the substance that stays: raw share over cooked share.

    Args:
        raw_protein, cooked_protein: fractions, kg/kg, cooked > 0.
    Returns:
        Cooked mass over raw mass; about 3 points either way, too high by what went into broth.
    Raises:
        OutOfRange: a fraction outside the range.
    Source: conservation of protein.
    """
    require("raw_protein", raw_protein, 0.0, 1.0, "kg/kg")
    require("cooked_protein", cooked_protein, 1e-6, 1.0, "kg/kg")
    return raw_protein / cooked_protein


def _fitting_rows(
    food_class: FoodClass, is_ground: bool, method: CookingMethod, fat: float
) -> tuple[CookingYield, ...]:
    fat_words = _fat_class(food_class, fat) if is_ground else ""

    def fits(row: CookingYield) -> bool:
        name = row.description.casefold()
        return (
            any(word in name for word in _CLASS_WORDS[food_class])
            and any(word in row.method.casefold() for word in _METHOD_WORDS[method])
            and ("ground" in name) == is_ground
            and fat_words in name
            and not any(word in name for word in _NOT_PLAIN_MEAT)
        )

    return tuple(row for row in cooking_yields() if fits(row))


def _fat_class(food_class: FoodClass, fat: float) -> str:
    """The words by which the table's rows of ground beef and pork tell their fat."""
    limits = {FoodClass.RED_MEAT: (0.12, 0.22), FoodClass.PORK: (0.10, 0.27)}.get(food_class)
    if limits is None:
        return ""
    low, high = limits
    return "low fat" if fat < low else "medium fat" if fat <= high else "high fat"


def _published(
    food_class: FoodClass, is_ground: bool, method: CookingMethod, fat: float
) -> YieldEstimate | None:
    rows = _fitting_rows(food_class, is_ground, method, fat)
    if not rows:
        return None
    spans = [row.span for row in rows]
    central = sum(row.yield_fraction for row in rows) / len(rows)
    share = Range(min(low for low, _ in spans), central, max(high for _, high in spans))
    return YieldEstimate(share, Evidence.COPY, rows)


def _tied(food_class: FoodClass, is_ground: bool, method: CookingMethod) -> YieldEstimate | None:
    pairs = _TIES.get((food_class, method, is_ground))
    if pairs is None:
        return None
    ties = [
        protein_tie(food(raw).composition.protein, food(cooked).composition.protein)
        for raw, cooked in pairs
    ]
    central = sum(ties) / len(ties)
    share = Range(min(ties) - TIE_ERROR.value, central, max(ties) + TIE_ERROR.value)
    return YieldEstimate(share, Evidence.DERIVED)


def _stand_in(
    food_class: FoodClass, is_ground: bool, method: CookingMethod, fat: float
) -> YieldEstimate:
    classes = (food_class, _NEAREST_MEAT.get(food_class, food_class))
    methods = (method, _OTHER_MOIST.get(method, method))
    for other_class in classes:
        for other_method in methods:
            found = _published(other_class, is_ground, other_method, fat) or _tied(
                other_class, is_ground, other_method
            )
            if found:
                return YieldEstimate(found.share, Evidence.JUDGEMENT, found.rows)
    question = f"{food_class}, {'ground, ' if is_ground else ''}{method}"
    raise NotInTable("the table of cooking yields", question)
