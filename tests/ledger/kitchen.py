"""A small true ledger for the tests of checks and archive: made by the use-cases, then broken."""

from datetime import UTC, date, datetime
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger import schema
from app.ledger.book import Book
from app.ledger.climates import Warmth
from app.ledger.game import GameIn
from app.ledger.holds import active_holds
from app.ledger.models import Absorber, Household, Packaging, Person, Place, Stock
from app.ledger.operations._post import BowlWeighed, Posted
from app.ledger.operations.check import Looked, check
from app.ledger.operations.climate import (
    ChangeClimate,
    LoggerIn,
    ReadingIn,
    SaidClimate,
    change_climate,
)
from app.ledger.operations.cook import Centre, Cook, CookMethod, cook
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.hold import LiftHold, PutOnHold, hold, release
from app.ledger.operations.incident import LotFate, WentWrong, went_wrong
from app.ledger.operations.intake import Intake, SourceIn, intake
from app.ledger.operations.leave import Leave, eat
from app.ledger.operations.load import Load, TrayLoaded, load
from app.ledger.operations.pack import Pack, pack
from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.operations.weigh_back import WeighBack, weigh_back
from app.ledger.stock import StockRef, ref_of
from app.ledger.temperatures import Typed
from app.ledger.words import (
    Ammunition,
    CheckKind,
    Finding,
    HoldCause,
    IncidentFate,
    IncidentKind,
    ReleaseCause,
    SourceKind,
)
from app.science.classes import Form

MOOSE, PORK, CELERY, BOAR = "17172", "10219", "11143", "17158"
FREEZER, FRIDGE, BENCH, PANTRY, DRYER = 1, 2, 3, 4, 5
JAR = 1
GRAM = 1000


def at(day: int, hour: int = 18) -> datetime:
    """An evening of November."""
    return datetime(2025, 11, day, hour, tzinfo=UTC)


def furnish(session: Session) -> None:
    """The household, its places and what it packs in."""
    session.add(
        Household(
            id=1,
            name="Birkbrae",
            units="metric",
            altitude_m=310.0,
            time_zone="Europe/London",
            rule_set="uk",
            scale_step_mg=GRAM,
            label_width_mm=100.0,
            label_height_mm=62.0,
            label_printer_dpi=203,
            created_at=at(1),
        )
    )
    session.add(Person(id=1, name="Ailsa"))
    places = (
        (FREEZER, "Chest freezer", "freezer", -18.0),
        (FRIDGE, "Fridge", "fridge", 4.0),
        (BENCH, "Kitchen", "bench", 18.0),
        (PANTRY, "Pantry", "room", 15.0),
        (DRYER, "Freeze-dryer", "freeze_dryer", 20.0),
    )
    for number, name, kind, temp_c in places:
        session.add(
            Place(
                id=number,
                name=name,
                kind=kind,
                temp_low_c=temp_c - 2.0,
                temp_c=temp_c,
                temp_high_c=temp_c + 2.0,
                relative_humidity=0.6,
                tray_count=4 if number == DRYER else None,
                tray_area_m2=0.1 if number == DRYER else None,
            )
        )
    session.add(Packaging(id=JAR, name="Jar, 1 l", kind="glass_jar", volume_ml=1000.0))
    session.add(Absorber(id=1, name="300", rating_ml=300.0, is_self_activated=True))
    session.flush()


def take_in(
    session: Session,
    name: str,
    food_ndb: str,
    mass_g: int,
    *,
    harvest: tuple[date, date] | None = None,
    allergens: frozenset[str] = frozenset(),
    note: str = "",
) -> Posted:
    """One bowl of food, into the fridge, on the second of November."""
    bowl = BowlWeighed("blue bowl", (mass_g + 300) * GRAM, f"{mass_g + 300} g", 300 * GRAM, "300 g")
    request = Intake(
        name=name,
        food_ndb=food_ndb,
        form=Form.PIECES,
        source=SourceIn(SourceKind.GIFT, "moose share"),
        bowls=(bowl,),
        place_id=FRIDGE,
        done_on=date(2025, 11, 2),
        harvest=harvest,
        allergens=allergens,
        note=note,
    )
    return intake(session, request, at=at(2), by=1)


