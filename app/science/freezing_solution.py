"""Freezing and thawing of a slab by the heat equation, where short equations fall short."""

from math import inf
from typing import TYPE_CHECKING

from app.science.composition import Composition
from app.science.constants import SECONDS_PER_HOUR
from app.science.errors import Impossible, require
from app.science.freezing import MEAT_FREEZING_C
from app.science.thermal import (
    ENTHALPY_ZERO_C,
    FUSION_HEAT_FOOD,
    bound_water,
    conductivity_w_mk,
    density_kg_m3,
    enthalpy_j_kg,
    ice_fraction_chen,
    specific_heat_unfrozen_j_kgk,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

_CELLS = 25


def slab_solution_hours(
    composition: Composition,
    thickness_m: float,
    start_c: float,
    air_c: float,
    centre_c: float,
    h_w_m2k: float,
    freezing_c: float = MEAT_FREEZING_C,
    horizon_hours: float = 2000.0,
) -> float:
    """Time until the centre of a slab passes a temperature, by the heat equation with ice.

    Enthalpy in 25 cells of the half thickness, integrated with an implicit method.

    Args:
        composition: the food. thickness_m: full thickness, both faces, m, 0.001 to 0.5.
        start_c: uniform, °C. air_c: °C. centre_c: °C, between the two. h_w_m2k: W/(m² K).
        freezing_c: temperature of first ice, °C. horizon_hours: give up after this.
    Returns:
        Hours; infinite when not reached within the horizon.
    Raises:
        OutOfRange: outside the ranges. Impossible: centre_c not between start and air.
    Validity: wide slab; a compact piece takes about a third of the time (our judgement).
    Source: heat equation; properties of thermal.py.
    """
    from scipy.integrate import solve_ivp

    require("thickness_m", thickness_m, 0.001, 0.5, "m")
    for name, value in (("start_c", start_c), ("air_c", air_c)):
        require(name, value, -39.0, 60.0, "°C")
    if not min(start_c, air_c) < centre_c < max(start_c, air_c):
        raise Impossible("the centre ends between its start and the surroundings", air_c)
    slab = _Slab(composition, thickness_m / 2, air_c, h_w_m2k, freezing_c)
    target = enthalpy_j_kg(composition, centre_c, freezing_c)

    def at_centre(_: float, enthalpy: "NDArray") -> float:  # type: ignore[type-arg]
        return float(enthalpy[0] - target)

    at_centre.terminal = True  # type: ignore[attr-defined]
    solved = solve_ivp(
        slab.rate,
        (0.0, horizon_hours * SECONDS_PER_HOUR),
        [enthalpy_j_kg(composition, start_c, freezing_c)] * _CELLS,
        method="LSODA",
        events=at_centre,
        lband=1,
        uband=1,
        rtol=1e-6,  # with less, the fourth figure depends on the processor's linear algebra
        atol=1.0,
    )
    events = solved.t_events[0]
    return float(events[0]) / SECONDS_PER_HOUR if len(events) else inf


class _Slab:
    """Half a slab in equal cells: rate of enthalpy, J/(kg s), from the enthalpies."""

    def __init__(
        self, composition: Composition, half_m: float, air_c: float, h: float, freezing_c: float
    ) -> None:
        """Tabulate the conductivity, which is slow to compute."""
        import numpy as np

        self.grid = np.concatenate([np.linspace(-40, -8, 33), np.linspace(-7.9, 60, 340)])
        self.conductivity = np.array(
            [
                conductivity_w_mk(
                    composition, float(t), ice_fraction_chen(composition, float(t), freezing_c)
                ).central
                for t in self.grid
            ]
        )
        self.width_m = half_m / _CELLS
        self.air_c, self.h, self.freezing_c = air_c, h, freezing_c
        self.density = density_kg_m3(composition, 0.0)
        self.unfrozen = specific_heat_unfrozen_j_kgk(composition.solids)
        self.frozen = 1550.0 + 1260.0 * composition.solids
        self.latent = (composition.water - bound_water(composition)) * FUSION_HEAT_FOOD.value
        self.at_freezing = enthalpy_j_kg(composition, freezing_c, freezing_c)

    def temperature(self, enthalpy: "NDArray") -> "NDArray":  # type: ignore[type-arg]
        """Inverse of enthalpy_j_kg: a quadratic below the freezing point."""
        import numpy as np

        zero = ENTHALPY_ZERO_C
        latent = self.latent * self.freezing_c / zero
        b = latent + self.frozen * zero + np.minimum(enthalpy, self.at_freezing)
        root = np.sqrt(np.maximum(b**2 - 4 * self.frozen * latent * zero, 0.0))
        frozen = (b - root) / (2 * self.frozen)
        above = self.freezing_c + (enthalpy - self.at_freezing) / self.unfrozen
        return np.where(enthalpy < self.at_freezing, frozen, above)

    def rate(self, _: float, enthalpy: "NDArray") -> "NDArray":  # type: ignore[type-arg]
        """Conduction between cells, symmetry at the centre, transfer to the air at the face."""
        import numpy as np

        temp = self.temperature(enthalpy)
        k = np.interp(temp, self.grid, self.conductivity)
        between = 2 * k[:-1] * k[1:] / (k[:-1] + k[1:]) * np.diff(temp) / self.width_m
        face = (self.air_c - temp[-1]) / (1 / self.h + self.width_m / (2 * k[-1]))
        flux = np.concatenate([[0.0], between, [face]])
        return np.diff(flux) / (self.width_m * self.density)
