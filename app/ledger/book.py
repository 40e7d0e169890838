"""The book: one ledger, and the only place where transactions begin and end."""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session, sessionmaker

from app.ledger.engines import (
    READING,
    WAIT_MS,
    WRITING,
    Where,
    can_be_tried_again,
    make_engine,
    waits_s,
)

Result = TypeVar("Result")


class Book:
    """A household's ledger, open for reading and writing."""

    def __init__(self, where: Where, wait_ms: int = WAIT_MS) -> None:
        """Open the ledger; `app.ledger.schema.bring_up` must have run on it.

        Args:
            where: the data file, or the database. wait_ms: how long a writer waits for another.
        """
        self.where = where
        self.wait_ms = wait_ms
        self.engine = make_engine(where, wait_ms)
        kind = self.engine.dialect.name
        self._read = sessionmaker(self.engine.execution_options(**READING[kind]))
        self._write = sessionmaker(self.engine.execution_options(**WRITING[kind]))

    @property
    def path(self) -> Path:
        """The data file.

        Raises:
            TypeError: the ledger lies in no file.
        """
        if not isinstance(self.where, Path):
            raise TypeError("this ledger lies in a database server, not in a file")
        return self.where

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

        In a file, IMMEDIATE takes the write lock at once and waits its turn; a deferred transaction
        that turns writer would be refused without waiting when another device writes. PostgreSQL
        lets several write at once and gives one of them up when they could not have come one after
        the other: where that can happen, use `write`.

        Raises:
            DATABASE_ERRORS: the database would not take it; `hindrance_of` tells why.
        """
        with self._write.begin() as session:
            yield session

    def write(self, work: Callable[[Session], Result]) -> Result:
        """Do some work in one transaction, again from its beginning while another stood in its way.

        Args:
            work: reads and writes through the session; may be called several times, so what it
                does elsewhere must bear that. Only the last call's changes are kept.
        Returns:
            What the work gave.
        Raises:
            What the work raises; nothing is written then. DATABASE_ERRORS: as `writing`.
        """
        waits = waits_s(self.wait_ms / 1000)
        while True:
            try:
                with self.writing() as session:
                    return work(session)
            except DBAPIError as error:
                wait = next(waits, None) if can_be_tried_again(error) else None
                if wait is None:
                    raise
                time.sleep(wait)

    def close(self) -> None:
        """Give back every connection."""
        self.engine.dispose()
