"""Rehydration trials: two soakings side by side, as they were done."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from app.ledger.models.base import STRICT, Base


class Trial(Base):
    """One trial; its two sides are rows of `soaking`."""

    __tablename__ = "trial"
    __table_args__ = (STRICT,)
    id: Mapped[int] = mapped_column(primary_key=True)
    done_on: Mapped[date]
    recorded_at: Mapped[datetime]
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    note: Mapped[str]


class SoakingDone(Base):
    """One side of a trial; the water fractions are those known when it was done."""

    __tablename__ = "soaking"
    __table_args__ = (
        CheckConstraint("side IN (1, 2)", name="side"),
        CheckConstraint("dry_mg > 0 AND water_mg >= 0 AND drained_mg > 0", name="masses"),
        CheckConstraint("drained_mg <= dry_mg + water_mg", name="nothing_from_nowhere"),
        CheckConstraint("score BETWEEN 1 AND 5", name="score"),
        STRICT,
    )
    trial_id: Mapped[int] = mapped_column(ForeignKey("trial.id"), primary_key=True)
    side: Mapped[int] = mapped_column(primary_key=True)
    lot_id: Mapped[int] = mapped_column(ForeignKey("lot.id"), index=True)
    dry_mg: Mapped[int]
    water_mg: Mapped[int]
    drained_mg: Mapped[int]
    minutes: Mapped[float]
    temp_c: Mapped[float]
    score: Mapped[int | None]
    dry_water: Mapped[float]
    fresh_water: Mapped[float]
