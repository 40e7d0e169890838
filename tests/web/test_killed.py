"""The server is killed in the middle of a stream of entries; nothing acknowledged may be lost.

Some kills here; 200 of them with STILLROOM_KILLS=200 in the environment (about ten minutes).
"""

import http.client
import os
import re
import signal
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from urllib.parse import urlencode

import pytest

from app.ledger.book import Book
from app.ledger.checks import check_all
from tests.ledger.kitchen import FRIDGE, MOOSE, furnish, take_in

ROOT = Path(__file__).resolve().parents[2]
KILLS = int(os.environ.get("STILLROOM_KILLS", "5"))
TABLETS = 2
REF = f"1-{FRIDGE}"


@dataclass
class Tablet:
    """Sends one entry after the other and remembers which of them were acknowledged."""

    name: str
    port: int = 0
    cookie: str = ""
    token: str = ""
    sent: int = 0
    acknowledged: list[str] = field(default_factory=list)
    unanswered: str = ""

    def open_page(self) -> None:
        """Take the token of a form, and the cookie that belongs to it."""
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)) as connection:
            connection.request("GET", f"/write/eat?from={REF}", headers={"Cookie": self.cookie})
            answer = connection.getresponse()
            page = answer.read().decode()
            self.cookie = (answer.getheader("Set-Cookie") or self.cookie).partition(";")[0]
        found = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', page)
        assert found is not None, page[:500]
        self.token = found[1]

    def send(self, key: str) -> None:
        """One gram eaten; raises OSError or HTTPException when the server is gone."""
        self.unanswered = key
        body = urlencode(
            {
                "csrf_token": self.token,
                "key": key,
                "refs": REF,
                "mass_mg": "1 g",
                "done_on": datetime.now(UTC).date().isoformat(),
                "note": key,
            }
        )
        headers = {"Cookie": self.cookie, "Content-Type": "application/x-www-form-urlencoded"}
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)) as connection:
            connection.request("POST", "/write/eat", body, headers)
            answer = connection.getresponse()
            page = answer.read()
        assert answer.status == 303, page[:2000]
        self.acknowledged.append(key)
        self.unanswered = ""

    def stream(self) -> None:
        """Send until the server is gone."""
        try:
            while True:
                self.sent += 1
                self.send(f"{self.name}-entry-number-{self.sent:06}")
        except (OSError, http.client.HTTPException):
            return


class Server:
    """The real server in a process of its own."""

    def __init__(self, folder: Path) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "app.cli", "serve", "--port", "0", "--data", str(folder)],
            cwd=ROOT,
            env={**os.environ, "PYTHONIOENCODING": "utf-8"},
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

    def kill(self) -> None:
        """Hard, as a pulled plug would."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(30)
        assert self.process.stdout is not None
        self.process.stdout.close()


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """A data folder with a lot that lasts for many grams."""
    from app.ledger import schema

    schema.bring_up(tmp_path / "stillroom.db")
    book = Book(tmp_path / "stillroom.db")
    with book.writing() as session:
        furnish(session)
        take_in(session, "Moose trim", MOOSE, 900_000)
    book.close()
    return tmp_path


def test_no_acknowledged_entry_is_lost_and_none_is_written_twice(house: Path) -> None:
    chance = Random(KILLS)  # noqa: S311 (when to strike, not a secret)
    tablets = [Tablet(f"tablet-{number}") for number in range(TABLETS)]
    repeated = 0
    for _ in range(KILLS):
        server = Server(house)
        for tablet in tablets:
            tablet.port = server.port
            tablet.open_page()
            if tablet.unanswered:  # was it written before the server died? The key tells
                tablet.send(tablet.unanswered)
                repeated += 1
        streams = [threading.Thread(target=tablet.stream) for tablet in tablets]
        for stream in streams:
            stream.start()
        threading.Event().wait(chance.uniform(0.05, 0.4))
        server.kill()
        for stream in streams:
            stream.join(60)
    acknowledged = [key for tablet in tablets for key in tablet.acknowledged]
    print(f"{KILLS} kills, {len(acknowledged)} acknowledged, {repeated} asked again")
    assert len(acknowledged) > KILLS
    _as_told(house / "stillroom.db", acknowledged, {t.unanswered for t in tablets} - {""})


def _as_told(data_file: Path, acknowledged: list[str], open_keys: set[str]) -> None:
    """Every acknowledged entry stands once, and no entry but those and the last unanswered."""
    with closing(sqlite3.connect(data_file)) as connection:
        notes = [
            note for (note,) in connection.execute("SELECT note FROM operation WHERE kind = 'eat'")
        ]
        left_mg = connection.execute("SELECT mass_mg FROM stock").fetchone()[0]
    assert len(notes) == len(set(notes))
    assert set(acknowledged) <= set(notes)
    assert set(notes) - set(acknowledged) <= open_keys
    assert left_mg == 900_000_000 - 1000 * len(notes)
    book = Book(data_file)
    with book.reading() as session:
        assert check_all(session) == []
    book.close()
