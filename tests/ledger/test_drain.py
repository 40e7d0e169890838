"""Drain: a pot becomes drained food and its broth."""

import pytest
from sqlalchemy.orm import Session

from app.ledger.operations.drain import Drain, drain
from tests.builders import (
    FRIDGE,
    TODAY,
    G,
    a_pot,
    allergens,
    do,
    lost,
    lot_of,
    made,
    on_hand,
    refusal,
)

PARTS = ("water", "protein", "fat", "carbohydrate", "ash")


def test_one_pot_becomes_meat_and_broth_and_what_was_spilled(session: Session) -> None:
    pot = a_pot(session)
    request = Drain(pot, 3000 * G, 1450 * G, 1540 * G, FRIDGE, TODAY, spilled_mg=10 * G)
    posted = do(session, drain, request)
    meat, broth = made(posted, FRIDGE), made(posted, FRIDGE, 1)
    assert (on_hand(session, meat), on_hand(session, broth)) == (1450 * G, 1540 * G)
    assert lost(session, posted) == {"spilled": 10 * G}
    assert lot_of(session, broth).name == "Moose trim, broth"
    assert (lot_of(session, broth).food_class, lot_of(session, broth).form) == ("broth", "liquid")


def test_nothing_the_pot_held_is_lost_in_the_split(session: Session) -> None:
    pot = a_pot(session)
    posted = do(session, drain, Drain(pot, 3000 * G, 1450 * G, 1550 * G, FRIDGE, TODAY))
    meat, broth = (lot_of(session, made(posted, FRIDGE, nth)) for nth in (0, 1))
    for part in PARTS:
        held = 3000 * getattr(lot_of(session, pot), part)
        split = 1450 * getattr(meat, part) + 1550 * getattr(broth, part)
        assert split == pytest.approx(held), part


def test_both_inherit_from_the_pot(session: Session) -> None:
    pot = a_pot(session, allergens=frozenset({"milk"}), harvest=(TODAY, TODAY))
    posted = do(session, drain, Drain(pot, 3000 * G, 1450 * G, 1550 * G, FRIDGE, TODAY))
    for nth in (0, 1):
        ref = made(posted, FRIDGE, nth)
        assert allergens(session, ref) == {"milk"}
        assert lot_of(session, ref).harvest_from == TODAY
        assert not lot_of(session, ref).is_raw


@pytest.mark.parametrize(
    ("meat_g", "broth_g", "field", "kind"),
    [
        (1450, 1549, "broth_mg", "unbalanced"),
        (1450, 1551, "broth_mg", "more_out_than_in"),
        (10, 2990, "broth_mg", "impossible"),
        (0, 3000, "drained_mg", "not_positive"),
        (3000, 0, "broth_mg", "not_positive"),
    ],
)
def test_masses_that_cannot_be_are_refused(
    session: Session, meat_g: int, broth_g: int, field: str, kind: str
) -> None:
    pot = a_pot(session)
    request = Drain(pot, 3000 * G, meat_g * G, broth_g * G, FRIDGE, TODAY)
    problem = refusal(session, drain, request)
    assert (problem.field, problem.kind) == (field, kind)


def test_the_broth_of_a_lot_with_a_long_name_still_has_a_name(session: Session) -> None:
    pot = a_pot(session, name="M" * 80)
    posted = do(session, drain, Drain(pot, 3000 * G, 1450 * G, 1550 * G, FRIDGE, TODAY))
    assert lot_of(session, made(posted, FRIDGE, 1)).name.endswith(", broth")
