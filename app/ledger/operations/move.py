"""Move: the same food at another place."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.errors import Problem, ProblemKind, Refused, refuse
from app.ledger.lots import kind_of, known_lot, need_mass
from app.ledger.models import Lot, Operation
from app.ledger.operations._post import Make, Posted, Posting, Take, post
from app.ledger.queries.trace import trace
from app.ledger.safety import Applied, gate
from app.ledger.stock import StockRef, find_stock
from app.ledger.windows import treatments_of
from app.ledger.words import OperationKind, PlaceKind
from app.science.classes import Treatment
from app.science.safety.thawing import ThawWay
from app.science.safety.verdicts import may_refreeze


@dataclass(frozen=True, slots=True)
class Move:
    """What is moved (whole rows of stock, or part of one) and where to."""

    refs: tuple[StockRef, ...]
    place_id: int
    done_on: date
    mass_mg: int | None = None  # only with a single row: part of it
    note: str = ""
    reason: str = ""


def move(session: Session, request: Move, *, at: datetime, by: int | None) -> Posted:
    """Move food; its window is reckoned with the new place's temperature from then on.

    Raises:
        Refused: nothing chosen, it lies there already, a dryer as the target (load it instead),
            or refreezing what thawed warm.
    """
    if not request.refs:
        raise refuse("refs", ProblemKind.MISSING)
    target = kind_of(session, request.place_id)
    if target.is_dryer:
        raise refuse("place_id", ProblemKind.WRONG_PLACE, why="load_it")
    if request.mass_mg is not None:
        need_mass({"mass_mg": request.mass_mg})
        if len(request.refs) > 1:
            raise refuse("mass_mg", ProblemKind.ONE_AT_A_TIME)
    problems = [
        Problem("place_id", ProblemKind.NOTHING_TO_DO)
        for ref in request.refs
        if ref.place_id == request.place_id
    ]
    if problems:
        raise Refused(problems[0])
    pieces = [(ref, _mass(session, ref, request)) for ref in request.refs]
    field = "refs" if request.mass_mg is None else "mass_mg"
    posting = Posting(
        OperationKind.MOVE,
        request.done_on,
        note=request.note,
        takes=[Take(ref, mass_mg, field) for ref, mass_mg in pieces],
        makes=[Make(request.place_id, mass_mg, ref=ref) for ref, mass_mg in pieces],
        checkpoints=_refreezing(session, request, target),
    )
    return post(session, posting, at=at, by=by)


def _mass(session: Session, ref: StockRef, request: Move) -> int:
    known_lot(session, ref, "refs")
    row = find_stock(session, ref)
    if row is None:
        raise refuse("refs", ProblemKind.NOT_ON_HAND, on_hand_mg=0, taken_mg=0, code="")
    return row.mass_mg if request.mass_mg is None else request.mass_mg


def _refreezing(session: Session, request: Move, target: PlaceKind) -> list[Applied]:
    if target is not PlaceKind.FREEZER:
        return []
    checkpoints: list[Applied] = []
    for ref in request.refs:
        lot = session.get_one(Lot, ref.lot_id)
        treatments = treatments_of(session, ref.lot_id)
        if Treatment.THAWED in treatments and lot.is_raw:
            checkpoints += gate(may_refreeze(_way(session, ref.lot_id)), request.reason)
    return checkpoints


def _way(session: Session, lot_id: int) -> ThawWay:
    """How a lot was thawed: by the newest thawing upstream."""
    ids = {lot_id} | {traced.lot_id for traced in trace(session, lot_id).upstream}
    method = session.scalar(
        select(Operation.method)
        .join(Lot, Lot.operation_id == Operation.id)
        .where(Lot.id.in_(ids), Operation.kind == OperationKind.THAW)
        .order_by(Operation.id.desc())
        .limit(1)
    )
    return ThawWay(method) if method else ThawWay.REFRIGERATOR
