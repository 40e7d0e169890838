"""A ledger in PostgreSQL, out to a file and in from one.

A backup of it is a data file of SQLite like that of a household at home: it can be opened, checked
and restored anywhere. What comes in is built in a schema of its own, and two renamings put it in
place.
"""

from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import URL, Connection, Engine, text

from app.ledger import schema
from app.ledger.archive.rows import Progress, copy_all
from app.ledger.engines import READING, make_engine, schema_of


class InUse(Exception):
    """Another process holds the ledger open."""


def copy_out(url: URL, target: Path, progress: Progress | None = None) -> int:
    """Write the ledger, as it is at one moment, to a new data file of SQLite.

    Args:
        url: the database, at the newest revision. target: the new file. progress: is told each
            table and its number of rows.
    Returns:
        How many rows were written.
    """
    schema.bring_up(target)
    here, there = make_engine(url), make_engine(target)
    try:
        reading = here.execution_options(**READING["postgresql"])
        with reading.begin() as source, there.begin() as file:
            return copy_all(source, file, progress)
    finally:
        here.dispose()
        there.dispose()


def take_in(
    url: URL, source: Path, *, at: datetime, progress: Progress | None = None
) -> str | None:
    """Put the ledger of a data file in the place of the one in a database, which is kept.

    Args:
        url: the database. source: a sound data file at the newest revision. at: now, for the dated
            name of what is replaced. progress: as above.
    Returns:
        The schema in which the replaced ledger is kept; None when there was none.
    Raises:
        InUse: a server has the ledger open; it is as it was.
    """
    name = schema_of(url)
    incoming = url.update_query_dict({"schema": f"{name}_incoming"})
    engine = make_engine(url)
    try:
        _refuse_if_in_use(engine, name)
        _drop(engine, schema_of(incoming))
        _fill(incoming, source, progress)
        return _swap(engine, name, at)
    finally:
        _drop(engine, schema_of(incoming))
        engine.dispose()


def _fill(incoming: URL, source: Path, progress: Progress | None) -> None:
    schema.bring_up(incoming)
    here, there = make_engine(source), make_engine(incoming)
    try:
        with here.begin() as file, there.begin() as target:
            copy_all(file, target, progress)
    finally:
        here.dispose()
        there.dispose()


def _swap(engine: Engine, name: str, at: datetime) -> str | None:
    kept = f"{name}_replaced_{at.astimezone(UTC):%Y%m%dt%H%M%S}z"
    with engine.begin() as connection:
        was_there = _is_there(connection, name)
        if was_there:
            connection.exec_driver_sql(f"ALTER SCHEMA {name} RENAME TO {kept}")
        connection.exec_driver_sql(f"ALTER SCHEMA {name}_incoming RENAME TO {name}")
    return kept if was_there else None


def _drop(engine: Engine, name: str) -> None:
    with engine.begin() as connection:
        connection.exec_driver_sql(f"DROP SCHEMA IF EXISTS {name} CASCADE")


def _is_there(connection: Connection, name: str) -> bool:
    found = text("SELECT 1 FROM information_schema.schemata WHERE schema_name = :name")
    return connection.scalar(found, {"name": name}) is not None


def _refuse_if_in_use(engine: Engine, name: str) -> None:
    others = text(
        "SELECT count(*) FROM pg_stat_activity WHERE application_name = :ours "
        "AND datname = current_database() AND pid <> pg_backend_pid()"
    )
    with engine.connect() as connection:
        if connection.scalar(others, {"ours": f"stillroom/{name}"}):
            raise InUse(name)
