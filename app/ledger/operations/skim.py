"""Skim: lifting the set fat off, as a lot of its own, as a loss, or recorded as none."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.errors import ProblemKind, refuse
from app.ledger.lots import known_lot, made_from, named_after, need_mass
from app.ledger.makeup import composition_of
from app.ledger.mass import to_kg
from app.ledger.operations._post import Make, Posted, Posting, Take, losses, post
from app.ledger.stock import StockRef
from app.ledger.words import LossKind, OperationKind
from app.science.classes import FoodClass, Form
from app.science.cooking import skimmed
from app.science.errors import ScienceError


@dataclass(frozen=True, slots=True)
class Skim:
    """What is skimmed, the fat lifted off (0 = none had set), and whether it is kept."""

    ref: StockRef
    mass_mg: int
    fat_mg: int
    place_id: int
    done_on: date
    keeps_fat: bool = False
    fat_name: str = ""
    note: str = ""


def skim(session: Session, request: Skim, *, at: datetime, by: int | None) -> Posted:
    """Record the skimming. Fat that is kept becomes a lot; fat that is not is a loss.

    Raises:
        Refused: more fat than there is food, or more than the lot can hold.
    """
    need_mass({"mass_mg": request.mass_mg})
    lot = known_lot(session, request.ref)
    rest_mg = request.mass_mg - request.fat_mg
    if rest_mg <= 0:
        raise refuse(
            "fat_mg", ProblemKind.MORE_OUT_THAN_IN, in_mg=request.mass_mg, out_mg=request.fat_mg
        )
    try:
        parts = skimmed(composition_of(session, lot), to_kg(request.mass_mg), to_kg(request.fat_mg))
    except ScienceError as error:
        raise refuse("fat_mg", ProblemKind.IMPOSSIBLE, reason="more_fat_than_there_is") from error
    makes = [
        Make(
            request.place_id,
            rest_mg,
            made_from(
                session, lot, lot.kept_since, composition=parts.rest, share_used=lot.share_used
            ),
        )
    ]
    if request.fat_mg and request.keeps_fat:
        fat = made_from(
            session,
            lot,
            lot.kept_since,
            name=request.fat_name or named_after(lot, "fat"),
            food_class=FoodClass.FAT,
            form=Form.LIQUID,
            composition=parts.fat,
            share_used=lot.share_used,
        )
        makes.append(Make(request.place_id, request.fat_mg, fat))
    thrown_mg = 0 if request.keeps_fat else request.fat_mg
    posting = Posting(
        OperationKind.SKIM,
        request.done_on,
        note=request.note,
        method="" if request.fat_mg else "none_set",
        takes=[Take(request.ref, request.mass_mg)],
        makes=makes,
        losses=losses((LossKind.SKIMMED, thrown_mg)),
        balance_field="fat_mg",
    )
    return post(session, posting, at=at, by=by)
