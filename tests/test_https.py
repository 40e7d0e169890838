"""`serve --https` in a process of its own, asked by clients that trust exactly its authority."""

import hashlib
import http.client
import os
import re
import signal
import socket
import ssl
import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack, closing
from dataclasses import dataclass
from pathlib import Path

import pytest

from app.https.public import authority_file
from app.settings import DATABASE_VARIABLE
from tests.ledger.kitchen import write_evening

ROOT = Path(__file__).resolve().parents[1]
PATIENCE_S = 30.0  # only so that a test that hangs ends


@dataclass
class Served:
    """A running server, and what it said when it started."""

    process: "subprocess.Popen[str]"
    said: str
    port: int
    https_port: int
    trusted: ssl.SSLContext

    def ask(
        self, path: str, *, host: str = "127.0.0.1", context: ssl.SSLContext | None = None,
        **headers: str,
    ) -> tuple[http.client.HTTPResponse, bytes]:  # fmt: skip
        """Over https, verified."""
        connection = http.client.HTTPSConnection(
            host, self.https_port, timeout=PATIENCE_S, context=context or self.trusted
        )
        with closing(connection):
            connection.request("GET", path, headers=headers)
            answer = connection.getresponse()
            return answer, answer.read()

    def ask_plainly(self, path: str, port: int = 0) -> tuple[http.client.HTTPResponse, bytes]:
        connection = http.client.HTTPConnection("127.0.0.1", port or self.port, timeout=PATIENCE_S)
        with closing(connection):
            connection.request("GET", path)
            answer = connection.getresponse()
            return answer, answer.read()


def start(folder: Path) -> Served:
    """Serve a ledger over both, on free ports of this machine only."""
    command = [sys.executable, "-m", "app.cli", "serve", "--https"]
    process = subprocess.Popen(
        [*command, "--port", "0", "--https-port", "0", "--data", str(folder)],
        cwd=ROOT,
        env={**os.environ, "PYTHONIOENCODING": "utf-8", DATABASE_VARIABLE: ""},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
    )
    assert process.stdout is not None
    said = ""
    for line in process.stdout:
        said += line
        if "Stop with Ctrl-C" in line:
            break
    ports = re.findall(r"(https?)://127\.0\.0\.1:(\d+)", said)
    trusted = ssl.create_default_context(cafile=authority_file(folder))
    trusted.verify_flags |= ssl.VERIFY_X509_STRICT
    by_scheme = {scheme: int(port) for scheme, port in ports}
    return Served(process, said, by_scheme["http"], by_scheme["https"], trusted)


def end(served: Served) -> str:
    """Ask it to stop; what it says then."""
    served.process.send_signal(signal.SIGTERM)
    words, _ = served.process.communicate(timeout=PATIENCE_S)
    return words


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("locked")
    write_evening(folder / "stillroom.db")
    return folder


@pytest.fixture(scope="module")
def served(folder: Path) -> Iterator[Served]:
    served = start(folder)
    yield served
    if served.process.poll() is None:
        end(served)


def test_who_trusts_the_authority_is_served_by_name_and_by_address(served: Served) -> None:
    for host in ("127.0.0.1", "localhost"):
        answer, page = served.ask("/", host=host)
        assert answer.status == 200
        assert b"<h1>" in page
    assert served.ask_plainly("/")[0].status == 200  # for those who do not trust it yet


def test_who_trusts_other_authorities_only_is_not_fooled(served: Served) -> None:
    with pytest.raises(ssl.SSLCertVerificationError):
        served.ask("/", context=ssl.create_default_context())


def test_old_versions_of_the_protocol_are_not_spoken(served: Served) -> None:
    old = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    old.check_hostname, old.verify_mode = False, ssl.CERT_NONE
    old.set_ciphers("ALL:@SECLEVEL=0")
    with pytest.warns(DeprecationWarning, match="TLSv1_1"):
        old.maximum_version = old.minimum_version = ssl.TLSVersion.TLSv1_1
    with pytest.raises((ssl.SSLError, ConnectionError)):
        served.ask("/", context=old)


