"""Looking up lots and stock for an operation, and starting a new lot from an old one."""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from app.ledger.errors import Problem, ProblemKind, Refused, refuse
from app.ledger.makeup import Makeup, makeup_of, scaled_range
from app.ledger.models import Lot, Place
from app.ledger.operations._post import NewLot
from app.ledger.stock import StockRef
from app.ledger.words import PlaceKind
from app.science.classes import FoodClass, Form
from app.science.composition import Composition
from app.science.packaging import PackagingKind

NAME_LENGTH = 80  # the table's own limit


def known_lot(session: Session, ref: StockRef, field: str = "ref") -> Lot:
    """The lot of a reference; Refused when there is none."""
    lot = session.get(Lot, ref.lot_id)
    if lot is None:
        raise refuse(field, ProblemKind.UNKNOWN_LOT)
    return lot


_LOTS = select(Lot).where(Lot.id.in_(bindparam("lots", expanding=True)))


def known_lots(session: Session, refs: Iterable[StockRef], field: str = "refs") -> list[Lot]:
    """The lots of some references, each once and in their order; Refused when there is none."""
    numbers = list(dict.fromkeys(ref.lot_id for ref in refs))
    if not numbers:
        return []
    found = {lot.id: lot for lot in session.scalars(_LOTS, {"lots": numbers})}
    if len(found) < len(numbers):
        raise refuse(field, ProblemKind.UNKNOWN_LOT)
    return [found[number] for number in numbers]


def known_place(session: Session, place_id: int, field: str = "place_id") -> Place:
    """The place with this number; Refused when there is none."""
    place = session.get(Place, place_id)
    if place is None:
        raise refuse(field, ProblemKind.UNKNOWN_PLACE)
    return place


def need_mass(masses_mg: Mapping[str, int]) -> None:
    """Refuse every mass that is not above zero, before the science is asked about it.

    Args:
        masses_mg: by the attribute of the request that each belongs to.
    """
    problems = [
        Problem(field, ProblemKind.NOT_POSITIVE)
        for field, mass_mg in masses_mg.items()
        if mass_mg <= 0
    ]
    if problems:
        raise Refused(*problems)


def kind_of(session: Session, place_id: int, field: str = "place_id") -> PlaceKind:
    """What sort of place this is."""
    return PlaceKind(known_place(session, place_id, field).kind)


def made_from(session: Session, lot: Lot, on: date, **changes: Any) -> NewLot:
    """A new lot that is like an old one but for the changes named.

    Args:
        lot: the lot it is made from. on: the day of the operation, when its new keeping begins.
        changes: attributes of NewLot that differ.
    Returns:
        The lot to be made; its marks and age are inherited when it is posted. A range of its water
        that was measured does not outlast another composition, one that was computed moves along.
    """
    makeup = makeup_of(session, lot)
    changed = changes.get("composition", makeup.composition)
    is_same = abs(changed.water - makeup.composition.water) < 1e-9
    keeps = is_same or (lot.water_low is not None and not makeup.measured)
    low, high = _moved(makeup, changed) if keeps else (None, None)
    same: dict[str, Any] = {
        "name": lot.name,
        "food_ndb": lot.food_ndb,
        "food_class": FoodClass(lot.food_class),
        "form": Form(lot.form),
        "composition": makeup.composition,
        "kept_since": on,
        "water_low": low,
        "water_high": high,
        "water_is_measured": makeup.water_is_measured and keeps,
        "fresh_water": lot.fresh_water,
    }
    return NewLot(**(same | changes))


def _moved(makeup: Makeup, changed: Composition) -> tuple[float | None, float | None]:
    """The range of the water about another composition: as wide as before for its water."""
    if makeup.water_low is None or makeup.water_high is None or makeup.composition.water <= 0:
        return makeup.water_low, makeup.water_high
    return scaled_range(
        (makeup.water_low, makeup.water_high), makeup.composition.water, changed.water
    )


def named_after(lot: Lot, part: str) -> str:
    """A name for what was parted from a lot, short enough for the table."""
    return f"{lot.name[: NAME_LENGTH - len(part) - 2]}, {part}"


def wrap_for(place: PlaceKind, chosen: PackagingKind | None = None) -> PackagingKind:
    """How loose food is wrapped unless somebody says: a bag in the freezer, else a tub."""
    if chosen is not None:
        return chosen
    return PackagingKind.ZIP_BAG if place is PlaceKind.FREEZER else PackagingKind.TUB
