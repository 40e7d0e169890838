"""Hold and release: held food is not eaten, given or mixed, and neither is what is made of it."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.checks import check_all
from app.ledger.errors import Refused
from app.ledger.holds import active_holds, held_lots, holds_on
from app.ledger.models import Checkpoint, Hold, Operation, Release
from app.ledger.operations._post import Posted
from app.ledger.operations.blend import Blend, blend
from app.ledger.operations.cook import cook
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.hold import (
    LiftHold,
    PutOnHold,
    TestResult,
    hold,
    release,
    test_result,
)
from app.ledger.operations.leave import Leave, discard, eat, give
from app.ledger.operations.mix import Mix, MixPart, mix_lots
from app.ledger.operations.move import Move, move
from app.ledger.operations.pack import pack
from app.ledger.operations.portion import Portion, portion
from app.ledger.stock import StockRef
from app.ledger.words import HoldCause, ReleaseCause
from tests.builders import (
    BACK_FAT,
    BENCH,
    FREEZER,
    FRIDGE,
    PANTRY,
    PORK,
    TODAY,
    G,
    a_cook,
    a_pack,
    all_stock,
    cooked,
    dried,
    entry_count,
    evening,
    made,
    on_hand,
    refusal,
    refused_kinds,
    take_in,
    units,
)
from tests.builders import do as carry_out

TestResult.__test__ = test_result.__test__ = False  # type: ignore[attr-defined]

TOMORROW = TODAY + timedelta(days=1)


def do(session: Session, use_case: Callable[..., Any], request: Any) -> Posted:
    posted: Posted = carry_out(session, use_case, request)
    return posted


def put(session: Session, *refs: StockRef, cause: HoldCause = HoldCause.TEST_AWAITED) -> Posted:
    """Lots put on hold; for the causes that say nothing, with words."""
    lot_ids = tuple(ref.lot_id for ref in refs)
    return do(session, hold, PutOnHold(lot_ids, cause, TODAY, "the butcher called"))


def hold_id(session: Session, ref: StockRef) -> int:
    """The hold that was put on this very lot."""
    (found,) = (each.id for each in active_holds(session) if each.lot_id == ref.lot_id)
    return found


def lift(session: Session, *ids: int, note: str = "negative by post") -> Posted:
    return do(session, release, LiftHold(ids, ReleaseCause.NOT_DETECTED, TODAY, note))


def take_back(session: Session, posted: Posted) -> Posted:
    return do(session, correct, Correct(posted.operation_id, TODAY))


def causes(session: Session, ref: StockRef) -> list[str]:
    return [str(each.cause) for each in holds_on(session, ref.lot_id)]


def half(session: Session, ref: StockRef, mass_g: int = 500) -> StockRef:
    return made(do(session, portion, Portion(ref, mass_g * G, "Half", FRIDGE, TODAY)), FRIDGE)


def together(one: StockRef, two: StockRef, mass_g: int = 100) -> Grind:
    parts = (Part(one, mass_g * G), Part(two, mass_g * G))
    return Grind(parts, "Mince", 2 * mass_g * G, FRIDGE, TODAY)


# -- what a hold forbids, and what it leaves free ----------------------------------------------


def test_a_hold_names_what_it_is_for_and_where_it_was_put(session: Session) -> None:
    meat = take_in(session)
    put(session, meat, cause=HoldCause.RECALL)
    (found,) = holds_on(session, meat.lot_id)
    assert (found.lot_id, found.name, found.cause) == (meat.lot_id, "Moose trim", "recall")
    assert (found.words, found.since) == ("the butcher called", TODAY)
    assert check_all(session) == []


@pytest.mark.parametrize("leaving", [eat, give])
def test_held_food_is_neither_eaten_nor_given(session: Session, leaving: Any) -> None:
    meat = take_in(session)
    put(session, meat)
    before = all_stock(session)
    problem = refusal(session, leaving, Leave((meat,), TODAY, 100 * G, "the neighbour"))
    assert problem.kind == "on_hold"
    assert problem.numbers["cause"] == "test_awaited"
    assert all_stock(session) == before


def test_held_food_may_be_moved_cooked_cut_and_thrown_away(session: Session) -> None:
    meat = take_in(session)
    put(session, meat)
    part = half(session, meat, 200)
    hot = made(do(session, cook, a_cook(meat, 300, 300)), BENCH)
    do(session, move, Move((meat,), FREEZER, TODAY, mass_mg=200 * G))
    assert causes(session, part) == causes(session, hot) == ["test_awaited"]
    do(session, discard, Leave((meat,), TODAY, words="no longer wanted"))
    assert on_hand(session, meat) == 0


@pytest.mark.parametrize("is_first", [True, False])
def test_held_food_is_not_put_together_with_other_food_in_whichever_order(
    session: Session, is_first: bool
) -> None:
    held, free = take_in(session), take_in(session, BACK_FAT, 300)
    put(session, held)
    one, two = (held, free) if is_first else (free, held)
    before = entry_count(session), session.scalar(select(func.count(Operation.id)))
    blended = Blend(one, 100 * G, two, 100 * G, "Mix", 200 * G, FRIDGE, TODAY)
    mixed = Mix((MixPart(one, 100 * G), MixPart(two, 100 * G)), "Mix", 200 * G, FRIDGE, TODAY)
    for use_case, request in ((grind, together(one, two)), (blend, blended), (mix_lots, mixed)):
        problem = refusal(session, use_case, request)
        assert (problem.kind, problem.numbers["cause"]) == ("on_hold", "test_awaited")
    assert before == (entry_count(session), session.scalar(select(func.count(Operation.id))))


def test_the_parts_of_one_held_lot_may_be_put_together_again(session: Session) -> None:
    meat = take_in(session)
    put(session, meat)
    one, two = half(session, meat), half(session, meat)
    again = made(do(session, grind, together(one, two)), FRIDGE)
    assert causes(session, again) == ["test_awaited"]  # once, though it comes by two ways


def test_two_animals_that_await_a_test_are_kept_apart(session: Session) -> None:
    """One may be found free and the other not: then nobody could say what the mince is."""
    one, two = take_in(session), take_in(session)
    put(session, one, two)
    assert refused_kinds(session, grind, together(one, two)) == {"on_hold"}


def test_food_of_one_lot_at_two_places_is_no_mixture(session: Session) -> None:
    meat = take_in(session)
    put(session, meat)
    do(session, move, Move((meat,), FREEZER, TODAY, mass_mg=400 * G))
    there = StockRef(meat.lot_id, FREEZER)
    do(session, grind, together(meat, there))


# -- what is made of it ------------------------------------------------------------------------


def test_a_hold_goes_on_to_everything_made_afterwards(session: Session) -> None:
    meat = take_in(session)
    put(session, meat)
    hot = made(do(session, cook, a_cook(meat, 1000, 1000)), BENCH)
    packed = units(do(session, pack, a_pack(dried(session, food=hot), 120, 120)), PANTRY)
    assert causes(session, packed[0]) == ["test_awaited"]
    assert refused_kinds(session, eat, Leave((packed[0],), TOMORROW)) == {"on_hold"}


def test_a_hold_put_on_an_ancestor_reaches_what_was_made_before(session: Session) -> None:
    moose, pork = take_in(session), take_in(session, PORK)
    mince = made(do(session, grind, together(moose, pork)), FRIDGE)
    burgers = half(session, mince, 100)
    put(session, pork, cause=HoldCause.RECALL)
    assert causes(session, burgers) == ["recall"]
    assert causes(session, moose) == []
    assert refused_kinds(session, eat, Leave((burgers,), TODAY)) == {"on_hold"}


def test_a_mixture_waits_for_every_hold_of_what_is_in_it(session: Session) -> None:
    moose, pork = take_in(session), take_in(session, PORK)
    mince = made(do(session, grind, together(moose, pork)), FRIDGE)
    put(session, moose)
    put(session, pork, cause=HoldCause.RECALL)
    assert causes(session, mince) == ["test_awaited", "recall"]
    lift(session, hold_id(session, moose))
    assert causes(session, mince) == ["recall"]
    assert refused_kinds(session, eat, Leave((mince,), TODAY)) == {"on_hold"}
    lift(session, hold_id(session, pork))
    do(session, eat, Leave((mince,), TODAY))


def test_work_that_was_taken_back_carries_no_hold(session: Session) -> None:
    moose, pork = take_in(session), take_in(session, PORK)
    grinding = do(session, grind, together(moose, pork))
    put(session, moose)
    assert causes(session, made(grinding, FRIDGE)) != []
    take_back(session, grinding)
    assert set(held_lots(session)) == {moose.lot_id}
    do(session, eat, Leave((pork,), TODAY))


def test_eating_may_be_taken_back_while_a_hold_stands(session: Session) -> None:
    meat = take_in(session)
    eating = do(session, eat, Leave((meat,), TODAY, mass_mg=100 * G))
    put(session, meat)
    take_back(session, eating)
    assert on_hand(session, meat) == 1000 * G


def test_taking_back_a_grinding_takes_back_the_hold_on_its_mince_alone(session: Session) -> None:
    moose, pork = take_in(session), take_in(session, PORK)
    put(session, pork, cause=HoldCause.RECALL)
    grinding = do(session, grind, Grind((Part(moose, 100 * G),), "Mince", 100 * G, FRIDGE, TODAY))
    put(session, made(grinding, FRIDGE), cause=HoldCause.LOOK_FIRST)
    take_back(session, grinding)
    assert [each.lot_id for each in active_holds(session)] == [pork.lot_id]
    assert check_all(session) == []


# -- lifting, undoing, doing again -------------------------------------------------------------


def test_a_release_that_is_taken_back_puts_the_hold_back(session: Session) -> None:
    meat = take_in(session)
    put(session, meat)
    number = hold_id(session, meat)
    lifting = lift(session, number)
    assert held_lots(session) == {}
    take_back(session, lifting)
    assert causes(session, meat) == ["test_awaited"]
    assert refused_kinds(session, eat, Leave((meat,), TODAY)) == {"on_hold"}
    lift(session, number)
    do(session, eat, Leave((meat,), TODAY))
    assert check_all(session) == []


def test_a_hold_that_is_taken_back_may_be_put_on_again(session: Session) -> None:
    meat = take_in(session)
    take_back(session, put(session, meat))
    assert held_lots(session) == {}
    put(session, meat)
    assert causes(session, meat) == ["test_awaited"]


def test_a_test_without_a_finding_lifts_the_hold_with_its_rule(session: Session) -> None:
    meat = take_in(session)
    put(session, meat)
    posted = do(session, test_result, TestResult(hold_id(session, meat), False, TODAY))
    assert held_lots(session) == {}
    rules = select(Checkpoint.rule).where(Checkpoint.operation_id == posted.operation_id)
    assert session.scalars(rules).all() == ["CWD-NEG"]
    take_back(session, posted)
    assert causes(session, meat) == ["test_awaited"]


def test_a_disease_that_was_found_is_never_released(session: Session) -> None:
    meat = take_in(session)
    put(session, meat)
    finding = do(session, test_result, TestResult(hold_id(session, meat), True, TODAY))
    assert causes(session, meat) == ["test_awaited", "test_positive"]
    found = active_holds(session)[-1]
    request = LiftHold((found.id,), ReleaseCause.OTHER, TODAY, "we would rather not")
    problem = refusal(session, release, request)
    assert (problem.kind, problem.numbers["cause"]) == ("not_released", "test_positive")
    # nor by a second result, nor by lifting the hold that waited
    do(session, test_result, TestResult(active_holds(session)[0].id, False, TODAY))
    assert causes(session, meat) == ["test_positive"]
    assert refused_kinds(session, eat, Leave((meat,), TODAY)) == {"on_hold"}
    take_back(session, finding)  # a result written for the wrong animal
    assert causes(session, meat) == []


def test_a_sick_animal_is_never_released(session: Session) -> None:
    meat = take_in(session)
    put(session, meat, cause=HoldCause.LOOKED_SICK)
    request = LiftHold((hold_id(session, meat),), ReleaseCause.LOOKED_FINE, TODAY, "fine now")
    assert refusal(session, release, request).kind == "not_released"


def test_one_hold_that_cannot_be_lifted_keeps_all_that_were_chosen(session: Session) -> None:
    one, two = take_in(session), take_in(session)
    put(session, one, cause=HoldCause.RECALL)
    put(session, two, cause=HoldCause.TEST_POSITIVE)
    ids = (hold_id(session, one), hold_id(session, two))
    request = LiftHold(ids, ReleaseCause.LOOKED_FINE, TODAY, "all fine")
    assert refusal(session, release, request).kind == "not_released"
    assert session.scalar(select(func.count(Release.hold_id))) == 0


# -- what is refused ---------------------------------------------------------------------------


def test_a_lot_named_twice_gets_one_hold(session: Session) -> None:
    meat = take_in(session)
    put(session, meat, meat)
    assert session.scalar(select(func.count(Hold.id))) == 1


@pytest.mark.parametrize(
    ("request_", "kind"),
    [
        (PutOnHold((), HoldCause.RECALL, TODAY), "missing"),
        (PutOnHold((999,), HoldCause.RECALL, TODAY), "unknown_lot"),
        (PutOnHold((1,), HoldCause.OTHER, TODAY, "  "), "missing"),
    ],
)
def test_a_hold_without_food_or_words_is_refused(
    session: Session, request_: PutOnHold, kind: str
) -> None:
    take_in(session)
    assert refusal(session, hold, request_).kind == kind


def test_a_hold_of_tomorrow_is_refused(session: Session) -> None:
    meat = take_in(session)
    request = PutOnHold((meat.lot_id,), HoldCause.RECALL, TOMORROW)
    with pytest.raises(Refused, match="in_future"), session.begin_nested():
        hold(session, request, at=evening(TODAY), by=None)


def test_a_release_of_nothing_of_what_does_not_stand_or_twice_is_refused(session: Session) -> None:
    meat = take_in(session)
    put(session, meat, cause=HoldCause.RECALL)
    number = hold_id(session, meat)

    def kind(*ids: int, cause: ReleaseCause = ReleaseCause.LOOKED_FINE, note: str = "") -> str:
        return str(refusal(session, release, LiftHold(ids, cause, TODAY, note)).kind)

    assert kind() == "missing"
    assert kind(number + 1) == "wrong_state"
    assert kind(number, cause=ReleaseCause.OTHER) == "missing"
    lift(session, number)
    assert kind(number) == "wrong_state"


def test_the_same_hold_chosen_twice_is_lifted_once(session: Session) -> None:
    meat = take_in(session)
    put(session, meat, cause=HoldCause.RECALL)
    number = hold_id(session, meat)
    lift(session, number, number)
    assert held_lots(session) == {}


def test_a_test_that_is_awaited_is_not_waved_through_without_a_word(session: Session) -> None:
    meat = take_in(session)
    put(session, meat)
    request = LiftHold((hold_id(session, meat),), ReleaseCause.LOOKED_FINE, TODAY)
    assert refusal(session, release, request).kind == "missing"


def test_a_result_is_written_only_where_a_test_is_awaited(session: Session) -> None:
    meat = take_in(session)
    put(session, meat, cause=HoldCause.RECALL)
    number = hold_id(session, meat)
    for wrong in (number, number + 7):
        assert refusal(session, test_result, TestResult(wrong, False, TODAY)).kind == "wrong_state"


def test_cooking_through_does_not_end_a_hold(session: Session) -> None:
    meat = cooked(session)
    put(session, meat)
    again = made(do(session, cook, a_cook(meat, 1000, 1000)), BENCH)
    assert causes(session, again) == ["test_awaited"]
