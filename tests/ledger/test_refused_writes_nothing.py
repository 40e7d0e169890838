"""Every refusal leaves the ledger as it was, to the byte of its dump."""

import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from app.ledger.book import Book
from app.ledger.climates import Warmth
from app.ledger.errors import NotFound, Refused
from app.ledger.operations.blanch import Blanch, blanch
from app.ledger.operations.blend import Blend, blend
from app.ledger.operations.check import Looked, check
from app.ledger.operations.chill import Chill, chill
from app.ledger.operations.climate import ChangeClimate, ReadingIn, SaidClimate, change_climate
from app.ledger.operations.cook import cook
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.drain import Drain, drain
from app.ledger.operations.first_day import AlreadyThere, FirstDay, Since, first_day
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.hold import PutOnHold, hold
from app.ledger.operations.incident import LotFate, WentWrong, went_wrong
from app.ledger.operations.intake import SourceIn, intake
from app.ledger.operations.leave import Leave, discard, eat, give
from app.ledger.operations.load import Load, load
from app.ledger.operations.measure import Measure, Value, measure
from app.ledger.operations.mix import Mix, MixPart, mix_lots
from app.ledger.operations.move import Move, move
from app.ledger.operations.open import Open, open_package
from app.ledger.operations.pack import pack
from app.ledger.operations.portion import Portion, portion
from app.ledger.operations.skim import Skim, skim
from app.ledger.operations.stocktake import Counted, FoundHere, Stocktake, stocktake
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
    SourceKind,
)
from app.science.safety.outage import outage_freezer
from app.science.safety.thawing import ThawWay
from tests.builders import (
    BEANS,
    BENCH,
    DEHYDRATOR,
    FREEZE_DRYER,
    FREEZER,
    FRIDGE,
    PANTRY,
    TODAY,
    G,
    a_cook,
    a_pack,
    a_tray,
    an_intake,
    bowl,
    do,
    evening,
    loaded,
    pouches,
    take_in,
)

TOMORROW = TODAY + timedelta(days=1)
NOW = evening(TODAY)
SHOP = SourceIn(SourceKind.SHOP, "Farm shop")
PACKETS = AlreadyThere("Beans", BEANS, Since(TODAY, TODAY), 2, 500 * G, "500", True, False)
NOWHERE, NOTHING = 99, StockRef(999, FRIDGE)
FAT_TEST = Value(ReadingKind.FAT, 0.1, MeasuredBy.FAT_TEST, "10 %")


@dataclass(frozen=True, slots=True)
class Larder:
    """Food that every request below starts from: 1 kg each, and a dryer at work."""

    meat: StockRef
    frozen: StockRef
    beans: StockRef
    drying: StockRef
    pouch: StockRef
    run_id: int


@pytest.fixture(scope="module")
def stocked(
    furnished_file: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Book, Larder]]:
    """One ledger for all requests, as none of them may change it."""
    path = tmp_path_factory.mktemp("stocked") / "stillroom.db"
    shutil.copy(furnished_file, path)
    book = Book(path)
    with book.writing() as session:
        pouch, *_ = pouches(session)
        beans = take_in(session, BEANS)
        drying = take_in(session, BEANS)
        larder = Larder(
            meat=take_in(session),
            frozen=take_in(session, place=FREEZER),
            beans=beans,
            drying=drying,
            pouch=pouch,
            run_id=loaded(session, a_tray(drying, 1000), place=DEHYDRATOR),
        )
    yield book, larder
    book.close()


def bad_grinds(has: Larder) -> Iterator[Grind]:
    def request(*parts: Part, made_g: int, place: int = FRIDGE) -> Grind:
        return Grind(parts, "Mince", made_g * G, place, TODAY)

    yield request(made_g=1)
    yield request(Part(NOTHING, 1), made_g=1)
    yield request(Part(has.meat, 1001 * G), made_g=1001)
    yield request(Part(has.meat, 1000 * G), made_g=999)
    yield request(Part(has.meat, 1000 * G), made_g=1001)
    yield request(Part(has.meat, 0), made_g=0)
    yield request(Part(has.meat, -5 * G), made_g=-5)
    yield request(Part(has.meat, 1000 * G), made_g=1000, place=NOWHERE)


