"""Fresh ledgers for tests, each a copy of a data file: as a file, or in PostgreSQL.

Where STILLROOM_TEST_POSTGRESQL names a server (postgresql://user@host:port/name, a user that may
make databases), every test that asks for a ledger runs on both.
"""

import itertools
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import psycopg
import pytest
from sqlalchemy import URL

from app.ledger import schema
from app.ledger.archive.rows import copy_all
from app.ledger.engines import Where, make_engine, where_of
from app.settings import Settings

only_a_file = pytest.mark.parametrize("shelf", ["sqlite"], indirect=True)
SERVER = os.environ.get("STILLROOM_TEST_POSTGRESQL", "")
KINDS = ("sqlite", "postgresql") if SERVER else ("sqlite",)
_number = itertools.count(1)


def address_of(url: URL) -> str:
    """An address as a person would write it, with its password."""
    return url.set(drivername="postgresql").render_as_string(hide_password=False)


def settings_at(where: Where, folder: Path) -> Settings:
    """The settings with which the application opens this ledger."""
    if isinstance(where, Path):
        assert where == Settings(folder).data_file
        return Settings(folder)
    return Settings(folder, database=address_of(where))


@dataclass
class Server:
    """A server of PostgreSQL on which databases are made and thrown away."""

    admin: psycopg.Connection[tuple[object, ...]]
    templates: dict[Path, str] = field(default_factory=dict)
    made: list[str] = field(default_factory=list)

    def url_of(self, name: str) -> URL:
        """The address of one of its databases."""
        return where_of(SERVER).set(database=name)

    def create(self, template: str | None = None) -> str:
        """A new database, empty or a copy of another."""
        name = f"stillroom_test_{os.getpid()}_{next(_number)}"
        source = f" TEMPLATE {template} STRATEGY FILE_COPY" if template else ""
        self.admin.execute(f"CREATE DATABASE {name}{source}".encode())
        self.made.append(name)
        return name

    def drop(self, name: str) -> None:
        """Throw a database away, whoever still has it open."""
        self.admin.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)".encode())
        self.made.remove(name)

    def template_of(self, file: Path) -> str:
        """A database that holds what a data file holds; made once."""
        if file not in self.templates:
            name = self.create()
            fill(self.url_of(name), file)
            self.templates[file] = name
        return self.templates[file]


def fill(url: URL, file: Path) -> None:
    """Bring a database up and copy every row of a data file into it."""
    schema.bring_up(url)
    here, there = make_engine(file), make_engine(url)
    with here.begin() as source, there.begin() as target:
        copy_all(source, target)
    here.dispose()
    there.dispose()


@contextmanager
def served() -> Iterator[Server | None]:
    """The server that the environment names, and nothing left on it afterwards."""
    if not SERVER:
        yield None
        return
    with psycopg.connect(SERVER, autocommit=True) as admin:
        server = Server(admin)
        try:
            yield server
        finally:
            for name in list(server.made):
                server.drop(name)


@dataclass
class Shelf:
    """Where one test gets its ledgers from."""

    kind: str
    folder: Path
    server: Server | None
    taken: list[str] = field(default_factory=list)

    def copy(self, template: Path, folder: Path | None = None) -> Where:
        """A ledger that holds what a data file holds; a file is named as the application does."""
        place = folder or self.folder
        place.mkdir(exist_ok=True)
        if self.server is None or self.kind == "sqlite":
            target = Settings(place).data_file
            shutil.copy(template, target)
            return target
        name = self.server.create(self.server.template_of(template))
        self.taken.append(name)
        return self.server.url_of(name)

    def settings(self, template: Path | None = None, folder: Path | None = None) -> Settings:
        """The settings for a copy of a data file, or for a ledger that is still to be made."""
        place = folder or self.folder
        if template is not None:
            return settings_at(self.copy(template, place), place)
        if self.server is None or self.kind == "sqlite":
            return Settings(place)
        name = self.server.create()
        self.taken.append(name)
        return settings_at(self.server.url_of(name), place)

    def clear(self) -> None:
        """Throw the databases of the test away; its files go with its folder."""
        for name in self.taken:
            assert self.server is not None
            self.server.drop(name)
