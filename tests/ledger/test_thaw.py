"""Thaw: frozen food, now to be used within days."""

from datetime import date

import pytest
from sqlalchemy.orm import Session

from app.ledger.operations.thaw import Thaw, thaw
from app.science.safety.thawing import ThawWay
from tests.builders import (
    FREEZER,
    FRIDGE,
    OLD,
    TODAY,
    G,
    do,
    lost,
    lot_of,
    made,
    on_hand,
    operation_of,
    refusal,
    take_in,
    treatments,
)


def a_thaw(session: Session, drip_g: int = 0, way: ThawWay = ThawWay.REFRIGERATOR) -> Thaw:
    ref = take_in(session, mass_g=1600, place=FREEZER, harvest=(OLD, OLD), kept_since=OLD)
    return Thaw(ref, 1600 * G, way, FRIDGE, TODAY, drip_mg=drip_g * G)


def test_drip_is_a_loss_and_the_rest_lies_thawed_in_the_fridge(session: Session) -> None:
    request = a_thaw(session, drip_g=35)
    posted = do(session, thaw, request)
    thawed = made(posted, FRIDGE)
    assert on_hand(session, thawed) == 1565 * G
    assert on_hand(session, request.ref) == 0
    assert lost(session, posted) == {"drip": 35 * G}
    assert treatments(session, thawed) == {"thawed"}
    assert operation_of(session, posted).method == "refrigerator"


def test_thawing_keeps_age_raw_mark_and_what_was_used_up(session: Session) -> None:
    lot = lot_of(session, made(do(session, thaw, a_thaw(session)), FRIDGE))
    assert (lot.harvest_from, lot.is_raw, lot.kept_since) == (OLD, True, TODAY)
    assert lot.share_used > 0.5  # two years in the freezer have not been forgotten


def test_food_that_is_not_in_a_freezer_cannot_be_thawed(session: Session) -> None:
    ref = take_in(session, place=FRIDGE)
    problem = refusal(session, thaw, Thaw(ref, 500 * G, ThawWay.REFRIGERATOR, FRIDGE, TODAY))
    assert (problem.field, problem.kind) == ("ref", "wrong_state")


@pytest.mark.parametrize("way", [ThawWay.COUNTER, ThawWay.WARM_WATER, ThawWay.OTHER])
def test_thawing_in_the_warm_is_stopped_even_with_a_reason(session: Session, way: ThawWay) -> None:
    request = a_thaw(session, way=way)
    assert refusal(session, thaw, request).kind == "gate"
    insisted = Thaw(request.ref, request.mass_mg, way, FRIDGE, TODAY, reason="we always did")
    assert refusal(session, thaw, insisted).kind == "gate"


def test_as_much_drip_as_food_is_refused(session: Session) -> None:
    problem = refusal(session, thaw, a_thaw(session, drip_g=1600))
    assert (problem.field, problem.kind) == ("drip_mg", "more_out_than_in")


def test_part_of_a_packet_can_be_thawed(session: Session) -> None:
    request = a_thaw(session)
    part = Thaw(request.ref, 600 * G, ThawWay.REFRIGERATOR, FRIDGE, TODAY)
    do(session, thaw, part)
    assert on_hand(session, request.ref) == 1000 * G


def test_thawing_before_it_was_taken_in_is_refused(session: Session) -> None:
    request = a_thaw(session)
    early = Thaw(request.ref, 100 * G, ThawWay.REFRIGERATOR, FRIDGE, date(2025, 10, 1))
    problem = refusal(session, thaw, early)
    assert (problem.field, problem.kind) == ("done_on", "before_made")
