"""The declarative base: strict tables, named constraints, one type for each kind of value."""

from datetime import date, datetime
from typing import Any, ClassVar

from sqlalchemy import MetaData, Text
from sqlalchemy.orm import DeclarativeBase

from app.ledger.types import Flag, LocalDate, Real, UtcInstant, Whole

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s",
    "pk": "pk_%(table_name)s",
}

STRICT = {"sqlite_strict": True}


class Base(DeclarativeBase):
    """Base of every table."""

    metadata = MetaData(naming_convention=NAMING)
    type_annotation_map: ClassVar[dict[Any, Any]] = {
        int: Whole,
        str: Text,
        bool: Flag,
        float: Real,
        date: LocalDate,
        datetime: UtcInstant,
    }
