"""Fish: parasites where it is eaten raw, histamine where it was warm."""

import re
from collections.abc import Sequence
from enum import StrEnum

from app.science import sources as s
from app.science.classes import FoodClass
from app.science.errors import require
from app.science.safety.holding import exposure
from app.science.safety.readings import Reading, unit_ask
from app.science.safety.rule import Outcome, Rule, RuleSet, Severity, Topic, Verdict, known
from app.science.sources import Evidence, Source, Sourced

_COPY, _READ = Evidence.COPY, Evidence.READ


class FishUse(StrEnum):
    """How the fish will be eaten."""

    COOKED = "cooked"
    RAW = "raw"
    CURED = "cured"
    COLD_SMOKED = "cold-smoked"
    PART_COOKED = "part-cooked"


def _code(value: float, unit: str, note: str = "") -> Sourced:
    return Sourced(value, unit, _READ, s.FOOD_CODE_PARASITES, note=note)


#: Rows of the rule: (°C, hours, frozen solid at −35 °C first?).
PARASITE_TABLE: tuple[tuple[Sourced, Sourced, bool], ...] = (
    (_code(-20, "degC"), _code(168, "hour"), False),
    (_code(-35, "degC"), _code(15, "hour"), True),
    (_code(-20, "degC"), _code(24, "hour", "after freezing solid at −35 °C"), True),
)
_EU_ROW = (
    Sourced(-20, "degC", _COPY, s.EU_FISH_FREEZING),
    Sourced(24, "hour", _COPY, s.EU_FISH_FREEZING),
    False,
)
EU_PARASITE_TABLE: tuple[tuple[Sourced, Sourced, bool], ...] = (
    _EU_ROW,
    (
        Sourced(-35, "degC", Evidence.UNCHECKED, s.EU_FISH_FREEZING),
        Sourced(15, "hour", Evidence.UNCHECKED, s.EU_FISH_FREEZING),
        False,
    ),
)
THICKEST_M = Sourced(0.15, "m", _COPY, s.FDA_HAZARDS, note="6 inches")

_TUNA = frozenset({"albacore", "yellowfin", "blackfin", "bluefin", "bigeye"})
#: Fish in which histamine forms.
HISTAMINE_FISH = frozenset({"tuna", "mackerel", "mahi", "bluefish", "sardine", "amberjack"} | _TUNA)


def _rule(
    id: str, applies_to: str, words: str, source: Source, limits: tuple[Sourced, ...],
    also: tuple[tuple[Outcome, str], ...] = (),
) -> Rule:  # fmt: skip
    return Rule(id, Topic.FISH, Severity.STOP, applies_to, words, source, _READ, limits, also)


FISH_PARA = _rule(
    "FISH-PARA",
    "fish eaten raw, cured, cold-smoked or part-cooked",
    "Not frozen cold enough for long enough to eat it {use}: −20 °C (−4 °F) for 7 days, or the "
    "faster ways from −35 °C. A home freezer at −18 °C never does it. Cook it.",
    s.FOOD_CODE_PARASITES,
    (*(limit for row in PARASITE_TABLE for limit in row[:2]), THICKEST_M),
    (
        (Outcome.PASS, "Frozen long and cold enough against parasites to eat it {use}."),
        (Outcome.NOTE, "This kind is exempt from freezing against parasites."),
        (Outcome.CONFIRM, "Frozen long enough if no piece is thicker than 15 cm. Is that so?"),
    ),
)
FISH_HIST = _rule(
    "FISH-HIST",
    "tuna, mackerel, mahi-mahi, bluefish, sardine, amberjack kept warm beyond the two-hour rule",
    "Warm for {hours} h: histamine may have formed. Washing, freezing or cooking does not remove "
    "it. Discard.",
    s.FDA_HISTAMINE,
    (Sourced(4.4, "degC", _COPY, s.FSIS_TWO_HOURS), Sourced(2, "hour", _COPY, s.FSIS_TWO_HOURS)),
)

