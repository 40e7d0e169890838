"""A stocktake: what is missing is a loss, what is there beyond the ledger an addition."""

from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.archive.epcis import events
from app.ledger.checks import check_all
from app.ledger.errors import ProblemKind, Refused
from app.ledger.models import Addition, Balance, Loss, Operation
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.intake import intake
from app.ledger.operations.leave import Leave, eat
from app.ledger.operations.open import Open, open_package
from app.ledger.operations.pack import pack
from app.ledger.operations.stocktake import (
    Counted,
    FoundHere,
    Stocktake,
    compare,
    stocktake,
)
from app.ledger.queries.stocktake import taken_stock
from app.ledger.stock import StockRef, find_stock
from app.ledger.words import AdditionKind, LossKind, OperationKind
from tests.builders import (
    FREEZER,
    FRIDGE,
    PANTRY,
    TODAY,
    G,
    a_pack,
    an_intake,
    do,
    dried,
    entry_count,
    made,
    pouches,
    refusal,
    take_in,
    units,
)

LATER = TODAY + timedelta(days=7)


def walk(*counted: Counted, place: int = FRIDGE, reason: str = "nobody knows") -> Stocktake:
    return Stocktake(place, counted, LATER, reason)


def on_hand(session: Session, ref: StockRef) -> int:
    row = find_stock(session, ref)
    return row.mass_mg if row else 0


def test_a_place_that_agrees_is_written_down_without_a_reason(session: Session) -> None:
    meat = take_in(session)
    posted = do(session, stocktake, walk(Counted(meat, 1000 * G), reason=""))
    assert session.get_one(Operation, posted.operation_id).kind == OperationKind.STOCKTAKE
    assert session.get_one(Balance, posted.operation_id).lost_mg == 0
    assert on_hand(session, meat) == 1000 * G
    assert check_all(session) == []


def test_what_is_missing_is_a_loss_and_what_is_extra_an_addition(session: Session) -> None:
    meat, other = take_in(session), take_in(session)
    do(session, stocktake, walk(Counted(meat, 950 * G), Counted(other, 1020 * G)))
    loss = session.scalars(select(Loss).where(Loss.kind == LossKind.MISSING)).one()
    found = session.scalars(select(Addition).where(Addition.kind == AdditionKind.FOUND)).one()
    assert (loss.mass_mg, found.mass_mg) == (50 * G, 20 * G)
    assert (on_hand(session, meat), on_hand(session, other)) == (950 * G, 1020 * G)
    assert check_all(session) == []


def test_a_difference_needs_a_reason(session: Session) -> None:
    meat = take_in(session)
    with pytest.raises(Refused) as caught:
        do(session, stocktake, walk(Counted(meat, 0), reason=" "))
    assert [(p.field, p.kind) for p in caught.value.problems] == [("reason", ProblemKind.MISSING)]


def test_what_was_not_looked_at_stays_as_it_is(session: Session) -> None:
    meat, other = take_in(session), take_in(session)
    do(session, stocktake, walk(Counted(meat, 0)))
    assert on_hand(session, meat) == 0
    assert on_hand(session, other) == 1000 * G


def test_a_pouch_that_was_written_off_and_turns_up_is_there_again(session: Session) -> None:
    pouch, *_ = pouches(session)
    mass_mg = on_hand(session, pouch)
    do(session, eat, Leave((pouch,), LATER))
    do(session, stocktake, walk(Counted(pouch, mass_mg), place=PANTRY))
    assert on_hand(session, pouch) == mass_mg
    assert check_all(session) == []


def test_a_sealed_pouch_is_there_whole_or_not_at_all(session: Session) -> None:
    pouch, *_ = pouches(session)
    mass_mg = on_hand(session, pouch)
    for found_mg in (mass_mg - 1, mass_mg + 1):
        with pytest.raises(Refused):
            do(session, stocktake, walk(Counted(pouch, found_mg), place=PANTRY))


def test_an_opened_pouch_may_have_less_in_it_but_never_more(session: Session) -> None:
    pouch, *_ = pouches(session)
    mass_mg = on_hand(session, pouch)
    do(session, open_package, Open((pouch,), LATER))
    with pytest.raises(Refused):
        do(session, stocktake, walk(Counted(pouch, mass_mg + 1), place=PANTRY))
    do(session, stocktake, walk(Counted(pouch, mass_mg - 10 * G), place=PANTRY))
    assert on_hand(session, pouch) == mass_mg - 10 * G


@pytest.mark.parametrize("fault", ["twice", "elsewhere", "below nothing", "nothing counted"])
def test_what_makes_no_sense_is_refused(session: Session, fault: str) -> None:
    meat = take_in(session)
    counted = {
        "twice": (Counted(meat, 1), Counted(meat, 2)),
        "elsewhere": (Counted(StockRef(meat.lot_id, FREEZER), 1),),
        "below nothing": (Counted(meat, -1),),
        "nothing counted": (),
    }[fault]
    with pytest.raises(Refused):
        do(session, stocktake, walk(*counted))


def test_a_stocktake_is_taken_back_like_any_other_entry(session: Session) -> None:
    meat, other = take_in(session), take_in(session)
    posted = do(session, stocktake, walk(Counted(meat, 0), Counted(other, 1100 * G)))
    do(session, correct, Correct(posted.operation_id, LATER, "counted the wrong shelf"))
    assert (on_hand(session, meat), on_hand(session, other)) == (1000 * G, 1000 * G)
    assert check_all(session) == []


# -- what lies here though the ledger has it elsewhere, and what changed while somebody counted ----


