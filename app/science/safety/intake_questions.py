"""What a household is asked when wild game or fish comes in: only what a rule looks at."""

import re
from enum import StrEnum

from app.science.classes import FoodClass
from app.science.safety.fish import HISTAMINE_FISH
from app.science.safety.game import WILD_CLASSES, asks_for_wasting
from app.science.safety.rule import RuleSet


class GameQuestion(StrEnum):
    """One question of the form; each stands for an argument of `game_notes` or `fish_notes`."""

    CWD_TEST = "cwd_test"
    CWD_LISTED = "cwd_listed"
    AMMUNITION = "ammunition"  # lead, free of lead, or not known: True, False, None
    LOOKED_SICK = "looked_sick"
    HOURS_TO_COLD = "hours_to_cold"
    CENTRE_TEMP = "centre_temp"
    AIR_TEMP = "air_temp"
    HIDE_ON = "hide_on"
    FISH_WILD = "fish_wild"  # or fed on pellets alone
    FISH_RAW_USE = "fish_raw_use"
    FISH_FREEZING = "fish_freezing"  # how cold, how long, how thick: only if it is eaten raw
    FISH_TEMP = "fish_temp"  # how long and how warm it lay


_GAME = frozenset(
    {
        GameQuestion.AMMUNITION,
        GameQuestion.LOOKED_SICK,
        GameQuestion.HOURS_TO_COLD,
        GameQuestion.CENTRE_TEMP,
        GameQuestion.AIR_TEMP,
        GameQuestion.HIDE_ON,
    }
)
_WASTING = frozenset({GameQuestion.CWD_TEST, GameQuestion.CWD_LISTED})
_RAW_FISH = frozenset(
    {GameQuestion.FISH_RAW_USE, GameQuestion.FISH_WILD, GameQuestion.FISH_FREEZING}
)


def questions_for(
    food_class: FoodClass, species: str, rule_set: RuleSet = RuleSet.US, country: str | None = None
) -> frozenset[GameQuestion]:
    """The questions whose answers a rule looks at, for one animal.

    Args:
        food_class: of the animal. species: as typed. rule_set: whose advice counts.
        country: where it was taken, ISO 3166 code; the rule set's own by default.
    Returns:
        Questions; none for farmed meat, shellfish and plants. The use decides FISH_WILD and
        FISH_FREEZING: they matter only if FISH_RAW_USE is not "cooked".
    Source: what `game_notes` and `fish_notes` look at.
    Example:
        >>> sorted(q.value for q in questions_for(FoodClass.FISH_LEAN, "perch"))
        ['fish_freezing', 'fish_raw_use', 'fish_wild']
    """
    if food_class in WILD_CLASSES:
        return _GAME | (_WASTING if asks_for_wasting(species, rule_set, country) else frozenset())
    if food_class not in (FoodClass.FISH_LEAN, FoodClass.FISH_FATTY):
        return frozenset()
    words = set(re.findall(r"[a-z]+", species.casefold()))
    words |= {word.removesuffix("s") for word in words}
    warm = {GameQuestion.FISH_TEMP} if words & HISTAMINE_FISH else set()
    return _RAW_FISH | warm
