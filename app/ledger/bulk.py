"""Rows straight into tables and out of them: many at once, past the object mapper."""

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any, cast

from sqlalchemy import Insert, Select, Table, insert
from sqlalchemy.orm import Session

from app.ledger.models.base import Base


def table_of(model: type[Base]) -> Table:
    """The table behind a mapped class."""
    return cast("Table", model.__table__)


def read_rows(
    session: Session, query: Select[Any], asked: Mapping[str, Any]
) -> Sequence[tuple[Any, ...]]:
    """Rows as the driver gives them, for lists of thousands.

    Args:
        query: no column of it may need to be turned into another value, as days and flags do;
            `type_coerce` leaves them as they are stored. asked: its parameters.
    """
    result = session.connection().execute(query, asked)
    rows: Sequence[tuple[Any, ...]] = result.cursor.fetchall() if result.cursor else ()
    result.close()
    return rows


def write_rows(session: Session, model: type[Base], rows: Sequence[Mapping[str, Any]]) -> None:
    """Write rows at once; what the session has pending is not written first.

    Args:
        rows: the same columns in each, those of the table.
    """
    if rows:
        session.execute(_insert(model), rows)


def write_row(session: Session, model: type[Base], row: Mapping[str, Any]) -> int:
    """Write one row; gives the number that the database gave it."""
    key = session.execute(_insert(model), row).inserted_primary_key  # type: ignore[attr-defined]
    return int(key[0])


@cache  # putting it together costs as much as carrying it out
def _insert(model: type[Base]) -> Insert:
    return insert(table_of(model))
