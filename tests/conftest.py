"""A ledger on a temporary file for every test that asks for one, and a clock that stands still."""

import shutil
import sqlite3
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

import pytest
from hypothesis import settings
from sqlalchemy import Engine, event
from sqlalchemy.orm import Session
from werkzeug.routing import Rule

from app.language import SOURCE, speak
from app.ledger import book as books
from app.ledger import schema
from app.ledger.book import Book
from app.ledger.engines import Where
from tests import builders, databases
from tests.compiled import builder_remembered, engine_that_remembers

# how long an example takes says more of the machine than of the code
settings.register_profile("untimed", settings(), deadline=None)
settings.load_profile("untimed")


@event.listens_for(Engine, "connect")
def _in_no_order(connection: object, _record: object) -> None:
    """Rows that nobody asked for in an order come in the order nobody expects.

    A database may give them as it likes: one that has done so a thousand times is no promise.
    """
    if isinstance(connection, sqlite3.Connection):
        connection.execute("PRAGMA reverse_unordered_selects=ON")


@pytest.fixture(autouse=True, scope="session")
def _compiled_once() -> Iterator[None]:
    """What one test compiled, the next need not."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(books, "make_engine", engine_that_remembers)
        patch.setattr(Rule, "_compile_builder", builder_remembered)
        yield


@pytest.fixture(autouse=True)
def _english() -> None:
    """Each test begins in English, whatever the one before it spoke."""
    speak(SOURCE)


@pytest.fixture(scope="session")
def empty_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data file brought up once and never written to: copy it."""
    path = tmp_path_factory.mktemp("empty") / "stillroom.db"
    schema.bring_up(path)
    return path


@pytest.fixture(scope="session")
def furnished_file(empty_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data file with the household of the tests and no food: copy it."""
    path = tmp_path_factory.mktemp("furnished") / "stillroom.db"
    shutil.copy(empty_file, path)
    book = Book(path)
    with book.writing() as session:
        builders.a_household(session)
    book.close()
    return path


@pytest.fixture(scope="session")
def database_server() -> Iterator[databases.Server | None]:
    """The server of PostgreSQL for tests, where there is one."""
    with databases.served() as server:
        yield server


@pytest.fixture(params=databases.KINDS)
def shelf(
    request: pytest.FixtureRequest, tmp_path: Path, database_server: databases.Server | None
) -> Iterator[databases.Shelf]:
    """Fresh ledgers, in a file and, where there is a server, in PostgreSQL too."""
    shelf = databases.Shelf(request.param, tmp_path, database_server)
    yield shelf
    shelf.clear()


@pytest.fixture
def empty_book(shelf: databases.Shelf, empty_file: Path) -> Iterator[Book]:
    """A ledger before the first-run page was filled in."""
    yield from _opened(shelf.copy(empty_file))


@pytest.fixture
def book(shelf: databases.Shelf, furnished_file: Path) -> Iterator[Book]:
    """A ledger of a household that has not taken anything in yet."""
    yield from _opened(shelf.copy(furnished_file))


@pytest.fixture
def session(book: Book) -> Iterator[Session]:
    """One writing transaction, rolled back after the test."""
    with book._write() as session:
        yield session
        session.rollback()


@pytest.fixture
def clock() -> Callable[[], datetime]:
    """A clock that stands still on the evening of `builders.TODAY`."""
    return lambda: builders.evening(builders.TODAY)


def _opened(where: Where) -> Iterator[Book]:
    book = Book(where)
    yield book
    book.close()
