"""Blend: fat or other food worked into a lot, to a fat content wanted."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.errors import ProblemKind, refuse
from app.ledger.lots import kind_of, known_lot, made_from, need_mass, wrap_for
from app.ledger.makeup import composition_of, makeup_of, mixed, pure
from app.ledger.mass import to_kg, to_mg
from app.ledger.models import Lot
from app.ledger.operations._post import Make, Posted, Posting, Take, losses, post
from app.ledger.refreezing import refreezing
from app.ledger.refrigerated import in_its_days, no_fresher
from app.ledger.safety import gate, together
from app.ledger.seasonings import carried, unrecorded
from app.ledger.stock import StockRef
from app.ledger.words import AdditionKind, LossKind, OperationKind
from app.science.blending import fat_source_to_add
from app.science.classes import FoodClass
from app.science.composition import Composition
from app.science.errors import Impossible
from app.science.safety.rule import Verdict

_SEASONING = pure(Composition(water=0.0, protein=0.0, fat=0.0, carbohydrate=0.0, ash=1.0))


@dataclass(frozen=True, slots=True)
class Blend:
    """A lean lot, a lot worked into it, seasoning if any, and what came out."""

    ref: StockRef
    mass_mg: int
    other_ref: StockRef
    other_mass_mg: int
    name: str
    made_mg: int
    place_id: int
    done_on: date
    seasoning_mg: int = 0
    seasoning_words: str = ""  # empty: salt
    seasoning_allergens: frozenset[str] | None = None  # None: nobody told; salt has none
    stuck_mg: int = 0
    unexplained_mg: int = 0
    note: str = ""
    reason: str = ""


def blend(session: Session, request: Blend, *, at: datetime, by: int | None) -> Posted:
    """Work one lot into another; the result keeps the marks of both.

    Seasoning is counted as salt (ash), so the fat and water fractions stay right.
    """
    need_mass({"mass_mg": request.mass_mg, "other_mass_mg": request.other_mass_mg})
    lot = known_lot(session, request.ref)
    other = known_lot(session, request.other_ref, "other_ref")
    makeup = mixed(
        [
            (makeup_of(session, lot), to_kg(request.mass_mg)),
            (makeup_of(session, other), to_kg(request.other_mass_mg)),
            (_SEASONING, to_kg(request.seasoning_mg)),
        ]
    )
    new = made_from(
        session,
        lot,
        request.done_on,
        name=request.name,
        food_class=_class(lot, other),
        composition=makeup.composition,
        water_low=makeup.water_low,
        water_high=makeup.water_high,
        water_is_measured=makeup.water_is_measured,
        wrap=wrap_for(kind_of(session, request.place_id)),
        allergens_at_intake=request.seasoning_allergens or frozenset(),
    )
    refs = [request.ref, request.other_ref]
    new = no_fresher(session, new, refs, request.place_id)
    additions = [(AdditionKind.SEASONING, request.seasoning_mg, request.seasoning_words)]
    posting = Posting(
        OperationKind.BLEND,
        request.done_on,
        note=request.note,
        takes=[
            Take(request.ref, request.mass_mg, "mass_mg"),
            Take(request.other_ref, request.other_mass_mg, "other_mass_mg"),
        ],
        checkpoints=[
            *together(
                lambda: gate(_untold(request), request.reason),
                lambda: in_its_days(session, refs, request.done_on, request.reason, at),
                lambda: refreezing(session, refs, request.place_id, request.reason),
            ),
            *carried(session, [lot.id, other.id], request.seasoning_allergens or frozenset()),
        ],
        makes=[Make(request.place_id, request.made_mg, new)],
        additions=[addition for addition in additions if addition[1] > 0],
        losses=losses(
            (LossKind.STUCK, request.stuck_mg), (LossKind.UNEXPLAINED, request.unexplained_mg)
        ),
    )
    return post(session, posting, at=at, by=by)


def fat_needed_mg(
    session: Session, ref: StockRef, mass_mg: int, fat_ref: StockRef, target_fat: float
) -> int:
    """How much of a fatty lot brings a lean one to a target fat fraction.

    Args:
        ref, mass_mg: the lean lot and how much of it. fat_ref: the fatty lot, by its own
            composition. target_fat: wanted fat fraction of the blend, kg/kg.
    Returns:
        Mass of the fatty lot, mg.
    Raises:
        Refused: the target lies outside what the two can reach.
    """
    lean = composition_of(session, known_lot(session, ref))
    fatty = composition_of(session, known_lot(session, fat_ref, "other_ref"))
    try:
        return to_mg(fat_source_to_add(to_kg(mass_mg), lean.fat, fatty.fat, target_fat))
    except Impossible as error:
        raise refuse(
            "target_fat", ProblemKind.IMPOSSIBLE, low=min(lean.fat, fatty.fat), high=fatty.fat
        ) from error


def _untold(request: Blend) -> tuple[Verdict, ...]:
    if request.seasoning_mg <= 0:
        return ()
    return unrecorded(request.seasoning_words, request.seasoning_allergens)


def _class(lot: Lot, other: Lot) -> FoodClass:
    """Fat or pantry goods leave a food what it is; two foods of different class are a dish."""
    worked_in = FoodClass(other.food_class)
    if worked_in in (FoodClass.FAT, FoodClass.PANTRY) or worked_in == lot.food_class:
        return FoodClass(lot.food_class)
    return FoodClass.DISH
