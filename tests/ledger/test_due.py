"""Checks that come due: from what day, until what, and what counts for nothing."""

import dataclasses
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import event
from sqlalchemy.orm import Session

from app.ledger.codes import code_of
from app.ledger.holds import active_holds
from app.ledger.models import Household
from app.ledger.operations.check import Looked, check
from app.ledger.operations.climate import ChangeClimate, LoggerIn, ReadingIn, change_climate
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.hold import LiftHold, PutOnHold, hold, release
from app.ledger.operations.hold import TestResult as Result
from app.ledger.operations.hold import test_result as write_result
from app.ledger.operations.leave import Leave, discard
from app.ledger.operations.open import Open, open_package
from app.ledger.operations.pack import pack
from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.queries.due import Due, DueKind, coming, due, expected, weigh_again_at
from app.ledger.runs import open_runs, trays_of
from app.ledger.stock import StockRef
from app.ledger.words import CheckKind, Finding, HoldCause, ReleaseCause
from tests import builders as b

PACKED = b.TODAY + timedelta(days=1)  # the day builders.pouches packs


def days_on(days: float, since: date = b.TODAY) -> datetime:
    """The evening so many days after one."""
    return b.evening(since) + timedelta(days=days)


def of_kind(session: Session, kind: DueKind, now: datetime) -> list[Due]:
    """What is due of one kind."""
    return [item for item in due(session, now) if item.kind is kind]


def the_one(session: Session, kind: DueKind, now: datetime) -> Due:
    """The only look of a kind that is due or will be."""
    (item,) = (item for item in expected(session, now) if item.kind is kind)
    return item


def look(
    session: Session,
    kind: CheckKind,
    on: date,
    *,
    finding: Finding = Finding.FINE,
    **changes: Any,
) -> int:
    """A look that was taken, as the number of its operation."""
    return int(b.do(session, check, Looked(kind, finding, on, **changes)).operation_id)


def take_back(session: Session, operation_id: int, on: date) -> None:
    """Take an operation back on the evening of a day."""
    b.do(session, correct, Correct(operation_id, on))


# -- seals ---------------------------------------------------------------------------------------


def test_a_seal_is_due_the_day_after_packing_and_not_before(session: Session) -> None:
    lot = b.pouches(session)[0].lot_id
    assert of_kind(session, DueKind.SEAL, days_on(0, PACKED)) == []
    (item,) = of_kind(session, DueKind.SEAL, days_on(1, PACKED))
    assert (item.key, item.code, item.pack_count) == (f"seal-{lot}", code_of(lot), 3)
    assert (item.since, item.due_on, item.is_overdue) == (PACKED, PACKED + timedelta(1), False)
    assert item.place == "Pantry"
    (item,) = of_kind(session, DueKind.SEAL, days_on(2, PACKED))
    assert item.is_overdue


@pytest.mark.parametrize("finding", list(Finding))
def test_a_look_that_was_taken_ends_it_and_taking_it_back_brings_it_back(
    session: Session, finding: Finding
) -> None:
    lot, now = b.pouches(session)[0].lot_id, days_on(2, PACKED)
    number = look(session, CheckKind.SEAL, now.date(), finding=finding, lot_id=lot)
    assert of_kind(session, DueKind.SEAL, now) == []
    take_back(session, number, now.date())
    assert len(of_kind(session, DueKind.SEAL, now)) == 1


def test_a_look_at_another_lot_or_before_packing_counts_for_nothing(session: Session) -> None:
    lot, other = b.pouches(session)[0].lot_id, b.take_in(session).lot_id
    look(session, CheckKind.SEAL, PACKED + timedelta(1), lot_id=other)
    look(session, CheckKind.SEAL, PACKED - timedelta(1), lot_id=lot)
    assert len(of_kind(session, DueKind.SEAL, days_on(2, PACKED))) == 1


