"""Comparing the packages a household owns for one lot, and proposing how to fill them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import ceil

from sqlalchemy.orm import Session

from app.ledger.mass import to_kg
from app.ledger.models import Absorber, Packaging, Place
from app.ledger.queries.places import absorbers, packagings
from app.ledger.stock import StockRef, find_stock
from app.ledger.windows import keeping_of, stays_at
from app.ledger.words import PlaceKind
from app.science.classes import DRIED, Form
from app.science.errors import OutOfRange, ScienceError
from app.science.oxygen import absorber_needed_ml, headspace_m3, oxygen_ml
from app.science.packaging import PACKAGINGS, PackagingKind
from app.science.ranges import Range
from app.science.sources import Evidence, Sourced
from app.science.window import Keeping, NoWindow, Window, estimate, estimate_many

# Packed density of dry food in its package, gaps and pores included.
DRY_BULK_KG_M3 = {
    Form.POWDER: Sourced(500.0, "kg/m³", Evidence.JUDGEMENT, low=350.0, high=650.0),
    Form.GROUND: Sourced(280.0, "kg/m³", Evidence.UNCHECKED, low=200.0, high=380.0),
}
DRY_BULK_OTHER = Sourced(220.0, "kg/m³", Evidence.UNCHECKED, low=150.0, high=300.0)
MOIST_BULK = Sourced(900.0, "kg/m³", Evidence.JUDGEMENT, low=750.0, high=1030.0)
FILLED = 0.85  # of a package's volume: the seal needs room; our judgement
MOST_PACKAGES = 60
_TIGHT = frozenset(
    {
        PackagingKind.FOIL_POUCH,
        PackagingKind.METALLISED_POUCH,
        PackagingKind.VACUUM_BAG,
        PackagingKind.GLASS_JAR,
        PackagingKind.STEEL_CAN,
        PackagingKind.PLASTIC_BOTTLE,
        PackagingKind.PAIL_LINED,
    }
)
_PUMPED = frozenset({PackagingKind.GLASS_JAR, PackagingKind.VACUUM_BAG})


@dataclass(frozen=True, slots=True)
class PackageOption:
    """One way to pack a lot, and how long it keeps so; answer None: the food does not fit."""

    packaging: Packaging
    absorber: Absorber | None
    is_pumped_down: bool
    count: int
    each_mg: int
    answer: Window | NoWindow | None
    oxygen_inside_ml: float | None
    absorber_needed_ml: Range | None
    keeping: Keeping | None = None  # what was asked of the science

    @property
    def absorber_is_enough(self) -> bool:
        """Does the absorber cover the oxygen, by the central estimate?"""
        if self.absorber is None or self.absorber_needed_ml is None:
            return False
        return self.absorber.rating_ml >= self.absorber_needed_ml.central


def packages_needed(mass_mg: int, packaging: Packaging, form: Form, *, is_dried: bool) -> int:
    """How many packages a mass fills, at the usual density of such food."""
    each_kg = packaging.volume_ml / 1e6 * FILLED * _bulk(form, is_dried=is_dried).value
    return min(max(1, ceil(to_kg(mass_mg) / each_kg - 1e-9)), MOST_PACKAGES)


def _bulk(form: Form, *, is_dried: bool) -> Sourced:
    return DRY_BULK_KG_M3.get(form, DRY_BULK_OTHER) if is_dried else MOIST_BULK


def compare_packages(
    session: Session, ref: StockRef, place_id: int, today: date, *, count: int | None = None
) -> list[PackageOption]:
    """Every sensible way to pack a lot with what the household owns, the longest keeping first.

    Args:
        ref: the lot on hand. place_id: where the packages will be kept. today: packing day.
        count: into how many packages; None: as many as the food fills, for each kind.
    Returns:
        Options, ranked by the early end of the window: what can be relied on.
    """
    row = find_stock(session, ref)
    inputs = keeping_of(session, row) if row else None
    if row is None or inputs is None:
        return []
    share_used = min(inputs[1].share_used, 1.0)
    base = kept_anew(session, inputs[1], place_id, today, share_used=share_used)
    return options_for(session, base, row.mass_mg, place_id, count=count)


def kept_anew(
    session: Session, keeping: Keeping, place_id: int, today: date, *, share_used: float
) -> Keeping:
    """The same food had it been put at a place today, with so much of its quality used before."""
    history = stays_at(session, session.get_one(Place, place_id), today)
    return replace(keeping, history=history, opened_day=None, share_used=share_used)


def options_for(
    session: Session, base: Keeping, mass_mg: int, place_id: int, *, count: int | None = None
) -> list[PackageOption]:
    """Every sensible way to pack food, kept as `base` tells, the longest keeping first."""
    options = [
        _option(base, mass_mg, packaging, absorber, pumped, count)
        for packaging in packagings(session)
        for absorber, pumped in _ways(session, packaging, place_id)
    ]
    return sorted(_answered(options), key=_rank)


def _answered(options: Sequence[PackageOption]) -> list[PackageOption]:
    """The options with their windows, estimated together, which takes half the time."""
    asked = [option.keeping for option in options if option.keeping is not None]
    answers: dict[int, Window | NoWindow | None]
    try:
        answers = dict(zip(map(id, asked), estimate_many(asked), strict=True))
    except ScienceError:  # one of them is outside the model: ask each by itself
        answers = {id(keeping): _answer(keeping) for keeping in asked}
    return [replace(option, answer=answers.get(id(option.keeping))) for option in options]


def _answer(keeping: Keeping) -> Window | NoWindow | None:
    try:
        return estimate(keeping)
    except ScienceError:
        return None


def _ways(
    session: Session, packaging: Packaging, place_id: int
) -> list[tuple[Absorber | None, bool]]:
    kind = PackagingKind(packaging.kind)
    cold = PlaceKind(session.get_one(Place, place_id).kind) in (
        PlaceKind.FREEZER,
        PlaceKind.FRIDGE,
    )
    ways: list[tuple[Absorber | None, bool]] = []
    if kind in _TIGHT and not cold:
        ways += [(absorber, False) for absorber in absorbers(session)]
    ways.append((None, kind is PackagingKind.VACUUM_BAG))
    if kind in _PUMPED and kind is not PackagingKind.VACUUM_BAG and not cold:
        ways.append((None, True))
    return ways


def _option(
    base: Keeping,
    mass_mg: int,
    packaging: Packaging,
    absorber: Absorber | None,
    pumped: bool,
    count: int | None,
) -> PackageOption:
    dried = bool(base.treatments & DRIED)
    number = count or packages_needed(mass_mg, packaging, base.form, is_dried=dried)
    each_mg = mass_mg // number
    kind = PackagingKind(packaging.kind)
    pressure = PACKAGINGS[kind].residual_pressure.value if pumped else 1.0
    volume_m3 = packaging.volume_ml / 1e6
    altitude_m = base.altitude_m
    keeping = replace(
        base,
        net_mass_kg=max(to_kg(each_mg), 0.001),
        packaging=kind,
        volume_m3=volume_m3,
        area_m2=packaging.area_cm2 / 1e4 if packaging.area_cm2 else None,
        absorber_ml=absorber.rating_ml if absorber else 0.0,
        absorber_self_activated=absorber.is_self_activated if absorber else True,
        sealed_pressure_fraction=pressure,
    )
    densest = _bulk(base.form, is_dried=dried).high
    if densest is not None and to_kg(each_mg) > volume_m3 * densest:
        return PackageOption(packaging, absorber, pumped, number, each_mg, None, None, None)
    try:
        inside = oxygen_ml(headspace_m3(volume_m3, to_kg(each_mg)), altitude_m, pressure)
        needed = absorber_needed_ml(volume_m3, to_kg(each_mg), altitude_m, pressure)
    except (OutOfRange, ScienceError):
        return PackageOption(packaging, absorber, pumped, number, each_mg, None, None, None)
    return PackageOption(
        packaging, absorber, pumped, number, each_mg, None, inside, needed, keeping
    )


def _rank(option: PackageOption) -> tuple[float, float, str]:
    if isinstance(option.answer, Window):
        return (-option.answer.early_days, -option.answer.central_days, option.packaging.name)
    return (1.0, 0.0, option.packaging.name)
