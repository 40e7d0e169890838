"""Chill: cooked food into the cold, fast enough."""

from dataclasses import replace

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
    of_this = select(Reading).where(Reading.operation_id == posted.operation_id)
    rows = session.scalars(of_this.order_by(Reading.hours))
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
    request = Chill(
        half_done, 950 * G, 950 * G, FRIDGE, TODAY, COOLED_IN_TIME, reason="finished tomorrow"
    )
    assert lot_of(session, made(do(session, chill, request), FRIDGE)).is_raw


def test_half_cooked_food_is_chilled_only_with_a_reason(session: Session) -> None:
    half_done = made(do(session, cook, a_cook(take_in(session), 1000, 950, centre=None)), BENCH)
    request = Chill(half_done, 950 * G, 950 * G, FRIDGE, TODAY, COOLED_IN_TIME)
    assert refusal(session, chill, request).numbers["rule"] == "COOK-PARTIAL"


def test_a_probe_that_failed_for_most_of_an_hour_proves_nothing(session: Session) -> None:
    """Food Code 3-501.14 asks for both stages; a gap of over half an hour hides either."""
    gap = (
        CoolingReading(0.0, 57.0, "57"),
        CoolingReading(0.5, None, ""),
        CoolingReading(1.4, 20.0, "20"),
        CoolingReading(5.0, 4.0, "4"),
    )
    request = Chill(cooked(session), 1000 * G, 1000 * G, FRIDGE, TODAY, gap)
    assert refusal(session, chill, request).numbers["rule"] == "COOL-UNPROVEN"


def test_many_readings_are_all_kept_but_those_that_failed(session: Session) -> None:
    readings = tuple(
        CoolingReading(n / 10, None if n == 7 else max(3.0, 60.0 - 2.4 * n), str(n))
        for n in range(50)
    )
    hot = cooked(session)
    posted = do(session, chill, Chill(hot, 1000 * G, 1000 * G, FRIDGE, TODAY, readings, reason="-"))
    rows = session.scalars(select(Reading).where(Reading.operation_id == posted.operation_id))
    assert len(rows.all()) == 49


def test_food_soaked_at_room_temperature_must_be_cold_within_four_hours(session: Session) -> None:
    """Food Code 3-501.14(B): from ambient temperature to 5 °C within 4 hours."""
    for last_hour, rule in ((3.9, None), (4.5, "COOL-AMBIENT")):
        readings = (CoolingReading(0.0, 20.0, "20"), CoolingReading(last_hour, 4.0, "4"))
        hot = cooked(session)
        request = Chill(hot, 1000 * G, 1000 * G, FRIDGE, TODAY, readings, is_reconstituted=True)
        if rule is None:
            do(session, chill, request)
        else:
            assert refusal(session, chill, request).numbers["rule"] == rule


def test_readings_in_fahrenheit_typed_as_celsius_are_asked_and_prove_nothing_when_insisted_on(
    session: Session,
) -> None:
    told = (CoolingReading(0.0, 135.0, "135"), CoolingReading(5.0, 4.0, "4"))
    hot = cooked(session)
    request = Chill(hot, 1000 * G, 1000 * G, FRIDGE, TODAY, told)
    assert refusal(session, chill, request).numbers["rule"] == "UNIT-ASK"
    insisted = replace(request, reason="the probe shows so")
    assert refusal(session, chill, insisted).numbers["rule"] == "COOL-2STAGE"
