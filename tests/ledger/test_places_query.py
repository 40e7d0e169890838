"""What the pages of places and lots ask about temperatures: how warm now, since when, and why."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import event
from sqlalchemy.orm import Session

from app.ledger.climates import Warmth
from app.ledger.errors import NotFound
from app.ledger.models import Place
from app.ledger.operations.check import Looked, check
from app.ledger.operations.climate import (
    ChangeClimate,
    LoggerIn,
    ReadingIn,
    SaidClimate,
    change_climate,
)
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.incident import LotFate, WentWrong, went_wrong
from app.ledger.operations.move import Move, move
from app.ledger.queries.climate import (
    Why,
    climate_now,
    kept_of,
    reach_of,
    story_of,
    turns_of,
    typed_readings,
    was_read_in,
)
from app.ledger.queries.places import place_by_id
from app.ledger.stock import StockRef, find_stock
from app.ledger.windows import keeping_of
from app.ledger.words import CheckKind, ClimateBasis, Finding, IncidentFate, IncidentKind
from tests import builders as b

LONDON = ZoneInfo("Europe/London")
COLD, MILD = Warmth(-24.0, -22.0, -20.0, 0.8), Warmth(-14.0, -12.0, -9.0, 0.8)
SPRING = date(2025, 3, 1)


def at(on: date, hour: int = 0) -> datetime:
    return datetime(on.year, on.month, on.day, hour, tzinfo=LONDON)


def freezer(session: Session) -> Place:
    return session.get_one(Place, b.FREEZER)


def say(session: Session, *said: SaidClimate, place: int = b.FREEZER, **more: object) -> int:
    request = ChangeClimate(place, b.TODAY, climates=said, **more)  # type: ignore[arg-type]
    return int(b.do(session, change_climate, request).operation_id)


def turns(session: Session, ref: StockRef) -> list[Why | None]:
    row = find_stock(session, ref)
    assert row is not None
    found = keeping_of(session, row)
    assert found is not None
    start, keeping = found
    return [turn and turn.why for turn in turns_of(session, ref, start, keeping.history)]


def test_a_place_is_as_it_was_told_when_it_was_added_until_something_is_said(
    session: Session,
) -> None:
    now = climate_now(session, freezer(session), b.evening(b.TODAY))
    assert (now.warmth.temp_c, now.stated.since, now.stated.basis) == (-18.0, None, None)
    say(session, SaidClimate(at(SPRING), (COLD,)))
    now = climate_now(session, freezer(session), b.evening(b.TODAY))
    assert (now.warmth, now.stated.since, now.stated.basis) == (
        COLD, at(SPRING), ClimateBasis.STATED,
    )  # fmt: skip
    before = climate_now(session, freezer(session), at(SPRING) - timedelta(seconds=1))
    assert before.warmth.temp_c == -18.0


def test_a_story_begins_with_the_first_record_and_never_more_than_so_many_days_back(
    session: Session,
) -> None:
    assert story_of(session, freezer(session), today=b.TODAY, days=365).start == b.TODAY
    b.take_in(session, place=b.FREEZER, on=SPRING)
    assert story_of(session, freezer(session), today=b.TODAY, days=365).start == SPRING
    assert story_of(session, freezer(session), today=b.TODAY, days=30).start == date(2025, 9, 20)


def test_the_readings_of_a_day_are_told_as_their_lowest_and_highest(session: Session) -> None:
    day = datetime(2025, 9, 1, tzinfo=UTC)
    temps = (-19.5, -17.0, -18.0, -16.25)
    readings = tuple(ReadingIn(day + timedelta(hours=8 * n), t) for n, t in enumerate(temps))
    file = LoggerIn("freezer.csv", "ab" * 32, 0)
    written = say(session, readings=readings, logger=file)
    story = story_of(session, freezer(session), today=b.TODAY, days=365)
    assert [(d.on, d.low_c, d.high_c, d.count) for d in story.days] == [
        (date(2025, 9, 1), -19.5, -17.0, 3), (date(2025, 9, 2), -16.25, -16.25, 1),
    ]  # fmt: skip
    assert [(f.name, f.reading_count) for f in story.files] == [("freezer.csv", 4)]
    assert story.typed == ()
    assert was_read_in(session, "ab" * 32)
    b.do(session, correct, Correct(written, b.TODAY, "wrong place"))
    story = story_of(session, freezer(session), today=b.TODAY, days=365)
    assert (story.days, story.files) == ((), ())
    assert not was_read_in(session, "ab" * 32)


def test_readings_typed_by_hand_are_told_newest_first(session: Session) -> None:
    for hour, temp_c in ((8, -18.0), (12, -17.0)):
        reading = ReadingIn(at(b.TODAY, hour), temp_c, typed=f"{temp_c:g}")
        looked = Looked(
            CheckKind.THERMOMETER, Finding.FINE, b.TODAY, place_id=b.FREEZER, reading=reading
        )
        b.do(session, check, looked)
    assert [r.typed for r in typed_readings(session, b.FREEZER)] == ["-17", "-18"]


def test_a_change_reaches_what_lies_at_a_place_and_what_lay_there(session: Session) -> None:
    b.take_in(session, b.APPLES, 500, place=b.PANTRY)
    moved = b.take_in(session, b.APPLES, 600, place=b.PANTRY)
    b.do(session, move, Move((moved,), b.FRIDGE, b.TODAY))
    reach = reach_of(session, b.PANTRY)
    assert (reach.here, reach.earlier) == (1, 1)


def test_each_stretch_of_a_lot_tells_why_it_begins(session: Session) -> None:
    ref = b.take_in(session, place=b.FREEZER, on=SPRING)
    assert turns(session, ref) == [Why.CAME]
    say(session, SaidClimate(at(date(2025, 5, 1)), (MILD,)))
    say(session, SaidClimate(at(date(2025, 7, 1), 9), (COLD,), ClimateBasis.LOGGED))
    assert turns(session, ref) == [Why.CAME, Why.TOLD, Why.LOGGED]


def test_seasons_are_told_month_by_month_and_then_as_their_mean(session: Session) -> None:
    ref = b.take_in(session, b.APPLES, place=b.PANTRY, on=date(2025, 10, 1))
    months = tuple(
        Warmth(t - 2, t, t + 2, 0.6) for t in (4.0, 5, 7, 9, 11, 14, 16, 15, 13, 10, 7, 5)
    )
    say(session, SaidClimate(at(date(2025, 10, 5)), months), place=b.PANTRY)
    found = turns(session, ref)
    assert found[:4] == [Why.CAME, Why.TOLD, Why.SEASON, Why.SEASON]
    assert found[-1] is Why.YEAR
    assert set(found[2:-1]) == {Why.SEASON}


def test_an_outage_is_told_with_its_cause_and_its_end(session: Session) -> None:
    ref = b.take_in(session, place=b.FREEZER, on=SPRING)
    begins = datetime(2025, 6, 3, 8, tzinfo=UTC)
    wrong = WentWrong(
        IncidentKind.POWER_OUT, b.TODAY, (LotFate(ref, IncidentFate.KEEP, ()),), b.FREEZER,
        begins, begins + timedelta(hours=4), 1.0,
    )  # fmt: skip
    b.do(session, went_wrong, wrong)
    assert turns(session, ref) == [Why.CAME, Why.OUT, Why.BACK]
    kept = kept_of(session, ref)
    ((excursion, cause),) = kept.excursions
    assert (excursion.until - excursion.since, cause) == (timedelta(hours=4), "power_out")


def test_where_food_was_kept_is_told_place_by_place_with_the_changes_of_its_time(
    session: Session,
) -> None:
    ref = b.take_in(session, b.APPLES, 500, place=b.PANTRY, on=date(2025, 9, 1))
    warm = Warmth(18.0, 20.0, 22.0, 0.5)
    for on in (date(2025, 8, 1), date(2025, 9, 10), date(2025, 10, 5)):
        say(session, SaidClimate(at(on), (warm,)), place=b.PANTRY)
    b.do(session, move, Move((ref,), b.FRIDGE, date(2025, 9, 20)))
    kept = kept_of(session, StockRef(ref.lot_id, b.FRIDGE))
    assert [(k.place, k.since, [on for on, _ in k.changes]) for k in kept.places] == [
        ("Pantry", date(2025, 9, 1), [date(2025, 9, 10)]), ("Fridge", date(2025, 9, 20), []),
    ]  # fmt: skip
    assert kept.places[0].first.since == at(date(2025, 8, 1))


def test_the_number_of_questions_does_not_grow_with_what_lies_there(session: Session) -> None:
    def count() -> int:
        session.expire_all()
        asked: list[str] = []

        def listen(*arguments: object) -> None:
            asked.append(str(arguments[2]))

        event.listen(session.get_bind(), "before_cursor_execute", listen)
        story_of(session, freezer(session), today=b.TODAY, days=365)
        event.remove(session.get_bind(), "before_cursor_execute", listen)
        return len(asked)

    b.take_in(session, place=b.FREEZER)
    few = count()
    for _ in range(5):
        b.take_in(session, place=b.FREEZER)
    assert count() == few


def test_a_place_that_is_not_is_not_found(session: Session) -> None:
    with pytest.raises(NotFound):
        place_by_id(session, 99)
