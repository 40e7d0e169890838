"""The queries of holds: what is held and where it lies, what a hold would reach, list lines."""

from collections.abc import Callable
from datetime import timedelta

from sqlalchemy import event
from sqlalchemy.orm import Session

from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.hold import LiftHold, PutOnHold, hold, release
from app.ledger.operations.incident import LotFate, WentWrong, went_wrong
from app.ledger.operations.intake import SourceIn
from app.ledger.operations.leave import Leave, discard
from app.ledger.operations.portion import Portion, portion
from app.ledger.queries.eat_first import Group, eat_first
from app.ledger.queries.history import OperationLine, operations
from app.ledger.queries.holds import held_food, lots_of_same_source, reach_of, standing_hold
from app.ledger.queries.next_steps import next_steps
from app.ledger.queries.stock import stock_lines
from app.ledger.stock import StockRef
from app.ledger.words import (
    HoldCause,
    IncidentFate,
    IncidentKind,
    Mark,
    OperationKind,
    ReleaseCause,
    SourceKind,
)
from tests import builders as b


def put(session: Session, ref: StockRef, cause: HoldCause = HoldCause.LOOK_FIRST) -> int:
    """Put a lot on hold; the number of the operation."""
    request = PutOnHold((ref.lot_id,), cause, b.TODAY, "words")
    return int(b.do(session, hold, request).operation_id)


def a_part(session: Session, ref: StockRef, grams: int = 300, place: int = b.FREEZER) -> StockRef:
    """Part of a lot, as a lot of its own at a place."""
    request = Portion(ref, grams * b.G, "Part", place, b.TODAY)
    return b.made(b.do(session, portion, request), place)


def lines_by_lot(session: Session) -> dict[int, bool]:
    """Which lots on hand are held, by their lines."""
    return {line.lot_id: bool(line.holds) for line in stock_lines(session)}


def queries(session: Session, work: Callable[[], object]) -> int:
    """How many statements a piece of work takes."""
    statements: list[str] = []

    def note(conn: object, cursor: object, statement: str, *rest: object) -> None:
        statements.append(statement)

    event.listen(session.get_bind(), "before_cursor_execute", note)
    try:
        work()
    finally:
        event.remove(session.get_bind(), "before_cursor_execute", note)
    return len(statements)


# -- what is held and where it lies --------------------------------------------------------------


def test_held_food_lies_where_it_was_put_and_where_its_parts_went(session: Session) -> None:
    meat = b.take_in(session, mass_g=1000)
    part = a_part(session, meat)
    b.take_in(session, name="Free")
    put(session, meat)
    (food,) = held_food(session)
    assert {(line.lot_id, line.place_id, line.mass_mg) for line in food.lines} == {
        (meat.lot_id, b.FRIDGE, 700 * b.G),
        (part.lot_id, b.FREEZER, 300 * b.G),
    }
    assert food.mass_mg == 1000 * b.G
    assert (food.source, food.tag) == ("Moose share", "A-117")
    assert food.holds[0].person == "Ailsa"


def test_what_was_thrown_away_is_held_still_but_lies_nowhere(session: Session) -> None:
    meat = b.take_in(session)
    put(session, meat)
    b.do(session, discard, Leave((meat,), b.TODAY, words="spoiled"))
    (food,) = held_food(session)
    assert food.lines == ()


def test_a_hold_that_ended_stands_no_more(session: Session) -> None:
    meat = b.take_in(session)
    put(session, meat)
    standing = held_food(session)[0].holds[0].hold.id
    assert standing_hold(session, standing) is not None
    done = b.do(session, release, LiftHold((standing,), ReleaseCause.LOOKED_FINE, b.TODAY))
    assert held_food(session) == []
    assert standing_hold(session, standing) is None
    b.do(session, correct, Correct(done.operation_id, b.TODAY))
    assert standing_hold(session, standing) is not None


def test_two_holds_on_one_lot_are_one_food_with_two_reasons(session: Session) -> None:
    meat = b.take_in(session)
    put(session, meat)
    put(session, meat, HoldCause.RECALL)
    (food,) = held_food(session)
    assert [s.hold.cause for s in food.holds] == [HoldCause.LOOK_FIRST, HoldCause.RECALL]


# -- what a hold would reach ---------------------------------------------------------------------


def test_the_reach_of_a_hold_is_what_the_hold_then_keeps(session: Session) -> None:
    meat, other = b.take_in(session), b.take_in(session)
    a_part(session, a_part(session, meat, 500), 200)
    a_part(session, other)
    reached = {line.ref for line in reach_of(session, [meat.lot_id])[0].lines}
    put(session, meat)
    assert reached == {line.ref for line in held_food(session)[0].lines}
    assert len(reached) == 3


def test_a_source_is_known_by_its_tag_or_else_by_name_and_giver(session: Session) -> None:
    tagged = [b.take_in(session), b.take_in(session, name="Ribs")]
    shop = [b.take_in(session, source=SourceIn(SourceKind.SHOP, "Village shop")) for _ in range(2)]
    b.take_in(session, source=SourceIn(SourceKind.ANIMAL, "Moose share", tag="B-2"))
    b.take_in(session, source=SourceIn(SourceKind.SHOP, "Other shop"))
    for group in (tagged, shop):
        for ref in group:
            assert lots_of_same_source(session, ref.lot_id) == [r.lot_id for r in group]


def test_a_lot_whose_intake_was_taken_back_is_not_offered(session: Session) -> None:
    meat, wrong = b.take_in(session), b.take_in(session)
    b.do(session, correct, Correct(b.lot_of(session, wrong).operation_id, b.TODAY))
    assert lots_of_same_source(session, meat.lot_id) == [meat.lot_id]


