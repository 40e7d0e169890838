"""Where numbers come from: evidence marks, the bibliography, and a number that carries both.

Each module of the science adds its publications to this ONE bibliography and cites them by
constant, so that the page of sources and docs/sources.md are generated, never kept by hand.
"""

from dataclasses import dataclass
from enum import StrEnum


class Evidence(StrEnum):
    """How a number was checked; the value is the phrase shown to people."""

    READ = "read in the source"
    COPY = "read in a copy or excerpt of the source"
    SECOND_HAND = "second-hand"
    TRADE = "trade data sheet"
    DERIVED = "computed from the sources named"
    COMMON_PRACTICE = "common practice, no source"
    JUDGEMENT = "our judgement"
    UNCHECKED = "from memory, unchecked"


@dataclass(frozen=True, slots=True)
class Source:
    """One publication: title, publisher, year as text ("2015", "1992, rev. 1999", "undated")."""

    title: str
    publisher: str
    year: str

    def __str__(self) -> str:
        """The citation as people read it."""
        return f"{self.title}, {self.publisher}, {self.year}"


@dataclass(frozen=True, slots=True)
class Sourced:
    """A number with its unit, its plausible range, where it comes from and how well we know it.

    low and high are read as the 10th and 90th percentile; both None where the source gives none.
    """

    value: float
    unit: str
    evidence: Evidence
    source: Source | None = None
    low: float | None = None
    high: float | None = None
    note: str = ""

    def __post_init__(self) -> None:
        """A range must enclose its value, and a published number must name its publication."""
        low, high = self.span
        if not low <= self.value <= high:
            raise ValueError(f"range {low:g} to {high:g} does not enclose {self.value:g}")
        published = {Evidence.READ, Evidence.COPY, Evidence.SECOND_HAND, Evidence.TRADE}
        if self.evidence in published and self.source is None:
            raise ValueError("a published number must name its source")

    @property
    def span(self) -> tuple[float, float]:
        """Low and high, falling back on the value itself."""
        low = self.value if self.low is None else self.low
        high = self.value if self.high is None else self.high
        return low, high


# ---------------------------------------------------------------------------------------------
# The bibliography: one constant per publication, in the order of the modules that cite them.
# Add below the heading of your subject.
# ---------------------------------------------------------------------------------------------

# Composition and yields

USDA_SR28 = Source(
    "National Nutrient Database for Standard Reference, Release 28",
    "US Department of Agriculture, Agricultural Research Service",
    "2015",
)
USDA_COOKING_YIELDS = Source(
    "Table of Cooking Yields for Meat and Poultry, Release 2",
    "US Department of Agriculture, Agricultural Research Service",
    "2014",
)
COFID_2015 = Source(
    "McCance and Widdowson's The Composition of Foods Integrated Dataset",
    "Public Health England",
    "2015",
)

# Drying, cooling and heating

MURPHY_KOOP_2005 = Source(
    "Review of the vapour pressures of ice and supercooled water for atmospheric applications, "
    "D. M. Murphy and T. Koop, Q. J. R. Meteorol. Soc. 131",
    "Royal Meteorological Society",
    "2005",
)
IAPWS_SR1 = Source(
    "Revised Supplementary Release on Saturation Properties of Ordinary Water Substance (SR1-86)",
    "International Association for the Properties of Water and Steam",
    "1992",
)
ISO_2533 = Source(
    "ISO 2533, Standard Atmosphere", "International Organization for Standardization", "1975"
)

# Storage life

# Safety
