"""The book: one data file, and the only place where transactions begin and end."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.orm import Session, sessionmaker

_PRAGMAS = (
    "PRAGMA journal_mode=WAL",
    "PRAGMA synchronous=FULL",  # an acknowledged entry survives the pulled plug
    "PRAGMA foreign_keys=ON",
    "PRAGMA busy_timeout=5000",
    "PRAGMA recursive_triggers=ON",  # else INSERT OR REPLACE slips past the delete triggers
)


def make_engine(path: Path) -> Engine:
    """An engine on one SQLite file, whose connections carry the pragmas the ledger relies on."""
    engine = create_engine(f"sqlite:///{path}")

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

    def __init__(self, path: Path) -> None:
        """Open the data file at path; `app.ledger.schema.bring_up` must have run on it."""
        self.path = path
        self.engine = make_engine(path)
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
        """
        with self._write.begin() as session:
            yield session

    def close(self) -> None:
        """Give back every connection."""
        self.engine.dispose()
