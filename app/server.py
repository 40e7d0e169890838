"""Serving: bring the ledger up, take the port, say where it is, serve until it is stopped."""

# ruff: noqa: T201, TID251 (an edge: it prints, and the clock is read here)

import signal
import socket
import sqlite3
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, closing, contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from app.settings import DATABASE_VARIABLE, DEFAULT_HOST, DEFAULT_PORT, Settings

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from app.ledger.book import Book
    from app.ledger.engines import Where
    from app.locking import Secure

_MOST_BYTES = 64 << 20  # far above the app's own limit, so that its page answers, not a bare line
_WAITRESS = {"threads": 4, "max_request_body_size": _MOST_BYTES, "ident": "stillroom"}
MANY_WINDOWS = 2000  # fewer are worked out before serving: some seconds
_BETWEEN_LOOKS_S = 1800.0  # at the calendar, whether a new day has begun
_BATCH = 50  # windows worked out in one transaction, so that a running server waits little
_DOCUMENTATION_ADDRESS = "192.0.2.1"  # RFC 5737: belongs to nobody


class Stopped(Exception):
    """A command cannot go on; the message says why and what to do."""


def serve(settings: Settings) -> None:
    """Bring the ledger up and serve it until it is stopped."""
    with ExitStack() as doors:
        listener = doors.enter_context(closing(_listen(settings.host, settings.port, "--port")))
        settings = replace(settings, port=listener.getsockname()[1])
        secure = None
        if settings.https:
            from app.locking import Secure, certified

            now = certified(settings)
            second = _listen(settings.host, settings.https_port, "--https-port")
            secure = Secure(doors.enter_context(closing(second)), now)
            settings = replace(settings, https_port=second.getsockname()[1])
        if settings.demo and _is_empty(settings.data_file):
            from seed_demo.year import build

            print("Building the demo household ...", flush=True)
            seed(settings.data_file, build, datetime.now().astimezone().date())
        bring_up(settings)
        bring_windows_up(settings)
        with _holding(settings):
            _run(settings, listener, secure)
    print("Stopped. Everything that was saved is in the ledger.")


def where_is(settings: Settings) -> "Where":
    """The ledger's file or database; an address that is none stops us."""
    from app.ledger.engines import ledger_at

    try:
        return ledger_at(settings.data_file, settings.database)
    except ValueError as error:
        raise Stopped(f"{error}; it was told with --database or {DATABASE_VARIABLE}") from error


def bring_up(settings: Settings) -> None:
    """Bring the ledger to the present shape; a newer one stops us."""
    from app.ledger import schema
    from app.ledger.engines import words_of
    from app.ledger.errors import NewerLedger

    where = where_is(settings)
    try:
        schema.bring_up(where)
    except NewerLedger as error:
        raise Stopped(
            f"{words_of(where)} was written by a newer version of Stillroom (step {error}). "
            "It was left untouched; install that version to open it"
        ) from error
    except ImportError as error:
        raise Stopped(
            'a ledger in PostgreSQL needs its driver: pip install "stillroom[postgresql]"'
        ) from error


def bring_windows_up(settings: Settings) -> None:
    """Work out again, before serving, the windows that an older model gave, unless they are many.

    Where they are many, people need not wait: pages say of each that it is of an older model.
    """
    from app.ledger.book import Book
    from app.ledger.windows import outdated

    book = Book(where_is(settings))
    try:
        with book.reading() as session:
            ids = outdated(session)
        if len(ids) >= MANY_WINDOWS:
            print(f"{len(ids)} storage windows come from an older model. To bring them up to date,")
            print("while this is running: stillroom windows", flush=True)
        elif ids:
            print("Storage windows come from an older model; working them out again ...")
            work_out_windows(book, ids)
    finally:
        book.close()


def work_out_windows(book: "Book", ids: Sequence[int]) -> None:
    """Work out again the windows of these rows of stock, and print how far it has come."""
    from sqlalchemy import select

    from app.ledger.models import Stock
    from app.ledger.windows import refresh

    for start in range(0, len(ids), _BATCH):
        batch = ids[start : start + _BATCH]

        def work(session: "Session", batch: Sequence[int] = batch) -> None:
            refresh(session, session.scalars(select(Stock).where(Stock.id.in_(batch))).all())

        book.write(work)
        print(f"{min(start + _BATCH, len(ids))} of {len(ids)}", flush=True)


