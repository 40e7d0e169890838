"""Lethality against a published table, printed work sheets and numerical integration."""

from math import exp

import pytest

from app.science.lethality import (
    MEAT_D_140_MINUTES,
    MEAT_REFERENCE_F,
    MEAT_Z_F,
    TABLES,
    LethalityTable,
    equivalent_minutes,
    fahrenheit,
    fitted_z,
    hold_seconds,
    lethal_rate,
    lethality_sum,
    log_reduction,
)
from tests.published.row import Published

FSIS = "Appendix A, Compliance Guidelines for Lethality, USDA FSIS, 1999, read in two copies"
MANUAL = "Food handler manual of a county, undated"
DAIRY = "Lethal rate, dairyscience.info, undated"
FAO = "Sum of lethal rates by trapezoids, Food and Agriculture Organization, read in a copy"
DIGITS = "as many digits as printed"

PRINTED = {  # °F: 6.5-log and 7-log; minutes to 145, seconds from 146
    130: (112, 121), 131: (89, 97), 132: (71, 77), 133: (56, 62), 134: (45, 47), 135: (36, 37),
    136: (28, 32), 137: (23, 24), 138: (18, 19), 139: (15, 15), 140: (12, 12), 141: (9, 10),
    142: (8, 8), 143: (6, 6), 144: (5, 5), 145: (4, 4), 146: (169, 182), 147: (134, 144),
    148: (107, 115), 149: (85, 91), 150: (67, 72), 151: (54, 58), 152: (43, 46), 153: (34, 37),
    154: (27, 29), 155: (22, 23), 156: (17, 19), 157: (14, 15),
}  # fmt: skip
ROWS = [
    (lethal_rate(110.0, 121.11, 10.0), Published(0.077, 5e-4, DAIRY, "110 °C, z 10", DIGITS)),
    (lethality_sum([2.925], 5.0), Published(14.6, 0.05, FAO, "whole process", DIGITS)),
    (lethality_sum([1.730], 5.0), Published(8.6, 0.06, FAO, "heating part", "8.65 cut to 8.6")),
    (fahrenheit(54.4), Published(130.0, 0.1, FSIS, "54.4 °C in the table", DIGITS)),
    (fahrenheit(70.0), Published(158.0, 1e-9, FSIS, "70.0 °C in the table", DIGITS)),
]


@pytest.mark.parametrize(("value", "published"), ROWS, ids=[row[1].where for row in ROWS])
def test_lethality_agrees_with_print(value: float, published: Published) -> None:
    assert published.agrees(value), f"{value} is not {published.expected}"


@pytest.mark.parametrize("temp_f", PRINTED)
def test_the_meat_table_is_the_printed_one(temp_f: int) -> None:
    unit = 60.0 if temp_f <= 145 else 1.0
    low, high = PRINTED[temp_f]
    assert hold_seconds(LethalityTable.MEAT_6_5, temp_f) == low * unit
    assert hold_seconds(LethalityTable.MEAT_7, temp_f) == high * unit
    assert len(TABLES[LethalityTable.MEAT_6_5].rows) == len(PRINTED)


@pytest.mark.parametrize("temp_f", PRINTED)
def test_one_straight_line_reproduces_every_printed_row(temp_f: int) -> None:
    """The line (z 10 °F) lies at or below every row, and 13 % below at most: print rounds up."""
    minutes = PRINTED[temp_f][0] / (1.0 if temp_f <= 145 else 60.0)
    equivalent = minutes * lethal_rate(temp_f, MEAT_REFERENCE_F, MEAT_Z_F.value)
    logs = log_reduction(equivalent, MEAT_D_140_MINUTES.value)
    assert 6.5 <= logs < 6.5 * 1.15


def test_the_slope_of_the_table_is_ten_degrees_fahrenheit() -> None:
    # FSIS rows; regression independent of ours by numpy.
    import numpy as np

    times = [v[0] * (60 if t <= 145 else 1) for t, v in PRINTED.items()]
    slope, _ = np.polyfit(list(PRINTED), np.log10(times), 1)
    z, _ = fitted_z(LethalityTable.MEAT_6_5)
    assert z == pytest.approx(-1 / slope, rel=1e-9)
    assert z == pytest.approx(MEAT_Z_F.value, abs=0.01)


@pytest.mark.parametrize(("temp_f", "seconds", "logs"), [(155, 17, 5.04), (145, 180, 5.35)])
def test_the_ground_meat_rule_is_a_five_log_rule(temp_f: int, seconds: int, logs: float) -> None:
    # 155 °F 17 s, 145 °F 3 min (MANUAL), on the regression line of the meat table (FSIS).
    z, log_minutes = fitted_z(LethalityTable.MEAT_6_5)
    equivalent = seconds / 60 * lethal_rate(temp_f, 140.0, z)
    assert log_reduction(equivalent, exp(log_minutes) / 6.5) == pytest.approx(logs, abs=0.02)
    assert hold_seconds(LethalityTable.GROUND, temp_f) == seconds


def test_the_integral_matches_numerical_quadrature_of_the_straight_lines() -> None:
    from scipy.integrate import quad

    history = [(0, 128), (10, 131), (20, 134), (30, 138), (40, 140), (50, 138), (60, 134)]

    def rate(minute: float) -> float:
        import numpy as np

        temp = np.interp(minute, [m for m, _ in history], [t for _, t in history])
        return lethal_rate(float(temp), 140.0, 10.0)

    expected, _ = quad(rate, 0, 60, points=[10, 20, 30, 40, 50], epsabs=1e-10)
    assert equivalent_minutes(history, 140.0, 10.0) == pytest.approx(expected, rel=1e-9)


def test_trapezoids_overstate() -> None:
    history = [(0, 130), (10, 135), (20, 140), (30, 135), (40, 130)]
    rates = [lethal_rate(t, 140.0, 10.0) for _, t in history]
    trapezoid = lethality_sum([*rates[1:-1], rates[0] / 2, rates[-1] / 2], 10.0)
    assert equivalent_minutes(history, 140.0, 10.0) < trapezoid
