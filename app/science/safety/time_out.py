"""Hours in the range in which germs grow, from readings of the food, and what they mean."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from app.science import sources as s
from app.science.safety.cooling import cooled
from app.science.safety.cooling_rules import (
    COOL_2STAGE,
    COOL_AMBIENT,
    COOL_AU,
    COOL_UNPROVEN,
    MAX_GAP_HOURS,
)
from app.science.safety.holding import left_out
from app.science.safety.readings import Reading, unit_ask
from app.science.safety.rule import Outcome, RuleSet, Verdict, known
from app.science.sources import Evidence, Sourced

Readings = Sequence[tuple[float, float | None]]

COLD_C = Sourced(5, "degC", Evidence.COPY, s.FOOD_CODE_HOLDING, note="41 °F")
HOT_C = Sourced(57, "degC", Evidence.COPY, s.FOOD_CODE_HOLDING, note="135 °F")
HOT_C_AU = Sourced(60, "degC", Evidence.READ, s.FSANZ_2_4)


@dataclass(frozen=True, slots=True)
class TimeOut:
    """Hours that readings show in the range, hours of which they tell nothing, and verdicts.

    A measured cooling is in `hours` too, though the clock of time out does not count it again.
    """

    hours: float
    unknown_hours: float
    verdicts: tuple[Verdict, ...]


def time_out(
    readings: Readings,
    rule_set: RuleSet = RuleSet.US,
    *,
    air_c: float | None = None,
    is_cooling: bool = False,
    reconstituted: bool = False,
    insisted: bool = False,
) -> TimeOut:
    """How long was food between 5 and 57 °C, and was that too long?

    Between two readings the worse end counts: a stretch is in the range if either end is, or if it
    went through. Over half an hour between readings is unknown, as is whatever lies beyond the
    first and last reading. A clock that goes back starts a new stretch, and nothing is taken away.

    Args:
        readings: (hours, temp_c) of the food, in the order recorded; None or NaN is a drop-out.
        rule_set: whose clock counts; Australia's range ends at 60 °C. air_c: warmest air, °C; None
        is unknown. is_cooling: hour 0 is the end of cooking, or of soaking if `reconstituted`: up
        to the first reading at 5 °C or colder the rule of cooling judges, and time out does not.
        insisted: the person confirmed unusual readings.
    Returns:
        Hours, unknown hours, verdicts. Never a pass where unknown hours could matter.
    Source: range, Food Code 3-501.16 and FSANZ; half an hour, our judgement.
    Example:
        >>> time_out([(0.0, 4.0), (0.5, 12.0), (1.0, 4.0)]).hours
        1.0
    """
    if not insisted and (ask := _ask(readings, air_c)):
        return TimeOut(0.0, 0.0, (ask,))
    hours, unknown, _ = _exposed(readings, rule_set)
    cooling, rest = _split(readings) if is_cooling else ((), readings)
    verdicts = cooled(cooling, reconstituted, rule_set) if is_cooling else ()
    if not _settles(verdicts):
        rest = readings
    elif len(rest) < 2:
        return TimeOut(hours, unknown, verdicts)
    return TimeOut(hours, unknown, (*verdicts, *_clock(rest, rule_set, air_c)))


def _ask(readings: Readings, air_c: float | None) -> Verdict | None:
    for _, temp in readings:
        temp_c = known(temp)
        if temp_c is not None and not -50.0 <= temp_c <= 105.0:
            return unit_ask(Reading.COOK_CENTRE, temp_c, "C")
    return unit_ask(Reading.ROOM, air_c, "C")


def _settles(verdicts: Sequence[Verdict]) -> bool:
    """Did the rule of cooling judge, in time or not? Unproven cooling leaves it to time out."""
    rules = (COOL_2STAGE.id, COOL_AU.id, COOL_AMBIENT.id)
    return any(v.id in rules for v in verdicts)


def _split(readings: Readings) -> tuple[Readings, Readings]:
    """The cooling up to the first cold reading, and what came after, from that reading on."""
    for number, (_, temp) in enumerate(readings):
        temp_c = known(temp)
        if temp_c is not None and temp_c <= COLD_C.value:
            return readings[: number + 1], readings[number:]
    return readings, ()


def _clock(readings: Readings, rule_set: RuleSet, air_c: float | None) -> tuple[Verdict, ...]:
    hours, unknown, doubt = _exposed(readings, rule_set)
    shown = left_out([(hours, air_c)], rule_set, insisted=True)
    at_worst = left_out([(hours + unknown, air_c)], rule_set, insisted=True)
    if shown[0].outcome is Outcome.STOP:
        return shown
    if doubt or at_worst[0].outcome is not shown[0].outcome:
        why = doubt or "Readings are missing for over half an hour"
        kept = () if shown[0].outcome is Outcome.PASS else shown
        return (*kept, Verdict(COOL_UNPROVEN, Outcome.CONFIRM, {"why": why}))
    return shown


def _exposed(readings: Readings, rule_set: RuleSet) -> tuple[float, float, str]:
    """Hours in the range, hours unknown, and why the record as a whole proves nothing."""
    rows = [(at, known(temp)) for at, temp in readings if known(at) is not None]
    read = [(at, temp_c) for at, temp_c in rows if temp_c is not None]
    total = unknown = 0.0
    for (start, first_c), (end, second_c) in pairwise(read):
        hours = max(0.0, end - start)
        if hours > MAX_GAP_HOURS.value:
            unknown += hours
        elif _in_range(first_c, second_c, rule_set):
            total += hours
    if read:
        times = [at for at, _ in rows]
        unknown += max(0.0, read[0][0] - min(times)) + max(0.0, max(times) - read[-1][0])
    return round(total, 9), round(unknown, 9), _doubt(readings, len(read))


def _doubt(readings: Readings, read: int) -> str:
    """Why a record as a whole proves nothing; empty when it proves something."""
    times = [at for at, _ in readings]
    if any(known(at) is None or at < 0.0 for at in times):
        return "A reading has no time"
    if any(later < earlier for earlier, later in pairwise(times)):
        return "The clock of the readings goes back"
    return "" if read > 1 else "No two readings of the food"


def _in_range(first_c: float, second_c: float, rule_set: RuleSet) -> bool:
    hot_c = HOT_C_AU if rule_set is RuleSet.AU else HOT_C
    return max(first_c, second_c) > COLD_C.value and min(first_c, second_c) < hot_c.value
