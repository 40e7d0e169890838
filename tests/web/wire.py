"""Tablets on the wire: real sockets, several at the same instant, and answers that get lost."""

import http.client
import socket
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from typing import Any
from urllib.parse import urlencode, urlsplit

from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response

from tests.web.pages import Page, Sent

PATIENCE_S = 60.0  # only so that a test that hangs ends


def filled(form: Sent, **changes: Any) -> MultiDict[str, str]:
    """What a form would send with some boxes filled differently; None leaves one out.

    In names two underscores stand for a hyphen: net_mg__0__net is net_mg-0-net.
    """
    values = form.values.copy()
    for name, value in changes.items():
        key = name.replace("__", "-")
        values.poplist(key)
        for one in value if isinstance(value, list | tuple) else [value]:
            if one is not None:
                values.add(key, str(one))
    return values


def at_once(jobs: Sequence[Callable[[], Any]]) -> list[Any]:
    """Do all of it in the same instant, each on a thread of its own; answers in order."""
    gate = threading.Barrier(len(jobs))

    def ready(job: Callable[[], Any]) -> Any:
        gate.wait(PATIENCE_S)
        return job()

    with ThreadPoolExecutor(len(jobs)) as pool:
        return list(pool.map(ready, jobs))


class WireTablet:
    """One device with its own cookie; each request has a connection of its own."""

    def __init__(self, address: str) -> None:
        """Know where the server is."""
        self.server = urlsplit(address).netloc
        self.cookie = ""

    def get(self, address: str) -> Page:
        """Open a page."""
        return self._ask("GET", address)

    def post(self, address: str, values: MultiDict[str, str]) -> Page:
        """Send a form and read the answer."""
        return self._ask("POST", address, _encoded(values))

    def post_and_hang_up(self, address: str, values: MultiDict[str, str]) -> None:
        """Send a whole form, and be gone before the answer comes."""
        body = _encoded(values)
        head = (
            f"POST {address} HTTP/1.1\r\nHost: {self.server}\r\nCookie: {self.cookie}\r\n"
            "Content-Type: application/x-www-form-urlencoded\r\n"
            f"Content-Length: {len(body)}\r\n\r\n"
        )
        host, port = self.server.split(":")
        with socket.create_connection((host, int(port)), PATIENCE_S) as wire:
            wire.sendall(head.encode() + body)

    def _ask(self, method: str, address: str, body: bytes | None = None) -> Page:
        headers = {"Cookie": self.cookie} if self.cookie else {}
        if body is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        connection = http.client.HTTPConnection(self.server, timeout=PATIENCE_S)
        with closing(connection):
            connection.request(method, address, body, headers)
            answer = connection.getresponse()
            found = Response(answer.read(), answer.status, answer.getheaders())
        given = answer.getheader("Set-Cookie")
        self.cookie = given.partition(";")[0] if given else self.cookie
        return Page(found)  # type: ignore[arg-type]


def _encoded(values: MultiDict[str, str]) -> bytes:
    return urlencode(list(values.items(multi=True))).encode()
