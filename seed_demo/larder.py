"""The foods of this household by their number in the table, and where they come from."""

from dataclasses import dataclass

from app.ledger.operations.intake import SourceIn
from app.ledger.words import SourceKind
from app.science.classes import Form


@dataclass(frozen=True, slots=True)
class Fare:
    """What is taken in: its number in the table, how it is cut, what it may do to people."""

    ndb: str
    form: Form = Form.WHOLE
    allergens: frozenset[str] | None = None  # nobody asked


MOOSE_TRIM = Fare("17172", Form.PIECES)
MOOSE_ROAST = Fare("17172")
REINDEER = Fare("17162", Form.PIECES)
LAMB = Fare("17003")
LAMB_DICED = Fare("17003", Form.PIECES)
LAMB_MINCE = Fare("17224", Form.GROUND)
PORK_SHOULDER = Fare("10070")
PORK_LOIN = Fare("10020")
PORK_MINCE = Fare("10219", Form.GROUND)
BACK_FAT = Fare("10004")
HEN = Fare("05125")
LIVER = Fare("05027", Form.PIECES)
EGGS = Fare("01123", allergens=frozenset({"eggs"}))
TROUT = Fare("15114", allergens=frozenset({"fish:trout"}))
RABBIT = Fare("17177")

APPLES = Fare("09003")
PLUMS = Fare("09279")
STRAWBERRIES = Fare("09316")
RASPBERRIES = Fare("09302")
BLUEBERRIES = Fare("09050")

SWEETCORN = Fare("11167", Form.PIECES)
BEANS = Fare("11052", Form.PIECES)
PEAS = Fare("11304", Form.PIECES)
TOMATOES = Fare("11529")
SQUASH = Fare("11485")
ONIONS = Fare("11282")


def plot(name: str) -> SourceIn:
    """A bed or a tree of the smallholding."""
    return SourceIn(SourceKind.PLOT, name)


def animal(name: str, tag: str = "") -> SourceIn:
    """An animal of the farm."""
    return SourceIn(SourceKind.ANIMAL, name, tag)


GARDEN = plot("South bed")
POLYTUNNEL = plot("Polytunnel")
ORCHARD = plot("Old orchard")
BERRIES = plot("Berry rows")
HENHOUSE = animal("The hens")
POND = animal("The pond")
HUTCH = animal("The hutch")


def moose_share(year: int, *, with_lead: bool = False) -> SourceIn:
    """The household's share of the moose of an October."""
    tag = f"M-{year % 100:02d}17"
    return SourceIn(SourceKind.ANIMAL, "moose", tag, "The hunting team", taken_with_lead=with_lead)
