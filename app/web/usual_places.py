"""How warm and how damp places usually are, where nobody has measured yet.

Starting values by our own judgement, and every page that offers them says so; a thermometer left
in the place knows better.
"""

from app.ledger.words import PlaceKind

ROOM_C = (17.0, 20.0, 24.0)

#: Low, usual and high temperature, °C.
USUAL_TEMPS_C: dict[PlaceKind, tuple[float, float, float]] = {
    PlaceKind.FREEZER: (-20.0, -18.0, -15.0),
    PlaceKind.FRIDGE: (2.0, 4.0, 6.0),
    PlaceKind.ROOM: (14.0, 19.0, 23.0),
    PlaceKind.BENCH: ROOM_C,
    PlaceKind.FREEZE_DRYER: ROOM_C,
    PlaceKind.DEHYDRATOR: ROOM_C,
}

#: Relative humidity as a fraction.
USUAL_HUMIDITY: dict[PlaceKind, float] = {
    PlaceKind.FREEZER: 0.8,
    PlaceKind.FRIDGE: 0.7,
    PlaceKind.ROOM: 0.55,
    PlaceKind.BENCH: 0.55,
    PlaceKind.FREEZE_DRYER: 0.55,
    PlaceKind.DEHYDRATOR: 0.55,
}
