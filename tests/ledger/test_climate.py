"""Climate: how warm a place is from when on, said or logged, all year or by month."""

from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.checks import check_all
from app.ledger.climates import (
    MONTHS_IN_FULL,
    Warmth,
    climate_at,
    climates_of,
    stretches,
    warmth_at,
    warmths_at,
)
from app.ledger.errors import Refused
from app.ledger.models import Climate, LoggerFile, Operation, Place, PlaceReading
from app.ledger.operations._post import Posted
from app.ledger.operations.climate import (
    ChangeClimate,
    LoggerIn,
    ReadingIn,
    SaidClimate,
    change_climate,
)
from app.ledger.operations.correct import Correct, correct
from app.ledger.words import ClimateBasis
from tests.builders import FRIDGE, PANTRY, TODAY, do, evening, refusal

LONDON = ZoneInfo("Europe/London")
NOON = datetime(2025, 10, 20, 12, tzinfo=UTC)


def warm(usual: float, spread: float = 2.0, humidity: float = 0.6) -> Warmth:
    return Warmth(usual - spread, usual, usual + spread, humidity)


def year(coldest: float = 6.0) -> tuple[Warmth, ...]:
    """Twelve months from January on, each a degree warmer than the one before."""
    return tuple(warm(coldest + month) for month in range(12))


def say(
    session: Session, since: datetime, *by_month: Warmth, place: int = PANTRY, **changes: Any
) -> Posted:
    """A climate said on the evening of TODAY."""
    request = ChangeClimate(place, TODAY, (SaidClimate(since, by_month),), **changes)
    posted: Posted = do(session, change_climate, request)
    return posted


def take_back(session: Session, posted: Posted) -> None:
    do(session, correct, Correct(posted.operation_id, TODAY))


def pantry(session: Session) -> Place:
    return session.get_one(Place, PANTRY)


def usual_at(session: Session, at: datetime) -> float:
    return warmth_at(session, pantry(session), at).temp_c


def days_ago(days: float) -> datetime:
    return NOON - timedelta(days=days)


# -- what holds when ---------------------------------------------------------------------------


def test_before_anything_was_said_a_place_is_as_it_was_added(session: Session) -> None:
    (as_added,) = climates_of(session, pantry(session))
    assert as_added.since is None
    assert as_added.operation_id is None
    assert as_added.span_c == (10.0, 20.0)
    assert usual_at(session, days_ago(9999)) == 15.0


def test_a_climate_holds_from_its_instant_on(session: Session) -> None:
    posted = say(session, days_ago(10), warm(19.0))
    assert usual_at(session, days_ago(10) - timedelta(seconds=1)) == 15.0
    assert usual_at(session, days_ago(10)) == 19.0
    assert usual_at(session, NOON + timedelta(days=400)) == 19.0
    stated = climate_at(session, pantry(session), NOON)
    assert (stated.operation_id, stated.basis) == (posted.operation_id, ClimateBasis.STATED)
    assert session.get_one(Operation, posted.operation_id).kind == "climate"
    assert check_all(session) == []


def test_of_two_from_the_same_instant_the_one_written_last_counts(session: Session) -> None:
    say(session, days_ago(10), *year())
    later = say(session, days_ago(10), warm(18.0))
    assert usual_at(session, NOON) == 18.0
    assert len(climates_of(session, pantry(session))) == 2  # as added, and from that instant
    take_back(session, later)
    assert usual_at(session, NOON) == 15.0  # October of `year`


def test_of_two_said_at_once_for_the_same_instant_the_last_counts(session: Session) -> None:
    since = days_ago(10)
    elsewhere = since.astimezone(ZoneInfo("Asia/Tokyo"))
    said = (SaidClimate(since, (warm(9.0),)), SaidClimate(elsewhere, (warm(11.0),)))
    do(session, change_climate, ChangeClimate(PANTRY, TODAY, said))
    assert usual_at(session, NOON) == 11.0
    assert session.scalar(select(func.count(Climate.id))) == 1
    assert check_all(session) == []


def test_an_older_climate_said_later_fills_the_time_before_the_newer(session: Session) -> None:
    say(session, days_ago(5), warm(12.0))
    older = say(session, days_ago(20), warm(18.0))
    assert [usual_at(session, days_ago(d)) for d in (30, 15, 1)] == [15.0, 18.0, 12.0]
    take_back(session, older)
    assert [usual_at(session, days_ago(d)) for d in (30, 15, 1)] == [15.0, 15.0, 12.0]


