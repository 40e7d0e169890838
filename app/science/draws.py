"""The fixed set of quasi-random draws that every window shares.

One table for all lots, packages and shelves: a better choice is compared with a worse one draw by
draw, so that chance can never reverse them, and the same lot always gets the same window.
"""

from enum import IntEnum, auto
from functools import cache
from math import log
from statistics import NormalDist
from typing import TYPE_CHECKING

from app.science.sources import Sourced

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]
    Numbers = float | NDArray[float64]

BITS = 10
COUNT = 1 << BITS
P10, P50, P90 = COUNT // 10, COUNT // 2, COUNT - 1 - COUNT // 10  # ranks of the sorted draws

Z90 = NormalDist().inv_cdf(0.9)

# Joe and Kuo 2008: primitive polynomial (leading and trailing bit included) and first odd numbers
# of each dimension after the first.
_DIRECTIONS: tuple[tuple[int, tuple[int, ...]], ...] = (
    (3, (1,)),
    (7, (1, 3)),
    (11, (1, 3, 1)),
    (13, (1, 1, 1)),
    (19, (1, 1, 3, 3)),
    (25, (1, 3, 5, 13)),
    (37, (1, 1, 5, 5, 17)),
    (41, (1, 1, 5, 5, 5)),
    (47, (1, 1, 7, 11, 19)),
    (55, (1, 1, 5, 1, 1)),
    (59, (1, 1, 1, 3, 11)),
    (61, (1, 3, 5, 5, 31)),
    (67, (1, 3, 3, 9, 7, 49)),
    (91, (1, 1, 1, 15, 21, 21)),
    (97, (1, 3, 1, 13, 27, 49)),
    (103, (1, 1, 1, 15, 7, 5)),
    (109, (1, 3, 1, 15, 13, 25)),
    (115, (1, 1, 5, 5, 19, 61)),
)


class Axis(IntEnum):
    """Which unknown a dimension of the draws stands for, the strongest ones first."""

    SEAL = 0
    SLOW_LIFE = auto()
    TOLERANCE = auto()
    FAT_REFERENCE = auto()
    RATE = auto()
    PIGMENT_SHARE = auto()
    SLOW_Q10 = auto()
    POROSITY = auto()
    RESERVE = auto()
    OXYGEN_FILM = auto()
    WATER_FILM = auto()
    WATER = auto()
    TEMPERATURE = auto()
    SPECIES = auto()
    ACTIVATION = auto()
    OXYGEN_HALF = auto()
    RATING = auto()
    HALVING = auto()
    MONOLAYER = auto()


def directions(axis: int) -> tuple[int, ...]:
    """The BITS direction integers of one dimension of a Sobol sequence.

    Args:
        axis: dimension, 0 to len(Axis) - 1.
    Returns:
        Integers below 2**BITS, the most significant bit first.
    Source: Joe and Kuo 2008, the recurrence of section 2.
    Example:
        >>> directions(0)[:3]
        (512, 256, 128)
    """
    if axis == 0:
        return tuple(1 << (BITS - 1 - i) for i in range(BITS))
    polynomial, odd = _DIRECTIONS[axis - 1]
    degree = polynomial.bit_length() - 1
    numbers = list(odd)
    for i in range(degree, BITS):
        number = numbers[i - degree] ^ (numbers[i - degree] << degree)
        for step in range(1, degree):
            if polynomial >> (degree - step) & 1:
                number ^= numbers[i - step] << step
        numbers.append(number)
    return tuple(numbers[i] << (BITS - 1 - i) for i in range(BITS))


@cache
def scores() -> "Floats":
    """Standard normal scores of the draws, one row for each Axis, COUNT columns, read-only.

    The first COUNT points of a Sobol sequence visit every one of COUNT cells exactly once in each
    dimension; each is moved to the middle of its cell and through the normal quantile.

    Returns:
        Array of shape (len(Axis), COUNT).
    Source: Joe and Kuo 2008.
    """
    import numpy as np

    quantile = np.array([NormalDist().inv_cdf((k + 0.5) / COUNT) for k in range(COUNT)])
    index = np.arange(COUNT)
    rows = []
    for axis in Axis:
        cell = np.zeros(COUNT, dtype=np.int64)
        for bit, direction in enumerate(directions(axis)):
            cell ^= np.where(index >> bit & 1, direction, 0)
        rows.append(quantile[cell])
    table = np.array(rows)
    table.setflags(write=False)
    return table


def spread(parameter: Sourced, score: "Floats") -> "Floats":
    """Draws of a positive parameter: log-normal on either side of its central value.

    Args:
        parameter: value > 0 with low and high, read as 10th and 90th percentile.
        score: a row of scores(), or zeros for the central value.
    Returns:
        As many values as scores, median = parameter.value, rising with the score.
    Source: our judgement (low and high read as percentiles).
    """
    import numpy as np

    low, high = parameter.span
    below = log(parameter.value / low) / Z90
    above = log(high / parameter.value) / Z90
    draws: Floats = parameter.value * np.exp(score * np.where(score < 0, below, above))
    return draws


def two_sided(score: "Floats") -> tuple["Floats", "Floats"]:
    """Scores in units of the distance from P50 to P10 (≤ 0) and to P90 (≥ 0).

    central + (central - low)·first + (high - central)·second has low, central and high as its
    10th, 50th and 90th percentile.

    Args:
        score: a row of scores().
    Returns:
        Two arrays.
    """
    import numpy as np

    return np.minimum(score / Z90, 0.0), np.maximum(score / Z90, 0.0)
