"""What most households own, offered to be ticked on the first-run page.

Package volumes are those their names say: the US quart is 946 ml, the pint half of it.
"""

from app.language import N_
from app.ledger.household import AbsorberIn, PackagingIn, PlaceIn
from app.ledger.words import PlaceKind
from app.science.packaging import PackagingKind
from app.web.usual_places import USUAL_HUMIDITY, USUAL_TEMPS_C

FREEZE_DRYER, DEHYDRATOR = "freeze_dryer", "dehydrator"


def _usual(name: str, kind: PlaceKind) -> PlaceIn:
    return PlaceIn(name, kind, USUAL_TEMPS_C[kind], USUAL_HUMIDITY[kind])


PLACES: dict[str, PlaceIn] = {
    "freezer": _usual(N_("Chest freezer"), PlaceKind.FREEZER),
    "fridge": _usual(N_("Fridge"), PlaceKind.FRIDGE),
    "pantry": _usual(N_("Pantry shelf"), PlaceKind.ROOM),
    "cellar": PlaceIn(N_("Cold cellar"), PlaceKind.ROOM, (5.0, 9.0, 12.0), 0.85),
    "bench": _usual(N_("Kitchen bench"), PlaceKind.BENCH),
    FREEZE_DRYER: _usual(N_("Freeze-dryer"), PlaceKind.FREEZE_DRYER),
    DEHYDRATOR: _usual(N_("Box dehydrator"), PlaceKind.DEHYDRATOR),
}
USUAL_PLACES = ("freezer", "fridge", "pantry", "bench")

_QUART_ML = 946.0
_SIZES = (
    ("pouch_quart", N_("Foil-laminate pouch, quart"), PackagingKind.FOIL_POUCH, _QUART_ML),
    ("pouch_pint", N_("Foil-laminate pouch, pint"), PackagingKind.FOIL_POUCH, _QUART_ML / 2),
    ("metallised_quart", N_("Metallised pouch, quart"), PackagingKind.METALLISED_POUCH, _QUART_ML),
    ("vacuum_quart", N_("Vacuum bag, quart"), PackagingKind.VACUUM_BAG, _QUART_ML),
    ("jar", N_("Glass jar, 1 l"), PackagingKind.GLASS_JAR, 1000.0),
    ("jar_half", N_("Glass jar, half a litre"), PackagingKind.GLASS_JAR, 500.0),
    ("zip_quart", N_("Zip bag, quart"), PackagingKind.ZIP_BAG, _QUART_ML),
    ("tub", N_("Lidded tub, 1 l"), PackagingKind.TUB, 1000.0),
)
PACKAGES = {key: PackagingIn(name, kind, ml) for key, name, kind, ml in _SIZES}
USUAL_PACKAGES = ("vacuum_quart", "jar", "zip_quart", "tub")

ABSORBERS = {f"cc_{size}": AbsorberIn(f"{size} cc", float(size)) for size in (100, 300, 500)}