def test_one_entry_may_tell_a_whole_history(session: Session) -> None:
    said = tuple(SaidClimate(days_ago(d), (warm(float(d)),)) for d in (3, 9, 6))
    do(session, change_climate, ChangeClimate(PANTRY, TODAY, said))
    assert [usual_at(session, days_ago(d)) for d in (10, 9, 6, 3, 0)] == [15.0, 9.0, 6.0, 3.0, 3.0]


def test_a_climate_is_taken_back_and_said_again(session: Session) -> None:
    take_back(session, say(session, days_ago(10), warm(19.0)))
    assert usual_at(session, NOON) == 15.0
    say(session, days_ago(10), warm(19.0))
    assert usual_at(session, NOON) == 19.0
    assert check_all(session) == []


def test_another_place_is_not_changed(session: Session) -> None:
    say(session, days_ago(10), warm(19.0))
    assert warmth_at(session, session.get_one(Place, FRIDGE), NOON).temp_c == 4.0


# -- by month ----------------------------------------------------------------------------------


def test_a_month_begins_at_midnight_of_the_household(session: Session) -> None:
    say(session, days_ago(400), *year())
    last_of_june = datetime(2025, 6, 30, 23, 30, tzinfo=UTC)  # half past midnight in summer time
    assert usual_at(session, last_of_june) == 6.0 + 6
    new_year = datetime(2025, 12, 31, 23, 59, 59, tzinfo=UTC)
    assert usual_at(session, new_year) == 6.0 + 11
    assert usual_at(session, new_year + timedelta(seconds=1)) == 6.0
    assert climate_at(session, pantry(session), NOON).span_c == (4.0, 19.0)


def cut(session: Session, start: date, end: date | None) -> list[tuple[datetime, float]]:
    found = stretches(climates_of(session, pantry(session)), LONDON, start, end)
    return [(stretch.since, stretch.warmth.temp_c) for stretch in found]


def test_stretches_follow_the_months_over_new_year(session: Session) -> None:
    say(session, days_ago(400), *year())
    assert cut(session, date(2025, 11, 20), date(2026, 2, 3)) == [
        (datetime(2025, 11, 20, tzinfo=LONDON), 16.0),
        (datetime(2025, 12, 1, tzinfo=LONDON), 17.0),
        (datetime(2026, 1, 1, tzinfo=LONDON), 6.0),
        (datetime(2026, 2, 1, tzinfo=LONDON), 7.0),
    ]


def test_stretches_begin_at_midnight_on_both_sides_of_a_clock_change(session: Session) -> None:
    """Clocks go forward on 30 March 2025 and back on 26 October 2025, by the Summer Time Order
    2002 (SI 2002/262): the last Sundays of March and October."""
    say(session, days_ago(400), *year())
    found = cut(session, date(2025, 3, 30), date(2025, 11, 2))
    assert [(at.month, at.day, at.hour, at.minute) for at, _ in found[1:]] == [
        (month, 1, 0, 0) for month in range(4, 12)
    ]
    offsets = [at.utcoffset() for at, _ in found]
    assert offsets == [timedelta(0), *[timedelta(hours=1)] * 7, timedelta(0)]


def test_an_instant_with_seconds_does_not_shift_the_months_after_it(session: Session) -> None:
    say(session, datetime(2025, 9, 10, 7, 21, 43, 250_000, tzinfo=UTC), *year())
    found = cut(session, date(2025, 9, 1), date(2025, 11, 1))
    assert [since for since, _ in found][-1] == datetime(2025, 10, 1, tzinfo=LONDON)
    assert found[0][1] == 15.0  # as added, until that instant


def test_where_nothing_changes_there_is_no_cut(session: Session) -> None:
    say(session, days_ago(50), *[warm(12.0)] * 12)
    say(session, days_ago(20), warm(12.0))
    assert len(cut(session, date(2025, 9, 15), None)) == 1


def test_a_lasting_stay_ends_in_a_mean_of_the_year(session: Session) -> None:
    """Haynes 1971 (J. Pharm. Sci. 60:927): the kinetic mean lies above the arithmetic mean and
    below the warmest."""
    say(session, days_ago(400), *year())
    found = cut(session, date(2025, 10, 20), None)
    assert len(found) == MONTHS_IN_FULL + 1
    mean = found[-1][1]
    assert sum(w.temp_c for w in year()) / 12 < mean < 17.0


def test_a_climate_by_month_cut_short_by_another_is_left_there(session: Session) -> None:
    say(session, days_ago(100), *year())
    say(session, datetime(2025, 9, 15, 10, tzinfo=UTC), warm(13.5))
    assert [at_c for _, at_c in cut(session, date(2025, 8, 10), date(2026, 8, 1))] == [
        13.0,
        14.0,
        13.5,
    ]


# -- readings and files ------------------------------------------------------------------------


