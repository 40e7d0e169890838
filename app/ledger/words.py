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
    HOLD = "hold"
    RELEASE = "release"
    INCIDENT = "incident"  # something went wrong
    CHECK = "check"  # a look that was due
    CLIMATE = "climate"  # how warm and damp a place is, from when on
    STOCKTAKE = "stocktake"


class LossKind(StrEnum):
    """Where mass went that did not become a lot."""

    TRIM = "trim"
    DRIP = "drip"
    EVAPORATED = "evaporated"
    SKIMMED = "skimmed"
    SPILLED = "spilled"
    STUCK = "stuck"
    UNEXPLAINED = "unexplained"
    MISSING = "missing"  # a stocktake did not find it
    EATEN = "eaten"
    GIVEN = "given"
    DISCARDED = "discarded"
    REVERSED = "reversed"


class AdditionKind(StrEnum):
    """Where mass came from that was no lot before."""

    INTAKE = "intake"
    WATER = "water"
    SEASONING = "seasoning"
    FOUND = "found"  # a stocktake found more than the ledger had
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
        return self is PlaceKind.FREEZE_DRYER or self is PlaceKind.DEHYDRATOR


#: What loading starts a run in.
DRYERS = tuple(kind for kind in PlaceKind if kind.is_dryer)


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


class ClimateBasis(StrEnum):
    """How the climate of a place is known."""

    STATED = "stated"
    LOGGED = "logged"


class Mark(StrEnum):
    """What travels with food beside raw, allergens and age; a cooking may end the second."""

    LEAD = "lead"  # taken with lead, or nobody knows that it was not
    PARASITE = "parasite"  # a wild meat-eater: only heat ends it


class Ammunition(StrEnum):
    """What an animal was taken with."""

    LEAD = "lead"
    LEAD_FREE = "lead_free"
    NOT_SHOT = "not_shot"
    UNKNOWN = "unknown"


class HoldCause(StrEnum):
    """Why a lot is not to be eaten, given or mixed for now."""

    TEST_AWAITED = "test_awaited"
    TEST_POSITIVE = "test_positive"
    LOOKED_SICK = "looked_sick"
    SEAL_FAILED = "seal_failed"
    RECALL = "recall"
    LOOK_FIRST = "look_first"  # somebody has to look at it
    OTHER = "other"

    @property
    def can_be_released(self) -> bool:
        """A disease that was found is not released; only a wrong entry is taken back."""
        return self not in (HoldCause.TEST_POSITIVE, HoldCause.LOOKED_SICK)


class ReleaseCause(StrEnum):
    """Why a hold was lifted."""

    NOT_DETECTED = "not_detected"
    LOOKED_FINE = "looked_fine"
    OTHER = "other"


class IncidentKind(StrEnum):
    """What can go wrong with stored food."""

    POWER_OUT = "power_out"  # no power, or a freezer or refrigerator failed
    DOOR_OPEN = "door_open"
    THAWED = "thawed"  # by mistake
    LEFT_OUT = "left_out"
    KEPT_WARM = "kept_warm"
    SEAL_FAILED = "seal_failed"  # a seal that leaks, a pouch gone loose, a lid that came up
    ABSORBER_SPENT = "absorber_spent"  # hard, or hot when it was put in
    FREEZER_BURN = "freezer_burn"
    WORN = "worn"  # looks, smells or tastes stale

    @property
    def is_of_place(self) -> bool:
        """Does it happen to everything at a place?"""
        return self in (IncidentKind.POWER_OUT, IncidentKind.DOOR_OPEN)


class IncidentFate(StrEnum):
    """What becomes of one lot after something went wrong."""

    REFREEZE = "refreeze"
    KEEP = "keep"
    LOOK = "look"  # nobody knows yet: on hold until somebody looked
    USE_NOW = "use_now"  # eat or cook it now
    OPENED = "opened"  # counts as an opened package
    WORN = "worn"  # past its best from that day
    DISCARD = "discard"


class CheckKind(StrEnum):
    """Looks that come due."""

    SEAL = "seal"  # absorber and seal, a day after packing
    THERMOMETER = "thermometer"  # of a freezer or refrigerator
    LOOK = "look"  # a yearly look at what is stored for years


class Finding(StrEnum):
    """What a look found."""

    FINE = "fine"
    NOT_FINE = "not_fine"
