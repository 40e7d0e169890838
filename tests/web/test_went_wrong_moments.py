"""Moments of the household's clock: what passed is counted, and nothing is yet to come."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.ledger.loggers.clock import elapsed_hours
from app.web.went_wrong.moments import earliest, latest

FAR = datetime(2100, 1, 1, tzinfo=UTC)
ZONES = ["America/New_York", "Europe/Berlin", "Europe/London", "Australia/Lord_Howe", "UTC"]
# local times about the nights on which clocks change, by the IANA time zone database
NEAR = st.sampled_from(
    ["2026-11-01", "2026-03-08", "2026-03-29", "2026-10-25", "2026-04-05", "2026-10-04"]
).map(datetime.fromisoformat)
MINUTES = st.integers(min_value=-600, max_value=1800)


@given(st.sampled_from(ZONES), NEAR, MINUTES, st.integers(min_value=0, max_value=600))
def test_hours_are_the_same_as_a_loggers_clock_gives(
    zone: str, night: datetime, minutes: int, lasted: int
) -> None:
    begins = night + timedelta(minutes=minutes)
    ends = begins + timedelta(minutes=lasted)
    place = ZoneInfo(zone)
    passed = latest(ends, place, FAR) - earliest(begins, place)
    assert passed / timedelta(hours=1) == pytest.approx(elapsed_hours(begins, ends, zone))


def test_the_second_of_two_equal_hours_is_not_meant_before_it_came() -> None:
    # New York, 2026-11-01: 01:30 is 05:30 UTC and again 06:30 UTC
    place, local = ZoneInfo("America/New_York"), datetime.fromisoformat("2026-11-01T01:30")
    first, second = (datetime(2026, 11, 1, hour, 30, tzinfo=UTC) for hour in (5, 6))
    assert latest(local, place, datetime(2026, 11, 1, 5, 45, tzinfo=UTC)) == first
    assert latest(local, place, datetime(2026, 11, 1, 7, 0, tzinfo=UTC)) == second
    assert earliest(local, place) == first
