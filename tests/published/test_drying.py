"""Loads, weights and end points of a batch against published examples."""

import pytest

from app.science.classes import FoodClass, Form
from app.science.composition import Composition
from app.science.drying import (
    DryerKind,
    bulk_density,
    dry_mass_kg,
    energy_kwh,
    water_to_remove_kg,
)
from app.science.endpoint import endpoint_of_three, fit_endpoint
from app.science.vapour import latent_heat_sublimation_j_kg
from tests.published.row import Published

SR28 = "National Nutrient Database for Standard Reference, Release 28, USDA, 2015"
FNDDS = "Food and Nutrient Database for Dietary Studies, USDA, 2018, read in a copy"
PROBLEMS = "university problem set on drying, statement read in a copy, answer by arithmetic"
EXACT = "as many digits as printed"
APPLE = Composition(0.8667, 0.0027, 0.0013, 0.1276, 0.0017)
ONION = Composition(0.8911, 0.0110, 0.0010, 0.0934, 0.0035)


def by_hand(start: float, end: float) -> float:
    return (1 - end) / (1 - start)


ROWS = [
    (
        1 / dry_mass_kg(1.0, APPLE, (0.03, 0.03, 0.03), water_sd=0.0).central,
        Published(
            7.33, 0.37, SR28, "apple 86.67 % to dehydrated 3.00 %, by energy", "5 %, two crops"
        ),
    ),
    (
        water_to_remove_kg(
            1.0, Composition(0.75, 0.2, 0.03, 0.0, 0.01), (0.2, 0.2, 0.2), water_sd=0.0
        ).central,
        Published(0.6875, 1e-6, PROBLEMS, "75 % to 20 % wet basis, per kg", EXACT),
    ),
    (
        bulk_density(FoodClass.VEGETABLE, Form.PIECES).value,
        Published(128 / 0.2366, 2.0, FNDDS, "a cup of chopped carrot is 128 g", EXACT),
    ),
]


@pytest.mark.parametrize(("value", "published"), ROWS, ids=[row[1].where for row in ROWS])
def test_a_batch_agrees_with_print(value: float, published: Published) -> None:
    assert published.agrees(value), f"{value} is not {published.expected}"


def test_solids_of_dehydrated_onion_keep_their_proportions() -> None:
    # Dehydrated flakes hold 8.95 % protein and 83.28 % carbohydrate at 3.93 % water (SR28): ratio
    # 9.3; fresh onion 1.10 and 9.34: 8.5. Drying concentrates 8.8-fold.
    dry = dry_mass_kg(1.0, ONION, (0.0393, 0.0393, 0.0393), DryerKind.AIR, 0.0).central
    assert 1 / dry == pytest.approx(by_hand(0.8911, 0.0393), rel=1e-9)
    assert 1 / dry == pytest.approx(83.28 / 9.34, rel=0.05)


def test_energy_is_never_estimated_below_the_heat_of_sublimation() -> None:
    assert energy_kwh(1.0).low > latent_heat_sublimation_j_kg(-20.0) / 3.6e6


def test_the_fit_matches_an_independent_solution_of_the_same_weighings() -> None:
    """Six weighings, 1 g scale: variable projection with a dense search over the rate."""
    import numpy as np

    hours = np.arange(0.0, 11.0, 2.0)
    grams = np.array([820, 802, 792, 786.6, 783.6, 782.0])
    best = min(
        (
            float(np.linalg.lstsq(np.c_[np.ones(6), np.exp(-k * hours)], grams, rcond=None)[1][0]),
            k,
            float(np.linalg.lstsq(np.c_[np.ones(6), np.exp(-k * hours)], grams, rcond=None)[0][0]),
        )
        for k in np.linspace(0.2, 0.4, 401)
    )
    fitted = fit_endpoint(list(hours), list(grams / 1000), sd_kg=0.001)
    assert fitted.rate_per_hour == pytest.approx(best[1], abs=1e-3)
    assert 1000 * fitted.end_kg == pytest.approx(best[2], abs=0.02)
    assert fitted.sd_kg == pytest.approx(0.00127, rel=0.02)


def test_three_points_do_not_decide() -> None:
    end = endpoint_of_three(0.812, 0.796, 0.788, 2.0, sd_kg=0.001)
    assert end.end_kg == pytest.approx(0.780)
    assert end.sd_kg == pytest.approx(0.0057, abs=1e-4)
    assert end.rate_per_hour * 2.0 == pytest.approx(0.6931, abs=1e-4)
