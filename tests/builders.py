"""Short ways to the food a test needs: only what differs is said.

The household is set up on an empty ledger, so its rows are numbered in the order given here.
"""

import dataclasses
from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.errors import Problem, Refused
from app.ledger.household import (
    AbsorberIn,
    BowlIn,
    FirstRun,
    PackagingIn,
    PlaceIn,
    Settings,
    set_up,
)
from app.ledger.models import (
    Addition,
    Entry,
    Estimate,
    Flow,
    Loss,
    Lot,
    LotAllergen,
    LotTreatment,
    Operation,
    Stock,
)
from app.ledger.operations._post import BowlWeighed, Posted
from app.ledger.operations.chill import Chill, CoolingReading, chill
from app.ledger.operations.cook import Centre, Cook, CookMethod, cook
from app.ledger.operations.intake import Intake, SourceIn, intake
from app.ledger.operations.load import Load, TrayLoaded, load
from app.ledger.operations.pack import Pack, pack
from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.operations.weigh_back import WeighBack, weigh_back
from app.ledger.stock import StockRef, find_stock
from app.ledger.words import PlaceKind, Presence, SourceKind, UnitSystem
from app.science.classes import Form
from app.science.packaging import PackagingKind

TODAY = date(2025, 10, 20)
FREEZER, FRIDGE, BENCH, PANTRY, FREEZE_DRYER, DEHYDRATOR = range(1, 7)
VACUUM_BAG, FOIL_POUCH, JAR = range(1, 4)
CC_100, CC_300, MOIST_300 = range(1, 4)  # absorbers; the last needs moist food to work
AILSA, EWAN = range(1, 3)

MOOSE, BACK_FAT, PORK, TROUT = "17172", "10004", "10219", "15114"
CHICKEN, SWEETCORN, BEANS, APPLES, CELERY = "05332", "11167", "11052", "09003", "11143"

G = 1_000  # mg
KG = 1_000 * G

OLD = date(2023, 10, 15)  # two autumns ago
PLACES = (
    PlaceIn("Chest freezer", PlaceKind.FREEZER, (-20.0, -18.0, -16.0)),
    PlaceIn("Fridge", PlaceKind.FRIDGE, (2.0, 4.0, 6.0)),
    PlaceIn("Kitchen", PlaceKind.BENCH, (16.0, 19.0, 24.0)),
    PlaceIn("Pantry", PlaceKind.ROOM, (10.0, 15.0, 20.0)),
    PlaceIn("Freeze-dryer", PlaceKind.FREEZE_DRYER, (15.0, 20.0, 25.0), 0.55, 4, 0.1),
    PlaceIn("Box dehydrator", PlaceKind.DEHYDRATOR, (15.0, 20.0, 25.0), 0.55, 6, 0.1),
)


def a_household(session: Session, **changes: Any) -> None:
    """The family of the examples, with its places, packages and absorbers."""
    settings = Settings("Birkbrae", UnitSystem.METRIC, 310.0, "Europe/London")
    request = FirstRun(
        settings=dataclasses.replace(settings, **changes),
        people=("Ailsa", "Ewan"),
        places=PLACES,
        packagings=(
            PackagingIn("Vacuum bag, 1.5 l", PackagingKind.VACUUM_BAG, 1500.0),
            PackagingIn("Foil-laminate pouch, 3 l", PackagingKind.FOIL_POUCH, 3000.0),
            PackagingIn("Glass jar, 1 l", PackagingKind.GLASS_JAR, 1000.0),
        ),
        absorbers=(
            AbsorberIn("100", 100.0),
            AbsorberIn("300", 300.0),
            AbsorberIn("300, for moist food", 300.0, is_self_activated=False),
        ),
        bowls=(BowlIn("Blue bowl", 300 * G),),
    )
    set_up(session, request, at=evening(OLD))


def evening(on: date) -> datetime:
    """Six o'clock, UTC, of a day."""
    return datetime.combine(on, time(18), UTC)


def do(session: Session, use_case: Callable[..., Any], request: Any) -> Any:
    """Carry out a use-case on the evening of the day it is done, by the first person."""
    return use_case(session, request, at=evening(request.done_on), by=AILSA)


def refusal(session: Session, use_case: Callable[..., Any], request: Any) -> Problem:
    """The one problem for which a request is refused."""
    with pytest.raises(Refused) as caught, session.begin_nested():
        do(session, use_case, request)
    (problem,) = caught.value.problems
    return problem


