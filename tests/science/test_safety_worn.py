"""Freezer burn, staleness and lost seals: quality, told from safety."""

import pytest

from app.science.safety.rule import Outcome
from app.science.safety.worn import freezer_burnt, past_its_best, seal_lost


def test_freezer_burn_is_no_fault_of_safety_and_is_cut_off():
    # Freezing and Food Safety (FSIS): it does not make food unsafe; cut that part off
    (verdict,) = freezer_burnt()
    assert verdict.outcome is Outcome.NOTE
    assert "no fault of safety" in verdict.sentence
    assert "Cut those parts off" in verdict.sentence
    assert "FSIS" in verdict.source_text or "Inspection Service" in verdict.source_text


def test_staleness_never_excuses_mould_or_rot():
    (verdict,) = past_its_best()
    assert "Mould" in verdict.sentence
    assert "never taste" in verdict.sentence
    assert verdict.source_text == "Our judgement"


@pytest.mark.parametrize(
    ("is_dry", "is_cold", "words"),
    [
        (True, False, "counts as opened"),
        (True, True, "counts as opened"),
        (False, True, "The cold keeps this food"),
        (False, False, "counts as left out"),
    ],
)
def test_a_lost_seal_means_what_the_food_and_its_place_make_of_it(is_dry, is_cold, words):
    (verdict,) = seal_lost(is_dry=is_dry, is_cold=is_cold)
    assert words in verdict.sentence
    assert len(verdict.sentence) <= 260
