"""What the window model is asked and what it answers: a lot as kept, a window, or none and why."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from app.science.classes import DRIED, FoodClass, Form, Treatment
from app.science.composition import Composition, with_water
from app.science.draws import P10, P50, P90
from app.science.errors import require
from app.science.frozen import State
from app.science.history import Stay, require_order
from app.science.packaging import PACKAGINGS, PackagingKind, typical_area_m2, typical_geometry
from app.science.slow import YEAR_D
from app.science.sorption import (
    ACTIVITY_LIMIT,
    FRUIT_IN_AIR_LIMIT,
    LOW_ACID_ACTIVITY,
    MOISTURE_LIMIT,
    water_activity,
)
from app.science.sources import Sourced

if TYPE_CHECKING:
    from app.science.draws import Floats

HORIZON_D = 25 * YEAR_D
FATTEST = 0.6  # fat fraction up to which the oxidation model is argued, see decision 0001
HEATED = frozenset({Treatment.COOKED, Treatment.BLANCHED})
NOT_EVACUATED = 0.9  # of ambient pressure; a package above it counts as filled with air


class Limit(StrEnum):
    """The mode that ends a window first."""

    OXYGEN_INSIDE = "oxygen_inside"  # sealed in from the start, enough to spoil the taste
    OXYGEN_INGRESS = "oxygen_ingress"  # through film and seal
    ABSORBER_SPENT = "absorber_spent"  # the absorber is used up first, then ingress
    OXIDATION_RATE = "oxidation_rate"  # oxygen in plenty, the food's own rate
    SLOW_CHANGE = "slow_change"  # needs no oxygen
    MOISTURE_GAIN = "moisture_gain"
    AIR_LIFE = "air_life"  # produce: published keeping time in air
    OPENED = "opened"
    FREEZER_QUALITY = "freezer_quality"
    REFRIGERATOR = "refrigerator"


class NoWindowReason(StrEnum):
    """Why there is no window."""

    NOT_DRY_ENOUGH = "not_dry_enough"
    PERISHABLE_AT_ROOM = "perishable_at_room"
    REFRIGERATOR_TOO_WARM = "refrigerator_too_warm"
    TOO_FAT = "too_fat"  # nearly all fat: outside the oxidation model
    NOT_COVERED = "not_covered"  # no published time, no model


@dataclass(frozen=True, slots=True)
class Keeping:
    """One lot as it is kept: what it is, what it is packed in, where it has been.

    water_low and water_high: 10th and 90th percentile of a dried lot's water fraction. volume_m3
    and area_m2: None = typical for kind and mass. sealed_pressure_fraction: what evacuation left,
    of ambient. share_used: quality used before day 0, 0 to 1.
    """

    food_class: FoodClass
    form: Form
    treatments: frozenset[Treatment]
    composition: Composition
    water_low: float | None
    water_high: float | None
    net_mass_kg: float
    packaging: PackagingKind
    history: tuple[Stay, ...]
    volume_m3: float | None = None
    area_m2: float | None = None
    absorber_ml: float = 0.0
    absorber_self_activated: bool = True
    sealed_pressure_fraction: float = 1.0
    seal_checked: bool = False
    altitude_m: float = 0.0
    opened_day: float | None = None
    share_used: float = 0.0

    def __post_init__(self) -> None:
        """Every number within its range, NaN refused."""
        require("net_mass_kg", self.net_mass_kg, 0.001, 1000.0, "kg")
        require("water_low", self.driest, 0.0, self.composition.water, "kg/kg")
        require("water_high", self.wettest, self.composition.water, 1.0, "kg/kg")
        require("absorber_ml", self.absorber_ml, 0.0, 1e6, "mL")
        require("sealed_pressure_fraction", self.sealed_pressure_fraction, 0.0, 1.0)
        require("altitude_m", self.altitude_m, -450.0, 9000.0, "m")
        require("share_used", self.share_used, 0.0, 1.0)
        for name, value in (("volume_m3", self.volume_m3), ("area_m2", self.area_m2)):
            if value is not None:
                require(name, value, 1e-6, 100.0)
        if self.opened_day is not None:
            require("opened_day", self.opened_day, -36_525.0, 36_525.0, "d")
        require_order(self.history)

    @property
    def driest(self) -> float:
        """Dry end of the water fraction."""
        return self.composition.water if self.water_low is None else self.water_low

    @property
    def wettest(self) -> float:
        """Wet end of the water fraction."""
        return self.composition.water if self.water_high is None else self.water_high

    @property
    def is_dried(self) -> bool:
        """Dried, and not wetted again."""
        return bool(self.treatments & DRIED) and Treatment.REHYDRATED not in self.treatments

    @property
    def is_crisp(self) -> bool:
        """Freeze-dried food is meant to be crisp; air-dried may be leathery."""
        return Treatment.DRIED_FREEZE in self.treatments

    @property
    def size(self) -> tuple[float, float]:
        """Volume (m³) and surface (m²) of the package, typical ones where unknown."""
        volume = self.volume_m3
        if volume is None:
            volume = typical_geometry(self.packaging, min(self.net_mass_kg, 100.0)).volume_m3
        area = self.area_m2
        return volume, typical_area_m2(self.packaging, volume) if area is None else area

    @property
    def holds_air(self) -> bool:
        """Packed in ordinary air: no absorber, no vacuum."""
        return self.absorber_ml == 0.0 and self.sealed_pressure_fraction >= NOT_EVACUATED

    @property
    def barrier(self) -> bool:
        """Is the package a barrier to oxygen?"""
        return PACKAGINGS[self.packaging].is_oxygen_barrier


@dataclass(frozen=True, slots=True)
class Dryness:
    """The dryness gate of one dried lot, judged at the wet end of its range."""

    fat_free_moisture: float
    water_activity: float
    moisture_limit: Sourced
    activity_limit: Sourced | None

    @property
    def passes(self) -> bool:
        """Dry enough for a window at room temperature?"""
        if self.fat_free_moisture > self.moisture_limit.value:
            return False
        return self.activity_limit is None or self.water_activity <= self.activity_limit.value

    @property
    def is_wet(self) -> bool:
        """Too wet to count as dried at all."""
        return self.water_activity > LOW_ACID_ACTIVITY.value


def dryness(keeping: Keeping) -> Dryness:
    """The dryness gate: fat-free moisture and water activity at the wet end of the range.

    Fruit dried to the published 20 % for keeping in ordinary air has no activity limit here; with
    an absorber or under vacuum the strict limits hold for all food.

    Args:
        keeping: a dried lot.
    Returns:
        Dryness.
    Source: MOISTURE_LIMIT, ACTIVITY_LIMIT, FRUIT_IN_AIR_LIMIT in sorption.
    """
    composition = keeping.composition
    if keeping.wettest > composition.water:
        composition = with_water(composition, min(keeping.wettest, 0.999))
    solids = 1 - composition.water - composition.fat
    activity = water_activity(keeping.food_class, composition) if solids > 1e-3 else 1.0
    in_air = keeping.food_class is FoodClass.FRUIT and keeping.holds_air
    return Dryness(
        composition.fat_free_moisture,
        activity,
        FRUIT_IN_AIR_LIMIT if in_air else MOISTURE_LIMIT,
        None if in_air else ACTIVITY_LIMIT,
    )


def state_of(keeping: Keeping) -> State:
    """What freezer and refrigerator tables look this lot up by.

    Args:
        keeping: any lot.
    Returns:
        State; food dried, but wetter than the low-acid line, counts as moist food again.
    """
    return replace(
        moist_state(keeping.food_class, keeping.form, keeping.treatments),
        is_dried=keeping.is_dried,
        is_wet=keeping.is_dried and dryness(keeping).is_wet,
    )


def moist_state(food_class: FoodClass, form: Form, treatments: frozenset[Treatment]) -> State:
    """What the tables look moist food up by.

    Args:
        food_class: of the food. form: as it is now; what was ever ground counts as ground, unless
            it is a liquid. treatments: all that was done to it.
    """
    ground = Treatment.GROUND in treatments and form is not Form.LIQUID
    return State(
        food_class,
        Form.GROUND if ground else form,
        is_cooked=bool(treatments & HEATED),
        is_thawed=Treatment.THAWED in treatments,
    )


@dataclass(frozen=True, slots=True)
class Window:
    """When the quality of a lot ends: days after day 0, as 10th, 50th and 90th percentile.

    A date is about quality, never about safety. limit: what ends it most often, with its share;
    shares: of every mode, the largest first. is_fixed: a published limit in days, kept as it is.
    *_capped: the model says longer than the horizon of 25 years. used: the parameters it rests on.
    """

    early_days: float
    central_days: float
    late_days: float
    limit: Limit
    limit_share: float
    shares: tuple[tuple[Limit, float], ...]
    is_fixed: bool = False
    early_capped: bool = False
    central_capped: bool = False
    late_capped: bool = False
    used: tuple[Sourced, ...] = field(default=(), repr=False)


@dataclass(frozen=True, slots=True)
class NoWindow:
    """No window, and why; numbers holds what was compared with which limit, by name."""

    reason: NoWindowReason
    numbers: Mapping[str, float] = field(default_factory=dict)


def window_of(
    days: "Floats", shares: tuple[tuple[Limit, float], ...], used: tuple[Sourced, ...]
) -> Window:
    """Percentiles of the draws, cut at the horizon.

    Args:
        days: end of the window in every draw. shares: of the modes, the largest first.
        used: parameters behind it.
    Returns:
        Window.
    """
    import numpy as np

    ordered = np.partition(days, (P10, P50, P90))
    early, central, late = (float(ordered[rank]) for rank in (P10, P50, P90))
    return Window(
        min(early, HORIZON_D),
        min(central, HORIZON_D),
        min(late, HORIZON_D),
        *shares[0],
        shares,
        early_capped=early > HORIZON_D,
        central_capped=central > HORIZON_D,
        late_capped=late > HORIZON_D,
        used=used,
    )
