"""Cooling with readings: was food cold in time?

What is not measured is judged by the two hours (holding.py), never both on the same stretch of time
(our judgement: read literally, the two rules contradict one another on the same pot).
"""

from collections.abc import Sequence
from itertools import pairwise

from app.science.safety.cooling_rules import (
    AMBIENT_HOURS,
    AU_COOLING,
    COOL_2STAGE,
    COOL_AMBIENT,
    COOL_APPB,
    COOL_AU,
    COOL_UNPROVEN,
    MAX_GAP_HOURS,
    US_COOLING,
    TwoStage,
)
from app.science.safety.readings import Reading, unit_ask
from app.science.safety.rule import Outcome, Rule, RuleSet, Verdict, known

Readings = Sequence[tuple[float, float | None]]


def cooled(
    readings: Readings, reconstituted: bool = False, rule_set: RuleSet = RuleSet.US
) -> tuple[Verdict, ...]:
    """Was cooked or rehydrated food cooled in time?

    Args:
        readings: (hours since the end of cooking or soaking, temp_c), in the order recorded; None
            or NaN is a drop-out. A reading at or below a limit is proof only from its own hour on.
        reconstituted: made at room temperature, as rehydrated food. rule_set: whose advice counts.
    Returns:
        One verdict, with COOL-APPB beside a pass where it applies; never a pass without readings.
    Validity: a drop-out over half an hour, or hours that go back, leave cooling unproven.
    Source: Food Code 3-501.14; FSANZ Standard 3.2.2 for Australia.
    Example:
        >>> cooled([(0.0, 57.0), (1.83, 21.0), (5.75, 5.0)])[0].outcome.value
        'pass'
        >>> cooled([])[0].id
        'COOL-UNPROVEN'
    """
    proof, doubt = _proof(readings)
    for _, temp_c in proof:
        if not -50.0 <= temp_c <= 105.0:
            ask = unit_ask(Reading.COOK_CENTRE, temp_c, "C")
            return (ask,) if ask else ()
    # What the readings that are there show to be too slow, no drop-out between them excuses.
    verdict = _judged(proof, reconstituted, rule_set) if _runs_on(proof) else None
    if verdict is None or (doubt and verdict.outcome is not Outcome.STOP):
        return (Verdict(COOL_UNPROVEN, Outcome.CONFIRM, {"why": doubt}),)
    plant = appendix_b_hours(proof) if verdict.outcome is Outcome.PASS else None
    if plant is None or reconstituted:
        return (verdict,)
    first, second = plant
    return (verdict, Verdict(COOL_APPB, Outcome.NOTE, {"first": first, "second": second}))


def _judged(proof: list[tuple[float, float]], reconstituted: bool, rule_set: RuleSet) -> Verdict:
    return _ambient(proof) if reconstituted else _two_stage(proof, rule_set)


def _runs_on(proof: Readings) -> bool:
    """Is there a reading, and does every reading have a time that does not go back?"""
    hours = [at for at, _ in proof]
    if not hours or any(known(at) is None or at < 0.0 for at in hours):
        return False
    return all(earlier <= later for earlier, later in pairwise(hours))


def appendix_b_hours(readings: Readings) -> tuple[float, float] | None:
    """Hours of the two stages of the plants' guideline, None unless both are met.

    Args:
        readings: (hours, temp_c).
    Source: FSIS Appendix B, option 1: 130 to 80 °F in 1.5 h, then to 40 °F in 5 h.
    """
    proof, doubt = _proof(readings)
    start = 0.0 if doubt else _start(proof, 54.4)
    middle = _stays_below(proof, 26.7, start)
    end = _first_below(proof, 4.4, start)
    if doubt or middle is None or end is None:
        return None
    first, second = middle - start, end - middle
    met = first <= COOL_APPB.limits[0].value and second <= COOL_APPB.limits[1].value
    return (first, second) if met else None


def _proof(readings: Readings) -> tuple[list[tuple[float, float]], str]:
    """The readings that count, and why they prove nothing (empty when they do)."""
    good = [(at, value) for at, t in readings if (value := known(t)) is not None]
    if not good:
        return [], "No reading of the cooling"
    hours = [at for at, _ in readings]
    if any(known(at) is None or at < 0.0 for at in hours):
        return good, "A reading has no time"
    if any(later < earlier for earlier, later in pairwise(hours)):
        return good, "The clock of the readings goes back"
    times = [at for at, _ in good]
    for at, temp_c in readings:
        if known(temp_c) is None:
            before = max((t for t in times if t <= at), default=0.0)
            after = min((t for t in times if t >= at), default=before)
            if after - before > MAX_GAP_HOURS.value:
                return good, "Readings are missing for over half an hour"
    return good, ""


