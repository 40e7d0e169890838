"""Rows written straight into tables: many at once, past the object mapper and its questions."""

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any, cast

from sqlalchemy import Insert, Table, insert
from sqlalchemy.orm import Session

from app.ledger.models.base import Base


def table_of(model: type[Base]) -> Table:
    """The table behind a mapped class."""
    return cast("Table", model.__table__)


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
