"""Who lives here, where they keep food and what they weigh and pack it in. All invented."""

from app.ledger.household import AbsorberIn, BowlIn, FirstRun, PackagingIn, PlaceIn, Settings
from app.ledger.words import PlaceKind, UnitSystem
from app.science.packaging import PackagingKind
from seed_demo.clock import ZONE

MARIT, JONAS, ELNA, TOBI = "Marit", "Jonas", "Elna", "Tobi"

FREEZER = "Chest freezer"
FRIDGE = "Fridge"
LEFT_SHELF = "Pantry, left shelf"
RIGHT_SHELF = "Pantry, right shelf"
CELLAR = "Cold cellar"
BENCH = "Kitchen bench"
FREEZE_DRYER = "Freeze-dryer"
DEHYDRATOR = "Box dehydrator"

QUART_POUCH = "Foil-laminate pouch, quart"
PINT_POUCH = "Foil-laminate pouch, pint"
VACUUM_BAG = "Vacuum bag, quart"
LARGE_VACUUM_BAG = "Vacuum bag, 3 l"
JAR = "Glass jar, 1 l"
HALF_JAR = "Glass jar, half a litre"
ZIP_BAG = "Zip bag"
TUB = "Lidded tub"

SMALL_ABSORBER = "100 cc"
ABSORBER = "300 cc"
OLD_ABSORBER = "300 cc, old bag, needs moisture"

BOWLS_G = {"blue enamel bowl": 412, "glass bowl": 655, "steel bowl": 318}
TRAYS_G = {
    FREEZE_DRYER: (684, 681, 686, 683),
    DEHYDRATOR: (231, 229, 232, 230, 231, 228),
}
_TRAY_AREAS_M2 = {FREEZE_DRYER: 0.0875, DEHYDRATOR: 0.1024}

_STEADY = (18.0, 20.0, 24.0)


def _dryer(name: str, kind: PlaceKind) -> PlaceIn:
    return PlaceIn(
        name,
        kind,
        _STEADY,
        tray_count=len(TRAYS_G[name]),
        tray_area_m2=_TRAY_AREAS_M2[name],
    )


PLACES = (
    PlaceIn(FREEZER, PlaceKind.FREEZER, (-20.0, -18.0, -15.0), capacity_ml=200_000.0),
    PlaceIn(FRIDGE, PlaceKind.FRIDGE, (2.0, 4.0, 6.0)),
    PlaceIn(LEFT_SHELF, PlaceKind.ROOM, (14.0, 18.0, 22.0)),
    PlaceIn(RIGHT_SHELF, PlaceKind.ROOM, (14.0, 18.0, 22.0)),
    PlaceIn(CELLAR, PlaceKind.ROOM, (5.0, 9.0, 12.0), relative_humidity=0.85),
    PlaceIn(BENCH, PlaceKind.BENCH, _STEADY),
    _dryer(FREEZE_DRYER, PlaceKind.FREEZE_DRYER),
    _dryer(DEHYDRATOR, PlaceKind.DEHYDRATOR),
)

PACKAGINGS = (
    PackagingIn(QUART_POUCH, PackagingKind.FOIL_POUCH, 946.0),
    PackagingIn(PINT_POUCH, PackagingKind.FOIL_POUCH, 473.0),
    PackagingIn(VACUUM_BAG, PackagingKind.VACUUM_BAG, 946.0),
    PackagingIn(LARGE_VACUUM_BAG, PackagingKind.VACUUM_BAG, 3000.0),
    PackagingIn(JAR, PackagingKind.GLASS_JAR, 1000.0),
    PackagingIn(HALF_JAR, PackagingKind.GLASS_JAR, 500.0),
    PackagingIn(ZIP_BAG, PackagingKind.ZIP_BAG, 2000.0),
    PackagingIn(TUB, PackagingKind.TUB, 1000.0),
)

ABSORBERS = (
    AbsorberIn(SMALL_ABSORBER, 100.0),
    AbsorberIn(ABSORBER, 300.0),
    AbsorberIn(OLD_ABSORBER, 300.0, is_self_activated=False),
)

FIRST_RUN = FirstRun(
    settings=Settings(name="Larkfell", units=UnitSystem.METRIC, altitude_m=310.0, time_zone=ZONE),
    people=(MARIT, JONAS, ELNA, TOBI),
    places=PLACES,
    packagings=PACKAGINGS,
    absorbers=ABSORBERS,
    bowls=(
        *(BowlIn(name, tare_g * 1000) for name, tare_g in BOWLS_G.items()),
        *(
            BowlIn(f"{dryer}, tray {number}", tare_g * 1000)
            for dryer, trays in TRAYS_G.items()
            for number, tare_g in enumerate(trays, start=1)
        ),
    ),
)
