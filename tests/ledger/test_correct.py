"""Correct: a visible reversing entry, never an edit."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.checks import check_all
from app.ledger.errors import NotFound
from app.ledger.models import Entry, Incident, Operation
from app.ledger.operations._post import Posted
from app.ledger.operations.blend import Blend, blend
from app.ledger.operations.cook import cook
from app.ledger.operations.correct import (
    Correct,
    CorrectAll,
    all_resting_on,
    correct,
    correct_with_dependents,
)
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.incident import LotFate, WentWrong, went_wrong
from app.ledger.operations.intake import intake
from app.ledger.operations.leave import Leave, eat, give
from app.ledger.operations.load import Load, load
from app.ledger.operations.move import Move, move
from app.ledger.operations.pack import pack
from app.ledger.operations.portion import Portion, portion
from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.runs import is_over, open_runs
from app.ledger.stock import StockRef
from app.ledger.words import IncidentFate, IncidentKind
from tests.builders import (
    BACK_FAT,
    BENCH,
    FREEZE_DRYER,
    FREEZER,
    FRIDGE,
    TODAY,
    G,
    a_cook,
    a_pack,
    a_tray,
    all_stock,
    an_intake,
    cooked,
    do,
    dried,
    loaded,
    lost,
    on_hand,
    pouches,
    refusal,
    take_in,
)

TOMORROW = TODAY + timedelta(days=1)


def take_back(session: Session, posted: Posted) -> Posted:
    result: Posted = do(session, correct, Correct(posted.operation_id, TOMORROW, "a mistake"))
    return result


def grinding(session: Session) -> Callable[[], Posted]:
    one, two = take_in(session), take_in(session, mass_g=500)
    parts = (Part(one, 900 * G), Part(two, 500 * G))
    request = Grind(parts, "Mince", 1380 * G, FRIDGE, TODAY, stuck_mg=20 * G)
    return lambda: do(session, grind, request)  # type: ignore[no-any-return]


def blending(session: Session) -> Callable[[], Posted]:
    lean, fat = take_in(session), take_in(session, BACK_FAT, 300)
    request = Blend(
        lean, 1000 * G, fat, 200 * G, "Burgers", 1210 * G, FRIDGE, TODAY, seasoning_mg=10 * G
    )
    return lambda: do(session, blend, request)  # type: ignore[no-any-return]


def cooking(session: Session) -> Callable[[], Posted]:
    request = a_cook(take_in(session), 800, 900, water_mg=300 * G)
    return lambda: do(session, cook, request)  # type: ignore[no-any-return]


def packing(session: Session) -> Callable[[], Posted]:
    request = a_pack(dried(session), 100, 90, spilled_mg=2 * G)
    return lambda: do(session, pack, request)  # type: ignore[no-any-return]


def moving(session: Session) -> Callable[[], Posted]:
    ref = take_in(session)
    return lambda: do(session, move, Move((ref,), FREEZER, TODAY, mass_mg=300 * G))  # type: ignore[no-any-return]


def loading(session: Session) -> Callable[[], Posted]:
    ref = cooked(session)
    return lambda: do(session, load, Load(FREEZE_DRYER, (a_tray(ref, 900),), TODAY))[0]  # type: ignore[no-any-return]


def unloading(session: Session) -> Callable[[], Posted]:
    ref = cooked(session)
    run_id = loaded(session, a_tray(ref, 1000))
    request = Unload(run_id, (DryMade(ref.lot_id, 260 * G),), BENCH, TOMORROW)
    return lambda: do(session, unload, request)  # type: ignore[no-any-return]


def eating(session: Session) -> Callable[[], Posted]:
    one, two, _ = pouches(session)
    return lambda: do(session, eat, Leave((one, two), TOMORROW))  # type: ignore[no-any-return]


def taking_in(session: Session) -> Callable[[], Posted]:
    return lambda: do(session, intake, an_intake())  # type: ignore[no-any-return]


WORK = [
    grinding,
    blending,
    cooking,
    packing,
    moving,
    loading,
    unloading,
    eating,
    taking_in,
]


@pytest.mark.parametrize("work", WORK)
def test_taking_back_restores_what_was_on_hand_to_the_milligram(
    session: Session, work: Callable[[Session], Callable[[], Posted]]
) -> None:
    step = work(session)
    before = all_stock(session)
    posted = step()
    assert all_stock(session) != before
    take_back(session, posted)
    assert all_stock(session) == before
    assert check_all(session) == []


def test_the_mistake_and_its_reversal_both_stand(session: Session) -> None:
    posted = grinding(session)()
    reversal = take_back(session, posted)

    def entries(operation_id: int) -> list[tuple[int, int]]:
        query = select(Entry.lot_id, Entry.mass_mg).where(Entry.operation_id == operation_id)
        return sorted((lot_id, mass_mg) for lot_id, mass_mg in session.execute(query))

    assert entries(reversal.operation_id) == sorted(
        (lot_id, -mass_mg) for lot_id, mass_mg in entries(posted.operation_id)
    )
    row = session.get_one(Operation, reversal.operation_id)
    assert (row.kind, row.reverses_id, row.note) == ("correct", posted.operation_id, "a mistake")


def test_losses_come_back_as_additions_and_additions_go_as_losses(session: Session) -> None:
    reversal = take_back(session, cooking(session)())
    assert lost(session, reversal) == {"reversed": 300 * G}


def test_it_is_taken_back_once(session: Session) -> None:
    posted = moving(session)()
    take_back(session, posted)
    problem = refusal(session, correct, Correct(posted.operation_id, TOMORROW))
    assert problem.kind == "already_reversed"


def test_a_correction_is_not_corrected(session: Session) -> None:
    reversal = take_back(session, moving(session)())
    problem = refusal(session, correct, Correct(reversal.operation_id, TOMORROW))
    assert problem.kind == "already_reversed"


def test_what_later_work_rests_on_is_refused_and_names_it_newest_first(session: Session) -> None:
    posted = grinding(session)()
    mince = StockRef(posted.lot_ids[0], FRIDGE)
    first = do(session, portion, Portion(mince, 100 * G, "Part", FRIDGE, TODAY))
    second = do(session, eat, Leave((mince,), TODAY, mass_mg=50 * G))
    problem = refusal(session, correct, Correct(posted.operation_id, TODAY))
    assert problem.kind == "depended_on"
    assert problem.numbers["operations"] == [second.operation_id, first.operation_id]
    take_back(session, second)
    take_back(session, first)
    take_back(session, posted)
    assert on_hand(session, mince) == 0


def test_moved_food_that_was_eaten_since_is_named(session: Session) -> None:
    ref = take_in(session)
    there = StockRef(ref.lot_id, FREEZER)
    moved = do(session, move, Move((ref,), FREEZER, TODAY))
    eaten = do(session, eat, Leave((there,), TODAY, mass_mg=1))
    problem = refusal(session, correct, Correct(moved.operation_id, TODAY))
    assert problem.numbers["operations"] == [eaten.operation_id]


def test_what_was_eaten_of_a_package_is_not_put_back_where_the_rest_no_longer_is(
    session: Session,
) -> None:
    pouch, *_ = pouches(session)
    later = TODAY + timedelta(days=2)
    eaten = do(session, eat, Leave((pouch,), later, 30 * G))
    moved = do(session, move, Move((pouch,), FRIDGE, later))
    problem = refusal(session, correct, Correct(eaten.operation_id, later))
    assert (problem.kind, problem.numbers["operations"]) == ("depended_on", [moved.operation_id])
    request = CorrectAll(eaten.operation_id, (moved.operation_id,), later, "it was the other one")
    do(session, correct_with_dependents, request)
    assert on_hand(session, pouch) == 80 * G


def test_what_was_eaten_of_a_package_that_came_back_since_is_put_back(session: Session) -> None:
    pouch, *_ = pouches(session)
    later = TODAY + timedelta(days=2)
    eaten = do(session, eat, Leave((pouch,), later, 30 * G))
    do(session, move, Move((pouch,), FRIDGE, later))
    do(session, move, Move((replace(pouch, place_id=FRIDGE),), pouch.place_id, later))
    do(session, correct, Correct(eaten.operation_id, later))
    assert on_hand(session, pouch) == 80 * G


def test_one_pouch_of_two_can_be_taken_back(session: Session) -> None:
    one, two, _ = pouches(session)
    given = do(session, give, Leave((one,), TOMORROW, words="Morag"))
    do(session, eat, Leave((two,), TOMORROW))
    take_back(session, given)
    assert (on_hand(session, one), on_hand(session, two)) == (80 * G, 0)


def test_a_loading_is_taken_back_only_after_its_unloading(session: Session) -> None:
    """Even when a second load of the same lot lies in the dryer by then."""
    ref = cooked(session, 2000)
    first, run_id = do(session, load, Load(FREEZE_DRYER, (a_tray(ref, 1000),), TODAY))
    request = Unload(run_id, (DryMade(ref.lot_id, 260 * G),), BENCH, TODAY)
    unloaded = do(session, unload, request)
    loaded(session, a_tray(ref, 1000))
    problem = refusal(session, correct, Correct(first.operation_id, TODAY))
    assert problem.kind == "depended_on"
    assert unloaded.operation_id in problem.numbers["operations"]  # type: ignore[operator]


def test_a_loading_that_is_taken_back_frees_the_dryer(session: Session) -> None:
    take_back(session, loading(session)())
    assert open_runs(session) == []


def test_an_unloading_that_is_taken_back_leaves_the_run_open(session: Session) -> None:
    posted = unloading(session)()
    run_id = 1
    assert is_over(session, run_id)
    take_back(session, posted)
    assert [run.id for run in open_runs(session)] == [run_id]


def test_an_unknown_operation_is_not_found(session: Session) -> None:
    with pytest.raises(NotFound):
        do(session, correct, Correct(41, TODAY))


def test_all_that_rests_on_an_entry_is_found_through_any_number_of_steps(session: Session) -> None:
    posted = grinding(session)()
    mince = StockRef(posted.lot_ids[0], FRIDGE)
    split = do(session, portion, Portion(mince, 100 * G, "Part", FRIDGE, TODAY))
    part = StockRef(split.lot_ids[0], FRIDGE)
    moved = do(session, move, Move((part,), FREEZER, TODAY))
    eaten = do(session, eat, Leave((StockRef(part.lot_id, FREEZER),), TODAY, mass_mg=5))
    other = do(session, eat, Leave((mince,), TODAY, mass_mg=7))
    chain = [p.operation_id for p in (other, eaten, moved, split)]
    assert all_resting_on(session, posted.operation_id) == chain
    assert all_resting_on(session, split.operation_id) == chain[1:3]
    assert all_resting_on(session, eaten.operation_id) == []


def take_all_back(session: Session, posted: Posted, resting: list[int]) -> list[Posted]:
    request = CorrectAll(posted.operation_id, tuple(resting), TOMORROW, "the wrong bag")
    result: list[Posted] = do(session, correct_with_dependents, request)
    return result


@pytest.mark.parametrize("work", [grinding, blending, cooking, packing, unloading, taking_in])
def test_an_entry_goes_with_all_that_rests_on_it_and_leaves_what_was_before(
    session: Session, work: Callable[[Session], Callable[[], Posted]]
) -> None:
    step = work(session)
    before = all_stock(session)
    posted = step()
    for ref in [ref for ref in all_stock(session) if ref.lot_id in posted.lot_ids]:
        do(session, eat, Leave((ref,), TOMORROW, mass_mg=3 * G))
        elsewhere = replace(ref, place_id=FRIDGE if ref.place_id != FRIDGE else BENCH)
        do(session, move, Move((ref,), elsewhere.place_id, TOMORROW, reason="for a while"))
        do(session, give, Leave((elsewhere,), TOMORROW, mass_mg=2 * G, words="Morag"))
    resting = all_resting_on(session, posted.operation_id)
    assert len(resting) >= 3
    assert len(take_all_back(session, posted, resting)) == len(resting) + 1
    assert all_stock(session) == before
    assert check_all(session) == []


def test_an_incident_goes_whole_when_what_it_discarded_rests_on_an_entry(session: Session) -> None:
    posted = grinding(session)()
    mince = StockRef(posted.lot_ids[0], FRIDGE)
    fate = LotFate(mince, IncidentFate.DISCARD, ())
    gone = do(session, went_wrong, WentWrong(IncidentKind.LEFT_OUT, TODAY, (fate,)))
    discarded = session.get_one(Incident, gone.operation_id).discard_id
    resting = all_resting_on(session, posted.operation_id)
    assert resting == [gone.operation_id, discarded]
    take_all_back(session, posted, resting)
    assert all_resting_on(session, posted.operation_id) == []
    assert check_all(session) == []


def test_another_list_than_is_found_now_is_refused(session: Session) -> None:
    posted = grinding(session)()
    mince = StockRef(posted.lot_ids[0], FRIDGE)
    eaten = do(session, eat, Leave((mince,), TODAY, mass_mg=7))
    for shown, kind in (((), "depended_on"), ((eaten.operation_id, 1), "resting_changed")):
        request = CorrectAll(posted.operation_id, shown, TODAY, "a mistake")
        problem = refusal(session, correct_with_dependents, request)
        assert (problem.kind, problem.numbers["operations"]) == (kind, [eaten.operation_id])
    take_all_back(session, posted, [eaten.operation_id])
    request = CorrectAll(posted.operation_id, (), TODAY, "again")
    assert refusal(session, correct_with_dependents, request).kind == "already_reversed"
    with pytest.raises(NotFound):
        do(session, correct_with_dependents, CorrectAll(999, (), TODAY, "no such entry"))
