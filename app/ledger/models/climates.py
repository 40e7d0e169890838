"""How warm and damp places are, from when on, and the readings that say so. Append-only."""

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from app.ledger.models.base import STRICT, Base
from app.ledger.types import one_of
from app.ledger.words import ClimateBasis


class Climate(Base):
    """How warm a place is from an instant on: all year, or in one month of every year.

    Before its first climate a place is as it was when it was added. An operation that states a
    climate by month writes twelve rows.
    """

    __tablename__ = "climate"
    __table_args__ = (
        CheckConstraint("temp_low_c <= temp_c AND temp_c <= temp_high_c", name="temp_order"),
        CheckConstraint("relative_humidity BETWEEN 0 AND 1", name="relative_humidity"),
        CheckConstraint("month BETWEEN 1 AND 12", name="month"),
        one_of("basis", ClimateBasis),
        STRICT,
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), index=True)
    place_id: Mapped[int] = mapped_column(ForeignKey("place.id"), index=True)
    since: Mapped[datetime]
    month: Mapped[int | None]
    temp_low_c: Mapped[float]
    temp_c: Mapped[float]
    temp_high_c: Mapped[float]
    relative_humidity: Mapped[float]
    basis: Mapped[str]


class LoggerFile(Base):
    """A logger's file that was read in, so that the same one is not read in twice."""

    __tablename__ = "logger_file"
    __table_args__ = (STRICT,)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), primary_key=True)
    place_id: Mapped[int] = mapped_column(ForeignKey("place.id"), index=True)
    name: Mapped[str]
    sha256: Mapped[str]
    reading_count: Mapped[int]
    gap_count: Mapped[int]


class PlaceReading(Base):
    """One temperature of a place, read by a person or a logger."""

    __tablename__ = "place_reading"
    __table_args__ = (STRICT,)
    id: Mapped[int] = mapped_column(primary_key=True)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), index=True)
    place_id: Mapped[int] = mapped_column(ForeignKey("place.id"))
    at: Mapped[datetime]
    temp_c: Mapped[float]
    relative_humidity: Mapped[float | None]
    typed: Mapped[str]  # empty for a logger's


Index("ix_place_reading_place_at", PlaceReading.place_id, PlaceReading.at)
