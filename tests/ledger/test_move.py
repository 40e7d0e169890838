"""Move: the same food at another place."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from sqlalchemy.orm import Session

from app.ledger.models import Run
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.move import Move, move
from app.ledger.operations.open import Open, open_package
from app.ledger.operations.portion import Portion, portion
from app.ledger.operations.thaw import Thaw, thaw
from app.ledger.stock import StockRef
from app.science.safety.thawing import ThawWay
from tests.builders import (
    BENCH,
    FREEZE_DRYER,
    FREEZER,
    FRIDGE,
    PANTRY,
    TODAY,
    G,
    a_tray,
    do,
    estimate_of,
    loaded,
    made,
    mass_of,
    on_hand,
    pouches,
    refusal,
    refused_kinds,
    take_in,
)


def test_moving_part_of_a_lot_leaves_the_rest(session: Session) -> None:
    ref = take_in(session, place=FRIDGE)
    posted = do(session, move, Move((ref,), FREEZER, TODAY, mass_mg=400 * G))
    assert posted.lot_ids == ()
    assert on_hand(session, ref) == 600 * G
    assert on_hand(session, StockRef(ref.lot_id, FREEZER)) == 400 * G


def test_a_package_is_at_one_place_so_it_moves_whole(session: Session) -> None:
    pouch, *_ = pouches(session)
    later = TODAY + timedelta(days=2)
    for _ in ("sealed", "opened"):
        problem = refusal(session, move, Move((pouch,), FREEZER, later, mass_mg=30 * G))
        assert (problem.field, problem.kind) == ("mass_mg", "wrong_state")
        do(session, open_package, Open((pouch,), later))
        pouch, *_ = pouches(session)
    do(session, move, Move((pouch,), FREEZER, later, mass_mg=80 * G))
    assert on_hand(session, pouch) == 0


def test_what_of_a_package_was_in_a_dryer_comes_off_it_to_where_the_rest_is(
    session: Session,
) -> None:
    pouch, *_ = pouches(session)
    loaded(session, a_tray(pouch, 30), on=TODAY + timedelta(days=2))
    later = TODAY + timedelta(days=2)
    on_tray = replace(pouch, place_id=FREEZE_DRYER)
    problem = refusal(session, move, Move((on_tray,), FRIDGE, later))
    assert (problem.field, problem.kind) == ("refs", "wrong_state")
    do(session, move, Move((on_tray, pouch), FRIDGE, later))
    assert on_hand(session, replace(pouch, place_id=FRIDGE)) == 80 * G


def test_the_rest_of_a_package_may_be_carried_away_while_some_of_it_dries(
    session: Session,
) -> None:
    pouch, *_ = pouches(session)
    later = TODAY + timedelta(days=2)
    run = loaded(session, a_tray(pouch, 30), on=later)
    do(session, move, Move((pouch,), FRIDGE, later))
    assert on_hand(session, replace(pouch, place_id=FRIDGE)) == 50 * G
    assert on_hand(session, replace(pouch, place_id=FREEZE_DRYER)) == 30 * G
    loading = session.get_one(Run, run).operation_id
    problem = refusal(session, correct, Correct(loading, later))
    assert problem.kind == "depended_on"  # else some would be back on the shelf, some in the fridge


def test_some_of_an_opened_package_goes_elsewhere_as_a_portion(session: Session) -> None:
    pouch, *_ = pouches(session)
    later = TODAY + timedelta(days=2)
    do(session, portion, Portion(pouch, 30 * G, "Part", BENCH, later))
    assert on_hand(session, pouch) == 50 * G


def test_several_packages_move_together(session: Session) -> None:
    before = pouches(session, 80, 82, 79)
    do(session, move, Move(tuple(before[:2]), FREEZER, TODAY + timedelta(days=1)))
    after = [StockRef(r.lot_id, FREEZER, r.package_id) for r in before[:2]]
    assert mass_of(session, before) == 79 * G
    assert [on_hand(session, ref) for ref in after] == [80 * G, 82 * G]


def test_a_colder_place_lengthens_the_window(session: Session) -> None:
    one, two, _ = pouches(session)
    before = estimate_of(session, one)
    assert before is not None
    early = before.central
    do(session, move, Move((two,), FREEZER, TODAY + timedelta(days=1)))
    after = estimate_of(session, StockRef(two.lot_id, FREEZER, two.package_id))
    assert after is not None
    assert after.central is not None
    assert early is not None
    assert after.central > early


def test_going_there_and_back_keeps_the_day_the_window_began(session: Session) -> None:
    taken_in = date(2025, 8, 1)
    ref = take_in(session, place=FRIDGE, on=taken_in)
    there = StockRef(ref.lot_id, BENCH)
    do(session, move, Move((ref,), BENCH, date(2025, 9, 1)))
    do(session, move, Move((there,), FRIDGE, date(2025, 9, 2)))
    kept = estimate_of(session, ref)
    assert kept is not None
    assert kept.start == taken_in


def test_frozen_food_leaves_the_freezer_only_by_thawing(session: Session) -> None:
    ref = take_in(session, place=FREEZER)
    problem = refusal(session, move, Move((ref,), FRIDGE, TODAY))
    assert (problem.field, problem.kind, problem.numbers["why"]) == (
        "place_id",
        "wrong_place",
        "thaw_it",
    )


def test_nothing_is_taken_from_a_place_before_it_came_there(session: Session) -> None:
    ref = take_in(session, place=FRIDGE, on=date(2025, 10, 1))
    do(session, move, Move((ref,), BENCH, date(2025, 10, 10)))
    there = StockRef(ref.lot_id, BENCH)
    problem = refusal(session, move, Move((there,), FRIDGE, date(2025, 10, 5)))
    assert (problem.field, problem.kind) == ("done_on", "before_there")


@pytest.mark.parametrize(
    ("place", "mass_g", "field", "kind"),
    [
        (FREEZE_DRYER, None, "place_id", "wrong_place"),
        (FRIDGE, None, "place_id", "nothing_to_do"),
        (99, None, "place_id", "unknown_place"),
        (FREEZER, 1001, "mass_mg", "not_on_hand"),
    ],
)
def test_what_cannot_be_is_refused(
    session: Session, place: int, mass_g: int | None, field: str, kind: str
) -> None:
    ref = take_in(session, place=FRIDGE)
    mass_mg = None if mass_g is None else mass_g * G
    problem = refusal(session, move, Move((ref,), place, TODAY, mass_mg=mass_mg))
    assert (problem.field, problem.kind) == (field, kind)


def test_moving_nothing_is_refused(session: Session) -> None:
    assert refusal(session, move, Move((), FREEZER, TODAY)).field == "refs"
    ref = take_in(session, place=FRIDGE)
    assert "not_positive" in refused_kinds(session, move, Move((ref,), FREEZER, TODAY, mass_mg=0))
    gone = Move((StockRef(ref.lot_id, PANTRY),), FREEZER, TODAY)
    assert refusal(session, move, gone).kind == "not_on_hand"


def test_the_same_row_named_twice_is_not_moved_twice(session: Session) -> None:
    ref = take_in(session, place=FRIDGE)
    assert refusal(session, move, Move((ref, ref), FREEZER, TODAY)).kind == "not_on_hand"


def test_what_thawed_in_cold_water_is_not_frozen_again_raw(session: Session) -> None:
    for way, refused in ((ThawWay.COLD_WATER, True), (ThawWay.REFRIGERATOR, False)):
        frozen = take_in(session, place=FREEZER)
        request = Thaw(frozen, 1000 * G, way, FRIDGE, TODAY, reason="cooked at once")
        thawed = made(do(session, thaw, request), FRIDGE)
        back = Move((thawed,), FREEZER, TODAY, reason="thawed overnight in the fridge")
        if refused:
            assert "gate" in refused_kinds(session, move, back)
        else:
            do(session, move, back)
