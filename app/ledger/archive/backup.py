"""A backup: the whole ledger as it is at one moment, in one compact file."""

import os
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from app.ledger.engines import Where

Told = Callable[[str], None]
_STEPS = 2_000  # of SQLite's machine, between two looks at how far the copy has come
_MIB = 1_048_576


class Damaged(Exception):
    """SQLite finds damage in a data file; `faults` says what, in its words."""

    def __init__(self, path: Path, faults: list[str]) -> None:
        """Keep which file, and what is wrong with it."""
        self.path, self.faults = path, faults
        super().__init__(f"{path}: {'; '.join(faults)}")


def back_up(where: Where, target: Path, tell: Told | None = None) -> int:
    """Write a copy of the ledger that is whole even while a server is writing.

    The copy is made under a temporary name, flushed to the disk and read through before it gets
    its own, so a file with the asked name is never half a backup.

    Args:
        where: the ledger; of a database the backup is a data file as well.
        target: the new file, in a folder that exists. tell: is told how far it has come, in words.
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
        _copy(where, partial, tell)
        flush(partial)
        if tell is not None:
            tell("Copied. Reading the copy through")
        faults = faults_of(partial, quick=True)
        if faults:
            raise Damaged(partial, faults)
        partial.rename(target)
    finally:
        partial.unlink(missing_ok=True)
    flush_folder(target.parent)
    return target.stat().st_size


def _copy(where: Where, partial: Path, tell: Told | None) -> None:
    if isinstance(where, Path):
        copy_whole(where, partial, tell)
        return
    from app.ledger.archive.database import copy_out

    copy_out(where, partial, None if tell is None else lambda name, n: tell(f"{name}: {n} rows"))
    alone(partial)


def copy_whole(source: Path, target: Path, tell: Told | None = None) -> None:
    """Copy a database as one snapshot; VACUUM INTO takes in what is still in the log beside it.

    Args:
        source, target: the files. tell: is told each tenth that is written; the copy is compact,
            so it may end before all of the size is reached.
    """
    try:
        with closing(sqlite3.connect(f"{source.as_uri()}?mode=rw", uri=True)) as connection:
            connection.execute("PRAGMA busy_timeout=5000")
            if tell is not None:
                connection.set_progress_handler(_looking(source, target, tell), _STEPS)
            connection.execute("VACUUM INTO ?", (str(target),))
    except sqlite3.DatabaseError as error:
        faults = faults_of(source, quick=True)  # is it the source, or the disk it goes to?
        if faults:
            raise Damaged(source, faults) from error
        raise OSError(f"cannot write {target.parent}: {error}") from error


def _looking(source: Path, target: Path, tell: Told) -> Callable[[], int]:
    """Looks how much of a copy is there, and tells each tenth once."""
    whole, told = source.stat().st_size, 0

    def look() -> int:
        nonlocal told
        done = target.stat().st_size if target.exists() else 0
        tenths = 10 * done // max(whole, 1)
        if tenths > told:
            told = tenths
            tell(f"Copied {done / _MIB:.0f} of about {whole / _MIB:.0f} MiB")
        return 0  # go on

    return look


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
