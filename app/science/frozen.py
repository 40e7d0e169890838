"""Freezer and refrigerator: published tables, never a model of oxidation.

Freezer times are about QUALITY only; food held at or below -18 °C stays safe. Refrigerator days are
fixed limits and are never extrapolated to another temperature or package.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.science.classes import FoodClass, Form
from app.science.errors import require
from app.science.packaging import PackagingKind
from app.science.sources import (
    BHATTACHARYA_1988,
    DASZKIEWICZ_2018,
    FDA_STORAGE,
    FOODSAFETY_COLD,
    ILLINOIS_THAWED,
    MSU_VENISON,
    NCHFP_FREEZER,
    POP_FATS,
    WFLO_MEATS,
    WYOMING_JERKY,
    Evidence,
    Source,
    Sourced,
)

if TYPE_CHECKING:
    from app.science.draws import Numbers

MONTH_D = 365.25 / 12
FREEZER_C = -18.0
COLDEST_C, WARMEST_FROZEN_C, WARMEST_CHILLED_C = -40.0, -5.0, 5.0
HOURS_WARM = Sourced(
    2.0, "h", Evidence.SECOND_HAND, FOODSAFETY_COLD, note="a perishable food out of the cold"
)


@dataclass(frozen=True, slots=True)
class State:
    """What the tables look a food up by."""

    food_class: FoodClass
    form: Form
    is_cooked: bool = False
    is_thawed: bool = False
    is_dried: bool = False  # dried, but not dry enough to keep at room temperature
    is_wet: bool = False  # of those: too wet to count as dried at all

    @property
    def is_ground(self) -> bool:
        """Ground, or ground to powder: the shortest times."""
        return self.form in (Form.GROUND, Form.POWDER)


def _read(low: float, high: float, source: Source, unit: str, note: str = "") -> Sourced:
    return Sourced((low * high) ** 0.5, unit, Evidence.READ, source, low, high, note)


def _row(low: float, high: float, source: Source, note: str = "") -> Sourced:
    return _read(low, high, source, "months at -18 °C", note)


def _ours(low: float, high: float, unit: str, note: str) -> Sourced:
    return Sourced((low * high) ** 0.5, unit, Evidence.JUDGEMENT, None, low, high, note)


_UP_TO = "the table names the upper end only; the lower, three quarters of it, is our judgement"
_M = "months at -18 °C"

_GROUND_MEAT = _row(3, 4, FDA_STORAGE)
_GROUND_GAME = _row(2, 3, MSU_VENISON, "ground game and game stew meat")
_POULTRY = _row(9, 12, FDA_STORAGE, _UP_TO)
_POULTRY_PARTS = _row(6.75, 9, FDA_STORAGE, _UP_TO)
_GAME_BIRD = _row(6, 9, NCHFP_FREEZER, "poultry")
_FATTY_FISH = _row(2, 3, FDA_STORAGE)
_SHELLFISH = _ours(2, 3, _M, "as fatty fish")
_SEPARATE_EGG = Sourced(
    10.4, _M, Evidence.SECOND_HAND, FOODSAFETY_COLD, 9, 12, "out of the shell. " + _UP_TO
)
_COOKED = Sourced(
    3.0, _M, Evidence.COPY, FOODSAFETY_COLD, 2, 6, "cooked meat; an older agency chart says 2-3"
)
_STEW = Sourced(6**0.5, _M, Evidence.COPY, FOODSAFETY_COLD, 2, 3, "soups and stews")
_BROTH = _row(2, 3, FDA_STORAGE, "gravy")
_PRODUCE = _row(8, 12, NCHFP_FREEZER, "fruit and vegetables")
_JERKY = _row(9, 12, WYOMING_JERKY, "dried meat. " + _UP_TO)

FREEZER_GROUND: dict[FoodClass, Sourced] = {
    FoodClass.RED_MEAT: _GROUND_MEAT,
    FoodClass.PORK: _GROUND_MEAT,
    FoodClass.GAME: _GROUND_GAME,
    FoodClass.WILD_MEAT_EATER: _GROUND_GAME,
    FoodClass.POULTRY: _GROUND_MEAT,
    FoodClass.GAME_BIRD: _GROUND_MEAT,
}
FREEZER_PIECES: dict[FoodClass, Sourced] = {
    FoodClass.RED_MEAT: _ours(3, 4, _M, "stew meat, as ground"),
    FoodClass.PORK: _ours(3, 4, _M, "stew meat, as ground"),
    FoodClass.GAME: _GROUND_GAME,
    FoodClass.WILD_MEAT_EATER: _GROUND_GAME,
    FoodClass.POULTRY: _POULTRY_PARTS,
    FoodClass.GAME_BIRD: _GAME_BIRD,
}
FREEZER_WHOLE: dict[FoodClass, Sourced] = {
    FoodClass.RED_MEAT: _row(6, 12, FDA_STORAGE, "beef steaks and roasts"),
    FoodClass.PORK: _row(4, 6, FDA_STORAGE, "chops and roasts"),
    FoodClass.GAME: _row(8, 12, MSU_VENISON, "roasts and steaks"),
    FoodClass.WILD_MEAT_EATER: _ours(4, 6, _M, "as pork, for its soft fat"),
    FoodClass.POULTRY: _POULTRY,
    FoodClass.GAME_BIRD: _GAME_BIRD,
    FoodClass.FISH_LEAN: _row(4.5, 6, FDA_STORAGE, _UP_TO),
    FoodClass.FISH_FATTY: _FATTY_FISH,
    FoodClass.SHELLFISH: _SHELLFISH,
    FoodClass.EGG: _SEPARATE_EGG,
    FoodClass.DAIRY: _row(0.75, 1, FDA_STORAGE, "milk. " + _UP_TO),
    FoodClass.FAT: _row(120 / MONTH_D, 210 / MONTH_D, POP_FATS, "poultry fat to tallow"),
    FoodClass.BROTH: _BROTH,
    FoodClass.VEGETABLE: _PRODUCE,
    FoodClass.FRUIT: _PRODUCE,
    FoodClass.DISH: _STEW,
    FoodClass.GRAIN_LEGUME: _ours(2, 3, _M, "cooked, as stews"),
}

_D = "d at or below 4.4 °C"
_ONE_TWO = _read(1, 2, FDA_STORAGE, _D, "ground, poultry, fish")
_THREE_FIVE = _read(3, 5, FDA_STORAGE, _D, "whole cuts")
_LEFTOVERS = Sourced(12**0.5, _D, Evidence.COPY, FOODSAFETY_COLD, 3, 4, "cooked food, soups, stews")
_AS_LEFTOVERS = _ours(3, 4, _D, "as cooked leftovers")
_THAWED_QUICK = _read(1, 2, ILLINOIS_THAWED, _D, "thawed ground meat and poultry")
_THAWED_CUTS = _read(3, 5, ILLINOIS_THAWED, _D, "thawed large cuts")
_RENDERED = _read(60, 150, POP_FATS, "d at 2 °C", "poultry fat to tallow")
_JERKY_COLD = _read(3 * MONTH_D, 6 * MONTH_D, WYOMING_JERKY, _D, "dried meat")
_MILK = _read(3.75, 5, FDA_STORAGE, _D, "milk. " + _UP_TO)
_SHELL_EGG = _read(15.75, 21, FDA_STORAGE, _D, "fresh in the shell. " + _UP_TO)
_EGG_OUT = Sourced(8**0.5, _D, Evidence.SECOND_HAND, FOODSAFETY_COLD, 2, 4, "out of the shell")
_EGG_COOKED = _read(5.25, 7, FDA_STORAGE, _D, "hard-boiled. " + _UP_TO)

_CUTS = (FoodClass.RED_MEAT, FoodClass.PORK, FoodClass.GAME, FoodClass.WILD_MEAT_EATER)
_PLANTS = (FoodClass.VEGETABLE, FoodClass.FRUIT, FoodClass.GRAIN_LEGUME)


def freezer_months(state: State) -> Sourced | None:
    """How long a food keeps its quality in an ordinary freezer bag at -18 °C.

    Args:
        state: of the food.
    Returns:
        Months with their published range, or None where no table covers the food.
    Source: at each row.
    Example:
        >>> freezer_months(State(FoodClass.GAME, Form.GROUND)).span
        (2, 3)
    """
    food_class = state.food_class
    if state.is_dried and not state.is_wet:
        return _JERKY
    if state.is_cooked and food_class in FREEZER_GROUND:
        return _COOKED
    if state.is_cooked and food_class in (FoodClass.FISH_LEAN, FoodClass.FISH_FATTY):
        return _SHELLFISH
    if state.is_ground and food_class in FREEZER_GROUND:
        return FREEZER_GROUND[food_class]
    if state.form is not Form.WHOLE and food_class in FREEZER_PIECES:
        return FREEZER_PIECES[food_class]
    return FREEZER_WHOLE.get(food_class)


def refrigerator_days(state: State) -> Sourced | None:
    """The fixed number of days a food may stay in the refrigerator.

    Args:
        state: of the food.
    Returns:
        Days with their published range, or None where no table covers the food.
    Source: at each row.
    Example:
        >>> refrigerator_days(State(FoodClass.GAME, Form.GROUND)).span
        (1, 2)
    """
    food_class = state.food_class
    if state.is_dried and not state.is_wet:
        return _JERKY_COLD
    if food_class is FoodClass.FAT:
        return _RENDERED if state.is_cooked else _THREE_FIVE
    if food_class is FoodClass.EGG:
        return _egg_days(state)
    if food_class is FoodClass.DAIRY:
        return _MILK
    if food_class in _PLANTS:
        return _AS_LEFTOVERS if state.is_cooked else None
    if food_class is FoodClass.PANTRY:
        return None
    if state.is_cooked or food_class in (FoodClass.BROTH, FoodClass.DISH):
        return _LEFTOVERS
    return _raw_meat_days(state)


def _egg_days(state: State) -> Sourced:
    if state.is_cooked:
        return _EGG_COOKED
    return _SHELL_EGG if state.form is Form.WHOLE else _EGG_OUT


def _raw_meat_days(state: State) -> Sourced:
    if state.form is Form.WHOLE and state.food_class in _CUTS:
        return _THAWED_CUTS if state.is_thawed else _THREE_FIVE
    return _THAWED_QUICK if state.is_thawed else _ONE_TWO


Q10 = Sourced(
    1.6, "", Evidence.DERIVED, WFLO_MEATS, 1.3, 3.0, "from times at -18 and -29 °C: 1.45 to 1.6"
)
PAPER = Sourced(0.9, "", Evidence.JUDGEMENT, low=0.7, high=1.0, note="against a freezer bag")
PRESSED_FLAT = Sourced(1.0, "", Evidence.JUDGEMENT, note="freezer bag, the tables' own package")
VACUUM = Sourced(
    2.0,
    "",
    Evidence.JUDGEMENT,
    BHATTACHARYA_1988,
    1.5,
    3.0,
    "patties stayed less rancid under vacuum; no publication gives the ratio",
)
GAME_CAP = Sourced(
    11.0,
    "months",
    Evidence.READ,
    DASZKIEWICZ_2018,
    10.0,
    12.0,
    "roe deer under vacuum at -26 °C: keep no longer",
)
GAME = frozenset({FoodClass.GAME, FoodClass.WILD_MEAT_EATER})
EVACUATED = 0.5  # of ambient pressure; below it a tight package counts as evacuated


def package_factor(kind: PackagingKind, pressure_fraction: float, is_barrier: bool) -> Sourced:
    """How much longer than in a freezer bag food keeps its quality in this package.

    Args:
        kind: of package. pressure_fraction: left inside, of ambient. is_barrier: to oxygen.
    Returns:
        Factor with range.
    Source: at each factor.
    """
    if kind is PackagingKind.BUTCHER_PAPER:
        return PAPER
    evacuated = is_barrier and pressure_fraction <= EVACUATED
    return VACUUM if kind is PackagingKind.VACUUM_BAG or evacuated else PRESSED_FLAT


def freezer_days(table_days: "Numbers", log_q10: "Numbers", temp_c: "Numbers") -> "Numbers":
    """Quality time at another freezer temperature; numbers or arrays.

        t = t₁₈·Q10^((-18 - T)/10)

    Args:
        table_days: at -18 °C, days. log_q10: ln Q10, ≥ 0. temp_c: °C, -40 to -5.
    Returns:
        Days.
    Source: Q10.
    Example:
        >>> from math import log
        >>> round(float(freezer_days(365.0, log(1.6), -29.0)) / 365.0, 2)  # published: 18/12
        1.68
    """
    import numpy as np

    days: Numbers = table_days * np.exp(log_q10 * (FREEZER_C - temp_c) / 10)
    return days


def freezer_share_used(
    state: State, days: float, temp_c: float, kind: PackagingKind = PackagingKind.ZIP_BAG
) -> float:
    """Share of the freezer quality that a stay has used, by the central values.

    Args:
        state: of the food. days: in the freezer, ≥ 0. temp_c: °C, -40 to -5. kind: of package.
    Returns:
        Share, 0 to 1; 0 where no table covers the food.
    Raises:
        OutOfRange: an argument outside its range.
    Example:
        >>> round(freezer_share_used(State(FoodClass.GAME, Form.GROUND), 30, -18.0), 2)
        0.4
    """
    from math import log

    require("days", days, 0.0, None, "d")
    require("temp_c", temp_c, COLDEST_C, WARMEST_FROZEN_C, "°C")
    table = freezer_months(state)
    if table is None:
        return 0.0
    life = table.value * MONTH_D * package_factor(kind, 1.0, is_barrier=False).value
    return min(1.0, days / float(freezer_days(life, log(Q10.value), temp_c)))
