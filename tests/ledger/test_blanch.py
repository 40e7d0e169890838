"""Blanch: a short scald of garden produce."""

import pytest
from sqlalchemy.orm import Session

from app.ledger.operations.blanch import Blanch, blanch
from tests.builders import (
    BEANS,
    FRIDGE,
    SWEETCORN,
    TODAY,
    G,
    added,
    do,
    lost,
    lot_of,
    made,
    on_hand,
    refusal,
    take_in,
    treatments,
)


def test_what_drained_off_is_drip_and_what_was_taken_up_is_water(session: Session) -> None:
    corn, beans = take_in(session, SWEETCORN), take_in(session, BEANS)
    lighter = do(session, blanch, Blanch(corn, 1000 * G, 960 * G, FRIDGE, TODAY))
    heavier = do(session, blanch, Blanch(beans, 1000 * G, 1030 * G, FRIDGE, TODAY))
    assert lost(session, lighter) == {"drip": 40 * G}
    assert added(session, heavier) == {"water": 30 * G}
    assert on_hand(session, made(heavier, FRIDGE)) == 1030 * G
    assert treatments(session, made(lighter, FRIDGE)) == {"blanched"}
    assert not lot_of(session, made(lighter, FRIDGE)).is_raw


def test_blanching_takes_some_of_the_solids_and_never_adds_any(session: Session) -> None:
    corn = take_in(session, SWEETCORN)
    after = lot_of(
        session, made(do(session, blanch, Blanch(corn, 1000 * G, 1000 * G, FRIDGE, TODAY)), FRIDGE)
    )
    assert after.water > lot_of(session, corn).water


def test_meat_is_not_blanched(session: Session) -> None:
    problem = refusal(session, blanch, Blanch(take_in(session), 1000 * G, 950 * G, FRIDGE, TODAY))
    assert (problem.field, problem.kind) == ("ref", "wrong_state")


@pytest.mark.parametrize(
    ("mass_g", "made_g", "field", "kind"),
    [
        (1000, 100, "made_mg", "impossible"),
        (1000, 0, "made_mg", "not_positive"),
        (0, 10, "mass_mg", "not_positive"),
        (1001, 1000, "mass_mg", "not_on_hand"),
    ],
)
def test_masses_that_cannot_be_are_refused(
    session: Session, mass_g: int, made_g: int, field: str, kind: str
) -> None:
    corn = take_in(session, SWEETCORN)
    problem = refusal(session, blanch, Blanch(corn, mass_g * G, made_g * G, FRIDGE, TODAY))
    assert (problem.field, problem.kind) == (field, kind)
