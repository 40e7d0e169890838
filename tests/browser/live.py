"""The real application on a port of this machine, with a clock that a test moves."""

import contextlib
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from flask import Flask
from waitress.channel import HTTPChannel
from waitress.server import create_server
from waitress.wasyncore import close_all

from app.ledger import schema
from app.ledger.book import Book
from app.ledger.engines import ledger_at
from app.settings import Settings
from app.web.factory import create_app

NAME = "kitchen.localhost"  # as the home network would call it; RFC 6761 leads it here


class Clock:
    """Stands still until it is moved."""

    def __init__(self, at: datetime) -> None:
        self.at = at

    def __call__(self) -> datetime:
        return self.at

    def forward(self, **span: float) -> None:
        self.at += timedelta(**span)


@dataclass(frozen=True)
class Live:
    """Where the application listens, its ledger and its clock."""

    address: str
    book: Book
    clock: Clock
    app: Flask


@contextmanager
def serving(where: Path | Settings, at: datetime, port: int = 0) -> Iterator[Live]:
    """Serve a ledger, by its folder or settings, made there if need be, until the block ends."""
    told = where if isinstance(where, Settings) else Settings(where)
    settings = replace(told, names=(NAME, *told.names))
    schema.bring_up(ledger_at(settings.data_file, settings.database))
    clock = Clock(at)
    app = create_app(settings, clock)
    book = app.extensions["stillroom.book"]
    try:
        with listening(app, port) as address:
            yield Live(address, book, clock, app)
    finally:
        book.close()


@contextmanager
def from_elsewhere(live: Live, address: str, port: int = 0) -> Iterator[Live]:
    """The same application as a device of the home network reaches it.

    Args:
        address: where every request on this port is said to come from. A test has one machine, and
            what comes from that machine itself needs no pairing. port: 0 takes any that is free.
    """
    with listening(as_if_from(live.app, address), port) as network:
        yield replace(live, address=network)


def as_if_from(app: Flask, address: str) -> Callable[..., Iterable[bytes]]:
    """The application, told of every request that it comes from this address."""
    inner = app.wsgi_app

    def told(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        return inner({**environ, "REMOTE_ADDR": address}, start_response)

    return told


@contextmanager
def listening(app: Callable[..., Iterable[bytes]], port: int = 0) -> Iterator[str]:
    """Serve an application as the household's server does, and give its address.

    A browser hangs up where it likes. The server made for development then leaves the file open
    that it was sending, and whichever test runs next is blamed for it.
    """
    server = create_server(app, host="127.0.0.1", port=port, threads=4)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.effective_port}"
    finally:
        stop(server, thread)


def stop(server: Any, thread: threading.Thread) -> None:
    """Stop a server that runs in a thread, and the connections of all who share its sockets."""
    with contextlib.suppress(OSError):  # woken by a request, it may have closed before our own pull
        server.trigger.pull_trigger(lambda: _hang_up(server._map))  # in the server's own thread
    thread.join()
    server.task_dispatcher.shutdown()


def _hang_up(sockets: dict[int, Any]) -> None:
    """Close everything, also files that wait to be sent: closing a channel would leave those."""
    for channel in list(sockets.values()):
        if isinstance(channel, HTTPChannel):
            channel.handle_close()
    close_all(sockets)
