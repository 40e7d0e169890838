"""Cooking by time and temperature: an alternative for intact meat, shipped switched off.

Inspected plants must follow the edition of 2021 since the end of 2022, and its tables are not
compared with these yet; until they are, no household can clear RAW by this road.
"""

from collections.abc import Sequence
from itertools import pairwise
from math import floor

from app.science import sources as s
from app.science.classes import FoodClass, Form
from app.science.safety.rule import Outcome, Rule, Severity, Topic, Verdict, known
from app.science.sources import Evidence, Sourced

#: Seconds for a 6.5-log reduction of Salmonella at each whole °F. Hotter than 157 °F counts as
#: 157 °F (our judgement); colder than 130 °F counts nothing; never interpolated.
HOLD_SECONDS: dict[int, int] = {
    130: 112 * 60, 131: 89 * 60, 132: 71 * 60, 133: 56 * 60, 134: 45 * 60, 135: 36 * 60,
    136: 28 * 60, 137: 23 * 60, 138: 18 * 60, 139: 15 * 60, 140: 12 * 60, 141: 9 * 60,
    142: 8 * 60, 143: 6 * 60, 144: 5 * 60, 145: 4 * 60, 146: 169, 147: 134, 148: 107, 149: 85,
    150: 67, 151: 54, 152: 43, 153: 34, 154: 27, 155: 22, 156: 17, 157: 14,
}  # fmt: skip

MAX_GAP_MINUTES = Sourced(5, "min", Evidence.JUDGEMENT, note="between readings")
MAX_COME_UP = Sourced(6, "hour", Evidence.UNCHECKED, s.FSIS_APPENDIX_A, note="50 to 130 °F")

COOK_TT = Rule(
    id="COOK-TT",
    topic=Topic.COOKING,
    severity=Severity.STOP,
    applies_to="intact beef, lamb or pork, cooked moist, with readings of the centre at most 5 "
    "minutes apart; not poultry, not game, not ground meat, not jerky; switched off by default",
    words="Time and temperature add up to {score} of what the table asks (1 is enough). It stays "
    "marked RAW.",
    also=(
        (Outcome.PASS, "Time and temperature add up to {score} of what the table asks."),
        (Outcome.CONFIRM, "Warming from 50 to 130 °F took over 6 hours, or is not on record. Why?"),
        (Outcome.NOTE, "Cooking by time and temperature is switched off here: read the centre."),
    ),
    source=s.FSIS_APPENDIX_A,
    evidence=Evidence.COPY,
    limits=(MAX_GAP_MINUTES, MAX_COME_UP),
)

RULES = (COOK_TT,)


def time_temperature_score(readings: Sequence[tuple[float, float | None]]) -> float:
    """Share of the table's hold that a centre history reaches; 1 is enough.

        score = Σ Δt / t(T), T = lower of two neighbours, rounded down to whole °F

    Args:
        readings: (minutes, temp_f) in the order recorded; None or NaN is a drop-out.
    Returns:
        Score ≥ 0. A gap over 5 minutes counts nothing; where a clock steps back, the best
        unbroken stretch counts alone.
    Validity: 130 °F and above; table look-up, never interpolated.
    Source: FSIS Appendix A 1999, column of 6.5 log.
    Example:
        >>> time_temperature_score([(0, 145.9), (4, 145.0)])
        1.0
    """
    best = score = 0.0
    for (start, start_f), (end, end_f) in pairwise(readings):
        if end <= start:
            score = 0.0
            continue
        low, high = known(start_f), known(end_f)
        if low is not None and high is not None and end - start <= MAX_GAP_MINUTES.value:
            score += _share((end - start) * 60.0, min(low, high))
        best = max(best, score)
    return round(best, 9)


def cooked_by_time(
    food_class: FoodClass,
    form: Form,
    readings: Sequence[tuple[float, float | None]],
    *,
    is_moist: bool,
    switched_on: bool = False,
) -> tuple[Verdict, ...]:
    """Did a centre history cook intact meat?

    Args:
        food_class: must be red meat or pork. form: must be whole. readings: (minutes, temp_f).
        is_moist: cooked in a sealed bag or with the oven's moisture kept.
        switched_on: the household has chosen this road.
    Returns:
        One or two verdicts of COOK-TT.
    Source: FSIS Appendix A 1999; see the module.
    """
    if not switched_on:
        return (Verdict(COOK_TT, Outcome.NOTE),)
    score = time_temperature_score(readings)
    numbers = {"score": f"{floor(score * 1000) / 1000:.3f}"}
    covered = food_class in (FoodClass.RED_MEAT, FoodClass.PORK) and form is Form.WHOLE
    if not (covered and is_moist and score >= 1.0):
        return (Verdict(COOK_TT, Outcome.STOP, numbers),)
    found = [Verdict(COOK_TT, Outcome.PASS, numbers)]
    if not _came_up_in_time(readings):
        found.append(Verdict(COOK_TT, Outcome.CONFIRM))
    return tuple(found)


def _share(seconds: float, temp_f: float) -> float:
    if temp_f < min(HOLD_SECONDS):
        return 0.0
    return seconds / HOLD_SECONDS[min(floor(temp_f), max(HOLD_SECONDS))]


def _came_up_in_time(readings: Sequence[tuple[float, float | None]]) -> bool:
    hot = min((at for at, value in readings if (known(value) or 0.0) >= 130.0), default=None)
    if hot is None:
        return False
    cold = [at for at, value in readings if (known(value) or 999.0) <= 50.0 and at <= hot]
    return bool(cold) and hot - max(cold) <= MAX_COME_UP.value * 60.0
