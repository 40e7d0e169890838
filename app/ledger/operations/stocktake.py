"""Stocktake: what lies at a place is compared with the ledger, and the differences are posted."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.codes import code_of
from app.ledger.errors import Problem, ProblemKind, Refused, refuse
from app.ledger.lots import known_lot, known_place
from app.ledger.models import Lot, Operation, Package, Stock
from app.ledger.operations._post import Make, Posted, Posting, Take, losses, post
from app.ledger.operations.move import Move, posting_of
from app.ledger.stock import StockRef, find_stock, opened_on
from app.ledger.words import AdditionKind, LossKind, OperationKind


@dataclass(frozen=True, slots=True)
class Counted:
    """What was found of one row of stock: its mass now, 0 when it is not there."""

    ref: StockRef
    found_mg: int
    seen_mg: int | None = None  # what the ledger said there was while it was counted


@dataclass(frozen=True, slots=True)
class FoundHere:
    """Food that by the ledger lies elsewhere and was found here: all of it, or a part."""

    ref: StockRef  # where the ledger has it
    mass_mg: int | None = None


@dataclass(frozen=True, slots=True)
class Stocktake:
    """A walk through one place. Whatever is not named was not looked at and stays as it is."""

    place_id: int
    counted: tuple[Counted, ...]
    done_on: date
    reason: str = ""  # why it differs, as far as anybody knows
    note: str = ""
    found_here: tuple[FoundHere, ...] = ()


@dataclass(frozen=True, slots=True)
class Differences:
    """What a stocktake found, in mg: missing and extra by how much, moved from elsewhere."""

    agreed: tuple[StockRef, ...]
    missing: tuple[tuple[StockRef, int], ...]
    extra: tuple[tuple[StockRef, int], ...]
    moved: tuple[tuple[StockRef, int], ...]

    @property
    def is_none(self) -> bool:
        """Does everything agree?"""
        return not (self.missing or self.extra or self.moved)


def stocktake(session: Session, request: Stocktake, *, at: datetime, by: int | None) -> Posted:
    """Post what is missing as a loss, what is extra as an addition, what lay elsewhere as moved.

    All of it is one operation, which is taken back as one. A stocktake in which everything agrees
    is written as well: somebody has looked.

    Raises:
        Refused: as for `compare`, or a difference without a reason.
    """
    found, moves = _looked_over(session, request)
    if not found.is_none and not request.reason.strip():
        raise refuse("reason", ProblemKind.MISSING)
    missing_mg, extra_mg = (sum(mg for _, mg in part) for part in (found.missing, found.extra))
    posting = Posting(
        OperationKind.STOCKTAKE,
        request.done_on,
        note="\n".join(text for text in (request.reason, request.note) if text.strip()),
        takes=[
            *(Take(ref, mass_mg, "counted") for ref, mass_mg in found.missing),
            *(take for one in moves for take in one.takes),
        ],
        makes=[
            *(Make(ref.place_id, mass_mg, ref=ref) for ref, mass_mg in found.extra),
            *(make for one in moves for make in one.makes),
        ],
        additions=[(AdditionKind.FOUND, extra_mg, request.reason)] if extra_mg else [],
        losses=losses((LossKind.MISSING, missing_mg)),
        checkpoints=[applied for one in moves for applied in one.checkpoints],
    )
    return post(session, posting, at=at, by=by)


def compare(session: Session, request: Stocktake) -> Differences:
    """How what was found differs from the ledger; nothing is written.

    Raises:
        Refused: nothing was counted, the same row twice, food of another place, a row that the
            ledger changed since it was seen, a sealed package that weighs other than its net
            weight, or food from elsewhere that the rules do not let lie here.
    """
    return _looked_over(session, request)[0]


def _looked_over(session: Session, request: Stocktake) -> tuple[Differences, list[Posting]]:
    known_place(session, request.place_id)
    _check(session, request)
    changes = [(line.ref, line.found_mg - _on_hand(session, line.ref)) for line in request.counted]
    moves = [_moved(session, request, one) for one in request.found_here]
    found = Differences(
        agreed=tuple(ref for ref, change in changes if change == 0),
        missing=tuple((ref, -change) for ref, change in changes if change < 0),
        extra=tuple((ref, change) for ref, change in changes if change > 0),
        moved=tuple((take.ref, take.mass_mg) for one in moves for take in one.takes),
    )
    return found, moves


def _moved(session: Session, request: Stocktake, one: FoundHere) -> Posting:
    """What was found here, as the move that brings it here; the rules of moving hold."""
    move = Move((one.ref,), request.place_id, request.done_on, one.mass_mg, reason=request.reason)
    posting = posting_of(session, move)
    for take in posting.takes:
        on_hand_mg = _on_hand(session, take.ref)
        if take.mass_mg > on_hand_mg:
            code = code_of(take.ref.lot_id)
            amounts = {"code": code, "on_hand_mg": on_hand_mg, "taken_mg": take.mass_mg}
            raise Refused(Problem("found_here", ProblemKind.NOT_ON_HAND, amounts))
    return posting


def _check(session: Session, request: Stocktake) -> None:
    if not request.counted and not request.found_here:
        raise refuse("counted", ProblemKind.MISSING)
    problems: list[Problem] = []
    seen: set[StockRef] = set()
    for i, line in enumerate(request.counted):
        field = f"counted[{i}]"
        lot = known_lot(session, line.ref, field)
        if line.found_mg and _was_taken_back(session, lot):
            problems.append(Problem(field, ProblemKind.UNKNOWN_LOT))
        if line.ref.place_id != request.place_id or line.ref in seen:
            problems.append(Problem(field, ProblemKind.UNKNOWN_CHOICE))
        seen.add(line.ref)
        changed = _changed(session, line, field)
        problems += changed or _package_problems(session, line, field)
        if line.found_mg < 0:
            problems.append(Problem(field, ProblemKind.NOT_POSITIVE))
    moved = [one.ref for one in request.found_here]
    if len(set(moved)) < len(moved):
        problems.append(Problem("found_here", ProblemKind.UNKNOWN_CHOICE))
    if problems:
        raise Refused(*problems)


def _was_taken_back(session: Session, lot: Lot) -> bool:
    """By the ledger such food never was; whoever has it in hand takes it in anew."""
    taken_back = select(Operation.id).where(Operation.reverses_id == lot.operation_id)
    return session.scalar(taken_back) is not None


def _changed(session: Session, line: Counted, field: str) -> list[Problem]:
    """Somebody wrote an entry while it was counted: what was seen is not what the ledger has."""
    on_hand_mg = _on_hand(session, line.ref)
    if line.seen_mg is None or line.seen_mg == on_hand_mg:
        return []
    package = session.get(Package, line.ref.package_id) if line.ref.package_id else None
    numbers: dict[str, object] = {
        "code": code_of(line.ref.lot_id),
        "name": known_lot(session, line.ref, field).name,
        "number": package.number if package else None,
        "seen_mg": line.seen_mg,
        "on_hand_mg": on_hand_mg,
    }
    return [Problem(field, ProblemKind.CHANGED_SINCE, numbers)]


def _package_problems(session: Session, line: Counted, field: str) -> list[Problem]:
    """A sealed package is there whole or not at all, and no package holds more than was packed."""
    if line.ref.package_id is None or line.found_mg == 0:
        return []
    package = session.get(Package, line.ref.package_id)
    if package is None or package.lot_id != line.ref.lot_id:
        return [Problem(field, ProblemKind.UNKNOWN_LOT)]
    elsewhere = select(Stock.place_id).where(
        Stock.package_id == package.id, Stock.place_id != line.ref.place_id
    )
    if session.scalar(elsewhere) is not None:
        return [Problem(field, ProblemKind.WRONG_STATE, {"why": "elsewhere"})]
    row = find_stock(session, line.ref)
    most_mg = row.mass_mg if row is not None else package.net_mg
    is_opened = opened_on(session, package.id) is not None
    if line.found_mg == package.net_mg or (is_opened and line.found_mg <= most_mg):
        return []
    return [Problem(field, ProblemKind.WRONG_STATE, {"why": "sealed_is_whole"})]


def _on_hand(session: Session, ref: StockRef) -> int:
    row = find_stock(session, ref)
    return row.mass_mg if row else 0
