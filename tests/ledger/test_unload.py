"""Unload: dry food out of the dryer."""

from datetime import date, timedelta

import pytest
from sqlalchemy.orm import Session

from app.ledger.errors import NotFound
from app.ledger.operations.leave import Leave, discard
from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.stock import StockRef
from tests.builders import (
    APPLES,
    BENCH,
    CELERY,
    DEHYDRATOR,
    FREEZE_DRYER,
    FREEZER,
    OLD,
    SWEETCORN,
    TODAY,
    G,
    a_tray,
    allergens,
    cooked,
    do,
    dried,
    flows_into,
    loaded,
    lost,
    lot_of,
    made,
    on_hand,
    refusal,
    take_in,
    treatments,
    weigh,
)

TOMORROW = TODAY + timedelta(days=1)


def an_unload(run_id: int, *pairs: tuple[StockRef, int], **changes: int) -> Unload:
    made_g = tuple(DryMade(ref.lot_id, mass_g * G) for ref, mass_g in pairs)
    out = {name: value * G for name, value in changes.items()}
    return Unload(run_id, made_g, BENCH, TOMORROW, **out)


def test_what_is_missing_has_left_as_water(session: Session) -> None:
    ref = cooked(session)
    run_id = loaded(session, a_tray(ref, 1000))
    posted = do(session, unload, an_unload(run_id, (ref, 255), spilled_mg=5))
    dry = made(posted, BENCH)
    assert on_hand(session, dry) == 255 * G
    assert on_hand(session, StockRef(ref.lot_id, FREEZE_DRYER)) == 0
    assert lost(session, posted) == {"evaporated": 740 * G, "spilled": 5 * G}
    assert treatments(session, dry) == {"cooked", "dried_freeze"}


def test_warm_air_is_another_treatment(session: Session) -> None:
    corn = take_in(session, SWEETCORN)
    run_id = loaded(session, a_tray(corn, 1000), place=DEHYDRATOR)
    dry = made(do(session, unload, an_unload(run_id, (corn, 260))), BENCH)
    assert treatments(session, dry) == {"dried_air"}


def test_the_dry_lot_knows_its_water_before_and_after(session: Session) -> None:
    """1,000 g at 75.5 % water hold 244.5 g of solids; weighed at 260 g it keeps some 6 % water."""
    dry = lot_of(session, dried(session, 1000, 260))
    assert dry.fresh_water == pytest.approx(0.755, abs=0.001)
    assert dry.water_is_measured
    assert dry.water_low is not None
    assert dry.water_high is not None
    assert dry.water_low <= dry.water <= dry.water_high
    assert dry.water_low <= 1 - 244.5 / 260 <= dry.water_high


def test_without_weigh_backs_the_water_is_only_computed(session: Session) -> None:
    weighed, guessed = dried(session), dried(session, weighed_back=False)
    assert not lot_of(session, guessed).water_is_measured
    wide, narrow = lot_of(session, guessed), lot_of(session, weighed)
    assert wide.water_high is not None
    assert narrow.water_high is not None
    assert wide.water_high >= narrow.water_high


def test_the_wettest_tray_speaks_for_the_lot(session: Session) -> None:
    ref = cooked(session, 2000)
    run_id = loaded(session, a_tray(ref, 1000), a_tray(ref, 1000))
    for hours in (20, 21, 22):
        weigh(session, run_id, 1, 850, hours)
        weigh(session, run_id, 2, 880, hours)
    mixed = lot_of(session, made(do(session, unload, an_unload(run_id, (ref, 530))), BENCH))
    even = lot_of(session, dried(session, 1000, 250))
    assert mixed.water > even.water


def test_two_lots_of_one_run_stay_two_lots_with_their_own_descent(session: Session) -> None:
    corn = take_in(session, SWEETCORN, harvest=(OLD, OLD))
    celery = take_in(session, CELERY, allergens=frozenset({"celery"}), harvest=(TODAY, TODAY))
    run_id = loaded(session, a_tray(corn, 1000), a_tray(celery, 1000))
    posted = do(session, unload, an_unload(run_id, (corn, 260), (celery, 60)))
    dry_corn, dry_celery = made(posted, BENCH), made(posted, BENCH, 1)
    assert flows_into(session, dry_corn) == {corn.lot_id: 260 * G}
    assert flows_into(session, dry_celery) == {celery.lot_id: 60 * G}
    assert allergens(session, dry_corn) == set()
    assert allergens(session, dry_celery) == {"celery"}
    assert lot_of(session, dry_corn).harvest_to == OLD
    assert lot_of(session, dry_celery).harvest_from == TODAY


def test_ready_food_that_shared_the_dryer_with_raw_meat_is_raw_afterwards(
    session: Session,
) -> None:
    meat, apples = take_in(session), take_in(session, APPLES)
    run_id = loaded(session, a_tray(meat, 1000), a_tray(apples, 1000))
    posted = do(session, unload, an_unload(run_id, (meat, 260), (apples, 150)))
    assert [lot_of(session, made(posted, BENCH, nth)).is_raw for nth in (0, 1)] == [True, True]


def test_drying_does_not_cook(session: Session) -> None:
    ref = take_in(session)
    assert lot_of(session, dried(session, food=ref)).is_raw


def test_months_in_the_freezer_are_not_forgotten_in_the_dryer(session: Session) -> None:
    frozen_on = date(2024, 12, 1)
    old = take_in(session, place=FREEZER, kept_since=frozen_on, on=frozen_on)
    fresh = take_in(session, place=FREEZER)
    shares = [lot_of(session, dried(session, food=ref)).share_used for ref in (old, fresh)]
    assert shares[0] > 0.3
    assert shares[1] < 0.02


def test_every_lot_needs_its_dry_weight(session: Session) -> None:
    corn, apples = take_in(session, SWEETCORN), take_in(session, APPLES)
    run_id = loaded(session, a_tray(corn, 1000), a_tray(apples, 1000))
    problem = refusal(session, unload, an_unload(run_id, (corn, 260)))
    assert (problem.field, problem.kind) == ("made[1]", "missing")


def test_dry_food_does_not_weigh_more_than_it_did(session: Session) -> None:
    ref = cooked(session)
    run_id = loaded(session, a_tray(ref, 1000))
    problem = refusal(session, unload, an_unload(run_id, (ref, 1001)))
    assert (problem.field, problem.kind) == ("made[0]", "more_out_than_in")
    spilled = refusal(session, unload, an_unload(run_id, (ref, 900), spilled_mg=101))
    assert (spilled.field, spilled.kind) == ("made", "more_out_than_in")


def test_a_run_is_unloaded_once(session: Session) -> None:
    ref = cooked(session)
    run_id = loaded(session, a_tray(ref, 1000))
    do(session, unload, an_unload(run_id, (ref, 260)))
    problem = refusal(session, unload, an_unload(run_id, (ref, 260)))
    assert (problem.field, problem.kind) == ("run_id", "wrong_state")


def test_an_unknown_run_is_not_found(session: Session) -> None:
    with pytest.raises(NotFound):
        do(session, unload, an_unload(41))


def test_what_was_thrown_away_from_the_dryer_is_not_unloaded_again(session: Session) -> None:
    ref = cooked(session)
    run_id = loaded(session, a_tray(ref, 1000))
    there = StockRef(ref.lot_id, FREEZE_DRYER)
    do(session, discard, Leave((there,), TODAY, mass_mg=300 * G, words="fell on the floor"))
    posted = do(session, unload, an_unload(run_id, (ref, 180)))
    assert lost(session, posted) == {"evaporated": 520 * G}
