"""What a falling weight and a mass balance say together about the water left on a tray."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import erfc, exp, hypot, log, sqrt

from app.science.drying import P90, DryerKind
from app.science.endpoint import repeat_sd_kg, water_by_balance
from app.science.ranges import Range
from app.science.sources import SAGARA_HOSOKAWA_1976, Evidence, Sourced

# Rate at which the last water leaves, when the weighings do not tell it.
LAST_RATE = Sourced(0.14, "1/h", Evidence.JUDGEMENT, None, 0.05, 0.40, "tail of small dryers")
# Water left in food whose weight no longer falls: it is in balance with the dryer, not at zero.
EQUILIBRIUM_WATER: dict[DryerKind, Sourced] = {
    DryerKind.FREEZE: Sourced(
        0.015,
        "kg/kg",
        Evidence.JUDGEMENT,
        SAGARA_HOSOKAWA_1976,
        0.005,
        0.03,
        "the paper's one run of beef held 3.4 %",
    ),
    DryerKind.AIR: Sourced(0.04, "kg/kg", Evidence.JUDGEMENT, None, 0.02, 0.07, "air of about 6 %"),
}
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


@dataclass(frozen=True, slots=True)
class Case:
    """What one rate makes of the weighings: its weight, the rest to lose, the misfit."""

    rate: float
    log_weight: float
    rest_kg: float
    rest_sd_kg: float
    positive: float  # probability that the rest is not negative
    misfit: float


class Tray:
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

    def belief(self, points: Sequence[TrayWeighing], use_balance: bool) -> "Belief":
        """What can still leave the tray, given some or all of the evidence."""
        return Belief(self._cases(points, use_balance), points[-1].net_kg, self.dryer)

    def contradicted(self, now_kg: float, weighed: "Belief | None") -> bool:
        """Do balance and weighings differ by more than two standard deviations?"""
        water, sd = water_by_balance(self.loaded_kg, self.loaded_water, now_kg, self.water_sd)
        if weighed is None:
            return water + 2 * sd < 0
        mean, spread = weighed.water_mean_sd()
        return abs(water - mean) > 2 * hypot(sd, spread)

    def _cases(self, points: Sequence[TrayWeighing], use_balance: bool) -> list[Case]:
        """One case per plausible rate."""
        return [self._case(points, rate, use_balance) for rate in _RATES]

    def _case(self, points: Sequence[TrayWeighing], rate: float, use_balance: bool) -> Case:
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
        rest_sd = max(1e-12, last * sqrt(a11 / determinant))
        usual = (
            log(rate / LAST_RATE.value) / (log(LAST_RATE.span[1] / LAST_RATE.value) / P90)
        ) ** 2
        rest = first * last
        positive = _tail_probability(-rest / rest_sd)
        likely = -0.5 * (misfit + pull + usual + log(determinant)) + log(max(positive, 1e-300))
        return Case(rate, likely, rest, rest_sd, positive, misfit)


class Belief:
    """Distribution of the residual water: a mixture over rates and over the last water."""

    def __init__(self, cases: Sequence[Case], now_kg: float, dryer: DryerKind) -> None:
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


def _below(case: Case, rest_kg: float) -> float:
    """Probability that what can still leave is at most rest_kg, knowing that it is not negative."""
    if rest_kg < 0:
        return 0.0
    if case.positive < 1e-12:
        return 1.0
    above = _tail_probability((rest_kg - case.rest_kg) / case.rest_sd_kg)
    return min(1.0, max(0.0, 1 - above / case.positive))
