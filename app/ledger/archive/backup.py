"""A backup: the whole ledger as it is at one moment, in one compact file."""

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from app.ledger.engines import Where


class Damaged(Exception):
    """SQLite finds damage in a data file; `faults` says what, in its words."""

    def __init__(self, path: Path, faults: list[str]) -> None:
        """Keep which file, and what is wrong with it."""
        self.path, self.faults = path, faults
        super().__init__(f"{path}: {'; '.join(faults)}")


def back_up(where: Where, target: Path) -> int:
    """Write a copy of the ledger that is whole even while a server is writing.

    The copy is made under a temporary name, flushed to the disk and read through before it gets
    its own, so a file with the asked name is never half a backup.

    Args:
        where: the ledger; of a database the backup is a data file as well.
        target: the new file, in a folder that exists.
    Returns:
        Size of the backup in bytes.
    Raises:
        FileNotFoundError: no ledger there, or no such folder.
        FileExistsError: there is something at target; it is left as it is.
        Damaged: the copy does not read well. OSError: the disk is full or refuses.
    """
    if isinstance(where, Path) and not where.is_file():
        raise FileNotFoundError(where)
    if not target.parent.is_dir():
        raise FileNotFoundError(target.parent)
    if target.exists():
        raise FileExistsError(target)
    partial = target.with_name(f".{target.name}.partial")
    partial.unlink(missing_ok=True)
    try:
        _copy(where, partial)
        flush(partial)
        faults = faults_of(partial, quick=True)
        if faults:
            raise Damaged(partial, faults)
        partial.rename(target)
    finally:
        partial.unlink(missing_ok=True)
    flush_folder(target.parent)
    return target.stat().st_size


def _copy(where: Where, partial: Path) -> None:
    if isinstance(where, Path):
        copy_whole(where, partial)
        return
    from app.ledger.archive.database import copy_out

    copy_out(where, partial)
    alone(partial)


def copy_whole(source: Path, target: Path) -> None:
    """Copy a database as one snapshot; VACUUM INTO takes in what is still in the log beside it."""
    try:
        with closing(sqlite3.connect(f"{source.as_uri()}?mode=rw", uri=True)) as connection:
            connection.execute("PRAGMA busy_timeout=5000")
            connection.execute("VACUUM INTO ?", (str(target),))
    except sqlite3.DatabaseError as error:
        faults = faults_of(source, quick=True)  # is it the source, or the disk it goes to?
        if faults:
            raise Damaged(source, faults) from error
        raise OSError(f"cannot write {target.parent}: {error}") from error


def faults_of(path: Path, *, quick: bool) -> list[str]:
    """What SQLite finds wrong in a file.

    Args:
        path: the database file. quick: leave out comparing every index with its table.
    Returns:
        Its findings in its own words; empty when the file is whole.
    """
    pragma = "PRAGMA quick_check" if quick else "PRAGMA integrity_check"
    try:
        with closing(sqlite3.connect(path)) as connection:
            rows = connection.execute(pragma).fetchall()
    except sqlite3.DatabaseError as error:
        return [str(error)]
    return [str(row[0]) for row in rows if row[0] != "ok"]


def alone(path: Path) -> None:
    """Fold the log of a file that nobody has open into it, so that it can be moved alone.

    Raises:
        sqlite3.OperationalError: somebody has it open.
    """
    with closing(sqlite3.connect(path, timeout=1.0)) as connection:
        connection.execute("PRAGMA journal_mode=DELETE")


def flush(path: Path) -> None:
    """Have the system put a file's bytes on the disk."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def flush_folder(folder: Path) -> None:
    """Have the system put a folder's names on the disk, where it knows how."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
