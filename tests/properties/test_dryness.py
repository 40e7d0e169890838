"""The judgement of a tray: honest on simulated trays, steady under small changes."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.science.drying import P90, DryerKind
from app.science.dryness import Dryness, TrayWeighing, Verdict, judge
from app.science.weightloss import EQUILIBRIUM_WATER, LAST_RATE


def simulated(rng: np.random.Generator, count: int) -> tuple[list[TrayWeighing], float]:
    """A tray drawn from the stated uncertainties, and its true residual water at the end."""
    solids = 1.3 * (0.4 + 0.02 * rng.normal())
    left = EQUILIBRIUM_WATER[DryerKind.FREEZE]
    low, high = left.span
    z = rng.normal()
    water = max(0.0, left.value + z * ((left.value - low) if z < 0 else (high - left.value)) / P90)
    end = solids / (1 - water)
    rate = LAST_RATE.value * np.exp(
        rng.normal() * np.log(LAST_RATE.span[1] / LAST_RATE.value) / P90
    )
    hours = np.cumsum(np.r_[0.0, rng.uniform(1, 5, count - 1)])
    true = end + rng.uniform(0.005, 0.15) * np.exp(-rate * hours)
    shown = np.round(true + 0.0005 * rng.normal(size=count), 3)
    points = [TrayWeighing(float(h), float(m)) for h, m in zip(hours, shown, strict=True)]
    return points, float((true[-1] - solids) / true[-1])


@pytest.mark.parametrize("count", [1, 2, 3, 6])
def test_ranges_cover_and_dry_is_seldom_wrong_on_simulated_trays(count: int) -> None:
    """Calibration: the 10th to 90th percentile covers about four trays in five."""
    rng = np.random.default_rng(20)
    trays = [simulated(rng, count) for _ in range(120)]
    judged = [(judge(points, 0.001, 1.3, 0.60), truth) for points, truth in trays]
    covered = sum(d.residual_water.low <= truth <= d.residual_water.high for d, truth in judged)
    assert 0.70 <= covered / len(judged) <= 0.92
    dry = [truth for d, truth in judged if d.verdict is Verdict.DRY]
    wrong = sum(truth > 0.04 for truth in dry)
    assert wrong <= max(1, 0.12 * len(dry))
    assert dry or count < 3
    if count == 1:
        assert not dry


@st.composite
def trays(draw: st.DrawFn) -> list[TrayWeighing]:
    """Any weighings in order, falling or not."""
    gaps = draw(st.lists(st.floats(0.05, 12), min_size=1, max_size=10))
    masses = draw(st.lists(st.floats(0.05, 1.3), min_size=len(gaps), max_size=len(gaps)))
    hours = np.cumsum(gaps)
    return [TrayWeighing(float(h), m) for h, m in zip(hours, masses, strict=True)]


@given(trays(), st.sampled_from(DryerKind), st.sampled_from([0.0001, 0.001, 0.01]))
@settings(max_examples=60, deadline=None)
def test_any_weighings_get_a_judgement_without_holes(
    weighings: list[TrayWeighing], dryer: DryerKind, step_kg: float
) -> None:
    judged = judge(weighings, step_kg, 1.3, 0.6, dryer=dryer)
    assert 0 <= judged.residual_water.low <= judged.residual_water.high <= 1
    assert 0 <= judged.still_to_lose_kg.low <= judged.still_to_lose_kg.high <= weighings[-1].net_kg
    assert judged.probability_dry is None or 0 <= judged.probability_dry <= 1 + 1e-9
    assert (judged.next_weighing_hours is None) == (judged.verdict is Verdict.DRY)
    if judged.verdict is Verdict.DRY:
        assert judged.probability_dry is not None
        assert judged.probability_dry >= 0.95
        assert len(weighings) > 1


@given(st.floats(2, 12), st.floats(0.5, 6))
@settings(max_examples=25, deadline=None)
def test_the_longer_the_weight_stays_flat_the_surer(hours: float, more: float) -> None:
    def probability(span: float) -> float:
        flat = [TrayWeighing(0.0, 0.555), TrayWeighing(span, 0.555)]
        return judge(flat, 0.001, 1.36, 0.6).probability_dry or 0.0

    assert probability(hours) <= probability(hours + more) + 1e-6


def after_losing(loss_kg: float) -> Dryness:
    """A tray of a kilogram and a third that lost this much in the last four hours."""
    points = [TrayWeighing(0.0, 0.555 + loss_kg), TrayWeighing(4.0, 0.555)]
    return judge(points, 0.001, 1.36, 0.6)


@given(st.floats(0.001, 0.02), st.floats(0.002, 0.02))
@settings(max_examples=25, deadline=None)
def test_a_tray_that_just_lost_more_is_less_surely_dry(lost: float, more: float) -> None:
    assert (after_losing(lost + more).probability_dry or 0.0) <= (
        after_losing(lost).probability_dry or 0.0
    )


@given(st.floats(0.04, 0.4))
@settings(max_examples=25, deadline=None)
def test_a_tray_that_lost_much_lately_is_never_called_dry(lost: float) -> None:
    """Beyond what the target allows only the mass balance speaks, and it is never that sure."""
    judged = after_losing(lost)
    assert judged.verdict is not Verdict.DRY
    assert (judged.probability_dry or 0.0) < 0.5