def test_food_from_elsewhere_is_moved_here_within_the_same_entry(session: Session) -> None:
    meat, (pouch, *_) = take_in(session), pouches(session)
    found = (FoundHere(pouch),)
    request = Stocktake(FRIDGE, (Counted(meat, 900 * G),), LATER, "the wrong shelf", "", found)
    posted = do(session, stocktake, request)
    here = StockRef(pouch.lot_id, FRIDGE, pouch.package_id)
    assert (on_hand(session, here), on_hand(session, pouch)) == (80 * G, 0)
    balance = session.get_one(Balance, posted.operation_id)
    assert (balance.taken_mg, balance.made_mg, balance.lost_mg) == (180 * G, 80 * G, 100 * G)
    assert check_all(session) == []
    do(session, correct, Correct(posted.operation_id, LATER, "it was the right shelf"))
    assert (on_hand(session, meat), on_hand(session, pouch)) == (1000 * G, 80 * G)
    assert check_all(session) == []


def test_a_part_of_a_loose_lot_may_be_found_here_but_no_more_than_there_is(
    session: Session,
) -> None:
    meat = take_in(session)
    part = Stocktake(PANTRY, (), LATER, "why not", "", (FoundHere(meat, 400 * G),))
    do(session, stocktake, part)
    assert on_hand(session, StockRef(meat.lot_id, PANTRY)) == 400 * G
    problem = refusal(session, stocktake, replace(part, found_here=(FoundHere(meat, 601 * G),)))
    assert problem.kind == ProblemKind.NOT_ON_HAND
    assert problem.numbers["on_hand_mg"] == 600 * G


def test_what_changed_while_it_was_counted_is_refused_with_both_masses(session: Session) -> None:
    meat = take_in(session)
    do(session, eat, Leave((meat,), LATER, 150 * G))
    counted = Counted(meat, 900 * G, seen_mg=1000 * G)
    problem = refusal(session, stocktake, walk(counted))
    assert problem.kind == ProblemKind.CHANGED_SINCE
    assert (problem.numbers["seen_mg"], problem.numbers["on_hand_mg"]) == (1000 * G, 850 * G)


def test_a_comparison_says_what_will_be_written_and_writes_nothing(session: Session) -> None:
    meat, other, third = (take_in(session) for _ in range(3))
    before = entry_count(session)
    request = walk(Counted(meat, 0), Counted(other, 1020 * G), Counted(third, 1000 * G), reason="")
    found = compare(session, request)
    assert found.missing == ((meat, 1000 * G),)
    assert found.extra == ((other, 20 * G),)
    assert found.agreed == (third,)
    assert entry_count(session) == before


def test_a_stocktake_is_told_line_by_line(session: Session) -> None:
    meat, (pouch, second, _) = take_in(session), pouches(session)
    do(session, eat, Leave((second,), LATER))
    counted = (
        Counted(meat, 900 * G),
        Counted(StockRef(second.lot_id, FRIDGE, second.package_id), 80 * G),
    )
    request = Stocktake(FRIDGE, counted, LATER, "a busy week", "", (FoundHere(pouch),))
    posted = do(session, stocktake, request)
    told = taken_stock(session, posted.operation_id)
    assert told is not None
    assert [one.mass_mg for one in told.missing] == [100 * G]
    assert [one.mass_mg for one in told.extra] == [80 * G]
    assert [(one.came_from, one.went_to, one.mass_mg) for one in told.moved] == [
        ("Pantry", "Fridge", 80 * G)
    ]
    assert taken_stock(session, posted.operation_id - 1) is None


def test_what_is_missing_is_never_told_to_have_become_what_was_found(session: Session) -> None:
    meat, other, (pouch, *_) = take_in(session), take_in(session), pouches(session)
    counted = (Counted(meat, 0), Counted(other, 1020 * G))
    request = Stocktake(FRIDGE, counted, LATER, "nobody knows", "", (FoundHere(pouch),))
    posted = do(session, stocktake, request)
    told = [e for e in events(session) if f"/operation/{posted.operation_id}/" in e["eventID"]]
    assert [(e["type"], e["action"]) for e in told] == [
        ("ObjectEvent", "DELETE"),
        ("ObjectEvent", "ADD"),
        ("ObjectEvent", "OBSERVE"),
    ]
    kilograms = [e["quantityList"][0]["quantity"] for e in told]
    assert kilograms == [pytest.approx(1.0), pytest.approx(0.02), pytest.approx(0.08)]
    assert len({e["eventID"] for e in told}) == 3


def test_food_that_was_never_taken_in_is_not_found_again(session: Session) -> None:
    """Its intake was taken back; what lies there is taken in anew."""
    meat = do(session, intake, an_intake())
    ref = made(meat, FRIDGE)
    do(session, correct, Correct(meat.operation_id, TODAY, "another family's"))
    request = Stocktake(FRIDGE, (Counted(ref, 400 * G),), TODAY, "it lay there")
    assert refusal(session, stocktake, request).kind == "unknown_lot"


def test_a_package_whose_packing_was_taken_back_is_not_found_again(session: Session) -> None:
    food = dried(session)
    packed = do(session, pack, a_pack(food, 80))
    (pouch,) = units(packed, PANTRY)
    do(session, correct, Correct(packed.operation_id, LATER, "packed at the neighbour's"))
    request = Stocktake(PANTRY, (Counted(pouch, 80 * G),), LATER, "it lay there")
    assert refusal(session, stocktake, request).kind == "unknown_lot"
    assert check_all(session) == []
