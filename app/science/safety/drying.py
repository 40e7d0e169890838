"""Drying meat and produce: heat first, RAW stays, and what shared a dryer load."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from app.science import sources as s
from app.science.classes import FoodClass, Form
from app.science.drying import DryerKind
from app.science.errors import require
from app.science.safety.cooking import cook_target
from app.science.safety.cooking_rules import TRICH_WILD
from app.science.safety.drying_rules import (
    FD_PRODUCE,
    FD_RAW,
    JERKY_AW,
    JERKY_HEAT,
    JERKY_MPR,
    RAW_SEPARATE,
    TRICH_PORK,
)
from app.science.safety.low_oxygen import Kept
from app.science.safety.readings import Reading, unit_ask
from app.science.safety.rule import Outcome, RuleSet, Verdict, known
from app.science.sources import Evidence, Sourced

_PLANT = (FoodClass.VEGETABLE, FoodClass.FRUIT)
_OVEN_MEAT = {FoodClass.RED_MEAT, FoodClass.GAME}


@dataclass(frozen=True, slots=True)
class TrichinaRow:
    """One row of the former freezing table: days by thickness at an air temperature."""

    temp_c: Sourced
    temp_f: float
    days_thin: float
    days_thick: float


def _freezing(temp_c: float, temp_f: float, thin: float, thick: float) -> TrichinaRow:
    return TrichinaRow(Sourced(temp_c, "degC", Evidence.COPY, s.CFR_318_10), temp_f, thin, thick)


#: Days of freezing, pieces to 6 inches (15 cm) and from 6 to 27 inches (69 cm) thick.
TRICHINA_TABLE: tuple[TrichinaRow, ...] = (
    _freezing(-15.0, 5, 20, 30),
    _freezing(-23.3, -10, 10, 20),
    _freezing(-28.9, -20, 6, 12),
)
THIN_M, THICK_M = 0.152, 0.686

#: Hours at the centre: (°C, °F, hours).
TRICHINA_CENTRE: tuple[tuple[float, float, float], ...] = (
    (-17.8, 0, 106),
    (-20.6, -5, 82),
    (-23.3, -10, 63),
    (-26.1, -15, 48),
    (-28.9, -20, 35),
    (-31.7, -25, 22),
    (-34.5, -30, 8),
    (-37.2, -35, 0.5),
)


def dried_meat(
    food_classes: Collection[FoodClass],
    dryer: DryerKind,
    *,
    was_cooked: bool,
    centre_before: float | None = None,
    unit: str = "F",
    by_wet_heat: bool = False,
    dryer_air_c: float | None = None,
    oven_after: bool = False,
    kept: Kept = Kept.SHELF,
    water_activity: float | None = None,
    moisture_protein_ratio: float | None = None,
    insisted: bool = False,
    rule_set: RuleSet = RuleSet.US,
) -> tuple[Verdict, ...]:
    """Was meat heated before it was dried, and may it go on the shelf?

    Args:
        food_classes: every ingredient. dryer: freeze-dryer or warm air.
        was_cooked: a cook step took RAW away before. centre_before, unit: centre read before
        drying, "C" or "F"; by_wet_heat: steamed or simmered to it. dryer_air_c: warm air, °C.
        oven_after: 10 min at 275 °F after drying. kept: where it goes. water_activity: measured,
        0 to 1, warm-air drying only. moisture_protein_ratio: if known, answered with a note.
        insisted: the person confirmed an unusual reading. rule_set: whose advice counts.
        None or NaN is unknown, and unknown never passes.
    Returns:
        Verdicts; empty for food without meat.
    Source: FSIS Jerky and Food Safety; Kansas State University 2021; MMWR 2024.
    Example:
        >>> raw = dried_meat([FoodClass.GAME], DryerKind.FREEZE, was_cooked=False)
        >>> [(v.id, v.outcome.value) for v in raw]
        [('FD-RAW', 'note')]
    """
    if not any(food.is_animal for food in food_classes):
        return ()
    if dryer is DryerKind.FREEZE:
        return () if was_cooked else (Verdict(FD_RAW, Outcome.NOTE),)
    reading = known(centre_before)
    ask = None if insisted or reading is None else unit_ask(Reading.COOK_CENTRE, reading, unit)
    if ask:
        return (ask,)
    found = []
    if not was_cooked:
        heated = reading if by_wet_heat else None
        found += _heat(food_classes, heated, unit, oven_after, rule_set)
    air_c = known(dryer_air_c)
    if air_c is not None and air_c < JERKY_HEAT.limits[2].value:
        found.append(Verdict(JERKY_HEAT, Outcome.NOTE))
    found.append(_shelf(kept, known(water_activity)))
    ratio = known(moisture_protein_ratio)
    if ratio is not None:
        found.append(Verdict(JERKY_MPR, Outcome.NOTE, {"ratio": ratio}))
    return tuple(found)


def claims_cooked_by_drying() -> tuple[Verdict, ...]:
    """The answer when somebody takes RAW away because the food is dry."""
    return (Verdict(FD_RAW, Outcome.STOP),)


def dried_produce(food_class: FoodClass) -> tuple[Verdict, ...]:
    """The note on washing fruit and vegetables that are dried raw."""
    return (Verdict(FD_PRODUCE, Outcome.NOTE),) if food_class in _PLANT else ()


def dryer_load(
    is_raw: Mapping[str, bool | None], *, clean_down: bool = False
) -> tuple[tuple[Verdict, ...], frozenset[str]]:
    """What sharing a load, tray, grinder or board does.

    Args:
        is_raw: raw mark of each lot by its code; None is unknown and counts as raw.
        clean_down: one after the other, cleaned in between and logged.
    Returns:
        Verdicts, and the codes that are RAW afterwards.
    Source: MMWR 73(20) 2024: two fell ill who ate only the vegetables.
    Example:
        >>> dryer_load({"moose": True, "peas": False})[1] == {"moose", "peas"}
        True
    """
    raw = frozenset(code for code, mark in is_raw.items() if mark is not False)
    if clean_down or not raw or len(raw) == len(is_raw):
        return (), raw
    marked = ", ".join(sorted(set(is_raw) - raw))
    return (Verdict(RAW_SEPARATE, Outcome.CONFIRM, {"marked": marked}),), frozenset(is_raw)


def trichina_in_pork(
    temp_c: float, days: float, thickness_m: float, *, insisted: bool = False
) -> tuple[Verdict, ...]:
    """Did freezing meet the former rule for farmed pork? History only: it never clears RAW.

    Args:
        temp_c: warmest air, °C. days: at it, ≥ 0. thickness_m: of the piece or block, m, > 0.
        insisted: the person confirmed an unusual temperature.
    Returns:
        One note.
    Raises:
        OutOfRange: a value outside the table or NaN.
    Source: former 9 CFR 318.10 (removed 2018); JAMA 155:1394 (1954).
    """
    require("temp_c", temp_c, -60.0, 40.0, "°C")
    require("days", days, 0.0, None, "d")
    require("thickness_m", thickness_m, 0.0, THICK_M, "m")
    ask = None if insisted else unit_ask(Reading.FREEZER, temp_c, "C")
    if ask:
        return (ask,)
    rows = [row for row in TRICHINA_TABLE if temp_c <= row.temp_c.value]
    answer = "Not cold enough for the former rule (−15 °C or colder)."
    if rows:
        needed = rows[-1].days_thin if thickness_m <= THIN_M else rows[-1].days_thick
        answer = "Met the former freezing rule for farmed pork, shown as history."
        if days < needed:
            answer = f"Not met: the former freezing rule asks {needed:g} days at this cold."
    return (Verdict(TRICH_PORK, Outcome.NOTE, {"answer": answer}),)


def trichina_at_centre(centre_c: float, hours: float) -> bool:
    """Was the former table of centre temperatures met? Looked up, never interpolated.

    Args:
        centre_c: warmest centre, °C. hours: at it, ≥ 0.
    Source: former 9 CFR 318.10, second table, in a veterinary review.
    """
    require("centre_c", centre_c, -60.0, 40.0, "°C")
    require("hours", hours, 0.0, None, "h")
    return any(centre_c <= row_c and hours >= needed for row_c, _, needed in TRICHINA_CENTRE)


def _heat(
    food_classes: Collection[FoodClass],
    reading: float | None,
    unit: str,
    oven_after: bool,
    rule_set: RuleSet,
) -> list[Verdict]:
    target = cook_target(food_classes, Form.GROUND, rule_set)
    need_f = max(target.temp_f or 0.0, JERKY_HEAT.limits[0].value)
    need_c = max(target.temp_c or 0.0, 71.1)
    numbers = {"target": f"{need_f:g} °F ({need_c:g} °C)"}
    if reading is not None and reading >= (need_f if unit == "F" else need_c):
        return [Verdict(JERKY_HEAT, Outcome.PASS, numbers), Verdict(FD_RAW, Outcome.NOTE)]
    second_best = oven_after and set(food_classes) <= _OVEN_MEAT
    outcome = Outcome.CONFIRM if second_best else Outcome.STOP
    found = [Verdict(JERKY_HEAT, outcome, numbers), Verdict(FD_RAW, Outcome.NOTE)]
    if FoodClass.WILD_MEAT_EATER in food_classes:
        found.append(Verdict(TRICH_WILD, Outcome.STOP))
    return found


def _shelf(kept: Kept, aw: float | None) -> Verdict:
    if aw is not None:
        require("water_activity", aw, 0.0, 1.0)
    shown = {"aw": "not measured" if aw is None else f"{aw:.2f}"}
    if aw is not None and aw <= JERKY_AW.limits[0].value:
        return Verdict(JERKY_AW, Outcome.PASS, shown)
    return Verdict(JERKY_AW, Outcome.STOP if kept is Kept.SHELF else Outcome.CONFIRM, shown)
