"""Ways to hinder the application: a lock held by somebody else, a file with limits."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from flask import Flask
from sqlalchemy import event

from app.ledger.book import Book


@contextmanager
def impatient(app: Flask, *pragmas: str) -> Iterator[Book]:
    """The same ledger through connections that wait hardly at all and obey these settings."""
    patient: Book = app.extensions["stillroom.book"]
    book = Book(patient.where, wait_ms=20)

    @event.listens_for(book.engine, "connect")
    def _limit(connection: Any, _record: object) -> None:
        for pragma in pragmas:
            connection.execute(pragma)

    app.extensions["stillroom.book"] = book
    try:
        yield book
    finally:
        app.extensions["stillroom.book"] = patient
        book.close()


@contextmanager
def somebody_writing(book: Book) -> Iterator[None]:
    """Another program in the middle of a long entry."""
    if not isinstance(book.where, Path):
        with book.engine.begin() as other:
            other.exec_driver_sql(
                "LOCK TABLE operation, posting_key, pairing_code IN EXCLUSIVE MODE"
            )
            yield
        return
    with closing(sqlite3.connect(book.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield
        other.execute("ROLLBACK")
