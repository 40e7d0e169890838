"""Printed: which label was printed, and the window that stands on it. No mass moves."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from app.ledger.models import LabelPrint
from app.ledger.stock import StockRef


@dataclass(frozen=True, slots=True)
class Printed:
    """One label as it was printed."""

    ref: StockRef
    window_words: str


def labels_printed(session: Session, printed: Sequence[Printed], *, on: date) -> None:
    """Keep what stands on the labels, since a window computed later may differ."""
    session.add_all(
        LabelPrint(
            lot_id=label.ref.lot_id,
            package_id=label.ref.package_id,
            printed_on=on,
            window_words=label.window_words,
        )
        for label in printed
    )
    session.flush()
