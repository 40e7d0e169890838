"""Dryer runs: what was on each tray, and every weigh-back."""

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, ForeignKeyConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.ledger.models.base import STRICT, Base


class Run(Base):
    """One dryer load, from loading on; it has ended when an unload names it."""

    __tablename__ = "run"
    __table_args__ = (STRICT,)
    id: Mapped[int] = mapped_column(primary_key=True)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), unique=True)
    place_id: Mapped[int] = mapped_column(ForeignKey("place.id"), index=True)
    started_at: Mapped[datetime]


class Tray(Base):
    """One tray of a run: what lies on it, gross less tare."""

    __tablename__ = "tray"
    __table_args__ = (
        CheckConstraint("tare_mg >= 0 AND gross_mg > tare_mg", name="gross_above_tare"),
        STRICT,
    )
    run_id: Mapped[int] = mapped_column(ForeignKey("run.id"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True)
    lot_id: Mapped[int] = mapped_column(ForeignKey("lot.id"), index=True)
    gross_mg: Mapped[int]
    gross_typed: Mapped[str]
    tare_mg: Mapped[int]
    tare_typed: Mapped[str]


class TrayWeighing(Base):
    """A repeat weighing of a tray, to judge dryness."""

    __tablename__ = "tray_weighing"
    __table_args__ = (
        ForeignKeyConstraint(
            ["run_id", "number"], ["tray.run_id", "tray.number"], name="fk_tray_weighing_tray"
        ),
        CheckConstraint("gross_mg > 0", name="gross"),
        STRICT,
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    run_id: Mapped[int] = mapped_column(index=True)
    number: Mapped[int]
    weighed_at: Mapped[datetime]
    gross_mg: Mapped[int]
    gross_typed: Mapped[str]


class RunEnd(Base):
    """The unloading that ended a run."""

    __tablename__ = "run_end"
    __table_args__ = (STRICT,)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), primary_key=True)
    run_id: Mapped[int] = mapped_column(ForeignKey("run.id"), index=True)
