"""A ledger on a temporary file for every test that asks for one, and a clock that stands still."""

import shutil
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

import pytest
from sqlalchemy.orm import Session

from app.ledger import schema
from app.ledger.book import Book
from tests import builders


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


@pytest.fixture
def empty_book(empty_file: Path, tmp_path: Path) -> Iterator[Book]:
    """A ledger before the first-run page was filled in."""
    yield from _copied(empty_file, tmp_path)


@pytest.fixture
def book(furnished_file: Path, tmp_path: Path) -> Iterator[Book]:
    """A ledger of a household that has not taken anything in yet."""
    yield from _copied(furnished_file, tmp_path)


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


def _copied(source: Path, folder: Path) -> Iterator[Book]:
    path = folder / "stillroom.db"
    shutil.copy(source, path)
    book = Book(path)
    yield book
    book.close()