def refused_kinds(session: Session, use_case: Callable[..., Any], request: Any) -> set[str]:
    """Every kind of problem for which a request is refused."""
    with pytest.raises(Refused) as caught, session.begin_nested():
        do(session, use_case, request)
    return {str(problem.kind) for problem in caught.value.problems}


# -- food in the states that tests start from --------------------------------------------------


def bowl(net_g: float, tare_g: float = 300) -> BowlWeighed:
    """One bowl of a tally."""
    gross_g = net_g + tare_g
    return BowlWeighed(
        "Blue bowl", round(gross_g * G), f"{gross_g:g} g", round(tare_g * G), f"{tare_g:g} g"
    )


def an_intake(
    food: str = MOOSE,
    mass_g: float = 1000,
    *,
    place: int = FRIDGE,
    on: date = TODAY,
    **changes: Any,
) -> Intake:
    """A request to take food in, in one bowl."""
    request = Intake(
        name="Moose trim",
        food_ndb=food,
        form=Form.PIECES,
        source=SourceIn(SourceKind.ANIMAL, "Moose share", tag="A-117"),
        bowls=(bowl(mass_g),),
        place_id=place,
        done_on=on,
    )
    return dataclasses.replace(request, **changes)


def take_in(session: Session, food: str = MOOSE, mass_g: float = 1000, **changes: Any) -> StockRef:
    """Food taken in, as the row of stock it is now."""
    request = an_intake(food, mass_g, **changes)
    return made(do(session, intake, request), request.place_id)


def made(posted: Posted, place: int, nth: int = 0) -> StockRef:
    """The loose lot that an operation made at a place."""
    return StockRef(posted.lot_ids[nth], place)


def units(posted: Posted, place: int) -> list[StockRef]:
    """The packages that an operation made at a place."""
    return [StockRef(posted.lot_ids[0], place, package) for package in posted.package_ids]


def a_cook(ref: StockRef, mass_g: float, made_g: float, **changes: Any) -> Cook:
    """A request to simmer, with a centre reading of 85 °C unless told otherwise."""
    request = Cook(
        ref=ref,
        mass_mg=round(mass_g * G),
        method=CookMethod.SIMMER,
        made_mg=round(made_g * G),
        place_id=BENCH,
        done_on=TODAY,
        centre=centre(85.0),
    )
    return dataclasses.replace(request, **changes)


def centre(value: float, unit: str = "C") -> Centre:
    """A reading of a centre thermometer."""
    celsius = value if unit == "C" else (value - 32.0) / 1.8
    return Centre(value, unit, celsius, f"{value:g} °{unit}")


COOLED_IN_TIME = (
    CoolingReading(0.0, 57.0, "57"),
    CoolingReading(1.5, 20.0, "20"),
    CoolingReading(5.0, 4.0, "4"),
)


def a_pot(
    session: Session, meat_g: float = 2000, water_g: float = 1000, **changes: Any
) -> StockRef:
    """Meat simmered in water until cooked, chilled in time: a pot in the fridge, without losses."""
    meat = take_in(session, mass_g=meat_g, **changes)
    pot_g = meat_g + water_g
    request = a_cook(meat, meat_g, pot_g, water_mg=round(water_g * G))
    hot = made(do(session, cook, request), BENCH)
    cold = Chill(hot, round(pot_g * G), round(pot_g * G), FRIDGE, TODAY, COOLED_IN_TIME)
    return made(do(session, chill, cold), FRIDGE)


def cooked(session: Session, mass_g: float = 1000, **changes: Any) -> StockRef:
    """Meat cooked through without any loss, on the bench."""
    meat = take_in(session, mass_g=mass_g, **changes)
    return made(do(session, cook, a_cook(meat, mass_g, mass_g)), BENCH)


def a_tray(ref: StockRef, net_g: float, tare_g: float = 600) -> TrayLoaded:
    """One tray of a dryer."""
    gross_g = net_g + tare_g
    return TrayLoaded(ref, round(gross_g * G), f"{gross_g:g}", round(tare_g * G), f"{tare_g:g}")


def loaded(
    session: Session,
    *trays: TrayLoaded,
    place: int = FREEZE_DRYER,
    on: date = TODAY,
    reason: str = "kept frozen afterwards",
) -> int:
    """A run that has begun, by its number."""
    _, run_id = do(session, load, Load(place, trays, on, reason=reason))
    return int(run_id)