def a_fridge_reading(temp_c: float) -> Looked:
    reading = ReadingIn(NOW, temp_c, typed=f"{temp_c} C")
    return Looked(CheckKind.THERMOMETER, Finding.FINE, TODAY, place_id=FRIDGE, reading=reading)


def a_climate(
    temp_c: float, *, months: int = 1, low_c: float = 3.0, days: int = 0
) -> tuple[SaidClimate, ...]:
    warmth = Warmth(low_c, temp_c, 6.0, 0.6)
    return (SaidClimate(NOW + timedelta(days=days), (warmth,) * months),)


def a_fate(ref: StockRef, fate: IncidentFate = IncidentFate.WORN) -> LotFate:
    return LotFate(ref, fate, (), since=TODAY)


def an_outage(ref: StockRef, begins: int, ends: int) -> WentWrong:
    verdict = outage_freezer("ground meat", False, 20.0).verdict
    return WentWrong(
        IncidentKind.POWER_OUT,
        TODAY,
        (LotFate(ref, IncidentFate.REFREEZE, (verdict,)),),
        place_id=FREEZER,
        from_at=NOW + timedelta(hours=begins),
        to_at=NOW + timedelta(hours=ends),
    )


BAD: list[tuple[Callable[..., Any], Callable[[Larder], Any]]] = [
    (intake, lambda has: an_intake(bowls=())),
    (intake, lambda has: an_intake(bowls=(bowl(100), bowl(-100)))),
    (intake, lambda has: an_intake(place=NOWHERE)),
    (intake, lambda has: an_intake(harvest=(TOMORROW, TOMORROW))),
    (intake, lambda has: an_intake("00000")),
    (intake, lambda has: an_intake(fat_fraction=2.0)),
    (thaw, lambda has: Thaw(has.meat, 1, ThawWay.REFRIGERATOR, FRIDGE, TODAY)),
    (thaw, lambda has: Thaw(has.frozen, 1000 * G, ThawWay.COUNTER, FRIDGE, TODAY)),
    (thaw, lambda has: Thaw(has.frozen, 1001 * G, ThawWay.REFRIGERATOR, FRIDGE, TODAY)),
    (thaw, lambda has: Thaw(has.frozen, 0, ThawWay.REFRIGERATOR, FRIDGE, TODAY)),
    (thaw, lambda has: Thaw(has.frozen, 9, ThawWay.REFRIGERATOR, NOWHERE, TODAY)),
    (thaw, lambda has: Thaw(NOTHING, 9, ThawWay.REFRIGERATOR, FRIDGE, TODAY)),
    (trim, lambda has: Trim(has.meat, 1000 * G, 900 * G, 99 * G, FRIDGE, TODAY)),
    (trim, lambda has: Trim(has.meat, -10, -10, 0, FRIDGE, TODAY)),
    (trim, lambda has: Trim(has.meat, 10, 20, -10, FRIDGE, TODAY)),
    *((grind, lambda has, n=n: list(bad_grinds(has))[n]) for n in range(8)),
    (blend, lambda has: Blend(has.meat, 9, has.beans, 0, "Mix", 9, FRIDGE, TODAY)),
    (blend, lambda has: Blend(has.meat, 9, NOTHING, 9, "Mix", 18, FRIDGE, TODAY)),
    (blend, lambda has: Blend(has.meat, 9, has.beans, 9, "Mix", 19, FRIDGE, TODAY)),
    (portion, lambda has: Portion(has.meat, 1001 * G, "Part", FRIDGE, TODAY)),
    (portion, lambda has: Portion(has.meat, 0, "Part", FRIDGE, TODAY)),
    (cook, lambda has: a_cook(has.meat, 1000, 1001)),
    (cook, lambda has: a_cook(has.meat, 1000, 10)),
    (cook, lambda has: a_cook(has.meat, 0, 0)),
    (cook, lambda has: a_cook(has.meat, -1, -1)),
    (cook, lambda has: a_cook(has.meat, 1001, 900)),
    (cook, lambda has: a_cook(has.meat, 100, 90, place_id=NOWHERE)),
    (cook, lambda has: a_cook(has.meat, 100, 90, done_on=TODAY - timedelta(days=1))),
    (chill, lambda has: Chill(has.meat, 1000 * G, 1000 * G, FRIDGE, TODAY)),
    (chill, lambda has: Chill(has.meat, 0, 0, FRIDGE, TODAY, reason="cold night")),
    (chill, lambda has: Chill(has.meat, 9, 0, FRIDGE, TODAY, reason="cold night")),
    (skim, lambda has: Skim(has.meat, 1000 * G, 1000 * G, FRIDGE, TODAY)),
    (skim, lambda has: Skim(has.meat, 0, 0, FRIDGE, TODAY)),
    (skim, lambda has: Skim(has.meat, 1001 * G, 5 * G, FRIDGE, TODAY)),
    (drain, lambda has: Drain(has.meat, 1000 * G, 900 * G, 99 * G, FRIDGE, TODAY)),
    (drain, lambda has: Drain(has.meat, 0, 0, 0, FRIDGE, TODAY)),
    (blanch, lambda has: Blanch(has.meat, 1000 * G, 950 * G, FRIDGE, TODAY)),
    (blanch, lambda has: Blanch(has.beans, 1001 * G, 950 * G, FRIDGE, TODAY)),
    (blanch, lambda has: Blanch(has.beans, 0, 0, FRIDGE, TODAY)),
    (load, lambda has: Load(FREEZE_DRYER, (), TODAY)),
    (load, lambda has: Load(FREEZE_DRYER, (a_tray(has.beans, 1001),), TODAY)),
    (load, lambda has: Load(FREEZE_DRYER, (a_tray(has.beans, -1),), TODAY)),
    (load, lambda has: Load(FREEZE_DRYER, (a_tray(NOTHING, 1),), TODAY)),
    (load, lambda has: Load(DEHYDRATOR, (a_tray(has.beans, 500),), TODAY)),
    (load, lambda has: Load(PANTRY, (a_tray(has.beans, 500),), TODAY)),
    (load, lambda has: Load(NOWHERE, (a_tray(has.beans, 500),), TODAY)),
    (unload, lambda has: Unload(has.run_id, (), BENCH, TODAY)),
    (unload, lambda has: Unload(99, (), BENCH, TODAY)),
    (unload, lambda has: Unload(has.run_id, (DryMade(has.drying.lot_id, 5),), NOWHERE, TODAY)),
    (unload, lambda has: Unload(has.run_id, (DryMade(has.drying.lot_id, 0),), BENCH, TODAY)),
    (pack, lambda has: a_pack(has.meat, 100)),
    (pack, lambda has: a_pack(has.meat)),
    (pack, lambda has: a_pack(has.meat, 600, 500, absorber_id=None)),
    (pack, lambda has: a_pack(has.meat, 100, packaging_id=NOWHERE)),
    (move, lambda has: Move((has.meat,), FRIDGE, TODAY)),
    (move, lambda has: Move((has.meat,), FREEZE_DRYER, TODAY)),
    (move, lambda has: Move((has.meat, has.beans), FREEZER, TODAY, mass_mg=5)),
    (move, lambda has: Move((has.meat,), NOWHERE, TODAY)),
    (move, lambda has: Move((), FREEZER, TODAY)),
    (open_package, lambda has: Open((has.meat,), TODAY)),
    (open_package, lambda has: Open((has.pouch,), TODAY)),  # packed tomorrow
    (eat, lambda has: Leave((), TODAY)),
    (eat, lambda has: Leave((has.meat,), TODAY, mass_mg=0)),
    (eat, lambda has: Leave((has.meat,), TODAY, mass_mg=1001 * G)),
    (eat, lambda has: Leave((has.meat, has.beans), TODAY, mass_mg=5)),
    (eat, lambda has: Leave((NOTHING,), TODAY)),
    (eat, lambda has: Leave((has.pouch,), TODAY)),  # packed tomorrow
    (give, lambda has: Leave((has.meat,), TODAY)),
    (discard, lambda has: Leave((has.meat,), TODAY)),
    (mix_lots, lambda has: Mix((MixPart(has.meat, 5),), "One", 5, FRIDGE, TODAY)),
    (mix_lots, lambda has: Mix((MixPart(has.meat, 5),) * 2, "More", 11, FRIDGE, TODAY)),
    (mix_lots, lambda has: Mix((MixPart(NOTHING, 5),) * 2, "None", 10, FRIDGE, TODAY)),
    (measure, lambda has: Measure(has.meat, (), TODAY)),
    (measure, lambda has: Measure(NOTHING, (FAT_TEST,), TODAY)),
    (hold, lambda has: PutOnHold((), HoldCause.RECALL, TODAY)),
    (hold, lambda has: PutOnHold((has.meat.lot_id, 999), HoldCause.RECALL, TODAY)),
    (hold, lambda has: PutOnHold((has.meat.lot_id,), HoldCause.OTHER, TODAY)),
    (check, lambda has: Looked(CheckKind.SEAL, Finding.FINE, TODAY, lot_id=999)),
    (check, lambda has: Looked(CheckKind.THERMOMETER, Finding.FINE, TODAY, place_id=NOWHERE)),
    (check, lambda has: a_fridge_reading(9.0)),
    (change_climate, lambda has: ChangeClimate(FRIDGE, TODAY)),
    (change_climate, lambda has: ChangeClimate(NOWHERE, TODAY, a_climate(4.0))),
    (change_climate, lambda has: ChangeClimate(FRIDGE, TODAY, a_climate(4.0, months=3))),
    (change_climate, lambda has: ChangeClimate(FRIDGE, TODAY, a_climate(4.0, low_c=5.0))),
    (change_climate, lambda has: ChangeClimate(FRIDGE, TOMORROW, a_climate(4.0, days=3))),
    (went_wrong, lambda has: WentWrong(IncidentKind.THAWED, TODAY, ())),
    (went_wrong, lambda has: WentWrong(IncidentKind.WORN, TODAY, (a_fate(NOTHING),))),
    (went_wrong, lambda has: an_outage(has.frozen, 3, -3)),
    (went_wrong, lambda has: an_outage(has.frozen, -3, 72)),
    (went_wrong, lambda has: an_outage(has.frozen, -30, -3)),  # too warm, and kept unasked
    (stocktake, lambda has: Stocktake(FRIDGE, (), TODAY)),
    (stocktake, lambda has: Stocktake(NOWHERE, (Counted(has.meat, 5),), TODAY, "spoilt")),
    (stocktake, lambda has: Stocktake(FRIDGE, (Counted(has.meat, 5 * G),), TODAY)),
    (stocktake, lambda has: Stocktake(FRIDGE, (Counted(has.meat, 5),) * 2, TODAY, "twice")),
    (stocktake, lambda has: Stocktake(FREEZER, (Counted(has.meat, 5),), TODAY, "elsewhere")),
    (stocktake, lambda has: Stocktake(FRIDGE, (Counted(has.meat, 1),), TODAY)),  # no reason
    (stocktake, lambda has: Stocktake(NOWHERE, (Counted(has.meat, 1),), TODAY, "gone")),
    (stocktake, lambda has: Stocktake(FRIDGE, (), TODAY, "why", "", (FoundHere(NOTHING),))),
    (first_day, lambda has: FirstDay((), FREEZER, SHOP, TODAY)),
    (first_day, lambda has: FirstDay((PACKETS, replace(PACKETS, mass_mg=0)), FREEZER, SHOP, TODAY)),
    (first_day, lambda has: FirstDay((PACKETS,), NOWHERE, SHOP, TODAY)),
    (correct, lambda has: Correct(99, TODAY)),
    (correct, lambda has: Correct(2, TODAY)),  # the cooking that the drying rests on
]


def dump(book: Book) -> list[str]:
    with closing(sqlite3.connect(book.path)) as connection:
        return list(connection.iterdump())


OPERATIONS = Path(__file__).resolve().parents[2] / "app" / "ledger" / "operations"


def test_every_use_case_is_refused_something_here() -> None:
    """All but those that move no mass, which have their own tests."""
    massless = {"weigh_back", "print_labels", "trial"}
    modules = {path.stem for path in OPERATIONS.glob("[a-z]*.py")} - massless
    assert {use_case.__module__.rpartition(".")[2] for use_case, _ in BAD} == modules


@pytest.mark.parametrize(
    "number", range(len(BAD)), ids=[f"{bad.__name__}-{n}" for n, (bad, _) in enumerate(BAD)]
)
def test_a_refusal_names_its_field_and_leaves_no_trace(
    stocked: tuple[Book, Larder], number: int
) -> None:
    book, larder = stocked
    use_case, make = BAD[number]
    before = dump(book)
    with pytest.raises((Refused, NotFound)) as caught, book.writing() as session:
        do(session, use_case, make(larder))
    assert dump(book) == before
    if isinstance(caught.value, Refused):
        assert all(problem.field for problem in caught.value.problems)
