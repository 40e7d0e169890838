from collections.abc import Sequence

import pytest

from app.science.drying import DryerKind
from app.science.dryness import Dryness, Reason, TrayWeighing, Verdict, judge
from app.science.endpoint import endpoint_of_three, fit_endpoint, water_by_balance
from app.science.errors import Impossible, OutOfRange


def tray(
    *points: tuple[float, float],
    loaded_g: float = 1360.0,
    water: float = 0.60,
    step_g: float = 1.0,
    target: float | None = None,
    dryer: DryerKind = DryerKind.FREEZE,
) -> Dryness:
    weighings = [TrayWeighing(hours, grams / 1000) for hours, grams in points]
    return judge(weighings, step_g / 1000, loaded_g / 1000, water, target_water=target, dryer=dryer)


def test_one_weighing_can_say_wet_but_never_dry() -> None:
    wet = tray((0, 800))
    assert (wet.verdict, wet.reason) == (Verdict.NOT_YET, Reason.WET_BY_BALANCE)
    near = tray((0, 560))
    assert (near.verdict, near.reason) == (Verdict.CANNOT_TELL, Reason.ONE_WEIGHING)
    assert near.probability_dry is None
    assert near.by_weighings is None
    assert near.residual_water.high - near.residual_water.low > 0.05


def test_two_weighings_soon_after_each_other_decide_nothing_and_hours_apart_they_do() -> None:
    soon, later = tray((0, 560), (0.5, 560)), tray((0, 560), (6, 560))
    assert soon.verdict is Verdict.CANNOT_TELL
    assert later.verdict is Verdict.DRY
    assert soon.probability_dry is not None
    assert later.probability_dry is not None
    assert soon.probability_dry < later.probability_dry
    assert later.next_weighing_hours is None


def test_a_tray_that_still_loses_is_not_dry_yet() -> None:
    losing = tray((0, 620), (2, 590), (4, 572))
    assert (losing.verdict, losing.reason) == (Verdict.NOT_YET, Reason.STILL_LOSING)
    assert losing.still_to_lose_kg.central > 0
    assert losing.next_weighing_hours is not None
    assert 1.0 <= losing.next_weighing_hours <= 12.0


def test_many_weighings_find_the_end_mass() -> None:
    points = zip(range(0, 11, 2), (820, 802, 792, 786.6, 783.6, 782), strict=True)
    found = tray(*points, loaded_g=1950.0, water=0.605)
    assert found.end_kg.low < 0.780 < found.end_kg.high + 0.0005
    assert found.rate_per_hour == pytest.approx(0.30, abs=0.03)
    assert found.verdict is Verdict.DRY
    assert found.weighings_used == 6


def test_a_steady_fall_is_not_fitted_by_an_exponential() -> None:
    steady = tray((0, 900), (2, 800), (4, 700), (6, 600))
    assert (steady.verdict, steady.reason) == (Verdict.NOT_YET, Reason.STILL_LOSING)
    assert steady.by_weighings is None
    assert steady.residual_water == steady.by_balance


def test_the_fit_forgets_the_stage_of_steady_loss() -> None:
    masses = (1200, 1000, 800, 650, 590, 565, 556, 553, 552, 552)
    whole = tray(*zip(range(0, 20, 2), masses, strict=True))
    assert whole.verdict is Verdict.DRY
    assert whole.weighings_used < 10


def test_a_flat_weight_far_above_the_solids_is_a_contradiction() -> None:
    heavy = tray((0, 700), (4, 700), (8, 700))
    assert (heavy.verdict, heavy.reason) == (Verdict.CANNOT_TELL, Reason.EVIDENCE_DISAGREES)
    assert heavy.probability_dry is None
    assert heavy.residual_water.high > 0.15


def test_witnesses_who_disagree_but_both_say_wet_make_it_wet() -> None:
    early = tray((0, 1300), (1, 1200), (2, 1150))
    assert early.verdict is Verdict.NOT_YET


def test_weeks_between_weighings_do_not_break_the_arithmetic() -> None:
    assert tray((0, 700), (2000, 555)).residual_water.high < 0.05
    assert tray((0, 700), (9000, 700)).reason is Reason.EVIDENCE_DISAGREES


def test_a_box_has_a_target_that_its_air_can_reach() -> None:
    strips = ((0.0, 180.0), (2.0, 172.0), (4.0, 170.0), (6.0, 169.5))
    assert tray(*strips, loaded_g=600, water=0.74, dryer=DryerKind.AIR).verdict is Verdict.DRY


def test_less_mass_than_solids_is_a_contradiction() -> None:
    assert tray((0, 400)).reason is Reason.EVIDENCE_DISAGREES
    assert tray((0, 400), (6, 400)).verdict is Verdict.CANNOT_TELL


def test_a_tray_that_gained_is_not_judged() -> None:
    assert tray((0, 560), (3, 560), (6, 566)).reason is Reason.GAINED_WEIGHT


def test_a_target_below_what_a_flat_weight_proves_is_said_to_be_too_low() -> None:
    flat = tray((0, 560), (6, 560), (12, 560), target=0.01)
    assert (flat.verdict, flat.reason) == (Verdict.CANNOT_TELL, Reason.TARGET_TOO_LOW)


def test_a_coarse_scale_is_less_sure() -> None:
    fine, coarse = tray((0, 560), (6, 560)), tray((0, 560), (6, 560), step_g=10.0)
    assert coarse.verdict is Verdict.CANNOT_TELL
    assert fine.residual_water.high < coarse.residual_water.high


def test_slices_from_warm_air_are_judged_by_their_own_target() -> None:
    strips = ((0.0, 190.0), (2.0, 180.0), (4.0, 174.0), (6.0, 171.0))
    jerky = tray(*strips, loaded_g=600, water=0.74, target=0.20, dryer=DryerKind.AIR)
    assert jerky.verdict is Verdict.DRY
    brittle = tray(*strips, loaded_g=600, water=0.74, target=0.04, dryer=DryerKind.AIR)
    assert brittle.verdict is not Verdict.DRY


@pytest.mark.parametrize(
    "points",
    [
        (),
        ((1.0, 560.0), (0.0, 560.0)),
        ((0.0, 0.0),),
        ((0.0, 5000.0),),
        ((0.0, float("nan")),),
        ((float("nan"), 560.0),),
    ],
)
def test_weighings_that_cannot_be_true_are_refused(points: Sequence[tuple[float, float]]) -> None:
    with pytest.raises(OutOfRange):
        tray(*points)


def test_mass_balance_alone_cannot_certify_three_percent() -> None:
    water, sd = water_by_balance(1.36, 0.60, 0.560, 0.008)  # solids known to 2 %
    assert water == pytest.approx(0.0286, abs=1e-4)
    assert sd == pytest.approx(0.0194, abs=1e-4)


def test_weights_that_do_not_bend_have_no_end_point() -> None:
    with pytest.raises(Impossible):
        endpoint_of_three(0.8, 0.7, 0.6, 1.0)
    with pytest.raises(Impossible):
        fit_endpoint([0, 1, 2], [3.0, 2.0, 1.5])
