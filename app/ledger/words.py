"""The closed vocabularies of the ledger; docs/vocabulary.md says what each word means."""

from enum import StrEnum


class OperationKind(StrEnum):
    """Every piece of work that the ledger records."""

    INTAKE = "intake"
    THAW = "thaw"
    TRIM = "trim"
    GRIND = "grind"
    BLEND = "blend"
    PORTION = "portion"
    COOK = "cook"
    CHILL = "chill"
    SKIM = "skim"
    DRAIN = "drain"
    BLANCH = "blanch"
    LOAD = "load"
    UNLOAD = "unload"
    PACK = "pack"
    MOVE = "move"
    OPEN = "open"
    MEASURE = "measure"
    EAT = "eat"
    GIVE = "give"
    DISCARD = "discard"
    CORRECT = "correct"


class LossKind(StrEnum):
    """Where mass went that did not become a lot."""

    TRIM = "trim"
    DRIP = "drip"
    EVAPORATED = "evaporated"
    SKIMMED = "skimmed"
    SPILLED = "spilled"
    STUCK = "stuck"
    UNEXPLAINED = "unexplained"
    EATEN = "eaten"
    GIVEN = "given"
    DISCARDED = "discarded"
    REVERSED = "reversed"


class AdditionKind(StrEnum):
    """Where mass came from that was no lot before."""

    INTAKE = "intake"
    WATER = "water"
    SEASONING = "seasoning"
    REVERSED = "reversed"


class PlaceKind(StrEnum):
    """What sort of place food is kept in."""

    FREEZER = "freezer"
    FRIDGE = "fridge"
    ROOM = "room"  # shelf, pantry, cellar
    BENCH = "bench"  # kitchen counter, stove: work in progress
    FREEZE_DRYER = "freeze_dryer"
    DEHYDRATOR = "dehydrator"

    @property
    def is_dryer(self) -> bool:
        """Does loading it start a run?"""
        return self in (PlaceKind.FREEZE_DRYER, PlaceKind.DEHYDRATOR)


class SourceKind(StrEnum):
    """What an intake came from."""

    ANIMAL = "animal"
    PLOT = "plot"
    SHOP = "shop"
    GIFT = "gift"
    UNKNOWN = "unknown"


class CompositionBasis(StrEnum):
    """How the composition of a lot is known."""

    TABLE = "table"
    COMPUTED = "computed"
    MEASURED = "measured"


class Presence(StrEnum):
    """Contains an allergen, or may contain it from shared equipment."""

    CONTAINS = "contains"
    MAY_CONTAIN = "may_contain"


class ReadingKind(StrEnum):
    """What a reading measured."""

    CENTRE = "centre"  # centre temperature at the end of cooking, °C
    COOLING = "cooling"  # temperature at hours since the end of cooking, °C
    WATER = "water"  # water fraction, kg/kg
    FAT = "fat"  # fat fraction, kg/kg
    PROTEIN = "protein"  # protein fraction, kg/kg
    CARBOHYDRATE = "carbohydrate"  # carbohydrate fraction, fibre included, kg/kg
    SALT = "salt"  # salt fraction, kg/kg: part of the ash


class MeasuredBy(StrEnum):
    """How a reading of a lot's make-up was taken."""

    METER = "meter"
    OVEN = "oven"
    PANEL = "panel"
    FAT_TEST = "fat_test"


class UnitSystem(StrEnum):
    """The units a household reads first."""

    METRIC = "metric"
    US = "us"
