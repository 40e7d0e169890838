"""What a label says about a package, or about a loose lot."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.climates import climates_of
from app.ledger.makeup import composition_of
from app.ledger.models import Absorber, Lot, LotAllergen, Package, Place
from app.ledger.queries.allergens import is_fully_known
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.queries.trials import TrialLine, TrialSide, best_for
from app.ledger.safety import rule_set_of
from app.ledger.words import PlaceKind, Presence
from app.science.errors import ScienceError
from app.science.ranges import Range
from app.science.rehydration import water_to_add_kg
from app.science.safety.allergens import Allergen, label_text
from app.science.safety.verdicts import cook_target


@dataclass(frozen=True, slots=True)
class LabelRecord:
    """One label's facts, in base units; the words are made at the edge."""

    line: StockLine
    harvest: tuple[date, date] | None
    packed_on: date
    cook_target: str | None
    allergens: str
    may_contain: str
    absorber_ml: float | None
    water_to_add_kg: Range | None
    soaked_best: tuple[TrialLine, TrialSide] | None  # the better line of a trial of this food
    place_kind: PlaceKind
    temps_c: tuple[float, float]


def label_records(session: Session, lot_id: int) -> list[LabelRecord]:
    """A record for each package of a lot on hand, or for what is loose."""
    lot = session.get_one(Lot, lot_id)
    contains, may_contain = _allergen_words(session, lot_id)
    return [
        _record(session, lot, line, contains, may_contain)
        for line in stock_lines(session, lot_id=lot_id, one_by_one=True)
        if not line.place_kind.is_dryer
    ]


def _record(
    session: Session, lot: Lot, line: StockLine, contains: str, may_contain: str
) -> LabelRecord:
    package = session.get(Package, line.ref.package_id) if line.ref.package_id else None
    absorber = (
        session.get(Absorber, package.absorber_id) if package and package.absorber_id else None
    )
    place = session.get_one(Place, line.place_id)
    return LabelRecord(
        line=line,
        harvest=(lot.harvest_from, lot.harvest_to) if lot.harvest_from and lot.harvest_to else None,
        packed_on=package.packed_on if package else line.made_on,
        cook_target=_target(session, line),
        allergens=contains,
        may_contain=may_contain,
        absorber_ml=absorber.rating_ml if absorber else None,
        water_to_add_kg=_water(session, lot, line),
        soaked_best=best_for(session, lot) if lot.fresh_water is not None else None,
        place_kind=PlaceKind(place.kind),
        temps_c=climates_of(session, place)[-1].span_c,
    )


def _target(session: Session, line: StockLine) -> str | None:
    if not line.is_raw:
        return None
    try:
        return cook_target([line.food_class], line.form, rule_set_of(session)).words
    except ScienceError:
        return "done right through"


def _water(session: Session, lot: Lot, line: StockLine) -> Range | None:
    if lot.fresh_water is None:
        return None
    try:
        return water_to_add_kg(
            line.mass_mg / 1e6, composition_of(session, lot).water, lot.fresh_water
        )
    except ScienceError:
        return None


def _allergen_words(session: Session, lot_id: int) -> tuple[str, str]:
    rows = session.scalars(select(LotAllergen).where(LotAllergen.lot_id == lot_id)).all()
    region = rule_set_of(session)
    contains = _parsed(rows, Presence.CONTAINS)
    may_contain = _parsed(rows, Presence.MAY_CONTAIN)
    known = is_fully_known(session, lot_id)
    besides = label_text([], region, may_contain=may_contain, is_fully_known=known)
    return label_text(contains, region), besides


def _parsed(rows: Sequence[LotAllergen], presence: Presence) -> list[Allergen]:
    return [Allergen.parse(row.allergen) for row in rows if row.presence == presence]
