"""Chill: cooked food into the cold, fast enough."""

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.models import Reading
from app.ledger.operations.chill import Chill, CoolingReading, chill
from app.ledger.operations.cook import cook
from tests.builders import (
    BENCH,
    COOLED_IN_TIME,
    FRIDGE,
    TODAY,
    G,
    a_cook,
    cooked,
    do,
    lost,
    lot_of,
    made,
    on_hand,
    refusal,
    take_in,
    treatments,
)

TOO_SLOW = (
    CoolingReading(0.0, 57.0, "57"),
    CoolingReading(4.0, 30.0, "30"),
    CoolingReading(9.0, 4.0, "4"),
)


def test_what_is_missing_has_evaporated_and_the_readings_are_kept(session: Session) -> None:
    hot = cooked(session)
    posted = do(session, chill, Chill(hot, 1000 * G, 985 * G, FRIDGE, TODAY, COOLED_IN_TIME))
    cold = made(posted, FRIDGE)
    assert on_hand(session, cold) == 985 * G
    assert lost(session, posted) == {"evaporated": 15 * G}
    assert treatments(session, cold) == {"cooked", "chilled"}
    rows = session.scalars(select(Reading).where(Reading.operation_id == posted.operation_id))
    assert [(row.hours, row.value) for row in rows] == [(0.0, 57.0), (1.5, 20.0), (5.0, 4.0)]


def test_the_days_of_the_fridge_count_from_the_cooking(session: Session) -> None:
    hot = cooked(session)
    cold = made(
        do(session, chill, Chill(hot, 1000 * G, 1000 * G, FRIDGE, TODAY, COOLED_IN_TIME)), FRIDGE
    )
    assert lot_of(session, cold).kept_since == lot_of(session, hot).kept_since


def test_cooling_too_slowly_is_stopped_with_or_without_a_reason(session: Session) -> None:
    hot = cooked(session)
    for reason in ("", "it smelled fine"):
        request = Chill(hot, 1000 * G, 1000 * G, FRIDGE, TODAY, TOO_SLOW, reason=reason)
        assert refusal(session, chill, request).kind == "gate"
    assert on_hand(session, hot) == 1000 * G


def test_without_readings_a_reason_is_asked_for_and_kept(session: Session) -> None:
    hot = cooked(session)
    bare = Chill(hot, 1000 * G, 1000 * G, FRIDGE, TODAY)
    assert refusal(session, chill, bare).kind == "needs_reason"
    told = Chill(hot, 1000 * G, 1000 * G, FRIDGE, TODAY, reason="ice bath, by the hand")
    assert on_hand(session, made(do(session, chill, told), FRIDGE)) == 1000 * G


@pytest.mark.parametrize("made_g", [1001, 200])
def test_more_out_than_in_or_more_steam_than_water_is_refused(
    session: Session, made_g: int
) -> None:
    hot = cooked(session)
    request = Chill(hot, 1000 * G, made_g * G, FRIDGE, TODAY, COOLED_IN_TIME)
    assert refusal(session, chill, request).field == "made_mg"


def test_raw_food_that_was_chilled_is_still_raw(session: Session) -> None:
    half_done = made(do(session, cook, a_cook(take_in(session), 1000, 950, centre=None)), BENCH)
    request = Chill(half_done, 950 * G, 950 * G, FRIDGE, TODAY, COOLED_IN_TIME)
    assert lot_of(session, made(do(session, chill, request), FRIDGE)).is_raw
