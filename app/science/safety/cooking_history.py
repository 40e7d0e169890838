"""Cooking judged by a history of the centre: what two neighbouring readings prove, and no more."""

from collections.abc import Collection, Sequence
from itertools import groupby, pairwise

from app.science.classes import FoodClass, Form
from app.science.errors import require
from app.science.safety.cooking import cook_target, cooked, judged
from app.science.safety.cooking_rules import COOK_NOREAD
from app.science.safety.cooking_time import MAX_GAP_MINUTES
from app.science.safety.readings import Reading, unit_ask
from app.science.safety.rule import Outcome, RuleSet, Verdict, known

History = Sequence[tuple[float, float | None]]
_Stretch = list[tuple[float, float]]  # (minutes long, lower of its two readings)


def cooked_from_history(
    food_classes: Collection[FoodClass],
    form: Form,
    readings: History,
    unit: str,
    *,
    rest_minutes: float = 0.0,
    rule_set: RuleSet = RuleSet.US,
    insisted: bool = False,
) -> tuple[Verdict, ...]:
    """Did a cook step reach its target, by the readings of its centre?

    The centre counts as the lower of two neighbouring readings at most 5 minutes apart, and a hold
    or rest as the longest unbroken stretch at or above a temperature. A drop-out, a longer gap and
    a clock that goes back break a stretch. A reading that stands alone in the record counts as in
    `cooked`.

    Args:
        food_classes: class of every ingredient. form: how the food is cut.
        readings: (minutes, temperature as typed), in the order recorded; None or NaN is a drop-out.
        unit: "C" or "F" as typed. rest_minutes: told rest, min ≥ 0; the longer of told and read
        counts. rule_set: whose advice counts. insisted: the person confirmed unusual readings.
    Returns:
        Verdicts as of `cooked`, for `clears_raw`.
    Raises:
        OutOfRange: rest_minutes negative or NaN. ValueError: unknown unit.
    Validity: the five minutes and the lower neighbour are our judgement. Never by the tables of
        time and temperature, which are switched off.
    Source: COOK_TABLE.
    Example:
        >>> history = [(0.0, 68.0), (1.0, 71.0), (2.0, 70.5), (3.0, 70.0)]
        >>> [v.outcome.value for v in cooked_from_history(
        ...     [FoodClass.POULTRY], Form.PIECES, history, "C", rule_set=RuleSet.UK)]
        ['pass']
    """
    require("rest_minutes", rest_minutes, 0.0, None, "min")
    if len(readings) == 1 and readings[0][0] >= 0.0:
        alone = readings[0][1]
        return cooked(food_classes, form, alone, unit, rest_minutes, rule_set, insisted=insisted)
    if not any(food.is_animal for food in food_classes):
        return ()
    warmest = max((value for _, t in readings if (value := known(t)) is not None), default=None)
    ask = None if insisted else unit_ask(Reading.COOK_CENTRE, warmest, unit)
    if ask:
        return (ask,)
    target = cook_target(food_classes, form, rule_set)
    held = held_at(readings)
    if target.temp_c is not None and not held:
        return (Verdict(COOK_NOREAD, Outcome.STOP, {"target": target.words}),)
    verdicts: tuple[Verdict, ...] = ()
    for centre, minutes in held or [(0.0, 0.0)]:
        found = judged(target, centre, unit, max(minutes, rest_minutes), food_classes)
        if found[0].outcome is not Outcome.STOP:
            return found
        verdicts = verdicts or found
    return verdicts


def held_at(readings: History) -> list[tuple[float, float]]:
    """How long the centre is proven to have stayed at or above each of its temperatures.

    Args:
        readings: (minutes, temperature in any one unit).
    Returns:
        (temperature, minutes of its longest unbroken stretch), the hottest first.
    Example:
        >>> held_at([(0, 71.0), (2, 72.0), (3, 70.0), (4, None)])
        [(71.0, 2), (70.0, 3)]
    """
    stretches = _stretches(readings)
    levels = sorted({low for stretch in stretches for _, low in stretch}, reverse=True)
    return [(level, max(_longest(stretch, level) for stretch in stretches)) for level in levels]


def _stretches(readings: History) -> list[_Stretch]:
    """Unbroken runs of pairs of neighbours that prove something."""
    stretches: list[_Stretch] = [[]]
    for (start, first), (end, second) in pairwise(readings):
        one, other = known(first), known(second)
        near = start >= 0.0 and 0.0 < end - start <= MAX_GAP_MINUTES.value
        if near and one is not None and other is not None:
            stretches[-1].append((end - start, min(one, other)))
        elif stretches[-1]:
            stretches.append([])
    return [stretch for stretch in stretches if stretch]


def _longest(stretch: _Stretch, level: float) -> float:
    """Minutes of the longest run of a stretch that stays at or above a temperature."""
    runs = groupby(stretch, key=lambda pair: pair[1] >= level)
    return max((sum(length for length, _ in run) for hot, run in runs if hot), default=0.0)
