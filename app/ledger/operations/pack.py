"""Pack: a lot into sealed units, each with its own net weight and number."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.errors import Problem, ProblemKind, Refused, refuse
from app.ledger.lots import kind_of, known_lot, made_from
from app.ledger.models import Absorber, Lot, Packaging
from app.ledger.operations._post import (
    Applied,
    Make,
    NewPackage,
    Posted,
    Posting,
    Take,
    gate,
    losses,
    post,
)
from app.ledger.stock import StockRef, find_stock
from app.ledger.windows import composition_of, treatments_of
from app.ledger.words import LossKind, OperationKind, PlaceKind
from app.science.classes import FoodClass, Treatment
from app.science.packaging import PackagingKind
from app.science.safety.rule import Verdict
from app.science.safety.verdicts import absorber as absorber_verdicts
from app.science.safety.verdicts import oxygen_free_pack
from app.science.sorption import water_activity

DRIED = frozenset({Treatment.DRIED_AIR, Treatment.DRIED_FREEZE})


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
    note: str = ""
    reason: str = ""


def pack(session: Session, request: Pack, *, at: datetime, by: int | None) -> Posted:
    """Seal a lot into packages; what is not packed stays where it is.

    Raises:
        Refused: no package, packages larger than the lot, or food that is not dry enough for a
            pack without oxygen at room temperature.
    """
    lot = known_lot(session, request.ref)
    packaging = session.get(Packaging, request.packaging_id)
    if packaging is None:
        raise refuse("packaging_id", ProblemKind.UNKNOWN_CHOICE)
    if request.absorber_id is not None and session.get(Absorber, request.absorber_id) is None:
        raise refuse("absorber_id", ProblemKind.UNKNOWN_CHOICE)
    _check_weights(session, request)
    checkpoints = _checkpoints(session, request, lot)
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
    new = made_from(lot, request.done_on, wrap=PackagingKind(packaging.kind))
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


def _checkpoints(session: Session, request: Pack, lot: Lot) -> list[Applied]:
    without_oxygen = request.absorber_id is not None or request.pressure_fraction < 1.0
    cold = kind_of(session, request.place_id) in (PlaceKind.FREEZER, PlaceKind.FRIDGE)
    if cold or not without_oxygen:
        return []
    dry_verdicts = pack_verdicts(session, lot)
    if request.absorber_id is not None:
        chosen = session.get_one(Absorber, request.absorber_id)
        activity = water_activity(FoodClass(lot.food_class), composition_of(lot))
        dry_verdicts += absorber_verdicts(
            self_activated=chosen.is_self_activated, water_activity=activity
        )
    return gate(dry_verdicts, request.reason)


def pack_verdicts(session: Session, lot: Lot) -> list[Verdict]:
    """What the rules say about sealing this lot without oxygen at room temperature."""
    composition = composition_of(lot)
    dried = bool(treatments_of(session, lot.id) & DRIED)
    return list(
        oxygen_free_pack(
            FoodClass(lot.food_class),
            fat_fraction=composition.fat,
            water_low=lot.water_low if dried else composition.water,
            water_high=lot.water_high if dried else composition.water,
            moisture_is_measured=lot.water_is_measured,
            is_raw=lot.is_raw,
        )
    )
