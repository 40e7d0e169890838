"""The book: one data file, and the only place where transactions begin and end."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from enum import StrEnum
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session, sessionmaker

WAIT_MS = 5000  # for another writer, before a person is told; our judgement
_PRAGMAS = (
    "PRAGMA journal_mode=WAL",
    "PRAGMA synchronous=FULL",  # an acknowledged entry survives the pulled plug
    "PRAGMA foreign_keys=ON",
    "PRAGMA recursive_triggers=ON",  # else INSERT OR REPLACE slips past the delete triggers
)


class Hindrance(StrEnum):
    """What kept an entry out of the data file, though nothing is wrong with either."""

    BUSY = "busy"  # another writer for longer than we wait
    FULL = "full"  # no room on the disk
    UNWRITABLE = "unwritable"  # read-only, another owner, a disk that fails


DATABASE_ERRORS = (DBAPIError, sqlite3.Error)  # the second while a connection is prepared
_HINDRANCES = {
    sqlite3.SQLITE_BUSY: Hindrance.BUSY,
    sqlite3.SQLITE_LOCKED: Hindrance.BUSY,
    sqlite3.SQLITE_FULL: Hindrance.FULL,
    sqlite3.SQLITE_IOERR_SHMSIZE: Hindrance.FULL,  # no room for the index beside the log
    sqlite3.SQLITE_READONLY: Hindrance.UNWRITABLE,
    sqlite3.SQLITE_CANTOPEN: Hindrance.UNWRITABLE,
    sqlite3.SQLITE_IOERR: Hindrance.UNWRITABLE,
    sqlite3.SQLITE_PERM: Hindrance.UNWRITABLE,
}


def hindrance_of(error: BaseException) -> Hindrance | None:
    """What hindered, if an error of the database comes from the machine and not from us."""
    cause = error.orig if isinstance(error, DBAPIError) else error
    code = int(getattr(cause, "sqlite_errorcode", None) or 0)
    return _HINDRANCES.get(code, _HINDRANCES.get(code & 0xFF))  # the bits above are detail


def make_engine(path: Path, wait_ms: int = WAIT_MS) -> Engine:
    """An engine on one SQLite file, whose connections carry the pragmas the ledger relies on."""
    engine = create_engine(f"sqlite:///{path}", connect_args={"timeout": wait_ms / 1000})

    @event.listens_for(engine, "connect")
    def _prepare(connection: Any, _record: object) -> None:
        connection.isolation_level = None  # we say BEGIN ourselves
        for pragma in _PRAGMAS:
            connection.execute(pragma)

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        mode = connection.get_execution_options().get("begin", "DEFERRED")
        connection.exec_driver_sql(f"BEGIN {mode}")

    return engine


class Book:
    """A household's ledger, open for reading and writing."""

    def __init__(self, path: Path, wait_ms: int = WAIT_MS) -> None:
        """Open the data file at path; `app.ledger.schema.bring_up` must have run on it.

        Args:
            path: the data file. wait_ms: how long a writer waits for another.
        """
        self.path = path
        self.engine = make_engine(path, wait_ms)
        self._read = sessionmaker(self.engine)
        self._write = sessionmaker(self.engine.execution_options(begin="IMMEDIATE"))

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """One snapshot of the book; nothing written through it is kept."""
        session = self._read()
        try:
            yield session
        finally:
            session.rollback()
            session.close()

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """One transaction: committed whole at the end, or rolled back whole on any error.

        IMMEDIATE takes the write lock at once and waits its turn; a deferred transaction that
        turns writer would be refused without waiting when another device writes.

        Raises:
            DATABASE_ERRORS: the file would not take it; `hindrance_of` tells why.
        """
        with self._write.begin() as session:
            yield session

    def close(self) -> None:
        """Give back every connection."""
        self.engine.dispose()
