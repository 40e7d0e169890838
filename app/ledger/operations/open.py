"""Open: breaking a package's seal, after which its own short window runs."""

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
    """The package that is opened."""

    ref: StockRef
    done_on: date
    note: str = ""


def open_package(session: Session, request: Open, *, at: datetime, by: int | None) -> Posted:
    """Record that a package was opened; it stays where it is.

    Raises:
        Refused: it is no package, is not there, or is open already.
    """
    known_lot(session, request.ref)
    row = find_stock(session, request.ref)
    if row is None or row.package_id is None:
        raise refuse("ref", ProblemKind.WRONG_STATE, why="no_package")
    if row.opened_on is not None:
        raise refuse("ref", ProblemKind.NOTHING_TO_DO)
    posting = Posting(
        OperationKind.OPEN,
        request.done_on,
        note=request.note,
        takes=[Take(request.ref, row.mass_mg)],
        makes=[Make(request.ref.place_id, row.mass_mg, ref=request.ref)],
    )
    return post(session, posting, at=at, by=by)