def test_opened_packs_and_packs_that_are_gone_are_not_asked_about(session: Session) -> None:
    opened, gone = b.pouches(session, 80), b.pouches(session, 90)
    b.do(session, open_package, Open((opened[0],), PACKED))
    b.do(session, discard, Leave((gone[0],), PACKED, words="torn"))
    assert of_kind(session, DueKind.SEAL, days_on(2, PACKED)) == []


@pytest.mark.parametrize(
    ("changes", "is_asked"),
    [
        ({"absorber_id": b.CC_300}, True),
        ({"absorber_id": None, "pressure_fraction": 0.1}, True),
        ({"absorber_id": None, "packaging_id": b.JAR}, True),
        ({"absorber_id": None, "packaging_id": b.JAR, "seal_checked": False}, False),
        ({"absorber_id": None}, False),
    ],
    ids=["absorber", "vacuum", "sealed jar", "jar never sealed", "plain pouch"],
)
def test_only_packs_that_a_look_can_judge_are_asked_about(
    session: Session, changes: dict[str, Any], is_asked: bool
) -> None:
    b.do(session, pack, b.a_pack(b.dried(session), 80, **changes))
    assert bool(of_kind(session, DueKind.SEAL, days_on(2, PACKED))) is is_asked


def test_a_day_is_a_day_of_the_household(session: Session) -> None:
    b.pouches(session)
    before = datetime(2025, 10, 21, 22, 30, tzinfo=UTC)  # still the 21st in summer time of London
    after = datetime(2025, 10, 21, 23, 30, tzinfo=UTC)  # the 22nd there, the 21st by UTC
    assert of_kind(session, DueKind.SEAL, before) == []
    assert len(of_kind(session, DueKind.SEAL, after)) == 1
    session.get_one(Household, 1).time_zone = "America/Anchorage"  # eight hours behind
    session.flush()
    assert of_kind(session, DueKind.SEAL, after) == []


# -- once a year ---------------------------------------------------------------------------------


def test_dried_packs_are_looked_at_a_year_after_packing_and_then_each_year(
    session: Session,
) -> None:
    lot = b.pouches(session)[0].lot_id
    assert the_one(session, DueKind.LOOK, days_on(1)).due_on == PACKED + timedelta(365)
    first = days_on(365, PACKED)
    assert [x.kind for x in due(session, first)] == [DueKind.LOOK]  # it takes the seal's place
    look(session, CheckKind.LOOK, first.date(), lot_id=lot)
    assert due(session, first) == []
    assert the_one(session, DueKind.LOOK, first).due_on == PACKED + timedelta(730)


def test_a_look_at_the_seals_is_no_yearly_look(session: Session) -> None:
    lot = b.pouches(session)[0].lot_id
    look(session, CheckKind.SEAL, PACKED + timedelta(300), lot_id=lot)
    assert len(of_kind(session, DueKind.LOOK, days_on(366, PACKED))) == 1


def test_what_comes_is_told_within_the_days_asked_for(session: Session) -> None:
    b.pouches(session)
    now = days_on(0, PACKED)
    assert [x.kind for x in coming(session, now, 28)] == [DueKind.SEAL]
    assert [x.kind for x in coming(session, now, 365)] == [DueKind.SEAL, DueKind.LOOK]
    assert coming(session, now, 0) == []


# -- thermometers --------------------------------------------------------------------------------


def reading(at: datetime, temp_c: float = -18.0) -> ReadingIn:
    """A temperature read at an instant."""
    return ReadingIn(at, temp_c, typed=f"{temp_c:g}")


def test_a_place_with_food_is_read_a_week_after_the_first_food_came(session: Session) -> None:
    assert expected(session, days_on(30)) == []  # nothing lies anywhere
    b.take_in(session, place=b.FREEZER)
    assert due(session, days_on(6)) == []
    (item,) = due(session, days_on(7))
    assert (item.key, item.place, item.last_c) == (
        f"thermometer-{b.FREEZER}",
        "Chest freezer",
        None,
    )


