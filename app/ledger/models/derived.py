"""What is kept beside the ledger for speed, and can be rebuilt from it at any time."""

from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey, Index, func
from sqlalchemy.orm import Mapped, mapped_column

from app.ledger.models.base import STRICT, Base


class Stock(Base):
    """What is on hand: one row for a lot (or one of its packages) at a place."""

    __tablename__ = "stock"
    __table_args__ = (CheckConstraint("mass_mg > 0", name="mass"), STRICT)
    id: Mapped[int] = mapped_column(primary_key=True)
    lot_id: Mapped[int] = mapped_column(ForeignKey("lot.id"))
    package_id: Mapped[int | None] = mapped_column(ForeignKey("package.id"))
    place_id: Mapped[int] = mapped_column(ForeignKey("place.id"), index=True)
    mass_mg: Mapped[int]
    opened_on: Mapped[date | None]


Index(
    "uq_stock_unit",
    Stock.lot_id,
    func.coalesce(Stock.package_id, 0),
    Stock.place_id,
    unique=True,
)


class Estimate(Base):
    """The storage window of one stock row; a cache whose loss loses nothing."""

    __tablename__ = "estimate"
    __table_args__ = (STRICT,)
    stock_id: Mapped[int] = mapped_column(
        ForeignKey("stock.id", ondelete="CASCADE"), primary_key=True
    )
    key: Mapped[str]
    start: Mapped[date]
    early: Mapped[date | None]
    central: Mapped[date | None]
    late: Mapped[date | None]
    is_capped: Mapped[bool]
    limit_word: Mapped[str]  # the limit, or why there is no window
    payload: Mapped[str]


class LabelPrint(Base):
    """A label that was printed, with the window that stands on it."""

    __tablename__ = "label_print"
    __table_args__ = (STRICT,)
    id: Mapped[int] = mapped_column(primary_key=True)
    lot_id: Mapped[int] = mapped_column(ForeignKey("lot.id"), index=True)
    package_id: Mapped[int | None] = mapped_column(ForeignKey("package.id"))
    printed_on: Mapped[date]
    window_words: Mapped[str]
