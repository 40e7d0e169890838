"""Check: a look that was due, what it found, and what the rules say about the reading."""

from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.checks import check_all
from app.ledger.models import CheckDone, Checkpoint, Operation, PlaceReading
from app.ledger.operations._post import Posted
from app.ledger.operations.check import Looked, check
from app.ledger.operations.climate import ReadingIn
from app.ledger.operations.correct import Correct, correct
from app.ledger.words import CheckKind, Finding
from tests.builders import FREEZER, FRIDGE, PANTRY, TODAY, all_stock, do, evening, pouches, refusal

LATER = TODAY + timedelta(days=2)


def read(value: float, unit: str = "C") -> ReadingIn:
    """A thermometer read that noon."""
    temp_c = value if unit == "C" else (value - 32.0) / 1.8
    return ReadingIn(evening(LATER) - timedelta(hours=6), temp_c, None, f"{value:g} {unit}", unit)


def thermometer(place: int, reading: ReadingIn | None, **changes: Any) -> Looked:
    told = {"place_id": place, "reading": reading} | changes
    return Looked(CheckKind.THERMOMETER, Finding.FINE, LATER, **told)


def rules_of(session: Session, posted: Posted) -> list[tuple[str, str, int | None]]:
    query = select(Checkpoint.rule, Checkpoint.outcome, Checkpoint.lot_id).where(
        Checkpoint.operation_id == posted.operation_id
    )
    return [tuple(row) for row in session.execute(query)]  # type: ignore[misc]


@pytest.mark.parametrize(
    ("finding", "outcome"), [(Finding.FINE, "pass"), (Finding.NOT_FINE, "note")]
)
def test_a_look_at_a_seal_is_kept_with_its_rule(
    session: Session, finding: Finding, outcome: str
) -> None:
    (pouch,) = pouches(session, 80)
    before = all_stock(session)
    posted = do(session, check, Looked(CheckKind.SEAL, finding, LATER, pouch.lot_id))
    row = session.get_one(CheckDone, posted.operation_id)
    assert (row.kind, row.finding, row.lot_id, row.place_id) == (
        "seal",
        finding,
        pouch.lot_id,
        None,
    )
    assert rules_of(session, posted) == [("ABS-24H", outcome, pouch.lot_id)]
    operation = session.get_one(Operation, posted.operation_id)
    assert (operation.kind, operation.method, operation.done_on) == ("check", "seal", LATER)
    assert all_stock(session) == before
    assert check_all(session) == []


def test_a_yearly_look_says_nothing_about_safety(session: Session) -> None:
    (pouch,) = pouches(session, 80)
    posted = do(session, check, Looked(CheckKind.LOOK, Finding.FINE, LATER, pouch.lot_id))
    assert rules_of(session, posted) == []


def test_a_look_is_taken_back_and_taken_again(session: Session) -> None:
    (pouch,) = pouches(session, 80)
    looked = Looked(CheckKind.LOOK, Finding.NOT_FINE, LATER, pouch.lot_id)
    posted = do(session, check, looked)
    do(session, correct, Correct(posted.operation_id, LATER))
    assert refusal(session, correct, Correct(posted.operation_id, LATER)).kind == "already_reversed"
    do(session, check, looked)
    assert session.scalar(select(func.count(CheckDone.operation_id))) == 2
    assert check_all(session) == []


def test_a_thermometer_is_kept_as_it_was_read(session: Session) -> None:
    posted = do(session, check, thermometer(FREEZER, read(0.0, "F")))
    (row,) = session.scalars(select(PlaceReading))
    assert (row.operation_id, row.place_id, row.typed) == (posted.operation_id, FREEZER, "0 F")
    assert row.temp_c == pytest.approx(-17.8, abs=0.05)
    assert rules_of(session, posted) == [("CHECK-FREEZER", "pass", None)]


def test_a_freezer_warmer_than_frozen_food_travels_is_noted(session: Session) -> None:
    """Directive 89/108/EEC: -18 °C or colder, deviations of at most 3 °C."""
    posted = do(session, check, thermometer(FREEZER, read(-14.0, "C")))
    assert rules_of(session, posted) == [("CHECK-FREEZER", "note", None)]


@pytest.mark.parametrize(
    ("value", "unit", "outcome"),
    [(4.0, "C", "pass"), (40.0, "F", "pass"), (41.0, "F", "note"), (5.0, "C", "note")],
)
def test_a_fridge_that_is_cold_enough_needs_no_word(
    session: Session, value: float, unit: str, outcome: str
) -> None:
    """Food Code, FDA 2022, 3-501.16: 41 °F (5 °C) or less; household advice says 40 °F (4.4 °C)."""
    posted = do(session, check, thermometer(FRIDGE, read(value, unit)))
    assert rules_of(session, posted) == [("HOLD-COLD", outcome, None)]


@pytest.mark.parametrize(("value", "unit"), [(5.1, "C"), (41.5, "F"), (9.0, "C")])
def test_a_fridge_that_is_too_warm_asks_what_was_done(
    session: Session, value: float, unit: str
) -> None:
    problem = refusal(session, check, thermometer(FRIDGE, read(value, unit)))
    assert (problem.kind, problem.numbers["rule"]) == ("needs_reason", "HOLD-COLD")
    reason = "turned it down, read 3 °C an hour later"
    posted = do(session, check, thermometer(FRIDGE, read(value, unit), reason=reason))
    kept = select(Checkpoint.reason).where(Checkpoint.operation_id == posted.operation_id)
    assert session.scalars(kept).all() == [reason]


@pytest.mark.parametrize(
    ("place", "value", "unit", "meant"),
    [
        (FRIDGE, 39.0, "C", "39 °F"),
        (FREEZER, 0.0, "C", "0 °F"),
        (FREEZER, 5.0, "C", "5 °F"),
        (PANTRY, 59.0, "C", "59 °F"),
        (FRIDGE, 4.0, "F", "4 °C"),
    ],
)
def test_the_wrong_unit_is_asked_about_and_may_be_insisted_on(
    session: Session, place: int, value: float, unit: str, meant: str
) -> None:
    request = thermometer(place, read(value, unit))
    problem = refusal(session, check, request)
    assert problem.numbers["rule"] == "UNIT-ASK"
    assert meant in str(problem.numbers["sentence"])
    do(session, check, thermometer(place, read(value, unit), reason="the door stood open"))
    assert session.scalar(select(func.count(PlaceReading.id))) == 1


def test_a_thermometer_needs_a_place_and_a_look_a_lot(session: Session) -> None:
    def kind(looked: Looked) -> str:
        return str(refusal(session, check, looked).kind)

    assert kind(Looked(CheckKind.THERMOMETER, Finding.FINE, LATER)) == "missing"
    assert kind(thermometer(99, read(4.0))) == "unknown_place"
    assert kind(Looked(CheckKind.LOOK, Finding.FINE, LATER)) == "unknown_lot"
    assert kind(Looked(CheckKind.SEAL, Finding.FINE, LATER, lot_id=999)) == "unknown_lot"
    assert session.scalar(select(func.count(Operation.id))) == 0


def test_a_thermometer_read_in_time_to_come_is_refused(session: Session) -> None:
    reading = ReadingIn(evening(LATER) + timedelta(minutes=5), 4.0, None, "4")
    assert refusal(session, check, thermometer(FRIDGE, reading)).kind == "in_future"


def test_a_fridge_that_nobody_read_is_no_pass(session: Session) -> None:
    problem = refusal(session, check, thermometer(FRIDGE, None))
    assert (problem.field, problem.kind) == ("reading", "missing")
