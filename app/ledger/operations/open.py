"""Open: breaking the seal of packages, after which the short window of each runs."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.errors import ProblemKind, refuse
from app.ledger.lots import known_lot
from app.ledger.operations._post import Make, Posted, Posting, Take, post
from app.ledger.stock import StockRef, find_stock
from app.ledger.words import OperationKind


@dataclass(frozen=True, slots=True)
class Open:
    """The packages that are opened."""

    refs: tuple[StockRef, ...]
    done_on: date
    note: str = ""


def open_package(session: Session, request: Open, *, at: datetime, by: int | None) -> Posted:
    """Record that packages were opened; they stay where they are.

    Raises:
        Refused: none is named, or one is no package, is not there, or is open already.
    """
    if not request.refs:
        raise refuse("refs", ProblemKind.MISSING)
    masses = [(ref, _sealed_mg(session, ref)) for ref in dict.fromkeys(request.refs)]
    posting = Posting(
        OperationKind.OPEN,
        request.done_on,
        note=request.note,
        takes=[Take(ref, mass_mg, "refs") for ref, mass_mg in masses],
        makes=[Make(ref.place_id, mass_mg, ref=ref) for ref, mass_mg in masses],
    )
    return post(session, posting, at=at, by=by)


def _sealed_mg(session: Session, ref: StockRef) -> int:
    known_lot(session, ref, "refs")
    row = find_stock(session, ref)
    if row is None or row.package_id is None:
        raise refuse("refs", ProblemKind.WRONG_STATE, why="no_package")
    if row.opened_on is not None:
        raise refuse("refs", ProblemKind.NOTHING_TO_DO)
    return row.mass_mg
