"""The command line: parse, call the ledger or the web, print. Imports stand inside the commands."""

import argparse
import sqlite3
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from app.server import Stopped, bring_up, where_is, work_out_windows
from app.server import serve as serve_until_stopped
from app.settings import (
    DATA_VARIABLE,
    DATABASE_VARIABLE,
    DEFAULT_HOST,
    DEFAULT_HTTPS_PORT,
    DEFAULT_PORT,
    EVERY_INTERFACE,
    Settings,
    settings_from,
)

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from app.ledger.book import Book

DONE, NOT_SOUND, CANNOT = 0, 1, 2  # exit codes
_ONE_MIB = 1 << 20
_MANY_ROWS = 10_000  # fewer are written before anybody wonders
_MANY_BYTES = 5 * _ONE_MIB


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Args:
        argv: arguments without the program's name; by default those of the process.
    Returns:
        The exit code: 0 done, 1 the ledger is not sound, 2 the command could not be carried out.
    """
    arguments = _parser().parse_args(argv)
    settings = settings_from(
        data=arguments.data,
        demo=arguments.demo,
        host=_host(arguments),
        port=getattr(arguments, "port", DEFAULT_PORT),
        names=tuple(getattr(arguments, "name", ())),
        database=arguments.database,
    )
    try:
        return _told_plainly(arguments.command, settings, arguments)
    except Stopped as reason:
        print(f"stillroom: {reason}", file=sys.stderr)
        return CANNOT
    except KeyboardInterrupt:
        print("\nStopped.", file=sys.stderr)
        return CANNOT


def _host(arguments: argparse.Namespace) -> str:
    """Where to listen: this computer, the home network, or an address that was named."""
    host: str = getattr(arguments, "host", DEFAULT_HOST)
    opened = getattr(arguments, "lan", False) and host == DEFAULT_HOST
    return EVERY_INTERFACE if opened else host


def _parser() -> argparse.ArgumentParser:
    common = argparse.ArgumentParser(add_help=False)
    common.add_argument(
        "--data",
        type=Path,
        metavar="DIR",
        help=f"folder of the ledger (else {DATA_VARIABLE}, else your user's data folder)",
    )
    common.add_argument(
        "--database",
        metavar="ADDRESS",
        help="keep the ledger in PostgreSQL instead of a file: postgresql://user@host/name "
        f"(else {DATABASE_VARIABLE}); a password belongs in the environment or ~/.pgpass",
    )
    common.add_argument(
        "--demo",
        action="store_true",
        help="use the made-up demo household, which has a folder of its own",
    )
    parser = argparse.ArgumentParser(
        prog="stillroom",
        description="The ledger of a household that preserves its own food.",
        epilog="exit codes: 0 done, 1 the ledger is not sound, 2 the command could not be done",
    )
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    for name, command, words, more in _COMMANDS:
        sub = commands.add_parser(name, parents=[common], help=words, description=f"{words} {more}")
        sub.set_defaults(command=command)
        _add_own(name, sub)
    return parser


def _add_own(name: str, parser: argparse.ArgumentParser) -> None:
    if name == "serve":
        parser.add_argument(
            "--host",
            default=DEFAULT_HOST,
            help=f"address to listen on (default {DEFAULT_HOST}, this computer only)",
        )
        parser.add_argument(
            "--lan",
            action="store_true",
            help="open it to the home network; a device is paired once with a code",
        )
        parser.add_argument(
            "--name",
            action="append",
            default=[],
            metavar="NAME",
            help="a further name by which devices may ask for it, such as stillroom.home.arpa",
        )
        parser.add_argument("--port", type=_port, default=DEFAULT_PORT, help="default %(default)s")
        parser.add_argument(
            "--https",
            action="store_true",
            help="serve it over https too; each device learns once to trust this household",
        )
        parser.add_argument(
            "--https-port",
            type=_port,
            default=DEFAULT_HTTPS_PORT,
            metavar="PORT",
            help="port of https (default %(default)s)",
        )
    elif name == "backup":
        parser.add_argument("file", type=Path, metavar="FILE", help="new file to write")
    elif name == "restore":
        parser.add_argument("file", type=Path, metavar="FILE", help="backup to take")
    elif name == "export":
        parser.add_argument("dir", type=Path, metavar="DIR", help="new or empty folder")
    elif name == "import":
        parser.add_argument("file", type=Path, metavar="FILE", help="ledger.zip of an export")


def _port(text: str) -> int:
    number = int(text)
    if not 0 <= number <= 65535:
        raise argparse.ArgumentTypeError("a port is a number from 0 to 65535 (0: any free one)")
    return number


def _told_plainly(
    command: Callable[[Settings, argparse.Namespace], int],
    settings: Settings,
    arguments: argparse.Namespace,
) -> int:
    """Run a command and say expected failures in a sentence."""
    try:
        return command(settings, arguments)
    except OSError as error:
        raise Stopped(str(error)) from error
    except _database_errors() as error:  # looked up only when something was raised
        raise Stopped(_what_hindered(settings, error)) from error


def _what_hindered(settings: Settings, error: Exception) -> str:
    from app.ledger.engines import Hindrance, hindrance_of, words_of

    why = getattr(error, "orig", None) or error
    hindrance = hindrance_of(error)
    if hindrance is Hindrance.BUSY:
        advice = "another program holds it; try again in a moment"
    elif settings.database:
        advice = "nothing was changed; is the server up, and does the database exist?"
    else:
        advice = "nothing was changed; put a backup in its place: stillroom restore FILE"
    return f"{words_of(where_is(settings))} cannot be used ({str(why).strip()}); {advice}"


def _database_errors() -> tuple[type[Exception], ...]:
    from sqlalchemy.exc import DBAPIError

    return (sqlite3.DatabaseError, DBAPIError)


def serve(settings: Settings, arguments: argparse.Namespace) -> int:
    """Serve the ledger until it is stopped."""
    serve_until_stopped(replace(settings, https=arguments.https, https_port=arguments.https_port))
    return DONE


def pair(settings: Settings, _arguments: argparse.Namespace) -> int:
    """Print a code that pairs one device."""
    from app.server import pairing_code

    with _book(settings) as book:
        code = pairing_code(book)
    print(f"Type this on the device within ten minutes: {code[:4]} {code[4:]}")
    return DONE


def check(settings: Settings, _arguments: argparse.Namespace) -> int:
    """Check the whole ledger; print what does not hold, or what there is."""
    from app.ledger.checks import CHECKS, check_all

    with _book(settings) as book, book.reading() as session:
        findings = check_all(session, _say_check if _is_long(session) else None)
        for finding in findings:
            print(finding)
        if findings:
            many = "1 thing does" if len(findings) == 1 else f"{len(findings)} things do"
            print(f"{many} not hold in {_named(settings)}", file=sys.stderr)
            return NOT_SOUND
        print(f"Everything balances ({len(CHECKS)} checks). {_counts(session)}")
    return DONE


def _is_long(session: "Session") -> bool:
    """Is there so much that somebody would wonder?"""
    from sqlalchemy import func, select

    from app.ledger.models import Entry

    return (session.scalar(select(func.max(Entry.id))) or 0) >= _MANY_ROWS


def _say_check(number: int, many: int, what: str) -> None:
    print(f"{number} of {many}: {what}", file=sys.stderr, flush=True)


def _counts(session: "Session") -> str:
    from sqlalchemy import func, select

    from app.ledger.models import Entry, Lot, Operation, Package, Stock

    lots, operations, entries, packages = (
        session.scalar(select(func.count()).select_from(table))
        for table in (Lot, Operation, Entry, Package)
    )
    on_hand_kg = (session.scalar(select(func.sum(Stock.mass_mg))) or 0) / 1e6
    return (
        f"{lots} lots, {operations} operations, {entries} entries, {packages} packages; "
        f"{on_hand_kg:.3f} kg on hand."
    )


def backup(settings: Settings, arguments: argparse.Namespace) -> int:
    """Write a whole copy of the ledger, even while it is being served."""
    from app.ledger.archive.backup import Damaged, back_up

    _need(settings)
    if settings.database:
        bring_up(settings)  # a backup of it is a file, which has the present shape
    try:
        size = back_up(
            where_is(settings),
            arguments.file.absolute(),
            _say if _takes_long_to_copy(settings) else None,
        )
    except FileExistsError as error:
        raise Stopped(f"{arguments.file} exists already; choose another name") from error
    except FileNotFoundError as error:
        raise Stopped(f"there is no folder {arguments.file.parent}") from error
    except Damaged as error:
        raise Stopped(f"the ledger is damaged, nothing was written: {error}") from error
    print(f"Wrote {arguments.file} ({size / _ONE_MIB:.1f} MiB), and read it through.")
    return DONE


def restore(settings: Settings, arguments: argparse.Namespace) -> int:
    """Put a backup in the ledger's place, and keep what it replaces."""
    from app.ledger.archive.restore import restore as put_back

    source = arguments.file.absolute()
    words = {
        "NotALedger": "is no ledger of Stillroom",
        "Damaged": "cannot be read, or is damaged",
        "FileExistsError": "is the ledger itself",
    }
    with _left_as_it_was(source, words):
        print(f"Checking {source} ...", flush=True)
        told = _say_check if _is_large(source) else None
        kept = put_back(source, where_is(settings), at=datetime.now(UTC), progress=told)
    return _say_replaced(f"{_named(settings)} is now {source}.", kept)


