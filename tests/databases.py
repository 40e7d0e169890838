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
from app.ledger.archive.rows import rows_of, tables
from app.ledger.engines import Where, make_engine, where_of
from app.ledger.models import Base
from app.settings import Settings

Contents = dict[str, list[dict[str, object]]]

only_a_file = pytest.mark.parametrize("shelf", ["sqlite"], indirect=True)
SERVER = os.environ.get("STILLROOM_TEST_POSTGRESQL", "")
KINDS = ("sqlite", "postgresql") if SERVER else ("sqlite",)
on_both = pytest.mark.parametrize("shelf", KINDS, indirect=True)
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
    fillers: dict[str, psycopg.Connection[tuple[object, ...]]] = field(default_factory=dict)
    contents: dict[Path, Contents] = field(default_factory=dict)
    free: list[str] = field(default_factory=list)
    made: list[str] = field(default_factory=list)

    def url_of(self, name: str) -> URL:
        """The address of one of its databases."""
        return where_of(SERVER).set(database=name)

    def create(self) -> str:
        """A new database without any table."""
        name = f"stillroom_test_{os.getpid()}_{next(_number)}"
        self.admin.execute(f"CREATE DATABASE {name}".encode())
        self.made.append(name)
        return name

    def lend(self, file: Path) -> str:
        """A database that holds what a data file holds; making one takes long, so it comes back."""
        if self.free:
            name = self.free.pop()
        else:
            name = self.create()
            schema.bring_up(self.url_of(name))
        if file not in self.contents:
            self.contents[file] = contents_of(file)
        if name not in self.fillers:  # it stays open: a new one would read the whole schema again
            self.fillers[name] = psycopg.connect(address_of(self.url_of(name)))
        with self.fillers[name].transaction():
            fill(self.fillers[name], self.contents[file])
        return name

    def take_back(self, name: str) -> None:
        """A database that a test is through with; nobody may still have it open."""
        filler = self.fillers[name].info.backend_pid
        self.admin.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
            "WHERE datname = %s AND pid <> %s",
            (name, filler),
        )
        self.free.append(name)

    def drop(self, name: str) -> None:
        """Throw a database away, whoever still has it open."""
        if name in self.fillers:
            self.fillers.pop(name).close()
        self.admin.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)".encode())
        self.made.remove(name)


def contents_of(where: Where) -> Contents:
    """Every row of a ledger as it is stored, by table."""
    engine = make_engine(where)
    with engine.connect() as connection:
        found = {
            table.name: list(rows_of(connection, table.name, [c.name for c in table.primary_key]))
            for table in tables()
        }
    engine.dispose()
    return found


def fill(connection: psycopg.Connection[tuple[object, ...]], contents: Contents) -> None:
    """Empty every table and put these rows there; the guards of history look away meanwhile."""
    cursor = connection.cursor()
    cursor.execute("SET search_path = stillroom; SET session_replication_role = replica")
    cursor.execute("; ".join(f"DELETE FROM {name}" for name in contents).encode())
    for name, rows in contents.items():
        if rows:
            listed = ", ".join(rows[0])
            marks = ", ".join(f"%({column})s" for column in rows[0])
            statement = f"INSERT INTO {name} ({listed}) VALUES ({marks})"
            cursor.executemany(statement.encode(), rows)
    counted = [name for name in contents if "id" in Base.metadata.tables[name].columns]
    restarts = [
        f"setval(pg_get_serial_sequence('{name}', 'id'), "
        f"coalesce((SELECT max(id) FROM {name}), 1), EXISTS (SELECT 1 FROM {name}))"
        for name in counted
    ]
    cursor.execute(f"SELECT {', '.join(restarts)}".encode())


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
    is_spoilt: bool = False  # a test that changes more than rows says so

    def copy(self, template: Path, folder: Path | None = None) -> Where:
        """A ledger that holds what a data file holds; a file is named as the application does."""
        place = folder or self.folder
        place.mkdir(exist_ok=True)
        if self.server is None or self.kind == "sqlite":
            target = Settings(place).data_file
            shutil.copy(template, target)
            return target
        name = self.server.lend(template)
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
        self.is_spoilt = True
        return settings_at(self.server.url_of(name), place)

    def clear(self) -> None:
        """Give the databases of the test back, or throw them away; files go with their folder."""
        for name in self.taken:
            assert self.server is not None
            if self.is_spoilt:
                self.server.drop(name)
            else:
                self.server.take_back(name)
        self.taken.clear()