RULES = (FISH_PARA, FISH_HIST)

_FISH = (FoodClass.FISH_LEAN, FoodClass.FISH_FATTY)


def fish_notes(
    food_class: FoodClass,
    species: str,
    *,
    use: FishUse = FishUse.COOKED,
    frozen_c: float | None = None,
    frozen_hours: float | None = None,
    solid_at_minus_35: bool = False,
    thickness_m: float | None = None,
    is_pellet_fed: bool = False,
    outings: Sequence[tuple[float, float | None]] = (),
    rule_set: RuleSet = RuleSet.US,
    insisted: bool = False,
) -> tuple[Verdict, ...]:
    """What a fish asks for.

    Args:
        food_class: only fin fish is looked at. species: as typed. use: how it will be eaten.
        frozen_c, frozen_hours: warmest freezing temperature, °C, and hours at it; None unknown.
        solid_at_minus_35: first frozen solid at −35 °C. thickness_m: thickest piece, m.
        is_pellet_fed: farmed, fed only on formulated feed. outings: (hours, air °C) above 4.4 °C.
        rule_set: UK takes the European rows. insisted: the person confirmed unusual readings.
    Returns:
        Verdicts; empty for a fish that will be cooked and stayed cold.
    Raises:
        OutOfRange: hours negative.
    Validity: not for pieces over 15 cm; rinsed roe and molluscs are exempt and not looked at.
    Source: Food Code 3-402.11; Regulation (EC) 853/2004; FDA CPG 540.525.
    Example:
        >>> fish_notes(FoodClass.FISH_FATTY, "salmon", use=FishUse.RAW, frozen_c=-18.0,
        ...     frozen_hours=720.0, thickness_m=0.05)[0].outcome.value
        'stop'
    """
    if food_class not in _FISH:
        return ()
    words = frozenset(re.findall(r"[a-z]+", species.casefold()))
    words |= {word.removesuffix("s") for word in words}
    read = [(Reading.FREEZER, frozen_c), *((Reading.ROOM, air) for _, air in outings)]
    asks = [] if insisted else [unit_ask(place, value, "C") for place, value in read]
    if ask := next(filter(None, asks), None):
        return (ask,)
    found = []
    if use is not FishUse.COOKED:
        is_exempt = is_pellet_fed or ("tuna" in words and bool(words & _TUNA))
        found.append(_parasites(use, is_exempt, frozen_c, frozen_hours, solid_at_minus_35,
                                known(thickness_m), rule_set))  # fmt: skip
    for hours, _ in outings:
        require("hours", hours, 0.0, None, "h")
    if words & HISTAMINE_FISH and exposure(outings, unknown_is_hot=False) > 1.0:
        hours = sum(hours for hours, _ in outings)
        found.append(Verdict(FISH_HIST, Outcome.STOP, {"hours": hours}))
    return tuple(found)


def _parasites(
    use: FishUse,
    is_exempt: bool,
    frozen_c: float | None,
    frozen_hours: float | None,
    is_solid: bool,
    thickness_m: float | None,
    rule_set: RuleSet,
) -> Verdict:
    if is_exempt:
        return Verdict(FISH_PARA, Outcome.NOTE)
    table = EU_PARASITE_TABLE if rule_set is RuleSet.UK else PARASITE_TABLE
    temp_c, hours = known(frozen_c), known(frozen_hours)
    met = temp_c is not None and hours is not None and any(
        temp_c <= row_c.value and hours >= row_h.value and (is_solid or not needs_solid)
        for row_c, row_h, needs_solid in table
    )  # fmt: skip
    numbers = {"use": use.value}
    if not met or (thickness_m is not None and thickness_m > THICKEST_M.value):
        return Verdict(FISH_PARA, Outcome.STOP, numbers)
    outcome = Outcome.CONFIRM if thickness_m is None else Outcome.PASS
    return Verdict(FISH_PARA, outcome, numbers)
