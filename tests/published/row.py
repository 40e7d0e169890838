"""One row of outside evidence: what a publication says, and how close we must come to it."""

from dataclasses import dataclass
from math import isclose


@dataclass(frozen=True, slots=True)
class Published:
    """A published number, the tolerance its source justifies, where it stands, and why."""

    expected: float
    tolerance: float  # absolute, in the unit of the value
    source: str  # title, publisher, year
    where: str  # table, example, equation
    why_tolerance: str

    def agrees(self, value: float) -> bool:
        """Is the computed value within the tolerance of the published one?"""
        return isclose(value, self.expected, rel_tol=0.0, abs_tol=self.tolerance)

    def lies_within(self, low: float, high: float) -> bool:
        """Does the published number lie within a range of ours? The range is the tolerance."""
        return low <= self.expected <= high