def _start(proof: Readings, start_c: float) -> float:
    """When the clock starts: the last reading at or above the start, else the end of cooking."""
    return max((at for at, temp in proof if temp is not None and temp >= start_c), default=0.0)


def _first_below(proof: Readings, limit_c: float, start: float) -> float | None:
    return next((at for at, t in proof if at >= start and t is not None and t <= limit_c), None)


def _stays_below(proof: Readings, limit_c: float, start: float) -> float | None:
    """First hour from which on every reading stays at or below the limit."""
    reached: float | None = None
    for at, temp_c in proof:
        if at < start:
            continue
        if temp_c is None or temp_c > limit_c:
            reached = None
        elif reached is None:
            reached = at
    return reached


def _coolings(proof: list[tuple[float, float]], start_c: float) -> list[list[tuple[float, float]]]:
    """One list per cooling: reheated food starts a new one, and the old one still counts."""
    coolings: list[list[tuple[float, float]]] = [[]]
    for at, temp_c in proof:
        if coolings[-1] and temp_c >= start_c > coolings[-1][-1][1]:
            coolings.append([])
        coolings[-1].append((at, temp_c))
    return coolings


def _two_stage(proof: list[tuple[float, float]], rule_set: RuleSet) -> Verdict:
    limits = AU_COOLING if rule_set is RuleSet.AU else US_COOLING
    rule = COOL_AU if rule_set is RuleSet.AU else COOL_2STAGE
    coolings = _coolings(proof, limits.start_c.value)
    verdict = Verdict(COOL_UNPROVEN, Outcome.CONFIRM)
    for number, cooling in enumerate(coolings, start=1):
        until = coolings[number][0][0] if number < len(coolings) else cooling[-1][0]
        verdict = _one_cooling(cooling, until, limits, rule)
        if verdict.outcome is Outcome.STOP:
            break
    return verdict


def _one_cooling(
    cooling: list[tuple[float, float]], until: float, limits: TwoStage, rule: Rule
) -> Verdict:
    start = _start(cooling, limits.start_c.value)
    end = _first_below(cooling, limits.end_c.value, start)
    on_the_way = [(at, t) for at, t in cooling if end is None or at <= end]
    middle = _stays_below(on_the_way, limits.middle_c.value, start)
    first = (until if middle is None else middle) - start
    total = (until if end is None else end) - start
    numbers: dict[str, float | str] = {
        "first": _at_least(first, middle),
        "total": _at_least(total, end),
    }
    late = _is_late(first, middle, limits.first_hours.value)
    if late or _is_late(total, end, limits.latest_end(first)):
        return Verdict(rule, Outcome.STOP, numbers)
    if middle is not None and end is not None:
        return Verdict(rule, Outcome.PASS, numbers)
    return Verdict(rule, Outcome.CONFIRM, numbers | {"advice": _advice(middle)})


def _is_late(hours: float, reached: float | None, limit_hours: float) -> bool:
    """At the limit it must be reached; until then there is time."""
    return hours > limit_hours if reached is not None else hours >= limit_hours


def _ambient(proof: Readings) -> Verdict:
    end, now = _first_below(proof, US_COOLING.end_c.value, 0.0), proof[-1][0]
    total = now if end is None else end
    numbers: dict[str, float | str] = {"total": _at_least(total, end)}
    if _is_late(total, end, AMBIENT_HOURS.value):
        return Verdict(COOL_AMBIENT, Outcome.STOP, numbers)
    if end is not None:
        return Verdict(COOL_AMBIENT, Outcome.PASS, numbers)
    advice = "below 5 °C within 4 hours of soaking, or eat it."
    return Verdict(COOL_AMBIENT, Outcome.CONFIRM, numbers | {"advice": advice})


def _at_least(hours: float, reached: float | None) -> float | str:
    return hours if reached is not None else f"over {round(hours, 2):g}"


def _advice(middle: float | None) -> str:
    if middle is None:
        return "21 °C within 2 hours, or reheat to 74 °C now and chill faster."
    return "5 °C within 6 hours in all."
