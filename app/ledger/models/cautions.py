"""Holds, the story of game, things that went wrong, and looks that were taken. Append-only."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from app.ledger.models.base import STRICT, Base
from app.ledger.types import one_of
from app.ledger.words import (
    Ammunition,
    CheckKind,
    Finding,
    HoldCause,
    IncidentFate,
    IncidentKind,
    ReleaseCause,
)


class GameStory(Base):
    """What is known of a wild animal beyond its name and tag."""

    __tablename__ = "game_story"
    __table_args__ = (one_of("ammunition", Ammunition), STRICT)
    source_id: Mapped[int] = mapped_column(ForeignKey("source.id"), primary_key=True)
    ammunition: Mapped[str]
    looked_sick: Mapped[bool]
    cwd_status: Mapped[str]  # a CwdStatus of the science
    cwd_listed: Mapped[bool | None]  # is the region listed for it; None: not known
    hours_to_cold: Mapped[float | None]
    centre_c: Mapped[float | None]
    taken_at: Mapped[str]  # region, as told


class Hold(Base):
    """A lot, and everything made of it, is not to be eaten, given or mixed until released."""

    __tablename__ = "hold"
    __table_args__ = (one_of("cause", HoldCause), STRICT)
    id: Mapped[int] = mapped_column(primary_key=True)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), index=True)
    lot_id: Mapped[int] = mapped_column(ForeignKey("lot.id"), index=True)
    cause: Mapped[str]
    words: Mapped[str]


class Release(Base):
    """A hold that was lifted, and why."""

    __tablename__ = "release"
    __table_args__ = (one_of("cause", ReleaseCause), STRICT)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), primary_key=True)
    hold_id: Mapped[int] = mapped_column(ForeignKey("hold.id"), primary_key=True, index=True)
    cause: Mapped[str]


class Incident(Base):
    """Something that went wrong, as it was told: what, where, from when to when, how warm."""

    __tablename__ = "incident"
    __table_args__ = (
        CheckConstraint("from_at <= to_at", name="from_to"),
        CheckConstraint("warm_hours >= 0", name="warm_hours"),
        one_of("kind", IncidentKind),
        STRICT,
    )
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), primary_key=True)
    kind: Mapped[str]
    place_id: Mapped[int | None] = mapped_column(ForeignKey("place.id"), index=True)
    from_at: Mapped[datetime | None]
    to_at: Mapped[datetime | None]
    temp_c: Mapped[float | None]  # how warm the food became, at most
    warm_hours: Mapped[float | None]  # above 4.4 °C, 40 °F
    discard_id: Mapped[int | None] = mapped_column(ForeignKey("operation.id"))  # done at once
    held_id: Mapped[int | None] = mapped_column(ForeignKey("operation.id"))


class IncidentLot(Base):
    """What an incident meant for one lot or package, by the rule that stands beside it."""

    __tablename__ = "incident_lot"
    __table_args__ = (
        CheckConstraint("warm_hours >= 0", name="warm_hours"),
        one_of("fate", IncidentFate),
        STRICT,
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), index=True)
    lot_id: Mapped[int] = mapped_column(ForeignKey("lot.id"), index=True)
    package_id: Mapped[int | None] = mapped_column(ForeignKey("package.id"), index=True)
    is_icy: Mapped[bool | None]  # still had ice and felt fridge-cold; None: nobody looked
    warm_hours: Mapped[float | None]
    temp_c: Mapped[float | None]
    fate: Mapped[str]
    since: Mapped[date | None]  # open or worn since this day, as far as is known


class CheckDone(Base):
    """A look that was due and was taken: what at, and whether all was well."""

    __tablename__ = "check_done"
    __table_args__ = (one_of("kind", CheckKind), one_of("finding", Finding), STRICT)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), primary_key=True)
    kind: Mapped[str]
    finding: Mapped[str]
    lot_id: Mapped[int | None] = mapped_column(ForeignKey("lot.id"), index=True)
    place_id: Mapped[int | None] = mapped_column(ForeignKey("place.id"), index=True)
