"""Freezer burn, staleness and lost seals: quality is told from safety."""

import pytest

from app.science.safety.rule import Outcome, allows
from app.science.safety.worn import freezer_burnt, past_its_best, seal_lost


def test_freezer_burn_is_cut_off_and_no_fault_of_safety():
    # Freezing and Food Safety, USDA FSIS.
    (verdict,) = freezer_burnt()
    assert (verdict.id, verdict.outcome) == ("FREEZER-BURN", Outcome.NOTE)
    assert "no fault of safety" in verdict.sentence
    assert allows([verdict])


def test_stale_is_quality_and_rot_is_discarded_untasted():
    # Our judgement.
    (verdict,) = past_its_best()
    assert (verdict.id, verdict.outcome) == ("WORN", Outcome.NOTE)
    assert "discard that, and never taste" in verdict.sentence


@pytest.mark.parametrize(
    ("is_dry", "is_cold", "words"),
    [
        (True, False, "fresh absorber"),
        (True, True, "fresh absorber"),
        (False, True, "its time in the cold runs on"),
        (False, False, "counts as left out"),
    ],
)
def test_a_lost_seal_says_what_still_keeps_the_food(is_dry, is_cold, words):
    # Our judgement; what is moist and warm is judged as left out besides.
    (verdict,) = seal_lost(is_dry=is_dry, is_cold=is_cold)
    assert (verdict.id, verdict.outcome) == ("SEAL-LOST", Outcome.NOTE)
    assert words in verdict.sentence