# -- lists ---------------------------------------------------------------------------------------


def test_lines_know_the_holds_of_what_is_in_them_and_their_marks(session: Session) -> None:
    source = SourceIn(SourceKind.ANIMAL, "Moose share", taken_with_lead=True)
    meat = b.take_in(session, source=source)
    part = a_part(session, meat)
    free = b.take_in(session, b.APPLES)
    put(session, meat)
    assert lines_by_lot(session) == {meat.lot_id: True, part.lot_id: True, free.lot_id: False}
    marks = {line.lot_id: line.marks for line in stock_lines(session)}
    assert marks[part.lot_id] == {Mark.LEAD}
    assert marks[free.lot_id] == frozenset()


def test_the_lists_take_no_more_queries_for_many_held_lots_than_for_one(session: Session) -> None:
    first = b.take_in(session)
    put(session, first)

    def work() -> object:
        return stock_lines(session), held_food(session), reach_of(session, [first.lot_id])

    one = queries(session, work)
    for _ in range(10):
        meat = b.take_in(session)
        a_part(session, meat)
        put(session, meat)
    assert queries(session, work) == one


def test_held_food_stands_last_and_never_for_this_week(session: Session) -> None:
    meat = b.take_in(session)
    b.take_in(session, name="Free")
    put(session, meat)
    groups = dict(eat_first(session, b.TODAY + timedelta(days=1)).groups)
    assert [line.lot_id for line in groups[Group.ON_HOLD]] == [meat.lot_id]
    assert meat.lot_id not in [line.lot_id for line in groups[Group.THIS_WEEK]]
    assert list(groups)[-1] is Group.ON_HOLD


def test_held_food_is_not_to_be_eaten_given_or_blended_but_may_be_discarded(
    session: Session,
) -> None:
    pouch = b.pouches(session)[0]
    meat = b.take_in(session)
    for ref in (pouch, meat):
        put(session, ref)
    for line in stock_lines(session):
        if line.holds:
            steps = next_steps(line)
            assert OperationKind.DISCARD in steps
            assert not {OperationKind.EAT, OperationKind.GIVE, OperationKind.BLEND} & set(steps)


# -- history -------------------------------------------------------------------------------------


def kinds(session: Session, ref: StockRef) -> list[OperationKind]:
    """The kinds of a lot's own history, newest first."""
    return [line.kind for line in operations(session, lot_id=ref.lot_id)]


def told(session: Session, ref: StockRef, kind: OperationKind) -> OperationLine:
    """The newest operation of a kind in a lot's history."""
    return next(x for x in operations(session, lot_id=ref.lot_id) if x.kind is kind)


def test_a_lot_s_history_has_the_holds_on_what_is_in_it(session: Session) -> None:
    meat = b.take_in(session)
    part = a_part(session, meat)
    put(session, meat)
    other = b.take_in(session)
    assert OperationKind.HOLD in kinds(session, part)
    assert OperationKind.HOLD not in kinds(session, other)
    (held,) = told(session, part, OperationKind.HOLD).about.holds
    assert (held.lot_id, held.cause, held.words) == (meat.lot_id, HoldCause.LOOK_FIRST, "words")


def test_a_hold_on_a_part_is_not_told_of_the_whole(session: Session) -> None:
    meat = b.take_in(session)
    part = a_part(session, meat)
    put(session, part)
    assert OperationKind.HOLD not in kinds(session, meat)


def test_a_hold_taken_back_and_its_reversal_both_stand_in_the_history(session: Session) -> None:
    meat = b.take_in(session)
    number = put(session, meat)
    b.do(session, correct, Correct(number, b.TODAY))
    reversal = told(session, meat, OperationKind.CORRECT)
    assert (reversal.reverses_id, reversal.reversed_kind) == (number, OperationKind.HOLD)
    assert told(session, meat, OperationKind.HOLD).reversed_by == reversal.id


def test_an_incident_is_told_of_each_lot_it_happened_to(session: Session) -> None:
    meat, fish = b.take_in(session, place=b.FREEZER), b.take_in(session, place=b.FREEZER)
    begin = b.evening(b.TODAY) - timedelta(hours=9)
    fates = (
        LotFate(meat, IncidentFate.REFREEZE, (), is_icy=True),
        LotFate(fish, IncidentFate.LOOK, ()),
    )
    request = WentWrong(
        IncidentKind.POWER_OUT, b.TODAY, fates, b.FREEZER, begin, b.evening(b.TODAY), 3.0
    )
    b.do(session, went_wrong, request)
    incident = told(session, meat, OperationKind.INCIDENT).about.incident
    assert incident is not None
    assert (incident.place, incident.from_at, incident.temp_c) == ("Chest freezer", begin, 3.0)
    assert [(f.lot_id, f.fate, f.is_icy) for f in incident.fates] == [
        (meat.lot_id, IncidentFate.REFREEZE, True),
        (fish.lot_id, IncidentFate.LOOK, None),
    ]
    assert OperationKind.HOLD in kinds(session, fish)
    assert OperationKind.HOLD not in kinds(session, meat)


def test_a_page_of_history_takes_no_more_queries_for_twenty_entries_than_for_two(
    session: Session,
) -> None:
    meat = b.take_in(session)
    put(session, meat)
    few = queries(session, lambda: operations(session))
    for _ in range(9):
        put(session, b.take_in(session))
    assert len(operations(session)) == 20
    assert queries(session, lambda: operations(session)) == few
