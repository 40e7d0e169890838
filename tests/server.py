"""The real server in a process of its own, to be killed, and a line that loses answers."""

import http.client
import os
import re
import signal
import subprocess
import sys
import threading
from contextlib import closing
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from types import TracebackType
from urllib.parse import urlsplit

from app.settings import DATABASE_VARIABLE

ROOT = Path(__file__).resolve().parents[1]


class Server:
    """`with Server(folder) as server:` serves the ledger of a folder until the block ends."""

    def __init__(self, folder: Path, port: int = 0, *, database: str = "") -> None:
        """Start, and wait until it listens."""
        self.process = subprocess.Popen(
            [sys.executable, "-m", "app.cli", "serve", "--port", str(port), "--data", str(folder)],
            cwd=ROOT,
            env={**os.environ, "PYTHONIOENCODING": "utf-8", DATABASE_VARIABLE: database},
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            encoding="utf-8",
        )
        assert self.process.stdout is not None
        said = ""
        for line in self.process.stdout:
            said += line
            if "Stop with Ctrl-C" in line:
                break
        found = re.search(r"http://127\.0\.0\.1:(\d+)", said)
        assert found is not None, said
        self.port = int(found[1])
        self.address = f"http://127.0.0.1:{self.port}"

    def kill(self) -> None:
        """Hard, as a pulled plug would."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(30)
        assert self.process.stdout is not None
        self.process.stdout.close()

    def __enter__(self) -> "Server":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self.process.poll() is None:
            self.kill()


class Line:
    """The way to a server: whatever is sent goes through, and answers to forms can be lost on it.

    `with Line(live.address) as line: page.goto(line.address)`, and `line.is_cut = True`.
    """

    def __init__(self, address: str) -> None:
        """Listen on a port of its own."""
        self.is_cut = False  # what is sent arrives, what is answered to a form does not
        line, to = self, urlsplit(address).netloc

        class Handler(BaseHTTPRequestHandler):
            """One request: handed on, and answered or not."""

            def do_GET(self) -> None:
                self._pass_on()

            do_HEAD = do_POST = do_GET  # noqa: N815 (names of the library)

            def _pass_on(self) -> None:
                body = self.rfile.read(int(self.headers.get("Content-Length", 0)))
                with closing(http.client.HTTPConnection(to)) as server:
                    server.request(self.command, self.path, body, dict(self.headers.items()))
                    answer = server.getresponse()
                    said = answer.read()
                self.close_connection = True
                if line.is_cut and self.command == "POST":
                    return  # the connection ends without a word
                self.wfile.write(f"HTTP/1.0 {answer.status} {answer.reason}\r\n".encode())
                for name, value in answer.getheaders():
                    if name.lower() not in ("transfer-encoding", "connection"):
                        self.wfile.write(f"{name}: {value}\r\n".encode())
                self.wfile.write(b"\r\n" + said)

            def log_message(self, format: str, *args: object) -> None:
                """Keep silent."""

        self._server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self._thread = threading.Thread(target=self._server.serve_forever, daemon=True)
        self.address = f"http://127.0.0.1:{self._server.server_port}"

    def __enter__(self) -> "Line":
        self._thread.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._server.shutdown()
        self._server.server_close()
        self._thread.join()
