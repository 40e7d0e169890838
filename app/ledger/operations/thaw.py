"""Thaw: frozen food becomes a lot that must be used within days."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.errors import ProblemKind, refuse
from app.ledger.lots import kind_of, known_lot, made_from
from app.ledger.operations._post import Make, Posted, Posting, Take, losses, post
from app.ledger.safety import gate
from app.ledger.stages import is_airless_fish
from app.ledger.stock import StockRef
from app.ledger.temperatures import Typed, mistyped
from app.ledger.words import LossKind, OperationKind, PlaceKind
from app.science.classes import Treatment
from app.science.safety.readings import Reading
from app.science.safety.thawing import ThawWay
from app.science.safety.verdicts import thawed


@dataclass(frozen=True, slots=True)
class Thaw:
    """What is thawed, how, and where it lies now."""

    ref: StockRef
    mass_mg: int
    way: ThawWay
    place_id: int
    done_on: date
    drip_mg: int = 0
    pack_opened: bool | None = None  # fish sealed without air: before it thawed
    warmest: Typed | None = None  # of the food, as read
    note: str = ""
    reason: str = ""


def thaw(session: Session, request: Thaw, *, at: datetime, by: int | None) -> Posted:
    """Record a thawing; drip that ran off is a loss.

    Raises:
        Refused: the food is not in a freezer, was thawed on the counter, or more drip than food.
    """
    lot = known_lot(session, request.ref)
    if kind_of(session, request.ref.place_id, "ref") is not PlaceKind.FREEZER:
        raise refuse("ref", ProblemKind.WRONG_STATE, why="not_frozen")
    if request.drip_mg >= request.mass_mg:
        raise refuse(
            "drip_mg",
            ProblemKind.MORE_OUT_THAN_IN,
            in_mg=request.mass_mg,
            out_mg=request.drip_mg,
        )
    verdicts = mistyped(Reading.FRIDGE, request.warmest, request.reason) or thawed(
        request.way,
        is_vacuum_fish=is_airless_fish(session, lot, request.ref),
        pack_opened=request.pack_opened,
        warmest_c=request.warmest.temp_c if request.warmest else None,
        insisted=True,  # asked above, in the unit that was typed
    )
    checkpoints = gate(verdicts, request.reason)
    new = made_from(session, lot, request.done_on, treatments=frozenset({Treatment.THAWED}))
    posting = Posting(
        OperationKind.THAW,
        request.done_on,
        note=request.note,
        method=request.way,
        takes=[Take(request.ref, request.mass_mg)],
        makes=[Make(request.place_id, request.mass_mg - request.drip_mg, new)],
        losses=losses((LossKind.DRIP, request.drip_mg)),
        checkpoints=checkpoints,
        balance_field="drip_mg",
    )
    return post(session, posting, at=at, by=by)
