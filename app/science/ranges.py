"""An estimate as people should see it: low, central, high."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Range:
    """A number that is not known better than this; low ≤ central ≤ high, one unit for all.

    low and high are read as the 10th and 90th percentile unless the function says otherwise.
    """

    low: float
    central: float
    high: float

    def __post_init__(self) -> None:
        """The order is a promise; NaN breaks it too."""
        if not self.low <= self.central <= self.high:
            raise ValueError(f"{self.low:g}, {self.central:g}, {self.high:g} is not a range")

    def __contains__(self, value: float) -> bool:
        """Does the range cover the value?"""
        return self.low <= value <= self.high

    def times(self, factor: float) -> "Range":
        """The same range in another amount or unit, factor ≥ 0."""
        return Range(self.low * factor, self.central * factor, self.high * factor)

    def plus(self, other: "Range") -> "Range":
        """Sum of two estimates that err together."""
        return Range(self.low + other.low, self.central + other.central, self.high + other.high)

    def at_least(self, floor: float) -> "Range":
        """The range with everything below a floor raised to it."""
        return Range(max(self.low, floor), max(self.central, floor), max(self.high, floor))


def spread_of(values: tuple[float, float, float]) -> Range:
    """The three values of a low, a central and a high case, whichever way they run."""
    return Range(*sorted(values))
