"""Bringing a data file to the present shape: new files, older ones, and newer ones refused."""

import sqlite3
from pathlib import Path

from app.ledger.book import make_engine
from app.ledger.errors import NewerLedger

HEAD = "0003"  # the newest migration; a test compares it with migrations/versions
MIGRATIONS = Path(__file__).resolve().parents[2] / "migrations"


def revision_of(path: Path) -> str | None:
    """The migration a data file stands at; None for a file that is new or empty."""
    if not path.exists():
        return None
    connection = sqlite3.connect(path)
    try:
        row = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    except sqlite3.OperationalError:
        return None
    finally:
        connection.close()
    return None if row is None else str(row[0])


def bring_up(path: Path) -> None:
    """Create the data file, or migrate it after keeping a copy of it as it was.

    Args:
        path: the data file; its folder is made if need be.
    Raises:
        NewerLedger: the file was written by a newer version; it is left untouched.
    """
    revision = revision_of(path)
    if revision == HEAD:
        return
    if revision is not None and revision not in known_revisions():
        raise NewerLedger(revision)
    path.parent.mkdir(parents=True, exist_ok=True)
    if revision is not None:
        _keep_copy(path, revision)
    upgrade(path, "head")


def upgrade(path: Path, revision: str) -> None:
    """Run the migrations up to a revision."""
    from alembic import command

    command.upgrade(_config(path), revision)


def downgrade(path: Path, revision: str) -> None:
    """Run the migrations back to a revision."""
    from alembic import command

    command.downgrade(_config(path), revision)


def _config(path: Path) -> "Config":  # type: ignore[name-defined]  # noqa: F821
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    config.attributes["engine"] = make_engine(path)
    return config


def known_revisions() -> set[str]:
    """Every revision that this version can bring up."""
    from alembic.script import ScriptDirectory

    scripts = ScriptDirectory(str(MIGRATIONS))
    return {script.revision for script in scripts.walk_revisions()}


def _keep_copy(path: Path, revision: str) -> None:
    connection = sqlite3.connect(path)
    try:
        copy = path.with_name(f"{path.stem}-before-migration-{revision}.db")
        copy.unlink(missing_ok=True)
        connection.execute("VACUUM INTO ?", (str(copy),))
    finally:
        connection.close()