def test_the_terminal_the_page_and_the_file_have_the_same_fingerprint(served: Served) -> None:
    answer, file = served.ask_plainly("/household/secure/stillroom.crt")
    assert answer.getheader("Content-Type") == "application/x-x509-ca-cert"
    digits = hashlib.sha256(file).hexdigest().upper()
    groups = [digits[at : at + 4] for at in range(0, 64, 4)]
    told = " ".join(re.findall(r"^  ([0-9A-F]{4}(?: [0-9A-F]{4}){7})$", served.said, re.M))
    assert told == " ".join(groups)
    _, page = served.ask_plainly("/household/secure")
    assert re.findall(r"<span>([0-9A-F]{4})</span>", page.decode()) == groups
    assert f"http://127.0.0.1:{served.port}/household/secure" in served.said


def test_cookies_of_the_lock_never_go_over_plain_http(served: Served) -> None:
    locked = served.ask("/write/eat")[0].getheader("Set-Cookie") or ""
    plain = served.ask_plainly("/write/eat")[0].getheader("Set-Cookie") or ""
    assert locked.startswith("__Host-stillroom=")
    assert plain.startswith("stillroom=")
    parts = {part.strip() for part in locked.split(";")}
    assert {"Secure", "HttpOnly", "Path=/", "SameSite=Lax"} <= parts
    assert "Domain" not in locked
    assert "Secure" not in plain  # a browser would not keep it


def test_plain_http_stays_open_no_page_forbids_or_leaves_it(served: Served) -> None:
    for answer, _ in (served.ask("/"), served.ask_plainly("/")):
        assert answer.status == 200
        assert answer.getheader("Strict-Transport-Security") is None


def test_plain_http_on_the_port_of_https_is_told_what_to_write(served: Served) -> None:
    answer, words = served.ask_plainly("/", served.https_port)
    assert answer.status == 400
    assert b"Write https:// before the address" in words


def test_connections_that_say_nothing_keep_nobody_waiting(served: Served) -> None:
    with ExitStack() as silent:
        for _ in range(30):
            wire = socket.create_connection(("127.0.0.1", served.https_port), PATIENCE_S)
            silent.enter_context(closing(wire))
        assert served.ask("/")[0].status == 200


def test_a_whole_file_goes_both_ways_unharmed(served: Served) -> None:
    _, plain = served.ask_plainly("/static/fonts/Literata-latin.woff2")
    answer, locked = served.ask("/static/fonts/Literata-latin.woff2")
    assert answer.status == 200
    assert len(plain) > 30_000
    assert locked == plain
    context = served.trusted
    connection = http.client.HTTPSConnection("127.0.0.1", served.https_port, context=context)
    with closing(connection):
        for _ in range(3):  # on one connection
            connection.request("POST", "/write/eat", b"x" * 3_000_000)
            refused = connection.getresponse()
            refused.read()
            assert refused.status == 413
            if refused.getheader("Connection") == "close":
                connection.close()


def test_a_name_that_is_not_ours_is_refused_over_https_too(served: Served) -> None:
    assert served.ask("/", Host="evil.example")[0].status == 421


def test_asked_to_stop_it_ends_cleanly_with_connections_open_and_comes_back(folder: Path) -> None:
    first = start(folder)
    with socket.create_connection(("127.0.0.1", first.https_port), PATIENCE_S) as raw:
        wire = first.trusted.wrap_socket(raw, server_hostname="localhost")
        with closing(wire):
            assert end(first).splitlines()[-1].startswith("Stopped. Everything")
            assert first.process.returncode == 0
    second = start(folder)
    assert second.ask("/", context=first.trusted)[0].status == 200  # nothing to learn anew
    assert "That certificate is new" not in second.said
    end(second)


def test_without_its_package_https_says_what_to_install(tmp_path: Path) -> None:
    script = (
        "import sys; sys.modules['cryptography'] = None\n"
        "from app.cli import main\n"
        f"sys.exit(main(['serve', '--https', '--port', '0', '--data', {str(tmp_path)!r}]))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert done.stderr == (
        'stillroom: https needs one more package: pip install "stillroom[https]"\n'
    )
    assert list(tmp_path.iterdir()) == []


def test_without_https_nothing_of_it_is_loaded_or_made(tmp_path: Path) -> None:
    script = (
        "import sys\nfrom datetime import UTC, datetime\nfrom pathlib import Path\n"
        "from app import server\nfrom app.settings import Settings\n"
        "from app.web.factory import create_app\n"
        f"create_app(Settings(Path({str(tmp_path)!r})), lambda: datetime.now(UTC))\n"
        "print({'cryptography', 'app.https.tls', 'app.locking'} & set(sys.modules))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout == "set()\n"
    assert not (tmp_path / "https").exists()
