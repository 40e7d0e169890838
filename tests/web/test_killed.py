"""The server is killed in the middle of a stream of entries; nothing acknowledged may be lost.

Some kills here; 200 of them with STILLROOM_KILLS=200 in the environment (about ten minutes).
"""

import http.client
import os
import re
import threading
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from urllib.parse import urlencode

import pytest
from sqlalchemy import select

from app.ledger.book import Book
from app.ledger.checks import check_all
from app.ledger.engines import ledger_at
from app.ledger.models import Operation, Stock
from app.ledger.words import OperationKind
from app.settings import Settings
from tests.databases import KINDS, Shelf
from tests.ledger.kitchen import FRIDGE, MOOSE, furnish, take_in
from tests.server import Server

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


@pytest.fixture
def house(shelf: Shelf, empty_file: Path) -> Settings:
    """A ledger with a lot that lasts for many grams."""
    settings = shelf.settings(empty_file)
    book = book_at(settings)
    with book.writing() as session:
        furnish(session)
        take_in(session, "Moose trim", MOOSE, 900_000)
    book.close()
    return settings


def book_at(settings: Settings) -> Book:
    """The ledger that these settings open."""
    return Book(ledger_at(settings.data_file, settings.database))


def test_no_acknowledged_entry_is_lost_and_none_is_written_twice(house: Settings) -> None:
    chance = Random(KILLS)  # noqa: S311 (when to strike, not a secret)
    tablets = [Tablet(f"tablet-{number}") for number in range(TABLETS)]
    repeated = 0
    for _ in range(KILLS):
        server = Server(house.data_dir, database=house.database)
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
    as_told(house, acknowledged, {t.unanswered for t in tablets} - {""})


@pytest.mark.parametrize("shelf", KINDS[1:], indirect=True)
def test_two_servers_on_one_database_lose_nothing_and_write_nothing_twice(house: Settings) -> None:
    """All tablets draw on the same lot, by turns through either server."""
    servers = [Server(house.data_dir, database=house.database) for _ in range(2)]
    tablets = [Tablet(f"tablet-{number}", servers[number % 2].port) for number in range(6)]
    try:
        for tablet in tablets:
            tablet.open_page()
        ports = [server.port for server in servers]
        jobs = [threading.Thread(target=_send_twice, args=(t, ports)) for t in tablets]
        for job in jobs:
            job.start()
        for job in jobs:
            job.join(120)
    finally:
        for server in servers:
            server.kill()
    assert [len(tablet.acknowledged) for tablet in tablets] == [30] * 6  # each of them twice
    as_told(house, [key for tablet in tablets for key in tablet.acknowledged], set())


def _send_twice(tablet: Tablet, ports: list[int]) -> None:
    """Every entry through the one server, and as after a lost answer through the other."""
    for number in range(15):
        for tablet.port in ports:
            tablet.send(f"{tablet.name}-entry-number-{number:06}")


def as_told(settings: Settings, acknowledged: list[str], open_keys: set[str]) -> None:
    """Every acknowledged entry stands once, and no entry but those and the last unanswered."""
    book = book_at(settings)
    with book.reading() as session:
        eaten = select(Operation.note).where(Operation.kind == OperationKind.EAT)
        notes = session.scalars(eaten).all()
        left_mg = session.scalars(select(Stock.mass_mg)).one()
    assert len(notes) == len(set(notes))
    assert set(acknowledged) <= set(notes)
    assert set(notes) - set(acknowledged) <= open_keys
    assert left_mg == 900_000_000 - 1000 * len(notes)
    with book.reading() as session:
        assert check_all(session) == []
    book.close()
