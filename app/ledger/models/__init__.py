"""The tables of the ledger."""

from app.ledger.models.base import Base
from app.ledger.models.cautions import (
    CheckDone,
    GameStory,
    Hold,
    Incident,
    IncidentLot,
    Release,
)
from app.ledger.models.climates import Climate, LoggerFile, PlaceReading
from app.ledger.models.derived import Estimate, LabelPrint, Stock
from app.ledger.models.devices import Device, PairingCode
from app.ledger.models.household import Absorber, Bowl, Household, Packaging, Person, Place
from app.ledger.models.lots import Lot, LotAllergen, LotMark, LotTreatment, Package, Source
from app.ledger.models.operations import (
    Addition,
    Balance,
    Checkpoint,
    Entry,
    Flow,
    Loss,
    Operation,
    PostingKey,
    Reading,
    Weighing,
)
from app.ledger.models.runs import Run, RunEnd, Tray, TrayWeighing
from app.ledger.models.trials import SoakingDone, Trial

__all__ = [
    "Absorber",
    "Addition",
    "Balance",
    "Base",
    "Bowl",
    "CheckDone",
    "Checkpoint",
    "Climate",
    "Device",
    "Entry",
    "Estimate",
    "Flow",
    "GameStory",
    "Hold",
    "Household",
    "Incident",
    "IncidentLot",
    "LabelPrint",
    "LoggerFile",
    "Loss",
    "Lot",
    "LotAllergen",
    "LotMark",
    "LotTreatment",
    "Operation",
    "Package",
    "Packaging",
    "PairingCode",
    "Person",
    "Place",
    "PlaceReading",
    "PostingKey",
    "Reading",
    "Release",
    "Run",
    "RunEnd",
    "SoakingDone",
    "Source",
    "Stock",
    "Tray",
    "TrayWeighing",
    "Trial",
    "Weighing",
]
