"""The whole ledger as JSON, to move house with: written from one, read into another, the same.

A zip file with `manifest.json` and one file of JSON Lines (one row each, its columns by name) for
each table. Masses are whole milligrams, instants ISO 8601 with Z, as in the tables themselves. What
can be worked out again (windows) is left out, and so are the paired devices: they pair anew.
"""

import hashlib
import json
import sqlite3
import zipfile
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, inspect, text

from app.ledger import checks, schema
from app.ledger.archive.restore import NotALedger, take_the_place_of
from app.ledger.archive.rows import Progress, rows_of, tables
from app.ledger.engines import READING, Where, make_engine
from app.ledger.errors import NewerLedger

FORMAT = 1
MANIFEST = "manifest.json"
_BATCH = 1000
_LEFT_OUT = frozenset({"alembic_version", "estimate", "device", "pairing_code"})


class Altered(Exception):
    """A table of the archive is not as its manifest says."""


@dataclass(frozen=True, slots=True)
class _Table:
    """What the manifest says of one table."""

    name: str
    columns: tuple[str, ...]
    row_count: int
    sha256: str


def write_archive(where: Where, target: Path, progress: Progress | None = None) -> int:
    """Write the ledger, as it is at one moment, to a new file.

    Args:
        where: the ledger; may be in use. target: the new file. progress: is told each table and its
            number of rows.
    Returns:
        How many rows were written.
    Raises:
        FileExistsError: there is something at target. FileNotFoundError: no ledger, no folder.
    """
    if isinstance(where, Path) and not where.is_file():
        raise FileNotFoundError(where)
    if target.exists():
        raise FileExistsError(target)
    partial = target.with_name(f".{target.name}.partial")
    partial.unlink(missing_ok=True)
    engine = make_engine(where)
    try:
        reading = engine.execution_options(**READING[engine.dialect.name])
        with (
            reading.begin() as connection,  # one snapshot for all tables
            zipfile.ZipFile(partial, "x", zipfile.ZIP_DEFLATED) as archive,
        ):
            tables = [
                _write_table(connection, archive, table, progress) for table in _kept(connection)
            ]
            revision = connection.scalar(text("SELECT version_num FROM alembic_version"))
            archive.writestr(MANIFEST, json.dumps(_manifest(str(revision), tables), indent=1))
        partial.rename(target)
    finally:
        engine.dispose()
        partial.unlink(missing_ok=True)
    return sum(table.row_count for table in tables)


def read_archive(
    source: Path,
    where: Where,
    *,
    at: datetime,
    progress: Progress | None = None,
    checking: checks.Progress | None = None,
) -> Path | str | None:
    """Make a ledger from an archive and put it in the place of the one that is there.

    It is built under another name, brought to the present shape and checked whole first.

    Args:
        source: what `write_archive` wrote. where: the ledger. at: now, for the dated name of what
            is replaced. progress: as above. checking: is told how far the checks have come.
    Returns:
        As `restore`.
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

    return take_the_place_of(where, build, at=at, progress=checking)


def _kept(connection: Connection) -> list[Table]:
    """The tables that the archive holds; in an older ledger some are not there yet."""
    there = set(inspect(connection).get_table_names())
    return [t for t in tables() if t.name in there - _LEFT_OUT]


def _write_table(
    connection: Connection, archive: zipfile.ZipFile, table: Table, progress: Progress | None
) -> _Table:
    columns: tuple[str, ...] = tuple(
        column["name"] for column in inspect(connection).get_columns(table.name)
    )
    digest, count = hashlib.sha256(), 0
    with archive.open(_member(table.name), "w", force_zip64=True) as file:
        for row in rows_of(connection, table.name, [c.name for c in table.primary_key]):
            encoded = (json.dumps(row, ensure_ascii=False) + "\n").encode()
            digest.update(encoded)
            file.write(encoded)
            count += 1
    if progress is not None:
        progress(table.name, count)
    return _Table(table.name, columns, count, digest.hexdigest())


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
