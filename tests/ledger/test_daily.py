"""The daily copies: one for each day, whole, and thinned out as time goes by."""

import sqlite3
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.ledger.archive.backup import Damaged
from app.ledger.archive.daily import copies, copy_of_the_day, kept_days
from tests.ledger.kitchen import write_evening

TODAY = date(2026, 11, 25)


@pytest.fixture
def house(tmp_path: Path) -> Path:
    path = tmp_path / "stillroom.db"
    write_evening(path)
    return path


def test_a_day_has_one_copy_and_it_can_be_opened(house: Path) -> None:
    made = copy_of_the_day(house, house.parent / "copies", TODAY)
    assert made is not None
    assert copy_of_the_day(house, house.parent / "copies", TODAY) is None
    with closing(sqlite3.connect(made)) as copy, closing(sqlite3.connect(house)) as ledger:
        count = "SELECT count(*) FROM entry"
        assert copy.execute(count).fetchone() == ledger.execute(count).fetchone()


def test_a_year_of_days_leaves_a_week_some_weeks_and_the_months(house: Path) -> None:
    folder = house.parent / "copies"
    folder.mkdir()
    for ago in range(1, 500):
        (folder / f"stillroom-{TODAY - timedelta(days=ago)}.db").touch()
    (folder / "stillroom-before-the-move.db").touch()
    copy_of_the_day(house, house.parent / "copies", TODAY)
    left = copies(folder)
    assert {TODAY - timedelta(days=ago) for ago in range(7)} <= set(left)
    assert len({(day.year, day.month) for day in left}) == 12
    assert len(left) <= 7 + 5 + 12
    assert (folder / "stillroom-before-the-move.db").exists()


def test_a_damaged_ledger_clears_no_copy_away(house: Path) -> None:
    folder = house.parent / "copies"
    folder.mkdir()
    old = folder / "stillroom-2020-01-01.db"
    old.touch()
    house.write_bytes(b"SQLite format 3\0" + b"\1" * 4096)
    with pytest.raises(Damaged):
        copy_of_the_day(house, house.parent / "copies", TODAY)
    assert old.exists()


@given(st.sets(st.dates(date(2024, 1, 1), TODAY)), st.integers(0, 400))
def test_what_is_cleared_away_once_was_not_needed_later(days: set[date], later: int) -> None:
    """Thinning out every day keeps as much as thinning out once at the end."""
    then = TODAY + timedelta(days=later)
    assert kept_days(kept_days(days, TODAY), then) == kept_days(days, then)
