"""Months and hours above a limit; percentiles against numpy."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from app.ledger.loggers.readings import LoggerReading
from app.ledger.loggers.summaries import MAX_HOLD_HOURS, by_month, hours_above

START = datetime(2026, 10, 5, tzinfo=UTC)


def readings(*pairs: tuple[float, float], start: datetime = START) -> list[LoggerReading]:
    """From (hours, temp_c)."""
    return [
        LoggerReading(start + timedelta(hours=hours), temp_c, None, row)
        for row, (hours, temp_c) in enumerate(pairs, start=1)
    ]


def test_percentiles_by_time_agree_with_numpy() -> None:
    random = np.random.default_rng(7)
    steps = random.integers(1, 10, 200)
    temps = np.round(random.normal(4.0, 2.0, 200), 2)
    at = np.concatenate([[0], np.cumsum(steps[:-1])])
    month = by_month(readings(*zip((at / 4).tolist(), temps.tolist(), strict=True)), "UTC")
    weights = np.append(steps[:-1], steps[-2])
    # numpy.percentile, method inverted_cdf, with weights (NumPy reference, numpy.percentile)
    low, high = np.percentile(temps, [10, 90], method="inverted_cdf", weights=weights)
    assert (month[0].low_c, month[0].high_c) == (low, high)
    assert month[0].mean_c == pytest.approx(np.average(temps, weights=weights))
    assert (month[0].lowest_c, month[0].highest_c) == (temps.min(), temps.max())


def test_a_reading_before_a_long_gap_counts_for_the_longest_hold_only() -> None:
    (month,) = by_month(readings((0, 10.0), (100, 0.0), (100 + MAX_HOLD_HOURS.value, 0.0)), "UTC")
    assert month.mean_c == pytest.approx(10.0 / 3.0)


def test_months_begin_at_the_household_s_midnight() -> None:
    found = by_month(
        readings((0, 1.0), (1, 2.0), start=datetime(2026, 10, 31, 22, 30, tzinfo=UTC)),
        "Europe/Berlin",
    )
    assert [month.first_day for month in found] == [date(2026, 10, 31), date(2026, 11, 1)]


def test_no_readings_make_no_month_and_no_exposure() -> None:
    assert by_month([], "UTC") == ()
    assert hours_above([], 5.0).hours == 0.0


def test_the_higher_of_two_neighbours_counts() -> None:
    found = hours_above(readings((0, 4.0), (0.5, 6.0), (1.0, 4.0), (1.5, 4.0), (2.0, 5.1)), 5.0)
    assert (found.hours, found.longest_run_hours, found.unknown_hours) == (1.5, 1.0, 0.0)


def test_a_hole_over_half_an_hour_is_unknown_and_not_a_pass() -> None:
    found = hours_above(readings((0, 4.0), (0.5, 4.0), (2.0, 4.0)), 5.0)
    assert (found.hours, found.unknown_hours) == (0.0, 1.5)


def test_a_clock_that_goes_back_counts_both_runs() -> None:
    found = hours_above(readings((0, 9.0), (0.5, 9.0), (0.25, 9.0), (0.75, 9.0)), 5.0)
    assert (found.hours, found.longest_run_hours) == (1.0, 0.5)
