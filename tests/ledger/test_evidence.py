"""Evidence: what was read and judged of a lot and of what is in it, and what nobody has shown."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from sqlalchemy import event
from sqlalchemy.orm import Session

from app.ledger.book import Book
from app.ledger.codes import code_of
from app.ledger.operations.check import Looked, check
from app.ledger.operations.climate import ChangeClimate, LoggerIn, ReadingIn, change_climate
from app.ledger.operations.cook import cook
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.hold import PutOnHold, hold
from app.ledger.operations.hold import TestResult as Result
from app.ledger.operations.hold import test_result as write_result
from app.ledger.operations.incident import LotFate, WentWrong, went_wrong
from app.ledger.operations.pack import pack
from app.ledger.operations.portion import Portion, portion
from app.ledger.queries.evidence import Lack, Proof, evidence
from app.ledger.queries.history import OperationLine
from app.ledger.stock import StockRef
from app.ledger.words import (
    CheckKind,
    Finding,
    HoldCause,
    IncidentFate,
    IncidentKind,
    OperationKind,
)
from tests import builders as b

LATER = b.TODAY + timedelta(days=30)


def proof(session: Session, ref: StockRef) -> Proof:
    """The evidence of a lot, asked for a month later."""
    return evidence(session, code_of(ref.lot_id), b.evening(LATER))


def steps(found: Proof, kind: OperationKind) -> list[OperationLine]:
    """The steps of one kind."""
    return [step for step in found.steps if step.kind is kind]


def lacks(found: Proof) -> set[Lack]:
    """What was not shown."""
    return {one.lack for one in found.unproven}


def five_generations(session: Session) -> StockRef:
    """Meat, cooked, chilled, freeze-dried and packed."""
    pot = b.a_pot(session, 1000, 0)
    dry = b.dried(session, 1000, 260, food=pot)
    return b.units(b.do(session, pack, b.a_pack(dry, 130, 130)), b.PANTRY)[0]


def read_at(session: Session, place: int, *readings: tuple[datetime, float]) -> None:
    """A logger's file for a place."""
    request = ChangeClimate(
        place,
        LATER,
        readings=tuple(ReadingIn(at, temp_c) for at, temp_c in readings),
        logger=LoggerIn("file.csv", f"{place}-{len(readings)}"),
    )
    b.do(session, change_climate, request)


def test_the_cooking_of_the_grandmother_is_listed_with_its_readings_and_rules(
    session: Session,
) -> None:
    found = proof(session, five_generations(session))
    (cooked,) = steps(found, OperationKind.COOK)
    assert [reading.typed for reading in cooked.readings] == ["85 °C"]
    assert {c.outcome for c in cooked.checkpoints} == {"pass"}
    (chilled,) = steps(found, OperationKind.CHILL)
    assert [reading.typed for reading in chilled.readings] == ["57", "20", "4"]
    assert steps(found, OperationKind.PACK)[0].checkpoints
    assert [step.done_on for step in found.steps] == sorted(step.done_on for step in found.steps)
    assert {Lack.CENTRE, Lack.COOLING, Lack.COOKED, Lack.DRYNESS}.isdisjoint(lacks(found))


def test_a_cooking_without_readings_is_said_to_be_unproven(session: Session) -> None:
    meat = b.take_in(session)
    request = b.a_cook(meat, 1000, 1000, centre=None, reason="no thermometer at hand")
    found = proof(session, b.made(b.do(session, cook, request), b.BENCH))
    assert steps(found, OperationKind.COOK)
    assert {Lack.CENTRE, Lack.COOLING, Lack.COOKED} <= lacks(found)


def test_a_cooling_counts_for_the_cooking_it_followed_only(session: Session) -> None:
    """Two pots are ground together; one was cooled by the book, the other never read."""
    cooled = b.a_pot(session, 1000, 0)
    hot = b.cooked(session, 500)
    parts = (Part(cooled, 1000 * b.G), Part(hot, 500 * b.G))
    both = b.do(session, grind, Grind(parts, "Both", 1500 * b.G, b.FRIDGE, b.TODAY))
    found = proof(session, b.made(both, b.FRIDGE))
    (uncooled,) = [one for one in found.unproven if one.lack is Lack.COOLING]
    newest = max(step.id for step in steps(found, OperationKind.COOK))
    assert uncooled.operation_id == newest


def test_what_became_of_another_part_of_the_same_lot_is_no_evidence(session: Session) -> None:
    meat = b.take_in(session, mass_g=2000)
    part = b.made(
        b.do(session, portion, Portion(meat, 1000 * b.G, "Part", b.FRIDGE, b.TODAY)), b.FRIDGE
    )
    b.do(session, cook, b.a_cook(meat, 1000, 1000))
    assert steps(proof(session, part), OperationKind.COOK) == []


def test_an_incident_after_the_part_was_taken_is_no_evidence_of_it(session: Session) -> None:
    meat = b.take_in(session, mass_g=2000)
    part = b.made(
        b.do(session, portion, Portion(meat, 1000 * b.G, "Part", b.FRIDGE, b.TODAY)), b.FRIDGE
    )
    for on in (b.TODAY, LATER):
        request = WentWrong(
            IncidentKind.LEFT_OUT, on, (LotFate(meat, IncidentFate.KEEP, ()),), warm_hours=1.0
        )
        b.do(session, went_wrong, request)
    assert [s.done_on for s in steps(proof(session, part), OperationKind.INCIDENT)] == [b.TODAY]
    assert len(steps(proof(session, meat), OperationKind.INCIDENT)) == 2


