"""What the household told us about itself: settings, people, places, and the things it owns.

These rows describe the kitchen, not the food; they may be changed, unlike the ledger.
"""

from datetime import datetime

from sqlalchemy import CheckConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.ledger.models.base import STRICT, Base
from app.ledger.types import one_of
from app.ledger.words import PlaceKind, UnitSystem


class Household(Base):
    """The one household of this data file."""

    __tablename__ = "household"
    __table_args__ = (
        CheckConstraint("id = 1", name="only_one"),
        CheckConstraint("altitude_m BETWEEN -500 AND 6000", name="altitude"),
        CheckConstraint("scale_step_mg > 0", name="scale_step"),
        one_of("units", UnitSystem),
        STRICT,
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    units: Mapped[str]
    altitude_m: Mapped[float]
    time_zone: Mapped[str]
    rule_set: Mapped[str]
    scale_step_mg: Mapped[int]
    label_width_mm: Mapped[float]
    label_height_mm: Mapped[float]
    label_printer_dpi: Mapped[int]
    created_at: Mapped[datetime]
    calendar_token: Mapped[str | None]  # the secret end of the calendar's address


class Person(Base):
    """Somebody who writes entries."""

    __tablename__ = "person"
    __table_args__ = (STRICT,)
    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    units: Mapped[str | None]  # read first; None: as the household
    language: Mapped[str | None]  # of the pages; None: as the household's devices ask


class Place(Base):
    """Somewhere food is kept, with its temperature as a range, as told when it was added."""

    __tablename__ = "place"
    __table_args__ = (
        CheckConstraint("temp_low_c <= temp_c AND temp_c <= temp_high_c", name="temp_order"),
        CheckConstraint("relative_humidity BETWEEN 0 AND 1", name="relative_humidity"),
        one_of("kind", PlaceKind),
        STRICT,
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[str]
    temp_low_c: Mapped[float]
    temp_c: Mapped[float]
    temp_high_c: Mapped[float]
    relative_humidity: Mapped[float]
    tray_count: Mapped[int | None]
    tray_area_m2: Mapped[float | None]
    capacity_ml: Mapped[float | None]


class Bowl(Base):
    """A bowl or tray of the household, with its own weight."""

    __tablename__ = "bowl"
    __table_args__ = (CheckConstraint("tare_mg >= 0", name="tare"), STRICT)
    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    tare_mg: Mapped[int]


class Packaging(Base):
    """A kind of package the household owns; `kind` is a PackagingKind of the science."""

    __tablename__ = "packaging"
    __table_args__ = (
        CheckConstraint("volume_ml > 0", name="volume"),
        STRICT,
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[str]
    volume_ml: Mapped[float]
    area_cm2: Mapped[float | None]


class Absorber(Base):
    """An oxygen absorber the household owns, rated in cubic centimetres of oxygen."""

    __tablename__ = "absorber"
    __table_args__ = (CheckConstraint("rating_ml > 0", name="rating"), STRICT)
    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    rating_ml: Mapped[float]
    is_self_activated: Mapped[bool]
