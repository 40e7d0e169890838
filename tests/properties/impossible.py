"""A request of each kind of work that can never be right, whatever mass it is made with."""

import dataclasses
from collections.abc import Callable
from typing import Any

from app.ledger.operations.blanch import Blanch, blanch
from app.ledger.operations.blend import Blend, blend
from app.ledger.operations.check import Looked, check
from app.ledger.operations.chill import Chill, chill
from app.ledger.operations.climate import ChangeClimate, change_climate
from app.ledger.operations.cook import cook
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.drain import Drain, drain
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.hold import LiftHold, PutOnHold, hold, release
from app.ledger.operations.incident import LotFate, WentWrong, went_wrong
from app.ledger.operations.intake import intake
from app.ledger.operations.leave import Leave, discard, eat, give
from app.ledger.operations.load import Load, TrayLoaded, load
from app.ledger.operations.measure import Measure, Value, measure
from app.ledger.operations.move import Move, move
from app.ledger.operations.open import Open, open_package
from app.ledger.operations.pack import pack
from app.ledger.operations.portion import Portion, portion
from app.ledger.operations.skim import Skim, skim
from app.ledger.operations.stocktake import Counted, Stocktake, stocktake
from app.ledger.operations.thaw import Thaw, thaw
from app.ledger.operations.trim import Trim, trim
from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.stock import StockRef
from app.ledger.words import (
    CheckKind,
    Finding,
    HoldCause,
    IncidentFate,
    IncidentKind,
    MeasuredBy,
    ReadingKind,
    ReleaseCause,
)
from app.science.safety.thawing import ThawWay
from tests.builders import (
    BENCH,
    FREEZE_DRYER,
    FRIDGE,
    PANTRY,
    TODAY,
    G,
    a_cook,
    a_pack,
    an_intake,
    bowl,
)

NOT_THERE = StockRef(10_000, FRIDGE)
WHY = "written down by hand"
Bad = Callable[[StockRef, int], Any]  # row of stock, a mass that it has not: use-case and request

IMPOSSIBLE: dict[str, Bad] = {
    "intake": lambda _, mg: (
        intake,
        an_intake(bowls=(dataclasses.replace(bowl(0), gross_mg=-abs(mg)),)),
    ),
    "thaw": lambda ref, mg: (thaw, Thaw(ref, mg, ThawWay.REFRIGERATOR, FRIDGE, TODAY)),
    "trim": lambda ref, mg: (trim, Trim(ref, mg, mg, 0, FRIDGE, TODAY)),
    "grind": lambda ref, mg: (
        grind,
        Grind((Part(ref, mg),), "Mince", mg, FRIDGE, TODAY, reason=WHY),
    ),
    "blend": lambda ref, mg: (
        blend,
        Blend(ref, mg, NOT_THERE, 1, "Mix", mg, FRIDGE, TODAY, reason=WHY),
    ),
    "portion": lambda ref, mg: (portion, Portion(ref, mg, "Part", FRIDGE, TODAY, reason=WHY)),
    "cook": lambda ref, mg: (cook, a_cook(ref, 1, 1, mass_mg=mg, made_mg=mg, reason=WHY)),
    "chill": lambda ref, mg: (chill, Chill(ref, mg, mg, FRIDGE, TODAY, reason=WHY)),
    "skim": lambda ref, mg: (skim, Skim(ref, mg, 0, FRIDGE, TODAY)),
    "drain": lambda ref, mg: (drain, Drain(ref, mg, mg - 1, 1, FRIDGE, TODAY)),
    "blanch": lambda ref, mg: (blanch, Blanch(ref, mg, mg, FRIDGE, TODAY)),
    "load": lambda ref, mg: (
        load,
        Load(FREEZE_DRYER, (TrayLoaded(ref, mg + G, "", G, ""),), TODAY, reason=WHY),
    ),
    "unload": lambda ref, mg: (
        unload,
        Unload(10_000, (DryMade(ref.lot_id, mg),), BENCH, TODAY),
    ),
    "pack": lambda ref, mg: (
        pack,
        dataclasses.replace(a_pack(ref, 1), net_mg=(mg,), done_on=TODAY),
    ),
    "move": lambda ref, mg: (move, Move((ref,), PANTRY, TODAY, mass_mg=mg, reason=WHY)),
    "open": lambda ref, _: (
        open_package,
        Open((dataclasses.replace(ref, package_id=None),), TODAY),
    ),
    "measure": lambda ref, _: (
        measure,
        Measure(ref, (Value(ReadingKind.FAT, 1.5, MeasuredBy.PANEL, "150"),), TODAY),
    ),
    "eat": lambda ref, mg: (eat, Leave((ref,), TODAY, mass_mg=mg)),
    "give": lambda ref, mg: (give, Leave((ref,), TODAY, mass_mg=mg, words="Morag")),
    "discard": lambda ref, mg: (discard, Leave((ref,), TODAY, mass_mg=mg, words="mould")),
    "correct": lambda _, __: (correct, Correct(10_000, TODAY, WHY)),
    "hold": lambda ref, _: (hold, PutOnHold((ref.lot_id, 10_000), HoldCause.RECALL, TODAY)),
    "release": lambda _, __: (release, LiftHold((10_000,), ReleaseCause.OTHER, TODAY, WHY)),
    "incident": lambda ref, _: (
        went_wrong,
        WentWrong(
            IncidentKind.LEFT_OUT,
            TODAY,
            (LotFate(ref, IncidentFate.KEEP, ()), LotFate(NOT_THERE, IncidentFate.DISCARD, ())),
        ),
    ),
    "check": lambda _, __: (check, Looked(CheckKind.SEAL, Finding.FINE, TODAY, 10_000)),
    "climate": lambda ref, _: (change_climate, ChangeClimate(ref.place_id, TODAY)),
    "stocktake": lambda ref, mg: (
        stocktake,
        Stocktake(ref.place_id, (Counted(ref, mg), Counted(ref, 0)), TODAY, "nobody knows"),
    ),
}
