"""Operations and their lines. Append-only: triggers refuse every edit and deletion."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from app.ledger.models.base import STRICT, Base
from app.ledger.types import one_of
from app.ledger.words import AdditionKind, LossKind, MeasuredBy, OperationKind


class Operation(Base):
    """One recorded piece of work."""

    __tablename__ = "operation"
    __table_args__ = (one_of("kind", OperationKind), STRICT)
    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    done_on: Mapped[date] = mapped_column(index=True)
    recorded_at: Mapped[datetime]
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    note: Mapped[str]
    method: Mapped[str]  # how: simmered, in the refrigerator…
    reverses_id: Mapped[int | None] = mapped_column(ForeignKey("operation.id"), unique=True)


class Entry(Base):
    """One line: this lot (and package) at this place, mass taken (below 0) or made (above 0)."""

    __tablename__ = "entry"
    __table_args__ = (
        CheckConstraint("mass_mg <> 0", name="mass"),
        Index("ix_entry_lot_place_package", "lot_id", "place_id", "package_id"),
        STRICT,
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), index=True)
    lot_id: Mapped[int] = mapped_column(ForeignKey("lot.id"))
    package_id: Mapped[int | None] = mapped_column(ForeignKey("package.id"), index=True)
    place_id: Mapped[int] = mapped_column(ForeignKey("place.id"), index=True)
    mass_mg: Mapped[int]


class Addition(Base):
    """Mass that came in without having been a lot: the intake itself, water, seasoning."""

    __tablename__ = "addition"
    __table_args__ = (
        CheckConstraint("mass_mg > 0", name="mass"),
        one_of("kind", AdditionKind),
        STRICT,
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), index=True)
    kind: Mapped[str]
    mass_mg: Mapped[int]
    words: Mapped[str]


class Loss(Base):
    """Mass that left without becoming a lot."""

    __tablename__ = "loss"
    __table_args__ = (
        CheckConstraint("mass_mg > 0", name="mass"),
        one_of("kind", LossKind),
        STRICT,
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), index=True)
    kind: Mapped[str]
    mass_mg: Mapped[int]
    words: Mapped[str]


class Balance(Base):
    """The closing row of an operation: taken + added = made + lost, checked by the database."""

    __tablename__ = "balance"
    __table_args__ = (
        CheckConstraint("taken_mg + added_mg = made_mg + lost_mg", name="conserved"),
        CheckConstraint(
            "taken_mg >= 0 AND added_mg >= 0 AND made_mg >= 0 AND lost_mg >= 0", name="signs"
        ),
        STRICT,
    )
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), primary_key=True)
    taken_mg: Mapped[int]
    added_mg: Mapped[int]
    made_mg: Mapped[int]
    lost_mg: Mapped[int]


class Flow(Base):
    """How much of one lot went into another, in an operation."""

    __tablename__ = "flow"
    __table_args__ = (CheckConstraint("mass_mg >= 0", name="mass"), STRICT)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), primary_key=True)
    source_id: Mapped[int] = mapped_column(ForeignKey("lot.id"), primary_key=True, index=True)
    result_id: Mapped[int] = mapped_column(ForeignKey("lot.id"), primary_key=True, index=True)
    mass_mg: Mapped[int]


class Weighing(Base):
    """One bowl of a tally: gross less tare, in exact milligrams and as typed."""

    __tablename__ = "weighing"
    __table_args__ = (
        CheckConstraint("tare_mg >= 0 AND gross_mg >= tare_mg", name="gross_above_tare"),
        STRICT,
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), index=True)
    ordinal: Mapped[int]
    bowl: Mapped[str]
    gross_mg: Mapped[int]
    gross_typed: Mapped[str]
    tare_mg: Mapped[int]
    tare_typed: Mapped[str]


class Reading(Base):
    """A measurement made during an operation or on a lot, in base units and as typed."""

    __tablename__ = "reading"
    __table_args__ = (one_of("measured_by", MeasuredBy), STRICT)
    id: Mapped[int] = mapped_column(primary_key=True)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), index=True)
    lot_id: Mapped[int | None] = mapped_column(ForeignKey("lot.id"), index=True)
    kind: Mapped[str]
    hours: Mapped[float | None]
    value: Mapped[float]
    typed: Mapped[str]
    measured_by: Mapped[str | None]
    spread: Mapped[float | None]  # the true value lies this far from it at most, as judged


class Checkpoint(Base):
    """A safety rule that was applied to an operation, with the rule's version and the numbers."""

    __tablename__ = "checkpoint"
    __table_args__ = (STRICT,)
    id: Mapped[int] = mapped_column(primary_key=True)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), index=True)
    rule: Mapped[str]
    rule_version: Mapped[str]
    outcome: Mapped[str]
    sentence: Mapped[str]
    reason: Mapped[str]
    lot_id: Mapped[int | None] = mapped_column(ForeignKey("lot.id"), index=True)


class PostingKey(Base):
    """The key of a form that was posted, so that a second tap finds the first answer."""

    __tablename__ = "posting_key"
    __table_args__ = (STRICT,)
    key: Mapped[str] = mapped_column(primary_key=True)
    location: Mapped[str]
    recorded_at: Mapped[datetime]