def test_readings_are_kept_as_they_were_typed(session: Session) -> None:
    reading = ReadingIn(days_ago(1), 3.888889, typed="39 F", unit="F")
    posted = do(session, change_climate, ChangeClimate(FRIDGE, TODAY, readings=(reading,)))
    (row,) = session.scalars(select(PlaceReading))
    assert (row.operation_id, row.at, row.typed) == (posted.operation_id, days_ago(1), "39 F")
    assert reading.value == 39.0
    assert len(climates_of(session, session.get_one(Place, FRIDGE))) == 1  # a reading is no climate


def test_a_loggers_file_is_read_in_once_unless_it_was_taken_back(session: Session) -> None:
    request = ChangeClimate(
        FRIDGE,
        TODAY,
        readings=tuple(ReadingIn(days_ago(n / 24), 4.0, 0.8) for n in range(1, 25)),
        logger=LoggerIn("october.csv", "ab" * 32, gap_count=1),
    )
    posted = do(session, change_climate, request)
    (file,) = session.scalars(select(LoggerFile))
    assert (file.reading_count, file.gap_count) == (24, 1)
    problem = refusal(session, change_climate, request)
    assert (problem.kind, problem.numbers["name"]) == ("already_read", "october.csv")
    take_back(session, posted)
    do(session, change_climate, request)
    assert refusal(session, change_climate, request).kind == "already_read"
    assert check_all(session) == []


# -- what is refused ---------------------------------------------------------------------------

HOT, COLD = warm(46.0), warm(-39.0)


@pytest.mark.parametrize(
    ("by_month", "kind", "reason"),
    [
        ((), "missing", None),
        (year()[:11], "missing", None),
        ((warm(12.0), warm(13.0)), "missing", None),
        ((Warmth(5.0, 4.0, 6.0, 0.5),), "impossible", "temperature_order"),
        ((*year()[:11], Warmth(5.0, 7.0, 6.0, 0.5)), "impossible", "temperature_order"),
        ((Warmth(float("nan"), 4.0, 6.0, 0.5),), "impossible", "temperature_order"),
        ((HOT,), "impossible", "temperature_range"),
        ((COLD,), "impossible", "temperature_range"),
        ((Warmth(20.0, 40.0, 61.0, 0.5),), "impossible", "temperature_range"),
        ((warm(12.0, humidity=60.0),), "impossible", "no_fraction"),
    ],
)
def test_what_no_place_can_be_is_refused(
    session: Session, by_month: tuple[Warmth, ...], kind: str, reason: str | None
) -> None:
    said = SaidClimate(NOON, by_month)
    problem = refusal(session, change_climate, ChangeClimate(PANTRY, TODAY, (said,)))
    assert (problem.kind, problem.numbers.get("reason")) == (kind, reason)


def test_saying_nothing_or_of_a_place_that_is_not_there_is_refused(session: Session) -> None:
    assert refusal(session, change_climate, ChangeClimate(PANTRY, TODAY)).kind == "missing"
    said = (SaidClimate(NOON, (warm(9.0),)),)
    assert refusal(session, change_climate, ChangeClimate(99, TODAY, said)).kind == "unknown_place"


@pytest.mark.parametrize("what", ["climate", "reading"])
def test_what_has_not_been_yet_is_refused_to_the_minute(session: Session, what: str) -> None:
    """As when the clock of a logger goes ahead."""
    soon = evening(TODAY) + timedelta(minutes=1)
    said = (SaidClimate(soon, (warm(9.0),)),) if what == "climate" else ()
    readings = (ReadingIn(NOON, 4.0), ReadingIn(soon, 4.0)) if what == "reading" else ()
    request = ChangeClimate(PANTRY, TODAY, said, readings)
    assert refusal(session, change_climate, request).kind == "in_future"


def test_a_refused_climate_writes_nothing(session: Session) -> None:
    with pytest.raises(Refused), session.begin_nested():
        say(session, NOON, warm(9.0), HOT)
    assert session.scalar(select(func.count(Operation.id))) == 0
    assert session.scalar(select(func.count(Climate.id))) == 0


def test_several_places_at_once_are_each_as_warm_as_alone(session: Session) -> None:
    say(session, days_ago(30), warm(12.0))
    say(session, days_ago(10), *year())
    say(session, days_ago(10), warm(3.0), place=FRIDGE)
    take_back(session, say(session, days_ago(5), warm(30.0)))
    say(session, days_ago(2), warm(9.0), place=FRIDGE)
    places = list(session.scalars(select(Place).order_by(Place.id)))
    for days in (-40, -20, -6, -3, 0, 60, 200):
        at = NOON + timedelta(days=days)
        together = warmths_at(session, places, at)
        assert together == {place.id: warmth_at(session, place, at) for place in places}
