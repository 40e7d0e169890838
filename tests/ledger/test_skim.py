"""Skim: the set fat is lifted off, kept or not, or there was none."""

import pytest
from sqlalchemy.orm import Session

from app.ledger.operations.skim import Skim, skim
from tests.builders import (
    FRIDGE,
    PORK,
    TODAY,
    G,
    a_pot,
    do,
    lost,
    lot_of,
    made,
    on_hand,
    operation_of,
    refusal,
)


def test_fat_that_is_kept_becomes_a_lot_of_its_own(session: Session) -> None:
    pot = a_pot(session, food=PORK)
    posted = do(session, skim, Skim(pot, 3000 * G, 40 * G, FRIDGE, TODAY, keeps_fat=True))
    rest, fat = made(posted, FRIDGE), made(posted, FRIDGE, 1)
    assert (on_hand(session, rest), on_hand(session, fat)) == (2960 * G, 40 * G)
    assert lost(session, posted) == {}
    assert lot_of(session, fat).name == "Moose trim, fat"
    assert lot_of(session, fat).food_class == "fat"
    held = lot_of(session, pot).fat * 3000
    parts = lot_of(session, rest).fat * 2960 + lot_of(session, fat).fat * 40
    assert parts == pytest.approx(held)


def test_fat_that_is_not_kept_is_a_loss(session: Session) -> None:
    posted = do(session, skim, Skim(a_pot(session), 3000 * G, 12 * G, FRIDGE, TODAY))
    assert lost(session, posted) == {"skimmed": 12 * G}
    assert len(posted.lot_ids) == 1


def test_no_fat_is_recorded_as_none(session: Session) -> None:
    posted = do(session, skim, Skim(a_pot(session), 3000 * G, 0, FRIDGE, TODAY))
    assert operation_of(session, posted).method == "none_set"
    assert on_hand(session, made(posted, FRIDGE)) == 3000 * G


@pytest.mark.parametrize(
    ("fat_g", "kind"), [(3000, "more_out_than_in"), (2900, "impossible"), (-1, "impossible")]
)
def test_more_fat_than_the_pot_can_hold_is_refused(session: Session, fat_g: int, kind: str) -> None:
    problem = refusal(session, skim, Skim(a_pot(session), 3000 * G, fat_g * G, FRIDGE, TODAY))
    assert (problem.field, problem.kind) == ("fat_mg", kind)


def test_the_fat_of_a_lot_with_a_long_name_still_has_a_name(session: Session) -> None:
    pot = a_pot(session, name="M" * 80)
    posted = do(session, skim, Skim(pot, 3000 * G, 12 * G, FRIDGE, TODAY, keeps_fat=True))
    name = lot_of(session, made(posted, FRIDGE, 1)).name
    assert name.endswith(", fat")
    assert len(name) == 80