def test_reading_the_thermometer_puts_it_off_for_a_week(session: Session) -> None:
    b.take_in(session, place=b.FREEZER)
    now = days_on(10)
    read = reading(now)
    number = look(session, CheckKind.THERMOMETER, now.date(), place_id=b.FREEZER, reading=read)
    item = the_one(session, DueKind.THERMOMETER, now)
    assert (item.due_on, item.is_due) == (now.date() + timedelta(7), False)
    assert item.last_c == -18.0
    take_back(session, number, now.date())
    assert the_one(session, DueKind.THERMOMETER, now).is_due


def test_a_loggers_readings_count_and_taken_back_they_do_not(session: Session) -> None:
    b.take_in(session, place=b.FREEZER)
    now = days_on(10)
    file = ChangeClimate(
        b.FREEZER,
        now.date(),
        readings=tuple(reading(now - timedelta(hours=h), -17.0) for h in (30, 20, 10)),
        logger=LoggerIn("freezer.csv", "0" * 64),
    )
    number = b.do(session, change_climate, file).operation_id
    item = the_one(session, DueKind.THERMOMETER, now)
    assert (item.since, item.last_c) == (now.date(), -17.0)
    take_back(session, number, now.date())
    item = the_one(session, DueKind.THERMOMETER, now)
    assert (item.since, item.last_c, item.is_due) == (b.TODAY, None, True)


def test_shelves_and_dryers_have_no_thermometer_to_read(session: Session) -> None:
    b.pouches(session)
    places = {x.place for x in expected(session, days_on(30)) if x.kind is DueKind.THERMOMETER}
    assert places == set()


# -- trays ---------------------------------------------------------------------------------------


def a_run(session: Session) -> tuple[int, StockRef]:
    """A tray of cooked moose in the freeze-dryer."""
    lot = b.cooked(session)
    return b.loaded(session, b.a_tray(lot, 1000)), lot


def test_a_tray_is_weighed_again_when_that_can_tell_something(session: Session) -> None:
    run, lot = a_run(session)
    assert expected(session, days_on(3)) == []  # nothing was weighed back yet
    b.weigh(session, run, 1, 900, 20)
    last = b.evening(b.TODAY) + timedelta(hours=20)
    item = the_one(session, DueKind.TRAY, last)
    assert item.due_at is not None
    wait = item.due_at - last
    assert timedelta(hours=1) <= wait <= timedelta(hours=12)
    assert not item.is_due
    (item,) = due(session, last + wait)
    assert (item.key, item.trays, item.place) == (f"tray-{run}", (1,), "Freeze-dryer")
    for hours in (40, 41, 42, 43):
        b.weigh(session, run, 1, 860, hours)  # flat, and at the weight of the dry matter
    assert expected(session, days_on(3)) == []
    b.do(
        session,
        unload,
        Unload(run, (DryMade(lot.lot_id, 260 * b.G),), b.BENCH, b.TODAY + timedelta(2)),
    )
    assert of_kind(session, DueKind.TRAY, days_on(3)) == []


def test_a_run_that_was_unloaded_is_not_weighed_again(session: Session) -> None:
    run, lot = a_run(session)
    b.weigh(session, run, 1, 900, 20)
    assert len(of_kind(session, DueKind.TRAY, days_on(3))) == 1
    request = Unload(run, (DryMade(lot.lot_id, 260 * b.G),), b.BENCH, b.TODAY + timedelta(1))
    b.do(session, unload, request)
    assert of_kind(session, DueKind.TRAY, days_on(3)) == []


def test_weighings_that_nothing_explains_are_taken_again_two_hours_on(session: Session) -> None:
    number, _ = a_run(session)
    b.weigh(session, number, 1, 900, 20)
    (state,) = trays_of(session, open_runs(session)[0])
    puzzling = dataclasses.replace(state, dryness=None)
    assert weigh_again_at(puzzling) == b.evening(b.TODAY) + timedelta(hours=22)
    assert weigh_again_at(dataclasses.replace(state, weighings=(), dryness=None)) is None


