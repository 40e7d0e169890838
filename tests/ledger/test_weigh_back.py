"""Weigh back: a tray weighed again, to judge whether it is dry."""

from datetime import timedelta

import pytest
from sqlalchemy.orm import Session

from app.ledger.errors import NotFound, Refused
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.load import Load, load
from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.operations.weigh_back import WeighBack, weigh_back
from app.ledger.runs import known_run, trays_of
from tests.builders import (
    BENCH,
    FREEZE_DRYER,
    TODAY,
    G,
    a_tray,
    cooked,
    do,
    entry_count,
    evening,
    loaded,
    weigh,
)


def test_the_trays_weight_is_kept_and_no_mass_moves(session: Session) -> None:
    run_id = loaded(session, a_tray(cooked(session), 1000))
    before = entry_count(session)
    weigh(session, run_id, 1, 900, 20)
    weigh(session, run_id, 1, 870, 22)
    (state,) = trays_of(session, known_run(session, run_id))
    assert [w.gross_mg for w in state.weighings] == [900 * G, 870 * G]
    assert entry_count(session) == before


def test_a_tray_that_still_loses_weight_is_not_dry_and_one_that_does_not_is(
    session: Session,
) -> None:
    ref = cooked(session, 2000)
    run_id = loaded(session, a_tray(ref, 1000), a_tray(ref, 1000))
    for hours, losing_g, steady_g in ((20, 1000, 861), (22, 940, 860), (24, 905, 860)):
        weigh(session, run_id, 1, losing_g, hours)
        weigh(session, run_id, 2, steady_g, hours)
    losing, steady = trays_of(session, known_run(session, run_id))
    assert losing.dryness is not None
    assert steady.dryness is not None
    assert losing.dryness.residual_water.central > steady.dryness.residual_water.central
    assert losing.dryness.probability_dry < steady.dryness.probability_dry


@pytest.mark.parametrize(
    ("number", "gross_g", "field", "kind"),
    [
        (2, 900, "number", "unknown_choice"),
        (1, 600, "gross", "tare_above_gross"),
        (1, 1601, "gross", "more_out_than_in"),
    ],
)
def test_a_weight_that_cannot_be_is_refused(
    session: Session, number: int, gross_g: int, field: str, kind: str
) -> None:
    run_id = loaded(session, a_tray(cooked(session), 1000))
    with pytest.raises(Refused) as caught:
        weigh(session, run_id, number, gross_g, 20)
    (problem,) = caught.value.problems
    assert (problem.field, problem.kind) == (field, kind)


def test_a_run_that_is_over_takes_no_more_weighings(session: Session) -> None:
    ref = cooked(session)
    run_id = loaded(session, a_tray(ref, 1000))
    done_on = TODAY + timedelta(days=1)
    do(session, unload, Unload(run_id, (DryMade(ref.lot_id, 260 * G),), BENCH, done_on))
    with pytest.raises(Refused):
        weigh(session, run_id, 1, 860, 40)


def test_a_run_whose_loading_was_taken_back_is_not_found(session: Session) -> None:
    posted, run_id = do(session, load, Load(FREEZE_DRYER, (a_tray(cooked(session), 1000),), TODAY))
    do(session, correct, Correct(posted.operation_id, TODAY, "wrong trays"))
    with pytest.raises(NotFound):
        weigh_back(session, WeighBack(run_id, 1, 900 * G, "900"), at=evening(TODAY))
