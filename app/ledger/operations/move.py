"""Move: the same food at another place."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.errors import Problem, ProblemKind, Refused, refuse
from app.ledger.lots import kind_of, known_lot, need_mass
from app.ledger.models import Place, Stock
from app.ledger.operations._post import Make, Posted, Posting, Take, post
from app.ledger.refreezing import need_thawing, refreezing
from app.ledger.safety import Applied, gate
from app.ledger.stages import half_cooked, is_under_oil
from app.ledger.stock import StockRef, find_stock, ref_of
from app.ledger.words import DRYERS, OperationKind, PlaceKind
from app.science.safety.low_oxygen import Kept
from app.science.safety.rule import Verdict
from app.science.safety.verdicts import under_oil

_COLD = (PlaceKind.FREEZER, PlaceKind.FRIDGE)


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
            part of a package (portion it off instead) or what of it was in a dryer to where the
            rest is not, refreezing what thawed warm, garlic or vegetables in oil onto a shelf, or
            half-cooked food into the cold without a reason.
    """
    return post(session, posting_of(session, request), at=at, by=by)


def posting_of(session: Session, request: Move) -> Posting:
    """A move, looked over by its rules and ready to be posted, alone or within a stocktake."""
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
    need_thawing(session, request.refs, request.place_id, "place_id")
    pieces = [(ref, _mass(session, ref, request)) for ref in request.refs]
    _keep_packages_whole(session, pieces, request.place_id)
    field = "refs" if request.mass_mg is None else "mass_mg"
    return Posting(
        OperationKind.MOVE,
        request.done_on,
        note=request.note,
        takes=[Take(ref, mass_mg, field) for ref, mass_mg in pieces],
        makes=[Make(request.place_id, mass_mg, ref=ref) for ref, mass_mg in pieces],
        checkpoints=[
            *_stored(session, request, target),
            *refreezing(session, request.refs, request.place_id, request.reason),
        ],
    )


def _stored(session: Session, request: Move, target: PlaceKind) -> list[Applied]:
    """What the rules say about keeping this food there."""
    applied: list[Applied] = []
    for ref in request.refs:
        lot = known_lot(session, ref, "refs")
        verdicts: list[Verdict] = []
        if target is PlaceKind.ROOM and is_under_oil(lot):
            verdicts += under_oil(Kept.SHELF, None)
        chilled = kind_of(session, ref.place_id, "refs") in _COLD
        if target is PlaceKind.FRIDGE and not chilled:  # for the freezer see refreezing
            verdicts += half_cooked(session, lot)
        applied += [replace(one, lot_id=lot.id) for one in gate(verdicts, request.reason)]
    return applied


def _keep_packages_whole(
    session: Session, pieces: Sequence[tuple[StockRef, int]], place_id: int
) -> None:
    """A package is at one place: what is taken out of it goes elsewhere as a lot of its own.

    What of it lies on the trays of a dryer may come off them, to where the rest of it is.
    """
    for ref, mass_mg in pieces:
        row = find_stock(session, ref) if ref.package_id is not None else None
        if row is not None and mass_mg < row.mass_mg:
            raise refuse("mass_mg", ProblemKind.WRONG_STATE, why="package_is_whole")
    moved = {ref for ref, _ in pieces}
    for row in _kept_of(session, moved):
        if row.place_id != place_id and ref_of(row) not in moved:
            raise refuse("refs", ProblemKind.WRONG_STATE, why="package_is_whole")


def _kept_of(session: Session, refs: Iterable[StockRef]) -> Sequence[Stock]:
    """All that is on hand of these packages, but for what is in a dryer."""
    packages = {(ref.lot_id, ref.package_id) for ref in refs if ref.package_id is not None}
    if not packages:
        return []
    query = (
        select(Stock)
        .join(Place, Place.id == Stock.place_id)
        .where(
            Stock.lot_id.in_({lot_id for lot_id, _ in packages}),
            Stock.package_id.in_({package_id for _, package_id in packages}),
            Place.kind.not_in(DRYERS),
        )
    )
    return session.scalars(query).all()


def _mass(session: Session, ref: StockRef, request: Move) -> int:
    known_lot(session, ref, "refs")
    row = find_stock(session, ref)
    if row is None:
        raise refuse("refs", ProblemKind.NOT_ON_HAND, on_hand_mg=0, taken_mg=0, code="")
    return row.mass_mg if request.mass_mg is None else request.mass_mg
