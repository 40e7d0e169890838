"""Stocktake: what lies at a place is compared with the ledger, and the differences are posted."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.errors import Problem, ProblemKind, Refused, refuse
from app.ledger.lots import known_lot, known_place
from app.ledger.models import Package, Stock
from app.ledger.operations._post import Make, Posted, Posting, Take, losses, post
from app.ledger.stock import StockRef, find_stock
from app.ledger.words import AdditionKind, LossKind, OperationKind


@dataclass(frozen=True, slots=True)
class Counted:
    """What was found of one row of stock: its mass now, 0 when it is not there."""

    ref: StockRef
    found_mg: int


@dataclass(frozen=True, slots=True)
class Stocktake:
    """A walk through one place. Whatever is not named was not looked at and stays as it is."""

    place_id: int
    counted: tuple[Counted, ...]
    done_on: date
    reason: str = ""  # why it differs, as far as anybody knows
    note: str = ""


def stocktake(session: Session, request: Stocktake, *, at: datetime, by: int | None) -> Posted:
    """Post what is missing as a loss and what is there beyond the ledger as an addition.

    A stocktake in which everything agrees is written as well: somebody has looked.

    Raises:
        Refused: nothing was counted, the same row twice, food of another place, a sealed package
            that weighs other than its net weight, or a difference without a reason.
    """
    known_place(session, request.place_id)
    _check(session, request)
    changes = [(line, line.found_mg - _on_hand(session, line.ref)) for line in request.counted]
    missing = [(line.ref, -change) for line, change in changes if change < 0]
    extra = [(line.ref, change) for line, change in changes if change > 0]
    if (missing or extra) and not request.reason.strip():
        raise refuse("reason", ProblemKind.MISSING)
    missing_mg, extra_mg = (sum(mg for _, mg in part) for part in (missing, extra))
    posting = Posting(
        OperationKind.STOCKTAKE,
        request.done_on,
        note="\n".join(text for text in (request.reason, request.note) if text.strip()),
        takes=[Take(ref, mass_mg, "counted") for ref, mass_mg in missing],
        makes=[Make(ref.place_id, mass_mg, ref=ref) for ref, mass_mg in extra],
        additions=[(AdditionKind.FOUND, extra_mg, request.reason)] if extra_mg else [],
        losses=losses((LossKind.MISSING, missing_mg)),
    )
    return post(session, posting, at=at, by=by)


def _check(session: Session, request: Stocktake) -> None:
    if not request.counted:
        raise refuse("counted", ProblemKind.MISSING)
    problems: list[Problem] = []
    seen: set[StockRef] = set()
    for i, line in enumerate(request.counted):
        field = f"counted[{i}]"
        known_lot(session, line.ref, field)
        if line.ref.place_id != request.place_id or line.ref in seen:
            problems.append(Problem(field, ProblemKind.UNKNOWN_CHOICE))
        seen.add(line.ref)
        problems += _package_problems(session, line, field)
        if line.found_mg < 0:
            problems.append(Problem(field, ProblemKind.NOT_POSITIVE))
    if problems:
        raise Refused(*problems)


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
    is_whole = line.found_mg == package.net_mg
    is_opened = row is not None and row.opened_on is not None
    if is_whole or (is_opened and row is not None and line.found_mg <= row.mass_mg):
        return []
    return [Problem(field, ProblemKind.WRONG_STATE, {"why": "sealed_is_whole"})]


def _on_hand(session: Session, ref: StockRef) -> int:
    row = find_stock(session, ref)
    return row.mass_mg if row else 0