def dried(
    session: Session,
    mass_g: float = 1000,
    dry_g: float = 260,
    *,
    weighed_back: bool = True,
    food: StockRef | None = None,
) -> StockRef:
    """Food freeze-dried, on the bench: cooked moose unless told otherwise.

    Weighed back, its tray weighs the same two hours apart, so that its dryness counts as measured.
    """
    lot = food or cooked(session, mass_g)
    run_id = loaded(session, a_tray(lot, mass_g))
    if weighed_back:
        for hours in (20, 21, 22):
            weigh(session, run_id, 1, dry_g + 600, hours)
    request = Unload(
        run_id, (DryMade(lot.lot_id, round(dry_g * G)),), BENCH, TODAY + timedelta(days=1)
    )
    return made(do(session, unload, request), BENCH)


def weigh(session: Session, run_id: int, number: int, gross_g: float, hours: float) -> None:
    """A tray weighed, tray included, hours after the evening of loading."""
    at = evening(TODAY) + timedelta(hours=hours)
    weigh_back(session, WeighBack(run_id, number, round(gross_g * G), f"{gross_g:g}"), at=at)


def a_pack(ref: StockRef, *net_g: float, **changes: Any) -> Pack:
    """A request to pack into foil-laminate pouches with an absorber, on the pantry shelf."""
    request = Pack(
        ref=ref,
        packaging_id=FOIL_POUCH,
        net_mg=tuple(round(g * G) for g in net_g),
        place_id=PANTRY,
        done_on=TODAY + timedelta(days=1),
        absorber_id=CC_300,
        seal_checked=True,
        reason="eaten within the year",
    )
    return dataclasses.replace(request, **changes)


def pouches(session: Session, *net_g: float) -> list[StockRef]:
    """Pouches of freeze-dried cooked moose on the pantry shelf; three of 80 g unless told."""
    weights = net_g or (80, 80, 80)
    total_g = sum(weights)
    return units(do(session, pack, a_pack(dried(session, total_g * 4, total_g), *weights)), PANTRY)


# -- what a test looks at ----------------------------------------------------------------------


def on_hand(session: Session, ref: StockRef) -> int:
    """What is left there, in milligrams."""
    row = find_stock(session, ref)
    return row.mass_mg if row else 0


def lot_of(session: Session, ref: StockRef) -> Lot:
    """The lot of a row of stock."""
    return session.get_one(Lot, ref.lot_id)


def treatments(session: Session, ref: StockRef) -> set[str]:
    """What has been done to a lot."""
    query = select(LotTreatment.treatment).where(LotTreatment.lot_id == ref.lot_id)
    return set(session.scalars(query))


def allergens(session: Session, ref: StockRef, presence: Presence = Presence.CONTAINS) -> set[str]:
    """The allergens of a lot."""
    query = select(LotAllergen.allergen).where(
        LotAllergen.lot_id == ref.lot_id, LotAllergen.presence == presence
    )
    return set(session.scalars(query))


def lost(session: Session, posted: Posted) -> dict[str, int]:
    """The losses of an operation by kind."""
    query = select(Loss.kind, Loss.mass_mg).where(Loss.operation_id == posted.operation_id)
    return dict(session.execute(query).all())


def added(session: Session, posted: Posted) -> dict[str, int]:
    """The additions of an operation by kind."""
    query = select(Addition.kind, Addition.mass_mg).where(
        Addition.operation_id == posted.operation_id
    )
    return dict(session.execute(query).all())


def flows_into(session: Session, ref: StockRef) -> dict[int, int]:
    """What each lot gave to a lot, by the number of the giver."""
    query = select(Flow.source_id, Flow.mass_mg).where(Flow.result_id == ref.lot_id)
    return dict(session.execute(query).all())


def operation_of(session: Session, posted: Posted) -> Operation:
    """The operation that was posted."""
    return session.get_one(Operation, posted.operation_id)


def estimate_of(session: Session, ref: StockRef) -> Estimate | None:
    """The kept window of a row of stock."""
    row = find_stock(session, ref)
    return session.get(Estimate, row.id) if row else None


def all_stock(session: Session) -> dict[StockRef, int]:
    """Everything on hand."""
    return {
        StockRef(row.lot_id, row.place_id, row.package_id): row.mass_mg
        for row in session.scalars(select(Stock))
    }


def mass_of(session: Session, refs: Iterable[StockRef]) -> int:
    """What several rows of stock weigh together."""
    return sum(on_hand(session, ref) for ref in refs)


def entry_count(session: Session) -> int:
    """How many entries the ledger has."""
    return session.scalar(select(func.count(Entry.id))) or 0
