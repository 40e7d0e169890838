"""The lock: takes TLS off a connection and hands waitress its plain end.

waitress accepts the connection, so its limits and the true address of the device stay as they are;
Python's own TLS does the rest, in one thread for all connections, so that a device which opens a
connection and says nothing keeps nobody waiting.
"""

import asyncio
import socket
import ssl
import threading
from collections.abc import Iterator, MutableMapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from waitress import create_server
from waitress.channel import HTTPChannel

_AT_ONCE = 65536  # bytes
_HANDSHAKE_S = 10.0  # our judgement: an old tablet needs one or two
_STALLED_S = 60.0  # a device that takes nothing for so long is gone
_TLS_HANDSHAKE = b"\x16"  # RFC 8446, 5.1: the first byte of every connection
_NOT_TLS = (
    b"HTTP/1.1 400 Bad Request\r\nContent-Type: text/plain; charset=utf-8\r\n"
    b"Connection: close\r\n\r\n"
    b"This port speaks https only. Write https:// before the address.\n"
)


def tls_context(server_file: Path) -> ssl.SSLContext:
    """How we speak TLS: version 1.2 or newer, with the certificate and key of this file."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    context.set_alpn_protocols(["http/1.1"])
    context.load_cert_chain(server_file)
    return context


@contextmanager
def locked_door(
    app: Any, listener: socket.socket, context: ssl.SSLContext, sockets: MutableMapping[int, Any],
    **how: Any,
) -> Iterator[None]:  # fmt: skip
    """Serve an application over TLS too, in the loop of the waitress that shares these sockets."""
    lock = _Lock(context)
    server = create_server(app, map=sockets, sockets=[listener], url_scheme="https", **how)
    server.channel_class = lock.channel
    try:
        yield
    finally:
        server.task_dispatcher.shutdown()
        lock.stop()


class _Lock:
    """One thread that carries bytes between locked and plain ends."""

    def __init__(self, context: ssl.SSLContext) -> None:
        self._context = context
        self._carried: set[asyncio.Task[None]] = set()
        self._started = threading.Event()
        self._thread = threading.Thread(target=self._run, name="tls", daemon=True)
        self._thread.start()
        self._started.wait()

    def channel(
        self, server: Any, accepted: socket.socket, address: Any, adj: Any, map: Any = None
    ) -> Any:
        """What waitress makes of a connection it accepted: a channel on its plain end."""
        ours, theirs = socket.socketpair()
        self._loop.call_soon_threadsafe(self._begin, accepted, ours)
        return HTTPChannel(server, theirs, address, adj, map=map)

    def stop(self) -> None:
        """Drop what is still open and end the thread."""
        self._loop.call_soon_threadsafe(self._stopping.set)
        self._thread.join()

    def _run(self) -> None:
        # a loop of selectors everywhere: only that one can look at a socket without reading it
        with asyncio.Runner(loop_factory=asyncio.SelectorEventLoop) as runner:
            runner.run(self._until_stopped())

    async def _until_stopped(self) -> None:
        self._loop, self._stopping = asyncio.get_running_loop(), asyncio.Event()
        self._started.set()
        await self._stopping.wait()

    def _begin(self, locked: socket.socket, plain: socket.socket) -> None:
        task = self._loop.create_task(self._carry(locked, plain))
        self._carried.add(task)
        task.add_done_callback(self._carried.discard)

    async def _carry(self, locked: socket.socket, plain: socket.socket) -> None:
        locked.setblocking(False)
        plain.setblocking(False)
        sinks: list[asyncio.StreamWriter] = []
        try:
            if not await self._is_tls(locked):
                await self._loop.sock_recv(locked, _AT_ONCE)  # unread, it would spoil the answer
                await self._loop.sock_sendall(locked, _NOT_TLS)
                return
            from_device, to_device = await self._unlocked(locked)
            sinks.append(to_device)
            from_us, to_us = await asyncio.open_connection(sock=plain)
            sinks.append(to_us)
            ways = (_pour(from_device, to_us), _pour(from_us, to_device))
            for fault in await asyncio.gather(*ways, return_exceptions=True):
                if fault is not None:
                    raise fault
        except (OSError, EOFError):
            return  # the device went away, or does not trust us: it tells its own user
        finally:
            for sink in sinks:
                sink.transport.abort()
            locked.close()
            plain.close()

    async def _is_tls(self, locked: socket.socket) -> bool:
        """Does the device speak TLS? Waits for its first byte and leaves it where it is."""
        heard = asyncio.Event()
        self._loop.add_reader(locked, heard.set)
        try:
            async with asyncio.timeout(_HANDSHAKE_S):
                await heard.wait()
        finally:
            self._loop.remove_reader(locked)
        first = locked.recv(1, socket.MSG_PEEK)
        if not first:
            raise EOFError
        return first == _TLS_HANDSHAKE

    async def _unlocked(
        self, locked: socket.socket
    ) -> tuple[asyncio.StreamReader, asyncio.StreamWriter]:
        reader = asyncio.StreamReader(_AT_ONCE, self._loop)
        protocol = asyncio.StreamReaderProtocol(reader, loop=self._loop)
        transport, _ = await self._loop.connect_accepted_socket(
            lambda: protocol,
            locked,
            ssl=self._context,
            ssl_handshake_timeout=_HANDSHAKE_S,
            ssl_shutdown_timeout=_HANDSHAKE_S,
        )
        return reader, asyncio.StreamWriter(transport, protocol, reader, self._loop)


async def _pour(source: asyncio.StreamReader, sink: asyncio.StreamWriter) -> None:
    """Carry bytes one way until there are no more; then the other end is closed too."""
    try:
        while data := await source.read(_AT_ONCE):
            sink.write(data)
            async with asyncio.timeout(_STALLED_S):
                await sink.drain()
    except OSError:
        sink.transport.abort()  # and with it the other way
        raise
    sink.close()
    await sink.wait_closed()  # what is on its way arrives
