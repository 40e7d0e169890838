"""The application on a furnished ledger, tablets that use it, and an eye on what is written."""

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from jinja2 import FileSystemBytecodeCache
from sqlalchemy import select, text

from app.ledger.book import Book
from app.ledger.models import Stock
from app.ledger.models.base import Base
from app.web.factory import create_app
from tests import builders
from tests.databases import Shelf, settings_at
from tests.web.pages import Tablet

ROW_COUNTS = text(
    " UNION ALL ".join(f"SELECT '{name}', count(*) FROM {name}" for name in Base.metadata.tables)
)


@dataclass
class HandClock:
    """A clock that a test moves by hand."""

    now: datetime

    def __call__(self) -> datetime:
        """The instant now."""
        return self.now

    def forward(self, **stretch: float) -> None:
        """Let time pass: days=1, hours=2."""
        self.now += timedelta(**stretch)


@pytest.fixture(autouse=True)
def _push_request_context() -> None:
    """Every request gets a context of its own, as when served: pytest-flask would lend its one."""


@pytest.fixture
def clock() -> HandClock:
    """It is the evening of `builders.TODAY`."""
    return HandClock(builders.evening(builders.TODAY))


@pytest.fixture(scope="session")
def templates(tmp_path_factory: pytest.TempPathFactory) -> FileSystemBytecodeCache:
    """Compiled once for all tests: that takes longer than most of what they do."""
    return FileSystemBytecodeCache(str(tmp_path_factory.mktemp("templates")))


@pytest.fixture
def app(
    furnished_file: Path, shelf: Shelf, clock: HandClock, templates: FileSystemBytecodeCache
) -> Iterator[Flask]:
    """The application of the household of the builders, without food; CSRF is on."""
    yield from _served(furnished_file, shelf, shelf.folder, clock, templates)


@pytest.fixture
def new_app(
    empty_file: Path, shelf: Shelf, clock: HandClock, templates: FileSystemBytecodeCache
) -> Iterator[Flask]:
    """The application before the first-run page was filled in."""
    yield from _served(empty_file, shelf, shelf.folder / "new", clock, templates)


@pytest.fixture
def book(app: Flask) -> Book:
    """The ledger that the application serves."""
    found: Book = app.extensions["stillroom.book"]
    return found


@pytest.fixture
def given(book: Book) -> Callable[..., Any]:
    """Food that is there already: given(builders.take_in, mass_g=500)."""

    def put(build: Callable[..., Any], *args: Any, **changes: Any) -> Any:
        with book.writing() as session:
            return build(session, *args, **changes)

    return put


@pytest.fixture
def tablet(app: Flask) -> Tablet:
    """A tablet in the kitchen."""
    return Tablet(app)


@pytest.fixture
def unchanged(book: Book) -> Callable[[], AbstractContextManager[None]]:
    """`with unchanged():` fails when anything was written inside."""

    @contextmanager
    def watch() -> Iterator[None]:
        before = everything(book)
        yield
        assert everything(book) == before

    return watch


def everything(book: Book) -> dict[str, object]:
    """How many rows each table has, and what is on hand."""
    with book.reading() as session:
        found: dict[str, object] = dict(session.execute(ROW_COUNTS).all())
        stock = select(Stock.lot_id, Stock.package_id, Stock.place_id, Stock.mass_mg)
        found["on hand"] = sorted(map(str, session.execute(stock)))
        return found


def _served(
    source: Path, shelf: Shelf, folder: Path, clock: HandClock, templates: FileSystemBytecodeCache
) -> Iterator[Flask]:
    app = create_app(settings_at(shelf.copy(source, folder), folder), clock)
    app.testing = True
    app.jinja_env.bytecode_cache = templates
    yield app
    app.extensions["stillroom.book"].close()