def _takes_long_to_copy(settings: Settings) -> bool:
    """Is the ledger so large that its copy takes a while? Of a database nobody knows before."""
    return bool(settings.database) or _is_large(settings.data_file)


def _say(words: str) -> None:
    print(words, file=sys.stderr, flush=True)


def _is_large(file: Path) -> bool:
    """Does it take so long to check it that somebody would wonder?"""
    return file.is_file() and file.stat().st_size >= _MANY_BYTES


def _named(settings: Settings) -> str:
    """Where the ledger lies, in words."""
    from app.ledger.engines import words_of

    return words_of(where_is(settings))


@contextmanager
def _left_as_it_was(source: Path, words: dict[str, str]) -> Iterator[None]:
    """Say why a file did not take the ledger's place; nothing was changed then."""
    from app.ledger.archive.backup import Damaged
    from app.ledger.archive.database import InUse
    from app.ledger.archive.portable import Altered
    from app.ledger.archive.restore import NotALedger, Unbalanced
    from app.ledger.errors import NewerLedger

    common = {
        "NewerLedger": "was written by a newer version of Stillroom",
        "FileNotFoundError": "does not exist",
    }
    try:
        yield
    except Unbalanced as error:
        for finding in error.findings:
            print(finding)
        raise Stopped(f"{source} does not balance; the ledger is as it was") from error
    except InUse as error:
        raise Stopped("the ledger is being served; stop it first (Ctrl-C there)") from error
    except (
        NewerLedger, NotALedger, Altered, Damaged, FileNotFoundError, FileExistsError
    ) as error:  # fmt: skip
        why = (common | words)[type(error).__name__].format(error=error)
        raise Stopped(f"{source} {why}; the ledger is as it was") from error


