"""Portion: a lot split, so that its parts can go different ways."""

import pytest
from sqlalchemy.orm import Session

from app.ledger.operations.portion import Portion, portion
from tests.builders import (
    FREEZER,
    FRIDGE,
    OLD,
    TODAY,
    G,
    do,
    lot_of,
    made,
    on_hand,
    refused_kinds,
    take_in,
)


def test_a_portion_and_the_rest_are_the_whole(session: Session) -> None:
    ref = take_in(session, mass_g=10_650)
    part = made(do(session, portion, Portion(ref, 2000 * G, "For burgers", FRIDGE, TODAY)), FRIDGE)
    assert on_hand(session, part) == 2000 * G
    assert on_hand(session, ref) == 8650 * G
    assert lot_of(session, part).name == "For burgers"


def test_splitting_does_not_turn_back_the_clock(session: Session) -> None:
    ref = take_in(session, place=FREEZER, kept_since=OLD, harvest=(OLD, OLD))
    part = made(do(session, portion, Portion(ref, 500 * G, "Half", FREEZER, TODAY)), FREEZER)
    lot, whole = lot_of(session, part), lot_of(session, ref)
    assert (lot.kept_since, lot.harvest_from, lot.is_raw) == (OLD, OLD, True)
    assert lot.share_used == whole.share_used


@pytest.mark.parametrize(("mass_g", "kind"), [(1001, "not_on_hand"), (0, "not_positive")])
def test_a_portion_larger_than_the_lot_or_of_nothing_is_refused(
    session: Session, mass_g: int, kind: str
) -> None:
    ref = take_in(session)
    request = Portion(ref, mass_g * G, "Too much", FRIDGE, TODAY)
    assert kind in refused_kinds(session, portion, request)