def test_of_an_incident_with_many_lots_only_this_one_is_told(session: Session) -> None:
    mine, other = b.take_in(session), b.take_in(session, name="Another")
    fates = tuple(LotFate(ref, IncidentFate.KEEP, ()) for ref in (mine, other))
    b.do(session, went_wrong, WentWrong(IncidentKind.DOOR_OPEN, b.TODAY, fates, b.FRIDGE))
    (step,) = steps(proof(session, mine), OperationKind.INCIDENT)
    assert step.about.incident is not None
    assert [fate.lot_id for fate in step.about.incident.fates] == [mine.lot_id]


def test_a_hold_upstream_and_its_release_are_evidence_whenever_they_were_written(
    session: Session,
) -> None:
    meat = b.take_in(session)
    cooked = b.made(b.do(session, cook, b.a_cook(meat, 1000, 1000)), b.BENCH)
    put = PutOnHold((meat.lot_id,), HoldCause.TEST_AWAITED, LATER, "wasting disease")
    b.do(session, hold, put)
    assert [held.code for held in proof(session, cooked).holds] == [code_of(meat.lot_id)]
    (step,) = steps(proof(session, cooked), OperationKind.HOLD)
    standing = proof(session, cooked).holds[0].id
    b.do(session, write_result, Result(standing, False, LATER))
    found = proof(session, cooked)
    assert found.holds == ()
    assert step.about.holds[0].cause is HoldCause.TEST_AWAITED
    assert len(steps(found, OperationKind.RELEASE)) == 1


def test_what_was_taken_back_is_no_evidence(session: Session) -> None:
    pouch = five_generations(session)
    looked = Looked(CheckKind.SEAL, Finding.FINE, LATER, lot_id=pouch.lot_id)
    posted = b.do(session, check, looked)
    assert Lack.SEAL not in lacks(proof(session, pouch))
    b.do(session, correct, Correct(posted.operation_id, LATER))
    found = proof(session, pouch)
    assert Lack.SEAL in lacks(found)
    assert steps(found, OperationKind.CHECK) == []
    assert steps(found, OperationKind.CORRECT) == []


def test_a_thermometer_counts_only_for_the_time_the_food_lay_there(session: Session) -> None:
    ref = b.take_in(session, place=b.FREEZER)
    before = b.evening(b.TODAY) - timedelta(days=9)
    first, second = b.evening(b.TODAY) + timedelta(days=1), b.evening(b.TODAY) + timedelta(days=11)
    read_at(session, b.FREEZER, (before, 5.0), (first, -19.0), (second, -12.5))
    (record,) = proof(session, ref).records
    assert (record.count, record.low_c, record.high_c) == (2, -19.0, -12.5)
    assert record.highest_at == second
    assert record.longest_gap == timedelta(days=19)  # from the second to the day of asking
    assert Lack.THERMOMETER not in lacks(proof(session, ref))


def test_a_cold_place_without_a_reading_is_unproven_and_a_shelf_is_not(session: Session) -> None:
    frozen = proof(session, b.take_in(session, place=b.FREEZER))
    assert Lack.THERMOMETER in lacks(frozen)
    assert frozen.records[0].count == 0
    shelf = proof(session, b.take_in(session, b.APPLES, place=b.PANTRY))
    assert Lack.THERMOMETER not in lacks(shelf)


def test_a_day_in_another_zone_begins_when_the_household_says(book: Book) -> None:
    """In London summer the 20th begins at 23:00 UTC of the 19th."""
    day = b.TODAY.replace(month=7)
    with book.writing() as session:
        ref = b.take_in(session, place=b.FREEZER, on=day)
        midnight = datetime(day.year, 7, day.day, tzinfo=UTC) - timedelta(hours=1)
        read_at(session, b.FREEZER, (midnight - timedelta(hours=1), 3.0), (midnight, -18.0))
        (record,) = evidence(session, code_of(ref.lot_id), b.evening(day)).records
    assert (record.count, record.high_c) == (1, -18.0)


def test_a_warm_refrigerator_and_what_was_done_about_it_is_evidence_of_what_lay_there(
    session: Session,
) -> None:
    ref = b.take_in(session)
    for temp_c, reason in ((4.0, ""), (9.0, "turned it down")):
        reading = ReadingIn(b.evening(b.TODAY), temp_c, typed=f"{temp_c:g}")
        looked = Looked(
            CheckKind.THERMOMETER,
            Finding.FINE,
            b.TODAY,
            place_id=b.FRIDGE,
            reading=reading,
            reason=reason,
        )
        b.do(session, check, looked)
    (step,) = steps(proof(session, ref), OperationKind.CHECK)
    assert [c.reason for c in step.checkpoints] == ["turned it down"]


def test_the_evidence_of_a_long_line_takes_no_more_queries_than_of_a_short_one(
    session: Session,
) -> None:
    short = longer = b.take_in(session, place=b.FREEZER)
    for generation in range(12):
        request = Portion(longer, 900 * b.G, f"Part {generation}", b.FREEZER, b.TODAY)
        longer = b.made(
            b.do(session, portion, replace(request, mass_mg=(900 - generation) * b.G)), b.FREEZER
        )
    read_at(session, b.FREEZER, *((b.evening(b.TODAY + timedelta(n)), -18.0) for n in range(9)))
    assert len(proof(session, longer).origins) == 1
    assert queries(session, longer) <= queries(session, short)


def queries(session: Session, ref: StockRef) -> int:
    """How many statements the evidence of a lot takes."""
    statements: list[str] = []

    def note(conn: object, cursor: object, statement: str, *rest: object) -> None:
        statements.append(statement)

    session.expire_all()
    event.listen(session.get_bind(), "before_cursor_execute", note)
    try:
        proof(session, ref)
    finally:
        event.remove(session.get_bind(), "before_cursor_execute", note)
    return len(statements)
