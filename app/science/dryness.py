"""Is this tray dry? The mass balance and the falling weight, joined into one probability."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from math import log, sqrt

from app.science.drying import DryerKind
from app.science.errors import OutOfRange, require
from app.science.ranges import Range
from app.science.sources import Evidence, Sourced
from app.science.weightloss import EQUILIBRIUM_WATER, Belief, Tray, TrayWeighing

__all__ = [
    "DRY_ENOUGH",
    "STILL_WET",
    "TARGET_WATER",
    "Dryness",
    "Reason",
    "TrayWeighing",
    "Verdict",
    "judge",
]

TARGET_WATER: dict[DryerKind, Sourced] = {
    DryerKind.FREEZE: Sourced(0.04, "kg/kg", Evidence.JUDGEMENT, None, note="crisp throughout"),
    DryerKind.AIR: Sourced(0.10, "kg/kg", Evidence.JUDGEMENT, None, note="brittle, not leathery"),
}
DRY_ENOUGH = 0.95  # probability for "dry"; our judgement
LEAST_LOAD_KG = 1e-4  # a tenth of a gram: no kitchen scale tells more of it; our judgement
LEAST_SOLIDS = 1e-9  # kg/kg: pure water has no dry weight to tell
MOST_SOLIDS_SD = 0.5  # of the solids: thin broth has few, but not less than none; our judgement
STILL_WET = 0.10  # probability of being dry below which we say "not yet"; our judgement


class Verdict(StrEnum):
    """What the weighings say."""

    DRY = "dry"
    NOT_YET = "not_yet"
    CANNOT_TELL = "cannot_tell"


class Reason(StrEnum):
    """Why."""

    FLAT_WEIGHT = "flat_weight"  # what can still leave is below the target
    WET_BY_BALANCE = "wet_by_balance"  # far more mass than the solids account for
    STILL_LOSING = "still_losing"
    ONE_WEIGHING = "one_weighing"  # mass balance alone never certifies dryness
    NOT_SURE_ENOUGH = "not_sure_enough"
    EVIDENCE_DISAGREES = "evidence_disagrees"  # a weighing, a spill or a composition is wrong
    GAINED_WEIGHT = "gained_weight"
    TARGET_TOO_LOW = "target_too_low"  # below what a flat weight can prove in this dryer


@dataclass(frozen=True, slots=True)
class Dryness:
    """The judgement of one tray.

    residual_water, by_balance and by_weighings are kg water per kg of what lies on the tray,
    10th to 90th percentile; still_to_lose_kg counts down to the target; end_kg is where the weight
    is heading; probability_dry is None where no single probability would be honest.
    """

    residual_water: Range
    still_to_lose_kg: Range
    probability_dry: float | None
    verdict: Verdict
    reason: Reason
    next_weighing_hours: float | None
    by_balance: Range
    by_weighings: Range | None
    end_kg: Range
    rate_per_hour: float | None
    weighings_used: int


def judge(
    weighings: Sequence[TrayWeighing],
    scale_step_kg: float,
    loaded_kg: float,
    loaded_water: float,
    loaded_water_sd: float = 0.02,
    target_water: float | None = None,
    dryer: DryerKind = DryerKind.FREEZE,
) -> Dryness:
    """Judge one tray from its repeated weighings.

    The weight falls to an end mass as m = m_end + a exp(-kθ). For every plausible rate k the end
    mass and the rest a follow from the weighings and from the mass balance, joined by inverse
    variance; the rates are weighted by how well they fit and by what is usual. Food that has
    stopped losing still holds the water that is in balance with the dryer.

    Args:
        weighings: hours increasing, net kg, at least one; food at room temperature or warmer.
        scale_step_kg: resolution of the scale, kg, > 0. loaded_kg: fresh food on this tray, kg.
        loaded_water: its water, kg/kg, at most 1 - LEAST_SOLIDS, and loaded_water_sd its standard
            deviation, of which no more counts than half the solids.
        target_water: dry means at most this, kg/kg of what lies on the tray; None: TARGET_WATER.
        dryer: freeze-dryer or warm air.
    Returns:
        Residual water as a range, what is still to lose, the probability of being dry (needs two
        weighings or more), the verdict with its reason, and when to weigh again.
    Raises:
        OutOfRange: no weighings, hours that do not increase, masses that are not positive or more
        than was loaded, fractions outside their range.
    Validity: the tail of drying. It says nothing about one thick piece that is still frozen or
        wet inside: cut and feel the thickest. Dry by this is an estimate, not a safety guarantee.
    Source: exponential approach, fitted as in any textbook of regression; priors of this module.
    """
    points = _checked(weighings, scale_step_kg, loaded_kg)
    require("loaded_water", loaded_water, 0.0, 1.0 - LEAST_SOLIDS, "kg/kg")
    require("loaded_water_sd", loaded_water_sd, 0.001, 0.5, "kg/kg")
    target = TARGET_WATER[dryer].value if target_water is None else target_water
    require("target_water", target, 0.001, 0.5, "kg/kg")
    water_sd = min(loaded_water_sd, MOST_SOLIDS_SD * (1.0 - loaded_water))
    tray = Tray(scale_step_kg, loaded_kg, loaded_water, water_sd, dryer)
    now_kg = points[-1].net_kg
    balance = tray.belief(points[-1:], use_balance=True)
    steady = tray.loses_steadily(points, target)
    tail = points[-1:] if steady else tray.tail(points)
    together = tray.belief(tail, use_balance=True)
    weighed = tray.belief(tail, use_balance=False) if len(tail) > 1 else None
    witnesses = [balance] + ([weighed] if weighed else [])
    verdict, reason = _decide(points, tray, steady, together, witnesses, target)
    doubtful = tray.contradicted(now_kg, weighed) or reason is Reason.GAINED_WEIGHT
    water = _spanning(together.water, balance.water) if doubtful else together.water
    return Dryness(
        water,
        _to_lose(water, now_kg, target),
        together.probability_below(target) if weighed and not doubtful else None,
        verdict,
        reason,
        _next_hours(verdict, together, water.central, target),
        balance.water,
        weighed.water if weighed else None,
        together.end_kg(),
        together.rate() if weighed else None,
        len(tail),
    )


def _decide(
    points: Sequence[TrayWeighing],
    tray: Tray,
    steady: bool,
    together: Belief,
    witnesses: Sequence[Belief],
    target: float,
) -> tuple[Verdict, Reason]:
    """The verdict: wet if all say so, then contradictions, then what they say together."""
    lost_kg = points[-2].net_kg - points[-1].net_kg if len(points) > 1 else 0.0
    provable = max(target, EQUILIBRIUM_WATER[tray.dryer].span[1])
    wet = Reason.STILL_LOSING if lost_kg > 2 * tray.sd_kg else Reason.WET_BY_BALANCE
    if lost_kg < -3 * sqrt(2) * tray.sd_kg:
        return Verdict.CANNOT_TELL, Reason.GAINED_WEIGHT
    if all(witness.probability_below(provable) <= STILL_WET for witness in witnesses):
        return Verdict.NOT_YET, wet
    if tray.contradicted(points[-1].net_kg, witnesses[1] if len(witnesses) > 1 else None):
        return Verdict.CANNOT_TELL, Reason.EVIDENCE_DISAGREES
    if steady or together.probability_below(provable) <= STILL_WET:
        return Verdict.NOT_YET, wet
    if len(points) == 1:
        return Verdict.CANNOT_TELL, Reason.ONE_WEIGHING
    if together.probability_below(target) >= DRY_ENOUGH:
        return Verdict.DRY, Reason.FLAT_WEIGHT
    too_low = target < provable
    return Verdict.CANNOT_TELL, Reason.TARGET_TOO_LOW if too_low else Reason.NOT_SURE_ENOUGH


def _checked(
    weighings: Sequence[TrayWeighing], step_kg: float, loaded_kg: float
) -> Sequence[TrayWeighing]:
    """The weighings, refused when they cannot be true."""
    require("scale_step_kg", step_kg, 1e-7, 1.0, "kg")
    require("loaded_kg", loaded_kg, LEAST_LOAD_KG, 1000.0, "kg")
    if not weighings:
        raise OutOfRange("weighings", 0, 1, None)
    for earlier, later in pairwise(weighings):
        require("hours", later.hours, earlier.hours + 1e-6, None, "h")
    for weighing in weighings:
        require("hours", weighing.hours, -10_000.0, 10_000.0, "h")
        require("net_kg", weighing.net_kg, 1e-6, loaded_kg + 5 * step_kg, "kg")
    return weighings


def _spanning(one: Range, other: Range) -> Range:
    """One range over two that do not agree."""
    return Range(min(one.low, other.low), one.central, max(one.high, other.high))


def _to_lose(water: Range, now_kg: float, target: float) -> Range:
    """Water that must still leave to reach the target, kg."""
    rests = [max(0.0, now_kg * (u - target) / (1 - target)) for u in _three(water)]
    return Range(*rests)


def _next_hours(verdict: Verdict, belief: Belief, water: float, target: float) -> float | None:
    """When another weighing will tell something: at the expected end, or a time constant on."""
    if verdict is Verdict.DRY:
        return None
    hours = 0.5 / belief.rate()
    left = belief.left.value
    if verdict is Verdict.NOT_YET and target > left and water > target:
        hours *= 2 * log((water - left) / (target - left))
    return min(12.0, max(1.0, round(2 * hours) / 2))


def _three(values: Range) -> tuple[float, float, float]:
    """A range as a tuple."""
    return values.low, values.central, values.high
