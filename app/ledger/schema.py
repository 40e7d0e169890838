"""Bringing a ledger to the present shape: new ones, older ones, and newer ones refused."""

import sqlite3
from contextlib import closing
from pathlib import Path
from threading import Lock

from sqlalchemy import URL, Connection, text

from app.ledger.engines import Where, make_engine, schema_of
from app.ledger.errors import NewerLedger

HEAD = "0004"  # the newest migration; a test compares it with migrations/versions
MIGRATIONS = Path(__file__).resolve().parents[2] / "migrations"
_ONE_AT_A_TIME = Lock()  # Alembic keeps the migration at hand in the module itself
_LOCK = 0x57117  # one number for all who bring a ledger up in this database; chosen freely


def revision_of(where: Where) -> str | None:
    """The migration a ledger stands at; None for one that is new or empty."""
    if isinstance(where, Path):
        return _revision_of_file(where)
    engine = make_engine(where)
    try:
        with engine.connect() as connection:
            return _revision_in(connection, where)
    finally:
        engine.dispose()


def _revision_of_file(path: Path) -> str | None:
    if not path.exists():
        return None
    with closing(sqlite3.connect(path)) as connection:
        try:
            row = connection.execute("SELECT version_num FROM alembic_version").fetchone()
        except sqlite3.OperationalError:
            return None
    return None if row is None else str(row[0])


def _revision_in(connection: Connection, url: URL) -> str | None:
    table = f"{schema_of(url)}.alembic_version"
    if connection.scalar(text("SELECT to_regclass(:name)"), {"name": table}) is None:
        return None
    found = connection.scalar(text("SELECT version_num FROM alembic_version"))
    return None if found is None else str(found)


def bring_up(where: Where) -> None:
    """Make a new ledger, or migrate an older one; an older file is copied as it was before.

    Args:
        where: the data file, whose folder is made if need be, or the database, which must exist.
    Raises:
        NewerLedger: it was written by a newer version; it is left untouched.
    """
    revision = revision_of(where)
    if revision == HEAD:
        return
    if revision is not None and revision not in known_revisions():
        raise NewerLedger(revision)
    if isinstance(where, Path):
        where.parent.mkdir(parents=True, exist_ok=True)
        if revision is not None:
            _keep_copy(where, revision)
    elif revision is None:
        _begin(where)
    if revision_of(where) != HEAD:
        upgrade(where, "head")


def _begin(url: URL) -> None:
    """Make the tables of the first revision there is in PostgreSQL, in a room of their own."""
    from migrations.postgresql import FIRST, statements

    engine = make_engine(url)
    try:
        with engine.begin() as connection:
            connection.execute(text("SELECT pg_advisory_xact_lock(:number)"), {"number": _LOCK})
            if _revision_in(connection, url) is not None:
                return  # another server that started at the same time was first
            connection.exec_driver_sql(f"CREATE SCHEMA IF NOT EXISTS {schema_of(url)}")
            for statement in statements():
                connection.exec_driver_sql(statement.replace("%", "%%"))  # no place for a value
            connection.exec_driver_sql(
                'CREATE TABLE alembic_version (version_num TEXT COLLATE "C" PRIMARY KEY)'
            )
            said = text("INSERT INTO alembic_version VALUES (:revision)")
            connection.execute(said, {"revision": FIRST})
    finally:
        engine.dispose()


def upgrade(where: Where, revision: str) -> None:
    """Run the migrations up to a revision."""
    from alembic import command

    with _ONE_AT_A_TIME:
        command.upgrade(_config(where), revision)


def downgrade(where: Where, revision: str) -> None:
    """Run the migrations back to a revision."""
    from alembic import command

    with _ONE_AT_A_TIME:
        command.downgrade(_config(where), revision)


def _config(where: Where) -> "Config":  # type: ignore[name-defined]  # noqa: F821
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    config.attributes["engine"] = make_engine(where)
    return config


def known_revisions() -> set[str]:
    """Every revision that this version can bring up."""
    from alembic.script import ScriptDirectory

    scripts = ScriptDirectory(str(MIGRATIONS))
    return {script.revision for script in scripts.walk_revisions()}


def _keep_copy(path: Path, revision: str) -> None:
    with closing(sqlite3.connect(path)) as connection:
        copy = path.with_name(f"{path.stem}-before-migration-{revision}.db")
        copy.unlink(missing_ok=True)
        connection.execute("VACUUM INTO ?", (str(copy),))
