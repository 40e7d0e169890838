"""Cooling cooked food foretold, and hours spent in a band of temperatures.

Readings are judged by `safety.cooling.cooled`, the one home of the two-stage rule.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from math import isfinite, log

from app.science.conduction import (
    HEAT_TRANSFER,
    STEW,
    Substance,
    Surroundings,
    slab_hours,
    unaccomplished,
)
from app.science.errors import Impossible, OutOfRange, require
from app.science.ranges import Range, spread_of
from app.science.safety.cooling_rules import TOTAL_HOURS as _TOTAL_HOURS
from app.science.safety.cooling_rules import US_COOLING

# The limits stand with the rule that judges readings, `safety.cooling`; here they foretell.
START_C, MIDDLE_C, END_C = US_COOLING.start_c, US_COOLING.middle_c, US_COOLING.end_c
STAGE_ONE_HOURS, TOTAL_HOURS = US_COOLING.first_hours, _TOTAL_HOURS

Reading = tuple[float, float]  # hours, °C


class CoolingVerdict(StrEnum):
    """What is foretold about the two-stage rule."""

    PASS = "pass"  # noqa: S105 - a verdict
    FAIL = "fail"
    CANNOT_TELL = "cannot_tell"


def hours_between(readings: Iterable[Reading], low_c: float = 5.0, high_c: float = 57.0) -> Range:
    """Hours that food spent between two temperatures.

    Args:
        readings: pairs of hours and °C, hours increasing. low_c, high_c: the band, °C.
    Returns:
        Hours: central by straight lines between readings; low counts only stretches with both ends
        inside, high every stretch that can have touched the band.
    Raises:
        OutOfRange: hours that do not increase, a temperature outside -40 to 130 °C, a band without
            width.
    Source: definition.
    Example:
        >>> hours_between([(0, 60), (1, 50), (2, 40)]).central
        1.7
    """
    require("high_c", high_c, low_c + 1e-9, None, "°C")
    record = _checked(readings)
    low = central = high = 0.0
    for (begin, first), (end, second) in pairwise(record):
        hours = end - begin
        top, bottom = max(first, second), min(first, second)
        inside = max(0.0, min(top, high_c) - max(bottom, low_c))
        touches = bottom < high_c and top > low_c
        high += hours if touches else 0.0
        if top > bottom:
            central += hours * inside / (top - bottom)
        elif touches:
            central += hours
        low += hours if low_c <= bottom and top <= high_c else 0.0
    return Range(min(low, central), central, max(high, central))


def _checked(readings: Iterable[Reading]) -> list[Reading]:
    """The readings as a list, refused when they are not a history."""
    record = [(float(hours), float(temp)) for hours, temp in readings]
    for hours, temp_c in record:
        require("temp_c", temp_c, -40.0, 130.0, "°C")
        if not isfinite(hours):
            raise OutOfRange("hours", hours, None, None, "h")
    for (earlier, _), (later, _) in pairwise(record):
        require("hours", later, earlier + 1e-12, None, "h")
    return record


@dataclass(frozen=True, slots=True)
class ForetoldCooling:
    """Cooling as it should go: hours of both stages, and whether the rule can be kept."""

    stage_one: Range
    total: Range
    verdict: CoolingVerdict


def foretell_cooling(
    depth_m: float,
    air_c: float,
    surroundings: Surroundings = Surroundings.STILL_AIR,
    substance: Substance = STEW,
    both_faces: bool = True,
) -> ForetoldCooling:
    """Will a pan of this depth keep the two-stage rule?

    Args:
        depth_m: full depth of the food, m. air_c: surroundings, °C. surroundings: air, fan, water.
        substance: thermal properties. both_faces: False on an insulating base.
    Returns:
        Hours from 57 °C to 21 °C and to 5 °C, with the verdict: PASS when even the slowest
        plausible heat transfer keeps it, FAIL when even the fastest does not.
    Raises:
        OutOfRange: as slab_hours.
    Validity: household coefficients are our judgement and span a factor of two. An estimate of
        what will happen, not a record of what did: measure.
    Source: slab series; limits, FDA Food Code 2022, 3-501.14.
    """
    h = HEAT_TRANSFER[surroundings]

    def hours(to_c: float) -> Range:
        low, high = h.span
        cases = [
            slab_hours(depth_m, START_C.value, to_c, air_c, case, substance, both_faces)
            for case in (low, h.value, high)
        ]
        return spread_of((cases[0], cases[1], cases[2]))

    one, total = hours(MIDDLE_C.value), hours(END_C.value)
    fails = one.low > STAGE_ONE_HOURS.value or total.low > TOTAL_HOURS.value
    passes = one.high <= STAGE_ONE_HOURS.value and total.high <= TOTAL_HOURS.value
    verdict = CoolingVerdict.PASS if passes else CoolingVerdict.CANNOT_TELL
    return ForetoldCooling(one, total, CoolingVerdict.FAIL if fails else verdict)


def longest_time_constants_hours(air_c: float) -> tuple[float, float]:
    """Largest time constant that still keeps each stage (2 h, then 4 h more), hours.

    Args:
        air_c: surroundings, °C, below 5.
    Returns:
        Limits of stage one and stage two. At 3 °C they are the same.
    Raises:
        Impossible: surroundings at 5 °C or warmer never finish the second stage.
    Source: lumped heat balance and the limits of the rule.
    """
    if not air_c < END_C.value:
        raise Impossible("surroundings at 5 °C or warmer never cool food to 5 °C", END_C.value)
    second_hours = TOTAL_HOURS.value - STAGE_ONE_HOURS.value
    one = STAGE_ONE_HOURS.value / -log(unaccomplished(START_C.value, MIDDLE_C.value, air_c))
    return one, second_hours / -log(unaccomplished(MIDDLE_C.value, END_C.value, air_c))
