"""Where food has been: stretches at one place and temperature, and how time there adds up."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise
from math import exp, log
from typing import TYPE_CHECKING

from app.science import sources as s
from app.science.constants import GAS_CONSTANT, ZERO_CELSIUS
from app.science.errors import OutOfRange, require
from app.science.frozen import WARMEST_CHILLED_C, WARMEST_FROZEN_C
from app.science.sources import Evidence, Sourced

KINETIC_ENERGY = Sourced(
    83_144.0,
    "J/mol",
    Evidence.SECOND_HAND,
    s.HAYNES_1971,
    low=60_000.0,
    high=100_000.0,
    note="the customary value; 60 to 100 kJ/mol hold for most solids and liquids",
)

if TYPE_CHECKING:
    from app.science.draws import Floats, Numbers


class Storage(StrEnum):
    """The kind of place."""

    FREEZER = "freezer"
    FRIDGE = "fridge"
    ROOM = "room"


class Condition(StrEnum):
    """What the place did to moist food, by its kind and its temperature."""

    FROZEN = "frozen"
    CHILLED = "chilled"
    WARM = "warm"


@dataclass(frozen=True, slots=True)
class Stay:
    """A stretch at one place, from start_day until the next stay begins; the last one goes on.

    start_day in days since day 0 of the food's window; temp_low_c and temp_high_c are the 10th and
    90th percentile of what the temperature may be; relative_humidity of the air outside, 0 to 1.
    """

    start_day: float
    storage: Storage
    temp_c: float
    temp_low_c: float | None = None
    temp_high_c: float | None = None
    relative_humidity: float = 0.55

    def __post_init__(self) -> None:
        """Refuse what no kitchen has."""
        require("start_day", self.start_day, -36_525.0, 36_525.0, "d")
        require("temp_c", self.temp_c, -40.0, 45.0, "°C")
        require("temp_low_c", self.low_c, -40.0, self.temp_c, "°C")
        require("temp_high_c", self.high_c, self.temp_c, 60.0, "°C")
        require("relative_humidity", self.relative_humidity, 0.0, 1.0)

    @property
    def low_c(self) -> float:
        """The low temperature, °C."""
        return self.temp_c if self.temp_low_c is None else self.temp_low_c

    @property
    def high_c(self) -> float:
        """The high temperature, °C."""
        return self.temp_c if self.temp_high_c is None else self.temp_high_c

    @property
    def condition(self) -> Condition:
        """A freezer that thawed is no freezer; a room is never taken for a refrigerator."""
        if self.storage is Storage.ROOM or self.temp_c > WARMEST_CHILLED_C:
            return Condition.WARM
        frozen = self.storage is Storage.FREEZER and self.temp_c <= WARMEST_FROZEN_C
        return Condition.FROZEN if frozen else Condition.CHILLED


def require_order(history: Sequence[Stay]) -> None:
    """Refuse an empty history or one whose stays do not follow one another.

    Args:
        history: stays, the earliest first.
    Raises:
        OutOfRange: none at all, or a stay that begins before the one ahead of it.
    """
    if not history:
        raise OutOfRange("number of stays", 0, 1, None)
    for before, after in pairwise(history):
        require("start_day", after.start_day, before.start_day, None, "d")


def since(history: Sequence[Stay], day: float) -> tuple[Stay, ...]:
    """The part of a history from a day on; the first stay is cut to begin there.

    Args:
        history: stays, the earliest first. day: days since day 0.
    Returns:
        Stays; a day before the history begins stretches its first stay back.
    Example:
        >>> stays = (Stay(0, Storage.ROOM, 21), Stay(10, Storage.ROOM, 15))
        >>> [(s.start_day, s.temp_c) for s in since(stays, 4)]
        [(4, 21), (10, 15)]
    """
    begun = sum(stay.start_day <= day for stay in history)
    current = max(begun - 1, 0)
    return (replace(history[current], start_day=day), *history[current + 1 :])


def mean_kinetic_c(temps_c: Sequence[float]) -> float:
    """The steady temperature that ages as much as these did, each for an equal time.

        T = (E/R) / −ln(Σ exp(−E/(R·Tᵢ)) / n), the mean kinetic temperature

    Args:
        temps_c: °C, at least one, such as the twelve months of a pantry.
    Returns:
        °C, between the mean and the warmest.
    Raises:
        OutOfRange: none at all.
    Validity: one activation energy stands for every way of ageing; near the mean where the months
        differ by few degrees, whatever the energy. Not meant for frozen food.
    Source: Haynes 1971 (second-hand).
    Example:
        >>> round(mean_kinetic_c([14.0, 24.0]), 1)
        20.3
    """
    if not temps_c:
        raise OutOfRange("number of temperatures", 0, 1, None)
    energy = KINETIC_ENERGY.value / GAS_CONSTANT.value
    rates = [exp(-energy / (temp_c + ZERO_CELSIUS.value)) for temp_c in temps_c]
    return energy / -log(sum(rates) / len(rates)) - ZERO_CELSIUS.value


def end_day(starts: Sequence["Numbers"], lives: Sequence["Floats"], used: "Numbers") -> "Floats":
    """The day on which the shares of life used at each place add up to one.

        used + Σ Δtᵢ/lifeᵢ = 1

    Args:
        starts: day on which each stay begins. lives: life at each stay, days, > 0.
        used: share used before the first, 0 to 1.
    Returns:
        Days, at the earliest the start of the first stay.
    Source: additive damage, as for time and temperature indicators (common practice).
    Example:
        >>> import numpy as np
        >>> end_day([0.0, 10.0], [np.array([20.0]), np.array([100.0])], 0.0).tolist()
        [60.0]
    """
    import numpy as np

    left: Numbers = 1.0 - used
    end: Floats = starts[0] + left * lives[0]
    for i in range(1, len(lives)):
        left = left - (starts[i] - starts[i - 1]) / lives[i - 1]
        end = np.where(left > 0, starts[i] + left * lives[i], end)
    return end
