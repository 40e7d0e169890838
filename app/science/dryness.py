"""Is this tray dry? The mass balance and the falling weight, joined into one probability."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from math import erfc, exp, hypot, log, sqrt

from app.science.drying import P90, DryerKind
from app.science.endpoint import repeat_sd_kg, water_by_balance
from app.science.errors import OutOfRange, require
from app.science.ranges import Range
from app.science.sources import Evidence, Sourced

# Rate at which the last water leaves, when the weighings do not tell it.
LAST_RATE = Sourced(0.14, "1/h", Evidence.JUDGEMENT, None, 0.05, 0.40, "tail of small dryers")
# Water left in food whose weight no longer falls: it is in balance with the dryer, not at zero.
EQUILIBRIUM_WATER: dict[DryerKind, Sourced] = {
    DryerKind.FREEZE: Sourced(
        0.015, "kg/kg", Evidence.JUDGEMENT, None, 0.005, 0.03, "one beef run held 3.4 %"
    ),
    DryerKind.AIR: Sourced(0.04, "kg/kg", Evidence.JUDGEMENT, None, 0.02, 0.07, "air of about 6 %"),
}
DRY_ENOUGH = 0.95  # probability for "dry"; our judgement
STILL_WET = 0.10  # probability of being dry below which we say "not yet"; our judgement
_MOST_POINTS = 8
_MISFIT = 6.0  # chi-square per degree of freedom that one exponential may show
_HERMITE = (  # weight, standard deviations
    (0.011257, -2.856970),
    (0.222076, -1.355626),
    (0.533334, 0.0),
    (0.222076, 1.355626),
    (0.011257, 2.856970),
)
_RATES = tuple(0.01 * 10 ** (i / 20) for i in range(47))  # 0.01 to 2 per hour


@dataclass(frozen=True, slots=True)
class TrayWeighing:
    """One weighing of a tray: hours since the first one (or the start), net mass in kg."""

    hours: float
    net_kg: float


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
    target_water: float = 0.04,
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
        loaded_water: its water, kg/kg, and loaded_water_sd its standard deviation.
        target_water: dry means at most this, kg/kg of what lies on the tray.
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
    require("loaded_water", loaded_water, 0.0, 0.99, "kg/kg")
    require("loaded_water_sd", loaded_water_sd, 0.001, 0.5, "kg/kg")
    require("target_water", target_water, 0.001, 0.5, "kg/kg")
    tray = _Tray(scale_step_kg, loaded_kg, loaded_water, loaded_water_sd, dryer)
    now_kg = points[-1].net_kg
    balance = tray.belief(points[-1:], use_balance=True)
    steady = tray.loses_steadily(points, target_water)
    tail = points[-1:] if steady else tray.tail(points)
    together = tray.belief(tail, use_balance=True)
    weighed = tray.belief(tail, use_balance=False) if len(tail) > 1 else None
    probability = together.probability_below(target_water)
    verdict, reason = _decide(points, tray, steady, together, weighed, target_water)
    doubtful = reason in (Reason.EVIDENCE_DISAGREES, Reason.GAINED_WEIGHT)
    water = _spanning(together.water, balance.water) if doubtful else together.water
    return Dryness(
        water,
        _to_lose(water, now_kg, target_water),
        probability if weighed and not doubtful else None,
        verdict,
        reason,
        _next_hours(verdict, together, water.central, target_water),
        balance.water,
        weighed.water if weighed else None,
        together.end_kg(),
        together.rate() if weighed else None,
        len(tail),
    )


def _decide(
    points: Sequence[TrayWeighing],
    tray: "_Tray",
    steady: bool,
    belief: "_Belief",
    weighed: "_Belief | None",
    target: float,
) -> tuple[Verdict, Reason]:
    """The verdict: contradictions first, then wet, then dry, else undecided."""
    lost_kg = points[-2].net_kg - points[-1].net_kg if len(points) > 1 else 0.0
    provable = EQUILIBRIUM_WATER[tray.dryer].span[1]
    if lost_kg < -3 * sqrt(2) * tray.sd_kg:
        return Verdict.CANNOT_TELL, Reason.GAINED_WEIGHT
    if tray.contradicted(points[-1].net_kg, weighed):
        return Verdict.CANNOT_TELL, Reason.EVIDENCE_DISAGREES
    if steady or belief.probability_below(max(target, provable)) <= STILL_WET:
        losing = lost_kg > 2 * tray.sd_kg
        return Verdict.NOT_YET, Reason.STILL_LOSING if losing else Reason.WET_BY_BALANCE
    if len(points) == 1:
        return Verdict.CANNOT_TELL, Reason.ONE_WEIGHING
    if belief.probability_below(target) >= DRY_ENOUGH:
        return Verdict.DRY, Reason.FLAT_WEIGHT
    too_low = target < provable
    return Verdict.CANNOT_TELL, Reason.TARGET_TOO_LOW if too_low else Reason.NOT_SURE_ENOUGH


@dataclass(frozen=True, slots=True)
class _Case:
    """What one rate makes of the weighings: weight, rest to lose with its sd, end mass, misfit."""

    rate: float
    log_weight: float
    rest_kg: float
    rest_sd_kg: float
    positive: float  # probability that the rest is not negative
    misfit: float


class _Tray:
    """What is known of one tray besides its weighings."""

    def __init__(
        self, step_kg: float, loaded_kg: float, water: float, water_sd: float, dryer: DryerKind
    ) -> None:
        """Turn the loaded food into an end mass with its standard deviation."""
        self.sd_kg = repeat_sd_kg(step_kg)
        self.dryer = dryer
        self.loaded_kg, self.loaded_water, self.water_sd = loaded_kg, water, water_sd
        self.solids_kg = loaded_kg * (1 - water)
        left = EQUILIBRIUM_WATER[dryer].value
        self.end_kg = self.solids_kg / (1 - left)
        self.end_sd_kg = loaded_kg * water_sd / (1 - left)

    def tail(self, points: Sequence[TrayWeighing]) -> Sequence[TrayWeighing]:
        """The last weighings that one exponential describes: earlier ones were another stage."""
        recent = points[-_MOST_POINTS:]
        while len(recent) > 3:
            best = min(case.misfit for case in self._cases(recent, use_balance=False))
            if best <= _MISFIT * (len(recent) - 3):
                break
            recent = recent[1:]
        return recent

    def loses_steadily(self, points: Sequence[TrayWeighing], target: float) -> bool:
        """Is the weight falling so evenly that the tail of drying has not begun?

        Losses that shrink by no more than a fifth from one interval to the next leave at least
        four times the last loss to come; no exponential is worth fitting before that ends.
        """
        if len(points) < 3:
            return False
        one, two, three = points[-3:]
        before = (one.net_kg - two.net_kg) / (two.hours - one.hours)
        lost_kg = two.net_kg - three.net_kg
        even = lost_kg / (three.hours - two.hours) >= 0.8 * before
        return even and lost_kg > 6 * self.sd_kg and 4 * lost_kg > target * three.net_kg

    def belief(self, points: Sequence[TrayWeighing], use_balance: bool) -> "_Belief":
        """What can still leave the tray, given some or all of the evidence."""
        return _Belief(self._cases(points, use_balance), points[-1].net_kg, self.dryer)

    def contradicted(self, now_kg: float, weighed: "_Belief | None") -> bool:
        """Do balance and weighings differ by more than two standard deviations?"""
        water, sd = water_by_balance(self.loaded_kg, self.loaded_water, now_kg, self.water_sd)
        if weighed is None:
            return water + 2 * sd < 0
        mean, spread = weighed.water_mean_sd()
        return abs(water - mean) > 2 * hypot(sd, spread)

    def _cases(self, points: Sequence[TrayWeighing], use_balance: bool) -> list[_Case]:
        """One case per plausible rate."""
        return [self._case(points, rate, use_balance) for rate in _RATES]

    def _case(self, points: Sequence[TrayWeighing], rate: float, use_balance: bool) -> _Case:
        """End mass and rest by weighted least squares for one rate, in deviations from now."""
        now = points[-1]
        decay = [exp(-rate * (p.hours - points[0].hours)) for p in points]
        drop = [p.net_kg - now.net_kg for p in points]
        precision = self.sd_kg**-2
        end_precision = self.end_sd_kg**-2 if use_balance else (10 * self.loaded_kg) ** -2
        prior = self.end_kg - now.net_kg if use_balance else 0.0
        a11 = len(points) * precision + end_precision
        a12 = sum(decay) * precision
        a22 = sum(d * d for d in decay) * precision + self.loaded_kg**-2
        b1 = sum(drop) * precision + prior * end_precision
        b2 = sum(d * y for d, y in zip(decay, drop, strict=True)) * precision
        determinant = a11 * a22 - a12**2
        end = (b1 * a22 - b2 * a12) / determinant
        first = (a11 * b2 - a12 * b1) / determinant
        pull = (end - prior) ** 2 * end_precision + (first / self.loaded_kg) ** 2
        misfit = precision * sum(
            (y - end - first * d) ** 2 for d, y in zip(decay, drop, strict=True)
        )
        last = decay[-1]
        rest_sd = last * sqrt(a11 / determinant)
        usual = (
            log(rate / LAST_RATE.value) / (log(LAST_RATE.span[1] / LAST_RATE.value) / P90)
        ) ** 2
        rest = first * last
        positive = _tail_probability(-rest / rest_sd)
        likely = -0.5 * (misfit + pull + usual + log(determinant)) + log(max(positive, 1e-300))
        return _Case(rate, likely, rest, rest_sd, positive, misfit)


class _Belief:
    """Distribution of the residual water: a mixture over rates and over the last water."""

    def __init__(self, cases: Sequence[_Case], now_kg: float, dryer: DryerKind) -> None:
        """Normalise the weights and lay out the nodes of the last water."""
        best = max(case.log_weight for case in cases)
        weights = [exp(case.log_weight - best) for case in cases]
        total = sum(weights)
        pairs = [(w / total, case) for w, case in zip(weights, cases, strict=True)]
        self.cases = [pair for pair in pairs if pair[0] > 1e-5]
        self.now_kg = now_kg
        self.left = EQUILIBRIUM_WATER[dryer]
        self.nodes = _nodes(self.left)
        self.water = _percentiles(self.probability_below, 1.0)

    def probability_below(self, water: float) -> float:
        """Probability that the residual water is at most this."""
        return sum(
            weight * self._rest_below(self.now_kg * (water - left) / (1 - left))
            for weight, left in self.nodes
        )

    def _rest_below(self, rest_kg: float) -> float:
        """Probability that at most this can still leave."""
        return sum(w * _below(case, rest_kg) for w, case in self.cases)

    def water_mean_sd(self) -> tuple[float, float]:
        """Middle of the residual water, and its standard deviation from the outer percentiles."""
        water = self.water
        return water.central, (water.high - water.low) / (2 * P90)

    def end_kg(self) -> Range:
        """Where the weight is heading, kg."""
        rest = _percentiles(self._rest_below, self.now_kg)
        return Range(self.now_kg - rest.high, self.now_kg - rest.central, self.now_kg - rest.low)

    def rate(self) -> float:
        """Rate of the tail, 1/h: weighted geometric mean."""
        return exp(sum(w * log(case.rate) for w, case in self.cases))


def _percentiles(cumulative: Callable[[float], float], most: float) -> Range:
    """10th, 50th and 90th percentile of what lies between 0 and most, by bisection."""

    def quantile(probability: float) -> float:
        low, high = 0.0, most
        for _ in range(22):
            middle = (low + high) / 2
            if cumulative(middle) < probability:
                low = middle
            else:
                high = middle
        return (low + high) / 2

    return Range(quantile(0.1), quantile(0.5), quantile(0.9))


def _checked(
    weighings: Sequence[TrayWeighing], step_kg: float, loaded_kg: float
) -> Sequence[TrayWeighing]:
    """The weighings, refused when they cannot be true."""
    require("scale_step_kg", step_kg, 1e-7, 1.0, "kg")
    require("loaded_kg", loaded_kg, 1e-4, 1000.0, "kg")
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


def _next_hours(verdict: Verdict, belief: _Belief, water: float, target: float) -> float | None:
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


def _nodes(value: Sourced) -> tuple[tuple[float, float], ...]:
    """Weights and values of a split normal distribution: Gauss and Hermite's five points."""
    low, high = value.span
    middle = value.value
    below, above = (middle - low) / P90, (high - middle) / P90
    return tuple(
        (weight, max(0.0, middle + z * (above if z > 0 else below))) for weight, z in _HERMITE
    )


def _tail_probability(z: float) -> float:
    """Probability that a standard normal number exceeds z."""
    return 0.5 * erfc(z / sqrt(2))


def _below(case: _Case, rest_kg: float) -> float:
    """Probability that what can still leave is at most rest_kg, knowing that it is not negative."""
    if rest_kg < 0:
        return 0.0
    if case.positive < 1e-12:
        return 1.0
    above = _tail_probability((rest_kg - case.rest_kg) / case.rest_sd_kg)
    return min(1.0, max(0.0, 1 - above / case.positive))
