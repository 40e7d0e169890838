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
CODATA_2018 = Source(
    "CODATA Recommended Values of the Fundamental Physical Constants: 2018",
    "National Institute of Standards and Technology",
    "2019",
)
IAPWS_R10 = Source(
    "Equation of State 2006 for H2O Ice Ih (R10-06)",
    "International Association for the Properties of Water and Steam",
    "2009",
)
CHOI_OKOS_1986 = Source(
    "Effects of temperature and composition on the thermal properties of foods, Y. Choi and "
    "M. R. Okos, Food Engineering and Process Applications 1",
    "Elsevier",
    "1986",
)
CHEN_1985 = Source(
    "Thermodynamic analysis of the freezing and thawing of foods: enthalpy and apparent specific "
    "heat, C. S. Chen, J. Food Sci. 50",
    "Institute of Food Technologists",
    "1985",
)
TCHIGEOV_1979 = Source(
    "Thermophysical Processes in Food Refrigeration, G. Tchigeov", "Moscow", "1979"
)
FRICKE_BECKER_2001 = Source(
    "Evaluation of thermophysical property models for foods, B. A. Fricke and B. R. Becker, "
    "HVAC&R Research 7",
    "ASHRAE",
    "2001",
)
ASHRAE_FOODS = Source(
    "Handbook, Refrigeration, chapter Thermal Properties of Foods", "ASHRAE", "2006"
)
ASHRAE_FUNDAMENTALS = Source("Handbook, Fundamentals, chapter Psychrometrics", "ASHRAE", "2017")
PHAM_1984 = Source(
    "An extension to Plank's equation for predicting freezing times of foodstuffs of simple "
    "shape, Q. T. Pham, Int. J. Refrigeration 7",
    "International Institute of Refrigeration",
    "1984",
)
PHAM_1986 = Source(
    "Simplified equation for predicting the freezing time of foodstuffs, Q. T. Pham, "
    "J. Food Technology 21",
    "Institute of Food Science and Technology",
    "1986",
)
GEANKOPLIS_1993 = Source(
    "Transport Processes and Unit Operations, 3rd edition, C. J. Geankoplis",
    "Prentice Hall",
    "1993",
)
FOOD_CODE_COOLING = Source(
    "Food Code 2022, 3-501.14 Cooling", "US Food and Drug Administration", "2022"
)
COFFEE_FREEZE_DRYING = Source(
    "Freeze-drying, encyclopedia article with the worked example Sublimation temperature",
    "copy at an educational site",
    "undated",
)
SAGARA_HOSOKAWA_1976 = Source(
    "Freeze-drying of beef: permeability and thermal conductivity of the dried layer, Y. Sagara "
    "and A. Hosokawa",
    "University of Tokyo",
    "1976",
)
MINCED_BEEF_THESIS = Source(
    "Heat and mass transfer properties of the dried layer of minced beef, thesis abstract",
    "Bogor Agricultural University",
    "undated",
)
SKIM_MILK_MODEL = Source(
    "Public model of the freeze-drying of skim milk on trays", "open model library", "undated"
)
REALE_2023 = Source(
    "Freeze-drying of fruit slices at a shelf temperature of 40 °C, S. Reale, R. M. Torrez "
    "Irigoyen and S. A. Giner",
    "abstract",
    "2023",
)
FNDDS_DENSITY = Source(
    "Food and Nutrient Database for Dietary Studies, portions by volume",
    "US Department of Agriculture, Agricultural Research Service",
    "2018",
)
DOYMAZ_2007 = Source(
    "Air-drying characteristics of tomatoes, I. Doymaz, J. Food Engineering 78", "Elsevier", "2007"
)
HOT_AIR_ABSTRACTS = Source(
    "Abstracts on thin-layer drying of beef, apple, mango, carrot and tomato",
    "several",
    "1998-2020",
)
BERK_2018 = Source(
    "Food Process Engineering and Technology, 3rd edition, Z. Berk", "Academic Press", "2018"
)
FSIS_APPENDIX_A = Source(
    "Compliance Guidelines for Meeting Lethality Performance Standards, Appendix A",
    "US Department of Agriculture, Food Safety and Inspection Service",
    "1999",
)
GROUND_MEAT_MANUAL = Source(
    "Food handler manual, times and temperatures of ground meat",
    "a county health department",
    "undated",
)
FAO_STERILISATION = Source(
    "Manual on canned fish, worked example of the trapezoid sum",
    "Food and Agriculture Organization",
    "1980s",
)
DAIRY_SCIENCE_LETHALITY = Source(
    "Lethal rate, worked example, dairyscience.info", "Dairy Science and Food Technology", "undated"
)
ISO_2533 = Source(
    "ISO 2533, Standard Atmosphere", "International Organization for Standardization", "1975"
)

# Storage life

# Safety