def _listen(host: str, port: int, option: str) -> socket.socket:
    """Take the port first: a second start must fail before it does any work."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    if sys.platform != "win32":  # there it would let two programs share the port
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
        listener.listen()
    except OSError as error:
        listener.close()
        raise Stopped(
            f"cannot listen on {host} port {port}: {error.strerror or error}. "
            f"Is it running already? Another port: stillroom serve {option} "
            f"{port + 2 if port < 65534 else DEFAULT_PORT}"
        ) from error
    return listener


def seed(data_file: Path, build: Callable[["Book", date], None], today: date) -> None:
    """Fill an empty ledger; under another name first, so that a broken start leaves no half of it.

    Args:
        data_file: the ledger, absent or empty. build: writes the story into a book.
        today: the day the story ends.
    """
    from app.ledger import schema
    from app.ledger.archive.restore import remove
    from app.ledger.book import Book

    growing = data_file.with_name(".growing.db")
    remove(growing)
    schema.bring_up(growing)
    book = Book(growing)
    try:
        build(book, today)
        book.close()
        remove(data_file)
        growing.replace(data_file)
    finally:
        book.close()
        remove(growing)


def _is_empty(data_file: Path) -> bool:
    if not data_file.exists():
        return True
    with closing(sqlite3.connect(data_file)) as connection:
        try:
            kept = connection.execute(
                "SELECT (SELECT count(*) FROM operation) + (SELECT count(*) FROM household)"
            ).fetchone()
        except sqlite3.OperationalError as error:
            if "no such table" not in str(error):
                raise
            kept = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    return kept[0] == 0 if kept else True


@contextmanager
def _holding(settings: Settings) -> Iterator[None]:
    """Check the file quickly, and keep it open: `restore` sees that somebody is at work.

    A database server looks after its own files, and keeps a list of who is connected.
    """
    if settings.database:
        yield
        return
    with closing(sqlite3.connect(settings.data_file)) as connection:
        faults = [row[0] for row in connection.execute("PRAGMA quick_check")]
        if faults != ["ok"]:
            raise sqlite3.DatabaseError(faults[0])
        yield


def _run(settings: Settings, listener: socket.socket, secure: "Secure | None") -> None:
    from waitress import create_server

    from app.web.factory import create_app
    from app.web.routes import warm

    app = create_app(settings, lambda: datetime.now(UTC))
    book = app.extensions["stillroom.book"]
    sockets: dict[int, Any] = {}
    server = create_server(app, map=sockets, sockets=[listener], **_WAITRESS)
    for asked_to_stop in (signal.SIGINT, signal.SIGTERM):  # INT is ignored when started behind &
        signal.signal(asked_to_stop, _stop)
    with ExitStack() as doors:
        lines: list[str] = []
        if secure is not None:
            doors.enter_context(secure.serving(app, settings, sockets, **_WAITRESS))
            lines = secure.words(settings, _reachable(settings.host))
        greet(settings, settings.port, pairing_code(book) if settings.is_opened else "", lines)
        threading.Thread(target=warm, name="warm", daemon=True).start()
        stopping = threading.Event()
        copying = threading.Thread(
            target=copy_daily, args=(book, settings.copies, stopping), name="copy", daemon=True
        )
        copying.start()
        server.run()  # comes back after KeyboardInterrupt and SystemExit
    stopping.set()
    copying.join()
    book.close()


def copy_daily(book: "Book", folder: Path, stopping: threading.Event) -> None:
    """Write the copy of each day while we serve; a full disk is said, and tried again."""
    from app.ledger.archive.backup import Damaged
    from app.ledger.archive.daily import copy_of_the_day
    from app.ledger.calendar import today_of
    from app.ledger.engines import DATABASE_ERRORS

    while not stopping.is_set():
        try:
            with book.reading() as session:
                today = today_of(session, datetime.now(UTC))
            copy_of_the_day(book.where, folder, today)
        except (OSError, Damaged, *DATABASE_ERRORS) as error:
            print(f"No copy was made today: {error}", file=sys.stderr, flush=True)
        stopping.wait(_BETWEEN_LOOKS_S)


def _stop(_signal: int, _frame: object) -> None:
    raise KeyboardInterrupt


def pairing_code(book: "Book") -> str:
    """A new code for one device, kept in the ledger by its hash for ten minutes."""
    from app.ledger.devices import new_code

    return book.write(lambda session: new_code(session, at=datetime.now(UTC)))


def greet(settings: Settings, port: int, code: str = "", more: Sequence[str] = ()) -> None:
    """Print the address to open, its QR code, who can reach it, a code to pair with, and more."""
    from app.ledger.engines import words_of

    address = f"http://{_reachable(settings.host)}:{port}/"
    print(f"\nStillroom is at  {address}\n")
    _print_code(address)
    if settings.is_opened:
        print("Devices of your home network can open this address once they are paired.")
        print("Open it only on a network you trust; it is not made for the internet.")
        if code:
            print(f"To pair one now, type this on it: {code[:4]} {code[4:]} (lasts ten minutes)")
        print("For another code later: stillroom pair")
    else:
        print("Only this computer can open it. For the tablet in the kitchen, on a home network")
        print("you trust: stillroom serve --lan")
    print(*more, sep="\n", end="\n" if more else "")
    print(f"Ledger: {words_of(where_is(settings))}\nStop with Ctrl-C.", flush=True)


def _reachable(host: str) -> str:
    """The address that a tablet can open, when we listen on all of them."""
    if host not in ("0.0.0.0", "::"):  # noqa: S104 (compared, not listened on)
        return f"[{host}]" if ":" in host else host
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect((_DOCUMENTATION_ADDRESS, 9))  # UDP: picks the interface, sends nothing
        except OSError:
            return DEFAULT_HOST
        return str(probe.getsockname()[0])


def _print_code(address: str) -> None:
    """The address as a QR code, where the terminal has the characters for it."""
    import io

    import segno

    drawing = io.StringIO()
    segno.make(address, micro=False).terminal(out=drawing, compact=True)
    try:
        drawing.getvalue().encode(sys.stdout.encoding or "ascii")
    except UnicodeEncodeError:
        return
    print(drawing.getvalue())
