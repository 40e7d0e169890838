"""How values are stored: strict columns that SQLite and PostgreSQL both understand."""

from collections.abc import Iterable
from datetime import UTC, date, datetime
from enum import StrEnum
from functools import lru_cache
from typing import Any, cast

from sqlalchemy import (
    REAL,
    BigInteger,
    CheckConstraint,
    ColumnElement,
    Dialect,
    Double,
    Integer,
    Text,
    TypeDecorator,
    literal,
)
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.functions import FunctionElement
from sqlalchemy.types import TypeEngine

Whole: TypeEngine[int] = BigInteger().with_variant(
    Integer(), "sqlite"
)  # 64 bits in both: two tonnes are 2e9 mg


@lru_cache(maxsize=8192)  # a list of food names few days, each of them often
def day_of(text: str) -> date:
    """A day of the calendar as it is stored."""
    return date.fromisoformat(text)


class UtcInstant(TypeDecorator[datetime]):
    """An instant, stored as ISO 8601 text with Z; a datetime without a zone is refused."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:
        """To text, in UTC."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("an instant needs a time zone")
        return value.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """From text."""
        return None if value is None else datetime.fromisoformat(value)


class LocalDate(TypeDecorator[date]):
    """A date in the household's calendar, stored as ISO 8601 text and never converted."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: date | None, dialect: Dialect) -> str | None:
        """To text."""
        return None if value is None else value.isoformat()

    def process_result_value(self, value: Any, dialect: Dialect) -> date | None:
        """From text."""
        return None if value is None else day_of(value)


class Flag(TypeDecorator[bool]):
    """Yes or no, stored as 1 or 0."""

    impl = Whole
    cache_ok = True

    def process_bind_param(self, value: bool | None, dialect: Dialect) -> int | None:
        """To 0 or 1."""
        return None if value is None else int(value)

    def process_result_value(self, value: Any, dialect: Dialect) -> bool | None:
        """From 0 or 1."""
        return None if value is None else bool(value)


class Real(TypeDecorator[float]):
    """A measured or computed number in double precision."""

    impl: TypeEngine[float] = Double().with_variant(REAL(), "sqlite")
    cache_ok = True


def is_set(flag: Any) -> ColumnElement[bool]:
    """Does a flag's column say yes? PostgreSQL takes no number for a condition."""
    return cast("ColumnElement[bool]", flag == literal(True, Flag()))


def json_text(column: Any, key: str) -> ColumnElement[str | None]:
    """What a column of JSON says under a key, as text; each database has a way of its own."""
    return _JsonText(column, literal(key))


class _JsonText(FunctionElement[str | None]):
    inherit_cache = True
    type = Text()  # type: ignore[assignment]


@compiles(_JsonText, "sqlite")
def _in_sqlite(element: _JsonText, compiler: Any, **more: Any) -> str:
    column, key = element.clauses
    text, name = compiler.process(column, **more), compiler.process(key, **more)
    return f"json_extract({text}, '$.' || {name})"


@compiles(_JsonText, "postgresql")
def _in_postgresql(element: _JsonText, compiler: Any, **more: Any) -> str:
    column, key = element.clauses
    return f"({compiler.process(column, **more)}::json ->> {compiler.process(key, **more)})"


def one_of(column: str, words: type[StrEnum] | Iterable[str]) -> CheckConstraint:
    """A CHECK that a text column holds one of a few words, named after the column."""
    listed = ", ".join(f"'{word}'" for word in words)
    return CheckConstraint(f"{column} IN ({listed})", name=f"{column}_known")
