"""Trim: what is cut away is a loss."""

import pytest
from sqlalchemy.orm import Session

from app.ledger.operations.trim import Trim, trim
from app.science.classes import Form
from tests.builders import FRIDGE, TODAY, G, do, lost, lot_of, made, on_hand, refusal, take_in


def test_what_was_cut_away_is_a_loss_and_composition_stays(session: Session) -> None:
    ref = take_in(session)
    posted = do(session, trim, Trim(ref, 1000 * G, 940 * G, 55 * G, FRIDGE, TODAY, None, 5 * G))
    trimmed = made(posted, FRIDGE)
    assert on_hand(session, trimmed) == 940 * G
    assert lost(session, posted) == {"trim": 55 * G, "unexplained": 5 * G}
    assert lot_of(session, trimmed).fat == lot_of(session, ref).fat


def test_trimming_may_change_the_cut(session: Session) -> None:
    ref = take_in(session)
    request = Trim(ref, 1000 * G, 1000 * G, 0, FRIDGE, TODAY, Form.WHOLE)
    assert lot_of(session, made(do(session, trim, request), FRIDGE)).form == Form.WHOLE


@pytest.mark.parametrize(
    ("made_g", "cut_g", "kind"),
    [(940, 59, "unbalanced"), (940, 61, "more_out_than_in"), (0, 1000, "not_positive")],
)
def test_masses_that_do_not_add_up_are_refused_with_the_amounts(
    session: Session, made_g: int, cut_g: int, kind: str
) -> None:
    ref = take_in(session)
    request = Trim(ref, 1000 * G, made_g * G, cut_g * G, FRIDGE, TODAY)
    problem = refusal(session, trim, request)
    assert (problem.field, problem.kind) == ("made_mg", kind)
    if kind != "not_positive":
        assert problem.numbers["in_mg"] == 1000 * G
        assert problem.numbers["out_mg"] == (made_g + cut_g) * G