def ref_to(session: Session, lot_id: int) -> StockRef:
    """The first row of stock of a lot."""
    row = session.scalars(select(Stock).where(Stock.lot_id == lot_id).order_by(Stock.id)).first()
    assert row is not None
    return ref_of(row)


def evening(session: Session) -> dict[str, int]:
    """Moose and pork ground together, half of it cooked, dried and packed; one mistake undone.

    Returns:
        Row numbers of the lots and operations by what they are.
    """
    october = date(2025, 10, 18)
    moose = take_in(session, "Moose trim", MOOSE, 3000, harvest=(october, october))
    pork = take_in(
        session,
        "Pork trim",
        PORK,
        1000,
        harvest=(date(2025, 10, 30), date(2025, 10, 30)),
        allergens=frozenset({"celery"}),
        note='=HYPERLINK("x")',
    )
    mince = grind(
        session,
        Grind(
            parts=tuple(
                Part(ref_to(session, posted.lot_ids[0]), mass_g * GRAM)
                for posted, mass_g in ((moose, 3000), (pork, 800))
            ),
            name="Mince",
            made_mg=3777 * GRAM + 1,
            place_id=FRIDGE,
            done_on=date(2025, 11, 3),
            stuck_mg=23 * GRAM - 1,
        ),
        at=at(3),
        by=1,
    )
    cooked = cook(
        session,
        Cook(
            ref=ref_to(session, mince.lot_ids[0]),
            mass_mg=2000 * GRAM,
            method=CookMethod.SIMMER,
            made_mg=2400 * GRAM,
            place_id=BENCH,
            done_on=date(2025, 11, 3),
            water_mg=1000 * GRAM,
            centre=Centre(85.0, "C", 85.0, "85"),
            rest_minutes=10.0,
        ),
        at=at(3, 19),
        by=1,
    )
    run, dried = _dry(session, cooked.lot_ids[0])
    packed = pack(
        session,
        Pack(
            ref=ref_to(session, dried.lot_ids[0]),
            packaging_id=JAR,
            net_mg=(200 * GRAM, 190 * GRAM),
            place_id=FREEZER,
            done_on=date(2025, 11, 6),
        ),
        at=at(6),
        by=1,
    )
    mistake = eat(
        session,
        Leave((ref_to(session, packed.lot_ids[0]),), date(2025, 11, 7), mass_mg=50 * GRAM),
        at=at(7),
        by=1,
    )
    undo = correct(
        session, Correct(mistake.operation_id, date(2025, 11, 7), "wrong jar"), at=at(7, 19), by=1
    )
    return {
        "moose": moose.lot_ids[0],
        "pork": pork.lot_ids[0],
        "mince": mince.lot_ids[0],
        "cooked": cooked.lot_ids[0],
        "dried": dried.lot_ids[0],
        "packed": packed.lot_ids[0],
        "package": packed.package_ids[0],
        "grinding": mince.operation_id,
        "cooking": cooked.operation_id,
        "eating": mistake.operation_id,
        "undoing": undo.operation_id,
        "run": run,
    }


def _dry(session: Session, lot_id: int) -> tuple[int, Posted]:
    ref = ref_to(session, lot_id)
    tray = TrayLoaded(ref, 2000 * GRAM, "2 kg", 600 * GRAM, "600 g")
    _, run_id = load(
        session,
        Load(DRYER, (tray,), date(2025, 11, 4), reason="kept frozen"),
        at=at(4),
        by=1,
    )
    for hours, gross_g in ((8, 1090), (10, 1052), (12, 1050)):
        weigh_back(
            session,
            WeighBack(run_id, 1, gross_g * GRAM, f"{gross_g} g"),
            at=at(5, hours),
        )
    made = Unload(run_id, (DryMade(lot_id, 450 * GRAM),), BENCH, date(2025, 11, 5))
    return run_id, unload(session, made, at=at(5), by=1)


def troubles(session: Session, rows: dict[str, int]) -> dict[str, int]:
    """The week after: a wild boar with its holds, a warm pantry, a freezer that failed, looks.

    Returns:
        Row numbers of what is new by what it is.
    """
    return _boar(session) | _watched(session, rows) | _went_wrong(session, rows)


