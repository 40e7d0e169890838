"""Slow change that needs no oxygen: browning and staling in the best of packages."""

from math import log
from typing import TYPE_CHECKING

from app.science.sources import BYU_LONG_TERM, RATION_CHART, Evidence, Sourced

if TYPE_CHECKING:
    from app.science.draws import Numbers

YEAR_D = 365.25
SHORTEST_D, LONGEST_D = 1e-3, 1e8  # stand for "at once" and "never", and keep the sums finite
FLOOR_C = 0.0  # dry food gets no credit for colder: the laws are not extrapolated into the frost
LIFE = Sourced(
    20.0,
    "years at 21 °C",
    Evidence.JUDGEMENT,
    BYU_LONG_TERM,
    10.0,
    30.0,
    "lean or fat-free food; oats, milk powder and peas of 20-34 years were edible, meat untested",
)
FAT_REFERENCE = Sourced(
    0.10,
    "kg fat per kg dry matter",
    Evidence.JUDGEMENT,
    low=0.05,
    high=0.15,
    note="animal food fatter than this keeps in proportion less; the weakest number of all",
)
Q10 = Sourced(
    2.5, "", Evidence.DERIVED, RATION_CHART, 1.9, 3.4, "rations 2.48; fruit 1.87; apricots 3.5"
)
HALVING = Sourced(
    0.10, "water activity", Evidence.JUDGEMENT, low=0.07, high=0.15, note="that halves the life"
)
DRY, WETTEST = 0.20, 0.70


def slow_days(
    life_days: "Numbers",
    log_q10: "Numbers",
    temp_c: "Numbers",
    water_activity: "Numbers",
    per_activity: "Numbers",
) -> "Numbers":
    """Time until slow change shows; numbers or arrays.

        t = S·Q10^((21 - T)/10)·2^(-(a - 0.2)/δ), a held within 0.2 and 0.7

    Args:
        life_days: S, days at 21 °C, dry. log_q10: ln Q10. temp_c: °C, ≥ 0.
        water_activity: a. per_activity: ln 2/δ.
    Returns:
        Days.
    Validity: 0 to 40 °C; all parameters are anchored on practice, none measured on meat.
    Source: parameters at LIFE, Q10 and HALVING.
    Example:
        >>> round(float(slow_days(20 * YEAR_D, log(2.5), 31.0, 0.1, log(2) / 0.1) / YEAR_D), 1)
        8.0
    """
    import numpy as np

    wetness = np.clip(water_activity, DRY, WETTEST) - DRY
    days: Numbers = life_days * np.exp(log_q10 * ((21.0 - temp_c) / 10) - per_activity * wetness)
    return days


def fat_share(fat_db: "Numbers", reference_db: "Numbers") -> "Numbers":
    """How much of the lean life a fatter animal food keeps; numbers or arrays.

    Args:
        fat_db: kg fat per kg dry matter. reference_db: up to which it keeps all of it.
    Returns:
        min(1, reference/fat).
    Source: our judgement: a lean lot keeps many years, an 80/20 one about five at most (common
        practice).
    """
    import numpy as np

    share: Numbers = np.minimum(1.0, reference_db / np.maximum(fat_db, 1e-6))
    return share


LOG_2 = log(2.0)
