"""Restore: a backup takes the ledger's place, once it is known to be sound."""

import shutil
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from app.ledger import schema
from app.ledger.archive.backup import (
    Damaged,
    alone,
    copy_whole,
    faults_of,
    flush,
    flush_folder,
)
from app.ledger.archive.database import InUse, take_in
from app.ledger.book import Book
from app.ledger.checks import Finding, Progress, check_all
from app.ledger.engines import Where

_BESIDE = ("", "-wal", "-shm")  # what SQLite keeps under one name


class NotALedger(Exception):
    """The file is a database of something else."""


class Unbalanced(Exception):
    """The file can be read, but its ledger does not balance."""

    def __init__(self, findings: list[Finding]) -> None:
        """Keep what was found."""
        self.findings = findings
        super().__init__("; ".join(str(finding) for finding in findings))


def restore(
    source: Path, where: Where, *, at: datetime, progress: Progress | None = None
) -> Path | str | None:
    """Put a backup in the ledger's place; what was there is kept under a dated name.

    Args:
        source: the backup; only read. where: the ledger. at: now, for the dated name.
        progress: is told how far the checks have come.
    Returns:
        The file, or the schema of the database, that keeps what was replaced; None when there was
        nothing.
    Raises:
        FileNotFoundError: no such backup. Damaged, NotALedger, Unbalanced: it is not sound.
        NewerLedger: it was written by a newer version.
        InUse: a server holds the ledger. Whatever is raised, the ledger is as it was.
    """
    if not source.is_file():
        raise FileNotFoundError(source)
    if isinstance(where, Path) and where.exists() and source.samefile(where):
        raise FileExistsError(source)
    return take_the_place_of(
        where, lambda candidate: _copy(source, candidate), at=at, progress=progress
    )


def take_the_place_of(
    where: Where,
    build: Callable[[Path], None],
    *,
    at: datetime,
    progress: Progress | None = None,
) -> Path | str | None:
    """Build a ledger beside another, check all of it, and swap them; what was there is kept.

    Args:
        where: the ledger. build: writes the new one, in the present shape, to a path.
        at: now, for the dated name. progress: as `restore`.
    Returns:
        As `restore`.
    Raises:
        Unbalanced: the new one does not balance. InUse: a server holds the ledger. Whatever is
            raised, by `build` as well, the ledger is as it was.
    """
    if isinstance(where, Path):
        return _swap_files(where, build, at, progress)
    with TemporaryDirectory() as folder:
        candidate = Path(folder) / "stillroom.db"
        build(candidate)
        _check(candidate, progress)
        return take_in(where, candidate, at=at)


def _swap_files(
    data_file: Path, build: Callable[[Path], None], at: datetime, progress: Progress | None
) -> Path | None:
    data_file.parent.mkdir(parents=True, exist_ok=True)
    candidate = data_file.with_name(f".{data_file.name}.restoring")
    remove(candidate)
    try:
        build(candidate)
        _check(candidate, progress)
        kept = _keep(data_file, at) if data_file.exists() else None
        remove(data_file, log_only=True)  # before the swap: an old log must not meet the new file
        candidate.replace(data_file)
    finally:
        remove(candidate)
    flush_folder(data_file.parent)
    return kept


def remove(path: Path, *, log_only: bool = False) -> None:
    """Delete a database file with what SQLite keeps beside it, or only the latter."""
    for ending in _BESIDE[1:] if log_only else _BESIDE:
        path.with_name(path.name + ending).unlink(missing_ok=True)


def _copy(source: Path, candidate: Path) -> None:
    """Copy the backup beside the ledger and bring it to the present shape."""
    faults = faults_of(source, quick=False)
    if faults:
        raise Damaged(source, faults)
    if schema.revision_of(source) is None:
        raise NotALedger(source)
    copy_whole(source, candidate)
    schema.bring_up(candidate)


def _check(candidate: Path, progress: Progress | None) -> None:
    book = Book(candidate)
    try:
        with book.reading() as session:
            findings = check_all(session, progress)
    finally:
        book.close()
    if findings:
        raise Unbalanced(findings)
    flush(candidate)


def _keep(data_file: Path, at: datetime) -> Path:
    """Copy the present ledger, byte for byte, so that even a damaged one is kept as it is."""
    _close_log(data_file)
    stamp = at.astimezone(UTC).strftime("%Y-%m-%dT%H%M%SZ")
    kept = data_file.with_name(f"{data_file.stem}-replaced-{stamp}{data_file.suffix}")
    for ending in _BESIDE[:2]:
        part = data_file.with_name(data_file.name + ending)
        if part.exists():
            copy = kept.with_name(kept.name + ending)
            shutil.copy2(part, copy)
            flush(copy)
    return kept


def _close_log(data_file: Path) -> None:
    """Fold the log into the file; SQLite allows it only to a process that is alone with it."""
    try:
        alone(data_file)
    except sqlite3.OperationalError as error:
        if "locked" in str(error):
            raise InUse(data_file) from error
    except sqlite3.DatabaseError:
        return  # damaged: it is kept with its log, as it is
