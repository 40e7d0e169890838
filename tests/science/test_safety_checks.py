"""Looks that come due: the limit of a freezer against the directive, and intervals as marked."""

import math

import pytest

from app.science.safety import checks
from app.science.safety.checks import freezer_cold
from app.science.safety.rule import Outcome, Severity
from app.science.sources import Evidence

# Directive 89/108/EEC on quick-frozen foodstuffs (summary of EUR-Lex, 2019): -18 °C or lower;
# on its way to the household it may deviate by no more than 3 °C. 5 °F is -15 °C exactly.
TRADE_C, DEVIATION_C = -18.0, 3.0


@pytest.mark.parametrize(
    ("temp", "unit", "outcome"),
    [
        (TRADE_C, "C", Outcome.PASS),
        (TRADE_C + DEVIATION_C, "C", Outcome.PASS),
        (TRADE_C + DEVIATION_C + 0.1, "C", Outcome.NOTE),
        (0.0, "F", Outcome.PASS),
        (5.0, "F", Outcome.PASS),
        (5.5, "F", Outcome.NOTE),
    ],
)
def test_a_freezer_may_be_three_degrees_warmer_than_the_trade_and_no_more(
    temp: float, unit: str, outcome: Outcome
) -> None:
    (verdict,) = freezer_cold(temp, unit)
    assert verdict.outcome is outcome
    assert f"{temp:g} °{unit}" in verdict.sentence


@pytest.mark.parametrize("temp", [None, math.nan, math.inf])
def test_no_reading_of_a_freezer_is_no_pass(temp: float | None) -> None:
    assert freezer_cold(temp) == ()


def test_every_interval_is_a_note_with_its_mark_and_no_judgement_poses_as_published() -> None:
    for rule in checks.RULES:
        assert rule.severity is Severity.NOTE
        assert rule.limits
        for limit in rule.limits:
            assert limit.source is not None or limit.evidence is Evidence.JUDGEMENT
