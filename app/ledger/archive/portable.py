"""The whole ledger as JSON, to move house with: written from one, read into another, the same.

A zip file with `manifest.json` and one file of JSON Lines (one row each, its columns by name) for
each table. Masses are whole milligrams, instants ISO 8601 with Z, as in the tables themselves. What
can be worked out again (windows) is left out, and so are the paired devices: they pair anew.
"""

import hashlib
import json
import sqlite3
import zipfile
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from app.ledger import schema
from app.ledger.archive.restore import NotALedger, take_the_place_of
from app.ledger.errors import NewerLedger

FORMAT = 1
MANIFEST = "manifest.json"
_BATCH = 1000
_LEFT_OUT = frozenset({"alembic_version", "estimate", "device", "pairing_code"})
_LAST = ("balance",)  # the database compares it with its lines, which must be there before

Progress = Callable[[str, int], None]


class Altered(Exception):
    """A table of the archive is not as its manifest says."""


@dataclass(frozen=True, slots=True)
class _Table:
    """What the manifest says of one table."""

    name: str
    columns: tuple[str, ...]
    row_count: int
    sha256: str


def write_archive(data_file: Path, target: Path, progress: Progress | None = None) -> int:
    """Write the ledger, as it is at one moment, to a new file.

    Args:
        data_file: the ledger; may be in use. target: the new file. progress: is told each table
            and its number of rows.
    Returns:
        How many rows were written.
    Raises:
        FileExistsError: there is something at target. FileNotFoundError: no ledger, no folder.
    """
    if not data_file.is_file():
        raise FileNotFoundError(data_file)
    if target.exists():
        raise FileExistsError(target)
    partial = target.with_name(f".{target.name}.partial")
    partial.unlink(missing_ok=True)
    try:
        with (
            closing(sqlite3.connect(data_file)) as connection,
            zipfile.ZipFile(partial, "x", zipfile.ZIP_DEFLATED) as archive,
        ):
            connection.isolation_level = None
            connection.execute("BEGIN")  # one snapshot for all tables
            tables = [
                _write_table(connection, archive, name, progress) for name in _names(connection)
            ]
            revision = connection.execute("SELECT version_num FROM alembic_version").fetchone()[0]
            archive.writestr(MANIFEST, json.dumps(_manifest(revision, tables), indent=1))
        partial.rename(target)
    finally:
        partial.unlink(missing_ok=True)
    return sum(table.row_count for table in tables)


def read_archive(
    source: Path, data_file: Path, *, at: datetime, progress: Progress | None = None
) -> Path | None:
    """Make a ledger from an archive and put it in the place of the one that is there.

    It is built under another name, brought to the present shape and checked whole first.

    Args:
        source: what `write_archive` wrote. data_file: the ledger. at: now, for the dated name of
            what is replaced. progress: as above.
    Returns:
        Where the replaced ledger is kept; None when there was none.
    Raises:
        FileNotFoundError: no such file. NotALedger: no archive of ours. Altered: rows are missing
            or were changed. NewerLedger: of a newer version. InUse, Unbalanced: as `restore`.
    """
    if not source.is_file():
        raise FileNotFoundError(source)
    if not zipfile.is_zipfile(source):
        raise NotALedger(source)

    def build(candidate: Path) -> None:
        with zipfile.ZipFile(source) as archive:
            revision, tables = _known(archive, source)
            schema.upgrade(candidate, revision)
            with closing(sqlite3.connect(candidate)) as connection, connection:
                connection.execute("PRAGMA foreign_keys=OFF")
                for table in tables:
                    _read_table(connection, archive, table, progress)
        schema.bring_up(candidate)

    return take_the_place_of(data_file, build, at=at)


def _names(connection: sqlite3.Connection) -> list[str]:
    rows = connection.execute(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
    )
    names = sorted(name for (name,) in rows if name not in _LEFT_OUT)
    return [name for name in names if name not in _LAST] + [n for n in names if n in _LAST]


def _write_table(
    connection: sqlite3.Connection, archive: zipfile.ZipFile, name: str, progress: Progress | None
) -> _Table:
    cursor = connection.execute(f'SELECT * FROM "{name}" ORDER BY rowid')  # noqa: S608 (a table of ours)
    columns = tuple(column[0] for column in cursor.description)
    digest, count = hashlib.sha256(), 0
    with archive.open(_member(name), "w", force_zip64=True) as file:
        for row in cursor:
            line = json.dumps(dict(zip(columns, row, strict=True)), ensure_ascii=False) + "\n"
            encoded = line.encode()
            digest.update(encoded)
            file.write(encoded)
            count += 1
    if progress is not None:
        progress(name, count)
    return _Table(name, columns, count, digest.hexdigest())


def _member(table: str) -> str:
    return f"tables/{table}.jsonl"


def _manifest(revision: str, tables: list[_Table]) -> dict[str, Any]:
    return {
        "what": "the ledger of a household that preserves its own food",
        "format": FORMAT,
        "revision": revision,
        "tables": [
            {"name": t.name, "columns": t.columns, "rows": t.row_count, "sha256": t.sha256}
            for t in tables
        ],
    }


def _known(archive: zipfile.ZipFile, source: Path) -> tuple[str, list[_Table]]:
    """Revision and tables of an archive that is ours and not of a later version."""
    try:
        manifest = json.loads(archive.read(MANIFEST))
        tables = [
            _Table(t["name"], tuple(t["columns"]), t["rows"], t["sha256"])
            for t in manifest["tables"]
        ]
        revision, written_as = str(manifest["revision"]), manifest["format"]
    except (KeyError, TypeError, ValueError) as error:
        raise NotALedger(source) from error
    if written_as != FORMAT or revision not in schema.known_revisions():
        raise NewerLedger(revision)
    return revision, tables


def _read_table(
    connection: sqlite3.Connection,
    archive: zipfile.ZipFile,
    table: _Table,
    progress: Progress | None,
) -> None:
    known = {row[1] for row in connection.execute(f'PRAGMA table_info("{table.name}")')}
    if known != set(table.columns):
        raise Altered(table.name)
    listed = ", ".join(f'"{column}"' for column in table.columns)
    marks = ", ".join("?" for _ in table.columns)
    statement = f'INSERT INTO "{table.name}" ({listed}) VALUES ({marks})'  # noqa: S608 (checked)
    digest, count, batch = hashlib.sha256(), 0, []
    for line in _lines(archive, table.name):
        digest.update(line)
        row = json.loads(line)
        batch.append(tuple(row[column] for column in table.columns))
        count += 1
        if len(batch) == _BATCH:
            connection.executemany(statement, batch)
            batch.clear()
    connection.executemany(statement, batch)
    if count != table.row_count or digest.hexdigest() != table.sha256:
        raise Altered(table.name)
    if progress is not None:
        progress(table.name, count)


def _lines(archive: zipfile.ZipFile, table: str) -> Iterator[bytes]:
    try:
        with archive.open(_member(table)) as file:
            yield from file
    except KeyError as error:
        raise Altered(table) from error