def _say_replaced(words: str, kept: Path | str | None) -> int:
    print(words)
    if kept is not None:
        print(f"What it replaces is kept as {kept}")
    return DONE


def export(settings: Settings, arguments: argparse.Namespace) -> int:
    """Write every table as CSV, the whole ledger as JSON, and its history as events."""
    from app.ledger.archive.csv_tables import export as write_tables
    from app.ledger.archive.epcis import write_events
    from app.ledger.archive.portable import write_archive

    with _book(settings) as book, book.reading() as session:
        try:
            written = write_tables(session, arguments.dir, _say_table)
        except FileExistsError as error:
            raise Stopped(f"{arguments.dir} is not an empty folder; choose a new one") from error
        events = write_events(
            session, arguments.dir / "events.json", at=datetime.now(UTC), progress=_say_events
        )
    rows = write_archive(where_is(settings), arguments.dir / "ledger.zip", progress=_say_table)
    print(f"Wrote {len(written)} files to {arguments.dir}; README.txt says what each holds.")
    print(f"ledger.zip holds all {rows} rows for stillroom import, events.json {events} events.")
    return DONE


def import_archive(settings: Settings, arguments: argparse.Namespace) -> int:
    """Bring a whole ledger back from what `export` wrote."""
    from app.ledger.archive.portable import read_archive

    source, now = arguments.file.absolute(), datetime.now(UTC)
    words = {
        "NotALedger": "is no archive of Stillroom; export writes one as ledger.zip",
        "Altered": "was changed or is incomplete (table {error})",
        "Damaged": "cannot be read",
    }
    with _left_as_it_was(source, words):
        try:
            kept = read_archive(
                source,
                where_is(settings),
                at=now,
                progress=_say_table,
                checking=_say_check if _is_large(source) else None,
            )
        except sqlite3.IntegrityError as error:
            why = f"{source} breaks a rule of the ledger ({error}); it is as it was"
            raise Stopped(why) from error
    return _say_replaced(f"{_named(settings)} is now what {source} holds.", kept)


