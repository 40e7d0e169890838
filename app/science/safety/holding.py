"""Food kept cold, kept hot, or left out: the clocks that run without cooling readings."""

from collections.abc import Sequence

from app.science.errors import require
from app.science.safety.cooling_rules import HOLD_COLD, HOLD_HOT, OUT_2H, OUT_24
from app.science.safety.readings import Reading, unit_ask
from app.science.safety.rule import Outcome, RuleSet, Verdict, known


def held_cold(
    temp: float | None, unit: str = "C", *, insisted: bool = False
) -> tuple[Verdict, ...]:
    """Is chilled food cold enough? No reading asks for a reason.

    Args:
        temp: as typed. unit: "C" or "F". insisted: the person confirmed an unusual reading.
    """
    reading = known(temp)
    if reading is None:
        return (Verdict(HOLD_COLD, Outcome.CONFIRM, {"reading": "No reading"}),)
    ask = None if insisted else unit_ask(Reading.FRIDGE, reading, unit)
    if ask:
        return (ask,)
    limit, aim = (5.0, 4.4) if unit == "C" else (41.0, 40.0)
    outcome = Outcome.PASS if reading <= aim else Outcome.NOTE
    numbers = {"reading": f"{reading:g} °{unit}"}
    return (Verdict(HOLD_COLD, outcome if reading <= limit else Outcome.CONFIRM, numbers),)


def held_hot(
    temp: float | None, unit: str = "C", *, has_clock: bool = False, insisted: bool = False
) -> tuple[Verdict, ...]:
    """Is waiting food hot enough?

    Args:
        temp: as typed; None or NaN counts as not hot. unit: "C" or "F". has_clock: its time out is
        recorded. insisted: the person confirmed an unusual reading.
    Source: Food Code 3-501.16, 135 °F (57 °C), compared in the unit typed.
    """
    reading = known(temp)
    ask = None if insisted else unit_ask(Reading.COOK_CENTRE, reading, unit)
    if ask:
        return (ask,)
    limit = HOLD_HOT.limits[0].value if unit == "C" else 135.0
    if reading is not None and reading >= limit:
        outcome = Outcome.PASS
    else:
        outcome = Outcome.CONFIRM if has_clock else Outcome.STOP
    numbers = {"reading": "No reading" if reading is None else f"{reading:g} °{unit}"}
    return (Verdict(HOLD_HOT, outcome, numbers),)


def left_out(
    outings: Sequence[tuple[float, float | None]],
    rule_set: RuleSet = RuleSet.US,
    *,
    insisted: bool = False,
) -> tuple[Verdict, ...]:
    """Time out of the fridge, all outings together.

    Args:
        outings: (hours, air temperature in °C or None when unknown) of each outing.
        rule_set: whose advice counts. insisted: the person confirmed an unusual air temperature.
    Returns:
        One verdict. Hours above 32 °C count double (our reading of the one-hour limit); an
        unknown air temperature asks once an hour of it could matter.
    Raises:
        OutOfRange: hours negative or NaN.
    Source: FSIS two-hour rule; FSANZ 2-hour/4-hour rule for Australia.
    Example:
        >>> left_out([(0.84, 22.0)] * 3)[0].sentence
        'Out too long (2.52 h together). Discard.'
    """
    for hours, _ in outings:
        require("hours", hours, 0.0, None, "h")
    asks = [] if insisted else [unit_ask(Reading.ROOM, air, "C") for _, air in outings]
    if ask := next(filter(None, asks), None):
        return (ask,)
    total = sum(hours for hours, _ in outings)
    numbers = {"hours": total}
    if rule_set is RuleSet.AU:
        use_now, discard = (limit.value for limit in OUT_24.limits)
        outcome = Outcome.PASS if total < use_now else Outcome.CONFIRM
        return (Verdict(OUT_24, outcome if total < discard else Outcome.STOP, numbers),)
    if exposure(outings, unknown_is_hot=False) > 1.0:
        return (Verdict(OUT_2H, Outcome.STOP, numbers),)
    doubtful = exposure(outings, unknown_is_hot=True) > 1.0
    return (Verdict(OUT_2H, Outcome.CONFIRM if doubtful else Outcome.PASS, numbers),)


def exposure(outings: Sequence[tuple[float, float | None]], *, unknown_is_hot: bool) -> float:
    """Share of the two-hour (above 32 °C, one-hour) limit used up; above 1 is too long."""
    normal, hot, hot_c = (limit.value for limit in OUT_2H.limits)
    share = 0.0
    for hours, air in outings:
        air_c = known(air)
        is_hot = unknown_is_hot if air_c is None else air_c > hot_c
        share += hours / (hot if is_hot else normal)
    return round(share, 9)