def _boar(session: Session) -> dict[str, int]:
    bowl = BowlWeighed("blue bowl", 2300 * GRAM, "2300 g", 300 * GRAM, "300 g")
    source = SourceIn(SourceKind.ANIMAL, "wild boar", "B-4")
    told = GameIn(Ammunition.LEAD, centre=Typed(38.0, "F", 3.3), hours_to_cold=9.0)
    request = Intake(
        "Boar trim", BOAR, Form.PIECES, source, (bowl,), FRIDGE, date(2025, 11, 8), game=told
    )
    boar = intake(session, request, at=at(8), by=1).lot_ids[0]
    part = Part(ref_to(session, boar), 900 * GRAM)
    day = date(2025, 11, 8)
    mince = grind(session, Grind((part,), "Boar mince", 900 * GRAM, FRIDGE, day), at=at(8), by=1)
    held = PutOnHold((boar,), HoldCause.TEST_AWAITED, day, "trichinella")
    holding = hold(session, held, at=at(8), by=1).operation_id
    number = active_holds(session)[-1].id
    simmered = Cook(
        ref_to(session, mince.lot_ids[0]),
        600 * GRAM,
        CookMethod.SIMMER,
        600 * GRAM,
        BENCH,
        date(2025, 11, 9),
        centre=Centre(85.0, "C", 85.0, "85"),
        rest_minutes=10.0,
    )
    stew = cook(session, simmered, at=at(9), by=1)
    lift = LiftHold((number,), ReleaseCause.NOT_DETECTED, date(2025, 11, 9), "the laboratory wrote")
    releasing = release(session, lift, at=at(9), by=1).operation_id
    leave = Leave((ref_to(session, stew.lot_ids[0]),), date(2025, 11, 9), mass_mg=200 * GRAM)
    supper = eat(session, leave, at=at(9), by=1).operation_id
    return {
        "boar": boar,
        "boar_mince": mince.lot_ids[0],
        "stew": stew.lot_ids[0],
        "boar_hold": number,
        "holding": holding,
        "stewing": stew.operation_id,
        "releasing": releasing,
        "supper": supper,
    }


def _watched(session: Session, rows: dict[str, int]) -> dict[str, int]:
    day, noon = date(2025, 11, 10), at(10, 12)
    months = tuple(Warmth(4.0 + m, 6.0 + m, 8.0 + m, 0.6) for m in range(12))
    said = (SaidClimate(at(1), months),)
    readings = (ReadingIn(noon, 14.0, 0.7), ReadingIn(at(10, 13), 14.5, 0.7))
    logger = LoggerIn("pantry.csv", "5e" * 32, 1)
    request = ChangeClimate(PANTRY, day, said, readings, logger)
    warmed = change_climate(session, request, at=at(10), by=1).operation_id
    read = ReadingIn(noon, 4.0, None, "4", "C")
    looks = (
        Looked(CheckKind.THERMOMETER, Finding.FINE, day, place_id=FRIDGE, reading=read),
        Looked(CheckKind.SEAL, Finding.FINE, day, lot_id=rows["packed"]),
    )
    for looked in looks:
        check(session, looked, at=at(10), by=1)
    return {"warmed": warmed}


def _went_wrong(session: Session, rows: dict[str, int]) -> dict[str, int]:
    jars = session.scalars(
        select(Stock).where(Stock.lot_id == rows["packed"]).order_by(Stock.package_id)
    ).all()
    day = date(2025, 11, 12)
    lots = (
        LotFate(ref_of(jars[0]), IncidentFate.OPENED, (), since=date(2025, 11, 11)),
        LotFate(ref_of(jars[1]), IncidentFate.WORN, (), since=date(2025, 11, 12)),
        LotFate(ref_to(session, rows["mince"]), IncidentFate.LOOK, ()),
        LotFate(ref_to(session, rows["cooked"]), IncidentFate.DISCARD, ()),
    )
    told = WentWrong(
        IncidentKind.POWER_OUT, day, lots, FREEZER, at(11), at(12, 6), temp_c=6.0, warm_hours=3.0
    )
    incident = went_wrong(session, told, at=at(12), by=1).operation_id
    return {"incident": incident}


def write_evening(path: Path, *, with_troubles: bool = False) -> dict[str, int]:
    """A data file with the whole evening in it, and if wanted the week after."""
    schema.bring_up(path)
    book = Book(path)
    try:
        with book.writing() as session:
            furnish(session)
            rows = evening(session)
            return rows | troubles(session, rows) if with_troubles else rows
    finally:
        book.close()
