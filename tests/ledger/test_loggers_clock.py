"""Loggers' clocks through the changes of daylight saving.

Outside facts: IANA Time Zone Database, files northamerica and europe: New York's clocks go back
from 02:00 to 01:00 on 2026-11-01; Berlin's go forward from 02:00 to 03:00 on 2026-03-29.
"""

# ruff: noqa: DTZ001 (a wall clock without its zone is what is tested)

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from app.ledger.loggers.clock import elapsed_hours
from app.ledger.loggers.columns import Question, questions, suggest
from app.ledger.loggers.readings import LoggerFile, Why, read
from app.ledger.loggers.table import sniff

NEW_YORK, BERLIN = "America/New_York", "Europe/Berlin"


def read_at(times: list[str], day: str, zone: str, standard: bool | None = False) -> LoggerFile:
    rows = [f"{day} {time},{number}" for number, time in enumerate(times)]
    found = sniff("\n".join(["time,temp (°C)", *rows]))
    return read(found, replace(suggest(found), keeps_standard_time=standard), zone)


def hours(file: LoggerFile) -> list[float]:
    first = file.readings[0].at
    return [(reading.at - first) / timedelta(hours=1) for reading in file.readings]


def test_half_past_midnight_to_half_past_two_is_three_hours_when_the_clocks_go_back() -> None:
    out, back = datetime(2026, 11, 1, 0, 30), datetime(2026, 11, 1, 2, 30)
    assert elapsed_hours(out, back, NEW_YORK) == 3.0


def test_half_past_one_to_half_past_three_is_one_hour_when_the_clocks_go_forward() -> None:
    out, back = datetime(2026, 3, 29, 1, 30), datetime(2026, 3, 29, 3, 30)
    assert elapsed_hours(out, back, BERLIN) == 1.0


def test_a_time_that_comes_twice_is_read_so_that_food_was_out_longer() -> None:
    before, twice = datetime(2026, 11, 1, 0, 30), datetime(2026, 11, 1, 1, 30)
    assert elapsed_hours(before, twice, NEW_YORK) == 2.0
    assert elapsed_hours(twice, datetime(2026, 11, 1, 2, 30), NEW_YORK) == 2.0


def test_an_hour_shown_twice_in_order_is_two_hours() -> None:
    file = read_at(["00:30", "01:00", "01:30", "01:00", "01:30", "02:00"], "2026-11-01", NEW_YORK)
    assert hours(file) == [0.0, 0.5, 1.0, 1.5, 2.0, 2.5]
    assert len(file.segments) == 1


def test_an_hour_shown_once_makes_the_file_last_longest() -> None:
    assert hours(read_at(["00:30", "01:30", "02:30"], "2026-11-01", NEW_YORK)) == [0.0, 1.0, 3.0]
    assert hours(read_at(["00:30", "01:30"], "2026-11-01", NEW_YORK)) == [0.0, 2.0]
    assert hours(read_at(["01:30", "02:30"], "2026-11-01", NEW_YORK)) == [0.0, 2.0]


def test_a_time_that_never_was_is_read_as_standard_time_and_noted() -> None:
    file = read_at(["01:30", "02:30", "03:45"], "2026-03-29", BERLIN)
    assert [(note.row, note.why) for note in file.adjusted] == [(3, Why.NEVER_ON_THE_CLOCK)]
    assert file.readings[1].at == datetime(2026, 3, 29, 1, 30, tzinfo=UTC)
    assert hours(file) == [0.0, 1.0, 1.25]


@pytest.mark.parametrize("zone", [NEW_YORK, BERLIN, "Europe/Dublin", "Australia/Sydney"])
def test_a_logger_that_keeps_standard_time_has_no_hour_twice_and_none_missing(zone: str) -> None:
    days = ["2026-03-29", "2026-04-05", "2026-07-01", "2026-10-04", "2026-10-25", "2026-11-01"]
    for day in days:
        file = read_at(["00:30", "01:30", "02:30", "03:30"], day, zone, standard=True)
        assert hours(file) == [0.0, 1.0, 2.0, 3.0]
        winter = min(
            datetime(2026, month, 1, tzinfo=ZoneInfo(zone)).utcoffset() or timedelta(0)
            for month in range(1, 13)
        )
        local = datetime.fromisoformat(f"{day}T00:30")
        assert file.readings[0].at == (local - winter).replace(tzinfo=UTC)


@pytest.mark.parametrize(
    ("first", "last", "zone", "is_asked"),
    [
        ("2026-10-31 12:00", "2026-11-02 12:00", NEW_YORK, True),
        ("2026-11-02 12:00", "2026-12-24 12:00", NEW_YORK, False),
        ("2026-10-31 12:00", "2026-11-02 12:00", "UTC", False),
        ("2026-10-31T12:00Z", "2026-11-02T12:00Z", NEW_YORK, False),
        ("2026-01-01 12:00", "2026-12-24 12:00", BERLIN, True),
    ],
)
def test_standard_time_is_asked_only_where_the_clocks_change_in_the_file(
    first: str, last: str, zone: str, is_asked: bool
) -> None:
    found = sniff(f"time,temp (°C)\n{first},4\n{last},5")
    assert (questions(found, suggest(found), zone) == (Question.STANDARD_TIME,)) is is_asked
