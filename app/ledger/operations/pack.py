"""Pack: a lot into sealed units, each with its own net weight and number."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.errors import Problem, ProblemKind, Refused, refuse
from app.ledger.lots import kind_of, known_lot, made_from
from app.ledger.makeup import composition_of, makeup_of
from app.ledger.mass import to_mg
from app.ledger.models import Absorber, Lot, Packaging
from app.ledger.operations._post import (
    Make,
    NewPackage,
    Posted,
    Posting,
    Take,
    losses,
    post,
)
from app.ledger.queries.trace import raw_classes
from app.ledger.refreezing import refreezing
from app.ledger.safety import Applied, gate, noted, rule_set_of
from app.ledger.stages import half_cooked, is_under_oil, rehydrated_again
from app.ledger.stock import StockRef, find_stock
from app.ledger.uncovered import canned_words, not_covered_words
from app.ledger.windows import days_that_go_on, treatments_of
from app.ledger.words import LossKind, OperationKind, PlaceKind
from app.science.classes import DRIED, FoodClass, Treatment
from app.science.composition import Composition, with_water
from app.science.drying import DryerKind
from app.science.errors import ScienceError
from app.science.packaging import PackagingKind
from app.science.safety.absorbers import AbsorberKind
from app.science.safety.low_oxygen import Kept
from app.science.safety.rule import Verdict
from app.science.safety.verdicts import absorber as absorber_verdicts
from app.science.safety.verdicts import dried_meat, oxygen_free_pack, sealed_jar, under_oil
from app.science.sorption import water_activity
from app.science.thermal import density_kg_m3

_KEPT = {PlaceKind.FREEZER: Kept.FREEZER, PlaceKind.FRIDGE: Kept.FRIDGE}
_ABSORBER_KINDS = {True: AbsorberKind.SELF_REACTING, False: AbsorberKind.MOISTURE_DEPENDENT}
ROOM_C = 20.0


@dataclass(frozen=True, slots=True)
class Pack:
    """What is packed, in what, and the net weight of each unit in the order of their numbers."""

    ref: StockRef
    packaging_id: int
    net_mg: tuple[int, ...]
    place_id: int
    done_on: date
    absorber_id: int | None = None
    pressure_fraction: float = 1.0  # 1: not pumped down
    seal_checked: bool = False
    spilled_mg: int = 0
    minutes_open: float | None = None  # of the absorbers' bag until the seal; None: not told
    absorber_is_spent: bool = False  # hot or hard when it was put in
    note: str = ""
    reason: str = ""


def pack(session: Session, request: Pack, *, at: datetime, by: int | None) -> Posted:
    """Seal a lot into packages; what is not packed stays where it is.

    Raises:
        Refused: no package, packages larger than the lot, more in one than its volume holds, or
            food that is not dry enough for a pack without oxygen at room temperature.
    """
    checkpoints = looked_over(session, request)
    lot = known_lot(session, request.ref)
    packaging = session.get_one(Packaging, request.packaging_id)
    units = tuple(
        NewPackage(
            net_mg=net_mg,
            packaging_id=request.packaging_id,
            absorber_id=request.absorber_id,
            pressure_fraction=request.pressure_fraction,
            seal_checked=request.seal_checked,
        )
        for net_mg in request.net_mg
    )
    packed_mg = sum(request.net_mg)
    wrap = PackagingKind(packaging.kind)
    since = days_that_go_on(session, lot, request.ref, request.place_id)
    new = made_from(session, lot, request.done_on, wrap=wrap, **since)
    posting = Posting(
        OperationKind.PACK,
        request.done_on,
        note=request.note,
        takes=[Take(request.ref, packed_mg + request.spilled_mg, "net_mg")],
        makes=[Make(request.place_id, packed_mg, new, packages=units)],
        losses=losses((LossKind.SPILLED, request.spilled_mg)),
        checkpoints=checkpoints,
        balance_field="net_mg",
    )
    return post(session, posting, at=at, by=by)


def looked_over(session: Session, request: Pack) -> list[Applied]:
    """What the rules say of packing so; nothing is written.

    Raises:
        Refused: as `pack` does, for what stands in the request.
    """
    lot = known_lot(session, request.ref)
    packaging = session.get(Packaging, request.packaging_id)
    if packaging is None:
        raise refuse("packaging_id", ProblemKind.UNKNOWN_CHOICE)
    if request.absorber_id is not None and session.get(Absorber, request.absorber_id) is None:
        raise refuse("absorber_id", ProblemKind.UNKNOWN_CHOICE)
    _check_weights(session, request)
    _check_volume(session, request, lot, packaging)
    return _checkpoints(session, request, lot)


def _check_weights(session: Session, request: Pack) -> None:
    problems = [
        Problem(f"net_mg[{i}]", ProblemKind.NOT_POSITIVE)
        for i, net_mg in enumerate(request.net_mg)
        if net_mg <= 0
    ]
    if not request.net_mg:
        problems.append(Problem("net_mg", ProblemKind.MISSING))
    row = find_stock(session, request.ref)
    on_hand_mg = row.mass_mg if row else 0
    packed_mg = sum(request.net_mg) + request.spilled_mg
    if not problems and packed_mg > on_hand_mg:
        numbers = {"on_hand_mg": on_hand_mg, "packed_mg": packed_mg}
        problems.append(Problem("net_mg", ProblemKind.PACKAGE_TOO_LARGE, numbers))
    if problems:
        raise Refused(*problems)


def _check_volume(session: Session, request: Pack, lot: Lot, packaging: Packaging) -> None:
    """Even pressed until no gap is left, the food must fit."""
    density = density_kg_m3(composition_of(session, lot), ROOM_C)
    holds_mg = to_mg(packaging.volume_ml / 1e6 * density)
    problems = [
        Problem(
            f"net_mg[{i}]", ProblemKind.DOES_NOT_FIT, {"holds_mg": holds_mg, "packed_mg": net_mg}
        )
        for i, net_mg in enumerate(request.net_mg)
        if net_mg > holds_mg
    ]
    if problems:
        raise Refused(*problems)


def _checkpoints(session: Session, request: Pack, lot: Lot) -> list[Applied]:
    kept = _KEPT.get(kind_of(session, request.place_id), Kept.SHELF)
    days = float((request.done_on - lot.kept_since).days)
    verdicts = list(under_oil(kept, days)) if is_under_oil(lot) else []
    if kept is Kept.FRIDGE:  # for the freezer see refreezing
        verdicts += half_cooked(session, lot)
    verdicts += _without_oxygen(session, request, lot, kept, days)
    return [
        *gate(verdicts, request.reason),
        *gate(canned_words(request.note)),
        *noted(not_covered_words(request.note)),
        *refreezing(session, [request.ref], request.place_id, request.reason),
    ]


def _without_oxygen(
    session: Session, request: Pack, lot: Lot, kept: Kept, days: float
) -> list[Verdict]:
    """What the rules say where an absorber or a vacuum takes the oxygen."""
    is_vacuum = request.pressure_fraction < 1.0
    if request.absorber_id is None and not is_vacuum:
        return []
    verdicts = pack_verdicts(session, lot, kept, is_vacuum=is_vacuum, days=days)
    verdicts += rehydrated_again(session, lot)
    packaging = session.get_one(Packaging, request.packaging_id)
    if packaging.kind == PackagingKind.GLASS_JAR:
        verdicts += sealed_jar()
    if request.absorber_id is not None:
        chosen = session.get_one(Absorber, request.absorber_id)
        verdicts += absorber_verdicts(
            _ABSORBER_KINDS[chosen.is_self_activated],
            water_activity=driest_activity(session, lot),
            minutes_open=request.minutes_open,
            is_hot_and_hard=request.absorber_is_spent,
        )
    return verdicts


def pack_verdicts(
    session: Session,
    lot: Lot,
    kept: Kept = Kept.SHELF,
    *,
    is_vacuum: bool = False,
    days: float | None = None,
) -> list[Verdict]:
    """What the rules say about sealing this lot without oxygen, by the wet end of its range.

    Args:
        days: since it was made or last changed its keeping; for the refrigerator. None: not known.
    """
    dried = treatments_of(session, lot.id) & DRIED
    makeup = makeup_of(session, lot)
    verdicts = list(
        oxygen_free_pack(
            FoodClass(lot.food_class),
            fat_fraction=makeup.composition.fat,
            water_low=makeup.water_low if dried else makeup.driest,
            water_high=makeup.water_high if dried else makeup.wettest,
            water_activity=wettest_activity(session, lot),
            moisture_is_measured=makeup.water_is_measured,
            raw=lot.is_raw,
            is_smoked="smoked" in lot.name.casefold(),
            is_vacuum=is_vacuum,
            kept=kept,
            fridge_days=days,
        )
    )
    if Treatment.DRIED_AIR in dried:
        verdicts += dried_meat(
            raw_classes(session, lot),
            DryerKind.AIR,
            was_cooked=not lot.is_raw,
            kept=kept,
            rule_set=rule_set_of(session),
        )
    return verdicts


def wettest_activity(session: Session, lot: Lot) -> float | None:
    """Water activity at the wet end of a lot's moisture, computed; None where no model holds."""
    makeup = makeup_of(session, lot)
    return _activity(lot, makeup.composition, makeup.wettest)


def driest_activity(session: Session, lot: Lot) -> float | None:
    """Water activity at the dry end, where an absorber has least moisture to work with."""
    makeup = makeup_of(session, lot)
    return _activity(lot, makeup.composition, makeup.driest)


def _activity(lot: Lot, composition: Composition, water: float) -> float | None:
    try:
        return water_activity(FoodClass(lot.food_class), with_water(composition, water))
    except ScienceError:
        return None
