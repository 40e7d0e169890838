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
SNYDER_1908 = Source(
    "Snyder, Human Foods and Their Nutritive Value", "The Macmillan Company", "1908"
)
BLANCHING_CHAPTER = Source("Handbook chapter on blanching, web copy", "unknown", "undated")
UF_DRIED_VEGETABLES = Source(
    "Reynolds, Using Dried Vegetables, FCS 8509",
    "University of Florida, Cooperative Extension Service",
    "undated",
)
MSU_DRIED_VEGETABLES = Source(
    "Preserving Food Safely: Using Dried Vegetables, 01600524",
    "Michigan State University Extension",
    "1997",
)
JFE_FREEZE_DRIED_FRUIT = Source(
    "Rehydration of freeze-dried fruit, Journal of Food Engineering 72:16-23", "Elsevier", "2006"
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
    "Thermophysical Processes in Food Refrigeration, G. Tchigeov", "publisher not noted", "1979"
)
FRICKE_BECKER_2001 = Source(
    "Evaluation of thermophysical property models for foods, B. A. Fricke and B. R. Becker, "
    "HVAC&R Research 7",
    "ASHRAE",
    "2001",
)
ASHRAE_FOODS = Source(
    "Handbook, Refrigeration, chapter Thermal Properties of Foods", "ASHRAE", "undated copy"
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
    "Freeze-drying of beef, paper by Y. Sagara and A. Hosokawa",
    "publisher not noted",
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
    "undated",
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
ISO_2533 = Source(
    "ISO 2533, Standard Atmosphere", "International Organization for Standardization", "1975"
)

# Storage life

HAYNES_1971 = Source(
    "J. D. Haynes, Worldwide virtual temperatures for product stability testing",
    "Journal of Pharmaceutical Sciences 60:927",
    "1971",
)
FDA_STORAGE = Source(
    "Food Storage Guidelines, questions and answers, FDA 00-2244",
    "US Food and Drug Administration, CFSAN",
    "2000, archived 2004",
)
FOODSAFETY_COLD = Source(
    "Cold Food Storage Chart",
    "FoodSafety.gov, US Department of Health and Human Services",
    "undated copy",
)
MSU_VENISON = Source(
    "Incoming venison, part 1, and Preserving Food Safely 01600806",
    "Michigan State University Extension",
    "1997 and undated",
)
NCHFP_FREEZER = Source(
    "Freezer Shelf Life of Foods",
    "National Center for Home Food Preservation, University of Georgia",
    "2005, rev. 2014",
)
NCHFP_DRIED = Source(
    "Packaging and Storing Dried Foods",
    "National Center for Home Food Preservation, University of Georgia",
    "undated copy",
)
USU_DRYNESS = Source(
    "Testing Foods for Dryness",
    "Utah State University Extension",
    "undated",
)
USU_APRICOTS = Source(
    "Food Storage: dried apricots",
    "Utah State University Extension",
    "undated",
)
USU_LONG_TERM = Source(
    "Guidance on long-term food storage, reposted by Utah State University",
    "church storage programme",
    "undated copy",
)
WYOMING_JERKY = Source(
    "Jerky: storage",
    "University of Wyoming Extension",
    "undated",
)
ILLINOIS_THAWED = Source(
    "Thawing and keeping meat",
    "University of Illinois Extension",
    "undated",
)
WFLO_MEATS = Source(
    "Commodity Storage Manual: Meats, Frozen",
    "World Food Logistics Organization",
    "rev. 2008",
)
POP_FATS = Source(
    "Effects of temperature and storage time on the quality of alimentary animal fats, F. "
    "Pop and others",
    "Technical University of Cluj-Napoca",
    "c. 2011, abstract",
)
BHATTACHARYA_1988 = Source(
    "Ground beef patties in polyethylene and under vacuum at three freezer temperatures, M. "
    "Bhattacharya, M. A. Hanna and others, J. Food Sci.",
    "Institute of Food Technologists",
    "c. 1988",
)
DASZKIEWICZ_2018 = Source(
    "Quality of vacuum-packed roe deer loin in frozen storage, T. Daszkiewicz and others, J. "
    "Food Quality",
    "Wiley-Hindawi",
    "2018",
)
PARK_2018 = Source(
    "Determination of shelf life model of pork cutlet and pork lard, J.-M. Park and others, "
    "Korean J. Food Sci. An. 38: 664",
    "Korean Society for Food Science of Animal Resources",
    "2018",
)
SHAHIDI_1992 = Source(
    "Relative oxidation rates of unsaturated fatty acids, F. Shahidi",
    "quoted copy",
    "1992",
)
ARMSTRONG_2002 = Source(
    "Oxygen tolerance of foods, D. Armstrong",
    "quoted table",
    "2002",
)
FITNESS_2020 = Source(
    "FitNESS online course on food packaging, units on permeation, F. Poças",
    "FitNESS, European Union project",
    "2020",
)
BARRIER_SHEETS = Source("Data sheets of barrier films, several makers", "trade", "undated")
BIOSYSTEMS_TABLE = Source(
    "Biosystems Engineering, table 11.2, permeability of films",
    "publisher not noted",
    "undated copy",
)
NELSON_LABUZA_1992 = Source(
    "Water activity and lipid oxidation, K. A. Nelson and T. P. Labuza, ACS Symposium Series 500",
    "American Chemical Society",
    "1992",
)
CARDELLI_LABUZA_2001 = Source(
    "Roasted coffee, oxygen and water activity, C. Cardelli and T. P. Labuza",
    "Academic Press",
    "2001",
)
ABSORBER_TYPES_2013 = Source(
    "Oxygen absorbers at low humidity, Int. J. Food Sci. Technol., doi 10.1111/ijfs.12100",
    "Wiley",
    "2013",
)
ABSORBER_REVIEW = Source(
    "Oxygen absorbers in food preservation: a review, J. Food Sci. Technol., PMC4375217",
    "Springer",
    "2015",
)
MORAGA_2006 = Source(
    "Water sorption isotherms of freeze-dried kiwifruit, G. Moraga and others",
    "Elsevier",
    "2006",
)
KIRANOUDIS_1993 = Source(
    "Water sorption isotherms of potato, C. T. Kiranoudis and others, constants as in Singh 1996",
    "Wiley",
    "1993",
)
BEUCHAT_1981 = Source(
    "Microbial stability as affected by water activity, L. R. Beuchat, table",
    "American Association of Cereal Chemists",
    "1981, quoted copy",
)
CFR_114 = Source(
    "21 CFR 114.3, acidified foods: definitions",
    "US Government",
    "current",
)
ICAO_ATMOSPHERE = Source(
    "Manual of the ICAO Standard Atmosphere, Doc 7488",
    "International Civil Aviation Organization",
    "1993",
)
BYU_LONG_TERM = Source(
    "Studies of long-stored low-moisture foods in cans, abstracts",
    "Brigham Young University",
    "undated abstracts",
)
RATION_CHART = Source(
    "Storage life of operational rations by temperature",
    "US Army Natick, quoted copy",
    "undated",
)

# Safety

_FSIS = "US Department of Agriculture, Food Safety and Inspection Service"
_CDC = "US Centers for Disease Control and Prevention"
_FDA = "US Food and Drug Administration"
_HHS = "US Department of Health and Human Services, FoodSafety.gov"

FSIS_COOKING_CHART = Source("Safe Minimum Internal Temperature Chart", _FSIS, "2012, copy")
FOODSAFETY_COOKING_CHART = Source("Safe Minimum Cooking Temperatures chart", _HHS, "undated, copy")
FOODSAFETY_LEFTOVERS = Source("Leftovers and food safety", _HHS, "undated")
FSIS_GAME = Source("Game from Farm to Table", _FSIS, "rev. 2011, copy")
MMWR_TRICHINELLA = Source(
    "Outbreak of Human Trichinellosis, 2022, Morbidity and Mortality Weekly Report 73(20)",
    _CDC,
    "2024",
)
HEALTH_CANADA_COOKING = Source("Safe cooking temperatures", "Health Canada", "2012 and 2024")
FSA_COOKING = Source("Cooking your food", "Food Standards Agency (UK)", "undated, copies")
FOOD_CODE_COOKING = Source("Food Code, section 3-401.11", _FDA, "undated, copies")
LYON_2000 = Source(
    "Color of cooked ground beef patties, B. Lyon and others, Journal of Food Protection 63:1389",
    "International Association for Food Protection",
    "2000",
)
MEAT_THERMOMETER = Source("Checking a thermometer in ice water", "meat industry leaflet", "copy")
STATE_FOOD_CODES_COOLING = Source(
    "Food Code, section 3-501.14, as adopted in 16 Delaware Administrative Code and Minnesota "
    "Rules 4626.0385",
    "States of Delaware and Minnesota",
    "2014 and 2024, copies",
)
FSIS_APPENDIX_B = Source(
    "Compliance Guidelines for Cooling Heat-Treated Meat and Poultry, Appendix B",
    _FSIS,
    "1999, rev. 2021, copies",
)
FSANZ_322 = Source(
    "Standard 3.2.2, Food Safety Practices", "Food Standards Australia New Zealand", "copy"
)
FSANZ_2_4 = Source("2-hour/4-hour rule", "Food Standards Australia New Zealand", "undated")
FOOD_CODE_HOLDING = Source("Food Code, section 3-501.16", _FDA, "copy")
FOOD_CODE_TIME = Source("Food Code, section 3-501.19", _FDA, "state copies")
FSIS_FREEZING = Source("Freezing and Food Safety, podcast script", _FSIS, "archived 2012, copy")
FSIS_TWO_HOURS = Source("Press release on food left out", _FSIS, "2016, copy")
USDA_THAWING = Source("Safe thawing, quoted in the press", "US Department of Agriculture", "copy")
WSU_THAWING = Source("Refreezing thawed food", "Washington State University Extension", "2011")
MSU_VACUUM_FISH = Source(
    "Thawing vacuum-packed fish", "Michigan State University Extension", "trade press copy"
)
CLEMSON_FISH = Source("Safe handling of fish", "Clemson Cooperative Extension", "undated")
FDA_POWER_OUTAGE = Source("Power outages and food", f"{_FDA} and {_FSIS}", "copies")
FOODSAFETY_FREEZER = Source(
    "Food Safety During Power Outage: frozen food", _HHS, "reviewed 2021, copies"
)
FOODSAFETY_FRIDGE = Source("Refrigerated Food and Power Outages", _HHS, "2010")
FOODSAFETY_FRIDGE_2024 = Source(
    "Food Safety During Power Outage: refrigerated food", _HHS, "2024, copies"
)
BAD_BUG_BOOK = Source("Bad Bug Book, factors affecting growth", _FDA, "1992, rev. 1999")
USU_STORAGE = Source(
    "Food storage booklet: dry foods sealed without oxygen",
    "Utah State University Extension",
    "reposted",
)
FOOD_CODE_ROP = Source(
    "Food Code, section 3-502.12(C), quoted", "Conference for Food Protection", "2018"
)
PENNSYLVANIA_46_402 = Source(
    "7 Pennsylvania Code 46.402, reduced oxygen packaging", "State of Pennsylvania", "current"
)
NCHFP_GARLIC = Source(
    "Garlic and vegetables in oil",
    "National Center for Home Food Preservation",
    "reviewed 2015",
)
HOME_CANNING = Source(
    "Complete Guide to Home Canning, Agriculture Information Bulletin No. 539",
    "US Department of Agriculture, National Institute of Food and Agriculture",
    "2009, rev. 2015",
)
FERMENTED_FOODS = Source(
    "Complete Guide to Home Canning, Guide 6: Preparing and Canning Fermented Foods and Pickled "
    "Vegetables",
    "US Department of Agriculture, National Institute of Food and Agriculture",
    "2009, rev. 2015",
)
CURING_AND_SMOKING = Source(
    "Curing and Smoking Meats for Home Food Preservation: Literature Review and Critical "
    "Preservation Points",
    "National Center for Home Food Preservation, University of Georgia",
    "undated",
)
HEALTH_CANADA_CANNING = Source(
    "Reminding Canadians of potential safety concerns with home canning",
    "Health Canada",
    "2012 and 2013, copies",
)
USU_VACUUM = Source("Vacuum sealing food", "Utah State University Extension", "undated")
FSIS_JERKY = Source("Jerky and Food Safety", _FSIS, "copy")
FSIS_JERKY_2004 = Source("Compliance Guideline for Meat and Poultry Jerky", _FSIS, "2004")
UMN_JERKY = Source(
    "Making jerky, quoting University of Wisconsin", "University of Minnesota Extension", "undated"
)
KSTATE_FREEZE_DRYING = Source("Freeze drying food", "Kansas State University", "2021")
IDAHO_FREEZE_DRYING = Source(
    "Column on home freeze-drying", "University of Idaho Extension", "2023"
)
HEPATITIS_A_BERRIES = Source(
    "Survival of hepatitis A virus on freeze-dried strawberries, Journal of Food Protection",
    "International Association for Food Protection",
    "2021, abstract copy",
)
CFR_318_10 = Source(
    "Former 9 CFR 318.10, pork and trichinae (removed 2018); also JAMA 155:1394 (1954)",
    "US Government; American Medical Association",
    "2000, copies",
)
IDAHO_1995 = Source("Trichinellosis from cougar jerky in Idaho", "quoted in the press", "1995")
CDC_CWD = Source("About Chronic Wasting Disease", _CDC, "2024, copy and older page")
CDC_HUNTERS = Source("Brucellosis: hunters", _CDC, "undated")
UTAH_TULARAEMIA = Source("Tularemia", "Utah Division of Wildlife Resources", "undated")
MINNESOTA_LEAD = Source(
    "Lead fragments in venison", "Minnesota Department of Natural Resources, by the press", "2008"
)
PENN_STATE_VENISON = Source(
    "Field care of venison", "Pennsylvania State University Extension", "2022"
)
FIELD_CARE_WEB = Source("Field care of game: 24 hours", "a web page, weak copy", "undated")
CFR_MIGRATORY = Source("50 CFR 20.40 and 20.43, migratory birds", "US Government", "copies")
FOOD_CODE_PARASITES = Source(
    "Food Code, section 3-402.11, as WAC 246-215-03425", "State of Washington", "2020"
)
FDA_HAZARDS = Source("Fish and Fishery Products Hazards and Controls Guidance", _FDA, "copy")
EU_FISH_FREEZING = Source(
    "Regulation (EC) 853/2004, fishery products: parasites", "European Union", "copy"
)
FDA_HISTAMINE = Source("Compliance Policy Guide 540.525, scombrotoxin", _FDA, "2024")
EU_1169 = Source(
    "Regulation (EU) 1169/2011, Annex II, in a summary of the University of Nebraska",
    "European Union",
    "2011, copy",
)
US_ALLERGENS = Source(
    "Food Allergen Labeling and Consumer Protection Act 2004 and FASTER Act 2021",
    "US Government",
    "2023, law notes",
)
ABSORBER_TRADE = Source("Oxygen absorber sheets and questions", "several traders", "undated")
OXYGEN_SCAVENGERS = Source("Article on oxygen scavengers", "a public encyclopedia", "copy")
IOWA_FREEZE_DRYING = Source("Freeze-drying", "Iowa State University Extension", "undated")

# How much a freezer holds
NCSU_FREEZER_SPACE = Source(
    "What is a basic measurement of freezer capacity?",
    "A. M. Fraser and C. J. Lackey, North Carolina State University",
    "2004",
)
EU_QUICK_FROZEN = Source(
    "Directive 89/108/EEC, quick-frozen foodstuffs, in the summary of EUR-Lex",
    "European Union",
    "1988, summary 2019",
)
