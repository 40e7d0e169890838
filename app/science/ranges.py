"""An estimate is a range: low, central and high, never a single number."""

from dataclasses import dataclass

from app.science.errors import Impossible


@dataclass(frozen=True, slots=True)
class Range:
    """Low, central and high value of one estimate, read as 10th, 50th and 90th percentile."""

    low: float
    central: float
    high: float

    def __post_init__(self) -> None:
        """The three stand in order and are numbers."""
        if not self.low <= self.central <= self.high:
            raise Impossible(f"not a range: {self.low}, {self.central}, {self.high}")

    def __add__(self, other: "Range") -> "Range":
        """Sum of two estimates that err together."""
        return Range(self.low + other.low, self.central + other.central, self.high + other.high)

    def scaled(self, factor: float) -> "Range":
        """The range times a positive factor."""
        return Range(self.low * factor, self.central * factor, self.high * factor)

    def at_least(self, floor: float) -> "Range":
        """The range with everything below a floor raised to it."""
        return Range(max(self.low, floor), max(self.central, floor), max(self.high, floor))


def exactly(value: float) -> Range:
    """A range without width."""
    return Range(value, value, value)


def spread_of(values: tuple[float, float, float]) -> Range:
    """The three values of a low, a central and a high case, whichever way they run."""
    low, central, high = sorted(values)
    return Range(low, central, high)
