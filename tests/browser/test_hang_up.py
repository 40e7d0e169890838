"""A browser that hangs up in the middle of a file leaves nothing open behind it."""

import gc
import socket
import struct
import sys
from pathlib import Path

import pytest

from app.web.factory import STATIC
from tests import builders as b
from tests.browser.live import serving

AT_ONCE = struct.pack("ii", 1, 0)  # SO_LINGER: closing resets the connection, nothing is awaited
TIMES = 100


def test_files_asked_for_and_not_waited_for_are_closed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    font = next((STATIC / "fonts").glob("*.woff2")).name
    left_open: list[object] = []
    monkeypatch.setattr(sys, "unraisablehook", lambda told: left_open.append(told.exc_value))
    with serving(tmp_path, b.evening(b.TODAY)) as live:
        for path in ["/static/mark.svg", f"/static/fonts/{font}"]:
            for _ in range(TIMES):
                hang_up(live.address, path)
    gc.collect()
    assert left_open == []


def hang_up(address: str, path: str) -> None:
    """Ask for a file, and be gone."""
    host, port = address.removeprefix("http://").split(":")
    with socket.create_connection((host, int(port))) as line:
        line.sendall(f"GET {path} HTTP/1.1\r\nHost: {host}:{port}\r\n\r\n".encode())
        line.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, AT_ONCE)
