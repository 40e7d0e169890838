"""Cooling cooked food: the two-stage rule on recorded temperatures, and times foretold."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from math import inf, isfinite, log

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
from app.science.sources import FOOD_CODE_COOLING, Evidence, Sourced

START_C = Sourced(57.0, "°C", Evidence.READ, FOOD_CODE_COOLING)
MIDDLE_C = Sourced(21.0, "°C", Evidence.READ, FOOD_CODE_COOLING)
END_C = Sourced(5.0, "°C", Evidence.READ, FOOD_CODE_COOLING)
STAGE_ONE_HOURS = Sourced(2.0, "h", Evidence.READ, FOOD_CODE_COOLING)
TOTAL_HOURS = Sourced(6.0, "h", Evidence.READ, FOOD_CODE_COOLING)

Reading = tuple[float, float]  # hours, °C


class CoolingVerdict(StrEnum):
    """What a record says about the two-stage rule."""

    PASS = "pass"  # noqa: S105 - a verdict
    FAIL = "fail"
    STILL_COOLING = "still_cooling"
    CANNOT_TELL = "cannot_tell"


@dataclass(frozen=True, slots=True)
class Cooling:
    """A record judged; hours count from 57 °C, low and high enclose what the readings allow.

    high is infinite where a temperature was not reached, or where the record begins below 57 °C.
    """

    verdict: CoolingVerdict
    stage_one: CoolingVerdict
    total: CoolingVerdict
    hours_to_21: Range | None
    hours_to_5: Range | None


def two_stage(readings: Iterable[Reading]) -> Cooling:
    """Judge recorded centre temperatures by the two-stage cooling rule.

    From 57 °C to 21 °C within 2 h, to 5 °C within 6 h in all. Between two readings nothing is
    known, so a crossing lies anywhere between them: a pass needs the latest possible time, a fail
    the earliest possible; what lies between cannot be told. Reheating to 57 °C starts the clock
    again; rewarming above 21 °C counts until the food came down again. The record ends when 5 °C is
    first reached: what happens to cold food later is not cooling.

    Args:
        readings: pairs of hours (any origin) and centre temperature in °C, hours increasing.
    Returns:
        Verdicts of both stages and of the whole, with the hours as ranges.
    Raises:
        OutOfRange: hours that do not increase, or a temperature outside -40 to 130 °C.
    Source: FDA Food Code 2022, 3-501.14.
    Example:
        >>> two_stage([(0, 57), (1.8, 20), (5.5, 4)]).verdict.value
        'pass'
        >>> two_stage([(0, 60), (3, 4)]).verdict.value
        'cannot_tell'
    """
    record: Sequence[Reading] = _checked(readings)
    if not record:
        unknown = CoolingVerdict.CANNOT_TELL
        return Cooling(unknown, unknown, unknown, None, None)
    start = _came_below(record, START_C.value)
    if start is None:
        pending = CoolingVerdict.STILL_COOLING
        return Cooling(pending, pending, pending, None, None)
    record = _until_cold(record, start[1])
    one, to_21 = _stage(record, start, MIDDLE_C.value, STAGE_ONE_HOURS.value)
    total, to_5 = _stage(record, start, END_C.value, TOTAL_HOURS.value)
    return Cooling(_worst(one, total), one, total, to_21, to_5)


def hours_between(readings: Iterable[Reading], low_c: float = 5.0, high_c: float = 57.0) -> Range:
    """Hours that food spent between two temperatures.

    Args:
        readings: pairs of hours and °C, hours increasing. low_c, high_c: the band, °C.
    Returns:
        Hours: central by straight lines between readings; low counts only stretches with both ends
        inside, high every stretch that can have touched the band.
    Raises:
        OutOfRange: as two_stage; a band without width.
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


def _came_below(record: Sequence[Reading], level_c: float) -> tuple[float, float] | None:
    """Earliest and latest hour at which the food last came down to a level; None: not yet."""
    above = [i for i, (_, temp_c) in enumerate(record) if temp_c > level_c]
    first_below = above[-1] + 1 if above else 0
    if first_below == len(record):
        return None
    hours, temp_c = record[first_below]
    if temp_c == level_c:
        return hours, hours
    return (record[above[-1]][0] if above else -inf), hours


def _until_cold(record: Sequence[Reading], start_hours: float) -> Sequence[Reading]:
    """The readings up to the first at 5 °C or colder after the start."""
    for i, (hours, temp_c) in enumerate(record):
        if hours >= start_hours and temp_c <= END_C.value:
            return record[: i + 1]
    return record


def _stage(
    record: Sequence[Reading], start: tuple[float, float], level_c: float, limit_hours: float
) -> tuple[CoolingVerdict, Range]:
    """Verdict and hours from the start to a level."""
    reached = _came_below(record, level_c)
    first, last = reached if reached else (record[-1][0], inf)
    low = max(0.0, first - start[1])
    high = max(low, last - start[0])
    central = (low + high) / 2 if isfinite(high) else high
    hours = Range(low, central, high)
    if low > limit_hours + 1e-9:
        return CoolingVerdict.FAIL, hours
    if reached is None:
        return CoolingVerdict.STILL_COOLING, hours
    passed = high <= limit_hours + 1e-9
    return (CoolingVerdict.PASS if passed else CoolingVerdict.CANNOT_TELL), hours


def _worst(*verdicts: CoolingVerdict) -> CoolingVerdict:
    """A fail outweighs a doubt, a doubt outweighs food that is still cooling."""
    order = (
        CoolingVerdict.FAIL,
        CoolingVerdict.CANNOT_TELL,
        CoolingVerdict.STILL_COOLING,
        CoolingVerdict.PASS,
    )
    return min(verdicts, key=order.index)


# ---------------------------------------------------------------------------------------------
# Foretold cooling
# ---------------------------------------------------------------------------------------------


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