def _say_events(name: str, count: int) -> None:
    print(f"{name}: {count} events", flush=True)


def _say_table(name: str, rows: int) -> None:
    """How far long work has come."""
    if rows >= _MANY_ROWS:
        print(f"{name}: {rows} rows", flush=True)


def windows(settings: Settings, _arguments: argparse.Namespace) -> int:
    """Work out again every window whose inputs or model have changed."""
    from sqlalchemy import select

    from app.ledger.models import Stock

    with _book(settings) as book:
        with book.reading() as session:
            ids = session.scalars(select(Stock.id).order_by(Stock.id)).all()
        work_out_windows(book, ids)
    print("Every window is up to date.")
    return DONE


def _need(settings: Settings) -> None:
    if settings.database:
        return  # a database is made by whoever runs it; if it is not there, it says so
    if not settings.data_file.is_file():
        raise Stopped(
            f"there is no ledger at {settings.data_file}. Start one with stillroom serve, "
            "or say where it is with --data DIR"
        )


@contextmanager
def _book(settings: Settings) -> Iterator["Book"]:
    """An existing ledger in its present shape."""
    from app.ledger.book import Book

    _need(settings)
    bring_up(settings)
    book = Book(where_is(settings))
    try:
        yield book
    finally:
        book.close()


_COMMANDS: tuple[tuple[str, Callable[[Settings, argparse.Namespace], int], str, str], ...] = (
    (
        "serve",
        serve,
        "Serve the ledger to this computer or the home network.",
        "Makes a new ledger, or brings an older one up, and prints the address to open.",
    ),
    (
        "pair",
        pair,
        "Print a code that pairs one device.",
        "Works while it is being served; the code lasts ten minutes and voids the one before.",
    ),
    (
        "check",
        check,
        "Check that everything balances.",
        "Prints each thing that does not hold and exits with 1, or prints what there is.",
    ),
    (
        "backup",
        backup,
        "Write a copy of the ledger to a new file.",
        "Safe while it is being served. Never overwrites a file.",
    ),
    (
        "restore",
        restore,
        "Put a backup in the ledger's place.",
        "Checks all of it first, and keeps what it replaces under a dated name.",
    ),
    (
        "export",
        export,
        "Write the ledger as CSV tables, as JSON and as traceability events.",
        "ledger.zip is the whole ledger in JSON, for import; events.json follows GS1 EPCIS 2.0. "
        "CSV: "
        "UTF-8, units in the headers, ISO dates, exact masses. A text that begins with = + - @ "
        "gets an apostrophe before it, so that no spreadsheet runs it as a formula.",
    ),
    (
        "import",
        import_archive,
        "Put an exported ledger in the ledger's place.",
        "Checks all of it first, and keeps what it replaces under a dated name.",
    ),
    (
        "windows",
        windows,
        "Work out again the storage windows that are out of date.",
        "For instance after an update of the model.",
    ),
)

if __name__ == "__main__":
    sys.exit(main())
