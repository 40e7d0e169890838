"""Cooling against textbook examples, published tables of roots and the published rule."""

from math import cos

import pytest

from app.science.conduction import (
    Substance,
    Surroundings,
    lumped_temperature_c,
    slab_centre_ratio,
    slab_hours,
    slab_root,
    time_constant_hours,
)
from app.science.cooling import (
    END_C,
    MIDDLE_C,
    STAGE_ONE_HOURS,
    START_C,
    TOTAL_HOURS,
    CoolingVerdict,
    foretell_cooling,
)
from tests.published.row import Published

GEANKOPLIS = "Geankoplis, Transport Processes and Unit Operations, 3rd edition, 1993, in a copy"
CENGEL = "Cengel, Heat and Mass Transfer, solutions manual, 2008, read in a copy"
SERIES = "Carslaw and Jaeger, Conduction of Heat in Solids, 1959, table of roots, from memory"
FOOD_CODE = "Food Code 2022, 3-501.14, US Food and Drug Administration, 2022"
ADVICE = "Cooling hot foods, health-district sheets, undated"
DIGITS = "as many digits as printed"
CHART = "read off a chart in print; the exact series differs by 4 %"

BALL_HOURS = time_constant_hours(7849 * 4.18879 * 0.0254**3, 460.6, 11.36, 12.56637 * 0.0254**2)
BEEF = Substance(0.498, 1073.0, 3480.0)
STEAK = Substance(0.45, 1200.0, 0.45 / (1200.0 * 0.91e-7))

ROWS = [
    (
        lumped_temperature_c(699.9, 394.3, 1.0, BALL_HOURS),
        Published(474.9, 0.5, GEANKOPLIS, "example 5.2-1, K", "three figures in the inputs"),
    ),
    (
        slab_hours(0.203, 37.8, 10.0, 1.7, 39.7, BEEF),
        Published(19.3, 0.8, GEANKOPLIS, "example 5.5-1, h", CHART),
    ),
    (slab_root(0.2)[0], Published(0.4328, 5e-5, CENGEL, "steak, root of Bi 0.2", DIGITS)),
    (slab_root(0.2)[1], Published(1.0311, 5e-5, CENGEL, "steak, coefficient of Bi 0.2", DIGITS)),
    (
        slab_hours(0.02, 25.0, -11.0 + 13.0 / cos(slab_root(0.2)[0]), -11.0, 9.0, STEAK) * 60,
        Published(93.1, 0.3, CENGEL, "steak, face from 25 to 2 °C, min", "one term in print"),
    ),
    (slab_root(1.0)[0], Published(0.8603, 5e-5, SERIES, "first root, Bi 1", DIGITS)),
    (slab_root(1.0)[1], Published(1.1191, 5e-5, SERIES, "first coefficient, Bi 1", DIGITS)),
    (slab_root(10.0)[0], Published(1.4289, 5e-5, SERIES, "first root, Bi 10", DIGITS)),
    (slab_root(10.0)[1], Published(1.2620, 5e-5, SERIES, "first coefficient, Bi 10", DIGITS)),
    (slab_root(1.0, 2)[0], Published(3.4256, 5e-5, SERIES, "second root, Bi 1", DIGITS)),
    (START_C.value, Published(57.0, 0.0, FOOD_CODE, "start", DIGITS)),
    (MIDDLE_C.value, Published(21.0, 0.0, FOOD_CODE, "end of the first stage", DIGITS)),
    (END_C.value, Published(5.0, 0.0, FOOD_CODE, "end", DIGITS)),
    (STAGE_ONE_HOURS.value, Published(2.0, 0.0, FOOD_CODE, "first limit, h", DIGITS)),
    (TOTAL_HOURS.value, Published(6.0, 0.0, FOOD_CODE, "whole limit, h", DIGITS)),
]


@pytest.mark.parametrize(("value", "published"), ROWS, ids=[row[1].where for row in ROWS])
def test_cooling_agrees_with_print(value: float, published: Published) -> None:
    assert published.agrees(value), f"{value} is not {published.expected}"


def test_the_slab_series_matches_a_finite_difference_solution() -> None:
    import numpy as np
    from scipy.integrate import solve_ivp

    half_m, h, cells = 0.025, 8.0, 100
    food = Substance(0.55, 1030.0, 3700.0)
    width = half_m / cells

    def rate(_: float, temp: np.ndarray) -> np.ndarray:
        inside = food.conductivity_w_mk * np.diff(temp) / width
        face = -temp[-1] / (1 / h + width / (2 * food.conductivity_w_mk))
        return np.diff(np.concatenate([[0.0], inside, [face]])) / (
            width * food.density_kg_m3 * food.specific_heat_j_kgk
        )

    run = solve_ivp(
        rate, (0, 4 * 3600), np.ones(cells), method="LSODA", lband=1, uband=1, rtol=1e-7
    )
    fourier = food.diffusivity_m2_s * 4 * 3600 / half_m**2
    ratio = slab_centre_ratio(h * half_m / food.conductivity_w_mk, fourier)
    assert ratio == pytest.approx(run.y[0, -1], rel=2e-3)


def test_the_advice_of_two_inches_holds_in_an_ice_bath_but_not_in_still_air() -> None:
    # The sheets say 2 inches or less (ADVICE); by conduction alone that needs more than still air.
    assert foretell_cooling(0.0508, 1.0, Surroundings.ICE_BATH).verdict is CoolingVerdict.PASS
    assert foretell_cooling(0.0508, 3.0, Surroundings.STILL_AIR).verdict is CoolingVerdict.FAIL
