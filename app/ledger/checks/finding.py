"""What a check reports, and how it names lots and stock."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from app.ledger.codes import code_of, spoken
from app.ledger.stock import StockRef


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that does not hold: which check says so, about what, and the numbers."""

    check: str
    subject: str
    words: str  # holds {placeholders} for the numbers
    numbers: Mapping[str, object] = field(default_factory=dict)

    def __str__(self) -> str:
        """One plain line."""
        return f"{self.subject}: {self.words.format_map(self.numbers)} [{self.check}]"


def lot_words(lot_id: int) -> str:
    """A lot by its spoken code."""
    return f"lot {spoken(code_of(lot_id))}"


def stock_words(ref: StockRef) -> str:
    """A lot, or one of its packages, at a place."""
    package = f", package {ref.package_id}" if ref.package_id else ""
    return f"{lot_words(ref.lot_id)}{package}, place {ref.place_id}"
