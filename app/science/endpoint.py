"""Where a falling weight ends: three weighings, a fitted exponential, a mass balance."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import expm1, hypot, log, sqrt

from app.science.errors import Impossible, require


@dataclass(frozen=True, slots=True)
class EndPoint:
    """End mass, its standard error (None where unknown) and the rate of approach."""

    end_kg: float
    sd_kg: float | None
    rate_per_hour: float


def repeat_sd_kg(scale_step_kg: float) -> float:
    """Standard deviation of one weighing: rounding, and half a step for repeating it.

    Source: uniform rounding error, step/√12; repeat error, our judgement.
    """
    require("scale_step_kg", scale_step_kg, 1e-7, 1.0, "kg")
    return hypot(scale_step_kg / sqrt(12), scale_step_kg / 2)


def endpoint_of_three(
    first_kg: float, second_kg: float, third_kg: float, interval_hours: float, sd_kg: float = 0.0
) -> EndPoint:
    """End mass from three equally spaced weighings.

        m_end = (m1 m3 - m2²)/(m1 + m3 - 2 m2);  k = ln[(m1 - m2)/(m2 - m3)]/Δ

    Args:
        first_kg, second_kg, third_kg: net, kg. interval_hours: Δ, h, > 0.
        sd_kg: of one weighing, kg.
    Returns:
        End mass, its standard deviation by propagation, and the rate, 1/h.
    Raises:
        Impossible: weights that do not fall ever more slowly.
    Validity: the error is about six times that of the scale: three points seldom decide.
    Source: exact solution for an exponential.
    Example:
        >>> round(endpoint_of_three(0.812, 0.796, 0.788, 1.0).end_kg, 3)
        0.78
    """
    require("interval_hours", interval_hours, 1e-6, None, "h")
    first, second = first_kg - second_kg, second_kg - third_kg
    if not (first - second > 1e-9 and second > 0):
        raise Impossible("the weights do not fall ever more slowly")
    bend = first - second
    end_kg = third_kg - second**2 / bend
    shares = ((third_kg - end_kg), 2 * (end_kg - second_kg), (first_kg - end_kg))
    error = sd_kg * sqrt(sum(share**2 for share in shares)) / bend
    return EndPoint(end_kg, error, log(first / second) / interval_hours)


def fit_endpoint(
    hours: Sequence[float], masses_kg: Sequence[float], sd_kg: float | None = None
) -> EndPoint:
    """End mass by fitting m = m_end + a exp(-kθ) to four or more weighings.

    Args:
        hours: increasing. masses_kg: net, kg. sd_kg: of one weighing; None: from the residuals.
    Returns:
        End mass with its standard error, rate.
    Raises:
        Impossible: fewer than four weighings, or no exponential fits.
    Validity: a standard error is fair only once k times the span exceeds about 1.5.
    Source: nonlinear least squares.
    """
    import numpy as np
    from scipy.optimize import curve_fit

    if len(hours) < 4 or len(hours) != len(masses_kg):
        raise Impossible("a fit needs at least four weighings", 4)
    span = hours[-1] - hours[0]
    guess = (masses_kg[-1], masses_kg[0] - masses_kg[-1], 2.0 / span)
    try:
        best, covariance = curve_fit(
            lambda t, end, fall, rate: end + fall * np.exp(-rate * t),
            np.asarray(hours, float) - hours[0],
            np.asarray(masses_kg, float),
            p0=guess,
            sigma=None if sd_kg is None else [sd_kg] * len(hours),
            absolute_sigma=sd_kg is not None,
        )
    except RuntimeError as error:
        raise Impossible("no exponential fits these weighings") from error
    return EndPoint(float(best[0]), float(covariance[0][0]) ** 0.5, float(best[2]))


def still_to_lose_kg(lost_kg: float, hours: float, rate_per_hour: float) -> float:
    """What is left to lose after losing some in the last hours: r = Δm/(e^{kΔθ} - 1).

    Args:
        lost_kg: Δm, kg, ≥ 0. hours: Δθ, h, > 0. rate_per_hour: k, 1/h, > 0.
    Returns:
        kg down to the end mass.
    Raises:
        OutOfRange: outside the ranges.
    Source: exponential approach.
    Example:
        >>> round(1000 * still_to_lose_kg(0.001, 2.0, 0.1), 2)
        4.52
    """
    require("lost_kg", lost_kg, 0.0, None, "kg")
    require("hours", hours, 1e-6, None, "h")
    require("rate_per_hour", rate_per_hour, 1e-6, 100.0, "1/h")
    return lost_kg / expm1(rate_per_hour * hours)


def water_by_balance(
    loaded_kg: float, loaded_water: float, now_kg: float, loaded_water_sd: float
) -> tuple[float, float]:
    """Residual water by mass balance, (m - S)/m with S = m_in (1 - w_in).

    Args:
        loaded_kg: fresh, kg. loaded_water: its water, kg/kg. now_kg: net now, kg.
        loaded_water_sd: standard deviation of loaded_water, kg/kg.
    Returns:
        Water, kg/kg of what lies there now, and its standard deviation; negative water means that
        loaded_water was too low or food was lost.
    Raises:
        OutOfRange: masses that are not positive.
    Source: conservation of the solids.
    """
    require("loaded_kg", loaded_kg, 1e-6, None, "kg")
    require("now_kg", now_kg, 1e-6, None, "kg")
    solids_kg = loaded_kg * (1 - loaded_water)
    return (now_kg - solids_kg) / now_kg, loaded_kg * loaded_water_sd / now_kg
