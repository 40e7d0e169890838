"""A stocktake: what is missing is a loss, what is there beyond the ledger an addition."""

from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.checks import check_all
from app.ledger.errors import ProblemKind, Refused
from app.ledger.models import Addition, Balance, Loss, Operation
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.leave import Leave, eat
from app.ledger.operations.open import Open, open_package
from app.ledger.operations.stocktake import Counted, Stocktake, stocktake
from app.ledger.stock import StockRef, find_stock
from app.ledger.words import AdditionKind, LossKind, OperationKind
from tests.builders import FREEZER, FRIDGE, PANTRY, TODAY, G, do, pouches, take_in

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