# -- holds ---------------------------------------------------------------------------------------


def put_on_hold(session: Session, cause: HoldCause) -> tuple[StockRef, int]:
    """A kilogram of moose on hold, and the number of its hold."""
    ref = b.take_in(session)
    b.do(session, hold, PutOnHold((ref.lot_id,), cause, b.TODAY, "wasting disease"))
    return ref, active_holds(session)[-1].id


@pytest.mark.parametrize("is_detected", [True, False])
def test_a_result_is_asked_for_after_two_weeks_until_it_is_written(
    session: Session, is_detected: bool
) -> None:
    _, number = put_on_hold(session, HoldCause.TEST_AWAITED)
    assert of_kind(session, DueKind.RESULT, days_on(13)) == []
    (item,) = of_kind(session, DueKind.RESULT, days_on(14))
    assert (item.key, item.words) == (f"result-{number}", "wasting disease")
    on = b.TODAY + timedelta(14)
    b.do(session, write_result, Result(number, is_detected, on))
    assert of_kind(session, DueKind.RESULT, days_on(15)) == []


def test_food_that_waits_for_a_look_is_due_at_once_while_any_is_left(session: Session) -> None:
    ref, number = put_on_hold(session, HoldCause.LOOK_FIRST)
    (item,) = of_kind(session, DueKind.HOLD, days_on(0))
    assert (item.key, item.due_on) == (f"hold-{number}", b.TODAY)
    b.do(session, discard, Leave((ref,), b.TODAY, words="spoilt"))
    assert of_kind(session, DueKind.HOLD, days_on(0)) == []


def test_a_hold_that_was_lifted_asks_no_more(session: Session) -> None:
    _, number = put_on_hold(session, HoldCause.LOOK_FIRST)
    b.do(session, release, LiftHold((number,), ReleaseCause.LOOKED_FINE, b.TODAY))
    assert of_kind(session, DueKind.HOLD, days_on(1)) == []


# -- all of it -----------------------------------------------------------------------------------


def test_the_more_pressing_comes_first_and_of_seals_the_freshest(session: Session) -> None:
    b.pouches(session, 80)
    fresh = b.do(session, pack, b.a_pack(b.dried(session), 90, done_on=b.TODAY + timedelta(20)))
    put_on_hold(session, HoldCause.LOOK_FIRST)
    found = due(session, days_on(40))
    wanted = [DueKind.HOLD, DueKind.THERMOMETER, DueKind.SEAL, DueKind.SEAL]
    assert [item.kind for item in found] == wanted
    assert found[2].number == fresh.lot_ids[0]


def queries_of(session: Session, work: Callable[[], object]) -> int:
    """How many statements a piece of work sends."""
    sent: list[str] = []

    def note(_c: Any, _cursor: Any, statement: str, *_more: Any) -> None:
        sent.append(statement)

    connection = session.connection()
    event.listen(connection, "before_cursor_execute", note)
    try:
        work()
    finally:
        event.remove(connection, "before_cursor_execute", note)
    return len(sent)


def test_the_number_of_queries_does_not_grow_with_what_is_on_hand(session: Session) -> None:
    def everything_of_each() -> None:
        b.pouches(session)
        b.take_in(session, place=b.FREEZER)
        put_on_hold(session, HoldCause.LOOK_FIRST)
        put_on_hold(session, HoldCause.TEST_AWAITED)

    everything_of_each()
    few = queries_of(session, lambda: expected(session, days_on(30)))
    for _ in range(3):
        everything_of_each()
    found: list[Due] = []
    many = queries_of(session, lambda: found.extend(expected(session, days_on(30))))
    assert len(found) > 12
    assert many == few


def test_before_a_household_is_set_up_nothing_is_due(empty_book: Any) -> None:
    with empty_book.reading() as session:
        assert expected(session, days_on(0)) == []
