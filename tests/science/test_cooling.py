import pytest

from app.science.conduction import (
    STEW,
    Surroundings,
    lumped_hours,
    lumped_temperature_c,
    slab_centre_ratio,
    slab_hours,
    time_constant_hours,
)
from app.science.cooling import (
    CoolingVerdict,
    foretell_cooling,
    hours_between,
    longest_time_constants_hours,
)
from app.science.errors import Impossible, OutOfRange

PASS, FAIL = CoolingVerdict.PASS, CoolingVerdict.FAIL
UNKNOWN = CoolingVerdict.CANNOT_TELL


@pytest.mark.parametrize(
    "readings",
    [
        [(1, 60), (0, 50)],
        [(0, 60), (0, 50)],
        [(0, float("nan"))],
        [(float("inf"), 20)],
        [(0, 140)],  # degrees Fahrenheit typed as Celsius
    ],
)
def test_a_record_that_cannot_be_true_is_refused(readings: list[tuple[float, float]]) -> None:
    with pytest.raises(OutOfRange):
        hours_between(readings)


def test_time_in_the_warm_band_counts_straight_lines_and_whole_stretches() -> None:
    hours = hours_between([(0, 67), (1, 47), (2, 30), (3, 30), (4, 5)], 5, 57)
    assert hours.central == pytest.approx(3.5)
    assert (hours.low, hours.high) == (3.0, 4.0)
    assert hours_between([(0, 3), (5, 4)]).high == 0.0
    assert hours_between([(0, 20), (5, 20)]).central == 5.0


def test_at_three_degrees_both_stages_ask_the_same_of_a_pot() -> None:
    one, two = longest_time_constants_hours(3.0)
    assert one == pytest.approx(two, rel=1e-12)
    assert one == pytest.approx(1.8205, abs=1e-4)
    assert longest_time_constants_hours(4.0) == pytest.approx((1.76, 1.41), abs=0.005)


def test_a_refrigerator_at_five_degrees_never_finishes() -> None:
    with pytest.raises(Impossible):
        longest_time_constants_hours(5.0)
    assert slab_hours(0.02, 57.0, 5.0, 5.0, 8.0) == float("inf")
    assert foretell_cooling(0.02, 6.0).verdict is FAIL


@pytest.mark.parametrize(
    ("depth_m", "h", "air_c", "first", "second"),
    # our own series at another time, kept to notice a change
    [(0.020, 8, 3, 1.56, 3.05), (0.050, 8, 3, 4.28, 8.17), (0.030, 15, 3, 1.39, 2.65)],
)
def test_a_pan_cools_as_worked_out_before(
    depth_m: float, h: float, air_c: float, first: float, second: float
) -> None:
    one = slab_hours(depth_m, 57.0, 21.0, air_c, h)
    whole = slab_hours(depth_m, 57.0, 5.0, air_c, h)
    assert one == pytest.approx(first, rel=0.02)
    assert whole - one == pytest.approx(second, rel=0.02)


def test_an_ice_bath_saves_what_the_refrigerator_cannot() -> None:
    assert foretell_cooling(0.05, 3.0).verdict is FAIL
    assert foretell_cooling(0.05, 1.0, Surroundings.ICE_BATH).verdict is PASS
    assert foretell_cooling(0.025, 3.0).verdict is UNKNOWN


def test_a_stirred_pot_and_a_thin_slab_agree() -> None:
    pot = time_constant_hours(1.030, STEW.specific_heat_j_kgk, 8.0, 1.0)  # 1 mm thick, one side
    assert slab_hours(0.002, 57.0, 21.0, 3.0, 8.0) == pytest.approx(
        lumped_hours(57.0, 21.0, 3.0, pot), rel=0.01
    )
    assert lumped_temperature_c(
        57.0, 3.0, lumped_hours(57.0, 21.0, 3.0, pot), pot
    ) == pytest.approx(21)


def test_a_base_that_insulates_doubles_the_depth() -> None:
    assert slab_hours(0.02, 57, 21, 3, 8, both_faces=False) == pytest.approx(
        slab_hours(0.04, 57, 21, 3, 8)
    )


def test_the_series_starts_at_one() -> None:
    assert slab_centre_ratio(1.0, 0.01) == pytest.approx(1.0, abs=1e-3)
    with pytest.raises(OutOfRange):
        slab_centre_ratio(1.0, 0.0)
