"""How a very big ledger answers, each figure beside a floor measured in the same run.

    python -m tests.benchmarks.bench_ledger [FOLDER] [ROUNDS]

FOLDER keeps the ledger of `big_ledger` from one run to the next; without it one is made and thrown
away. Pairs are measured by turns and their medians compared; processor time, except where the
disk is meant. docs/benchmarks.md says what was found.
"""

import gc
import json
import os
import shutil
import socket
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from flask import Flask, render_template

from app.ledger.book import Book
from app.ledger.checks import check_all
from app.ledger.codes import code_of
from app.ledger.operations.leave import Leave, eat
from app.ledger.operations.move import Move, move
from app.ledger.queries.due import due
from app.ledger.queries.eat_first import eat_first
from app.ledger.queries.stock import _queries
from app.ledger.queries.trace import descendants, trace
from app.ledger.stock import StockRef
from app.settings import Settings
from app.web.eat_first import views
from app.web.factory import create_app
from tests.benchmarks.big_ledger import FREEZER, MOTHER, NOW, SECOND, TODAY, build

ROOT = Path(__file__).resolve().parents[2]
PAGES = 200  # that the server gives before its memory is looked at again

HOME = """
SELECT s.lot_id, s.package_id, s.place_id, s.mass_mg, s.opened_on, l.name, l.food_class, l.form,
       l.is_raw, o.kind, o.done_on, p.name, p.kind, k.number, k.of_count, g.name,
       e.start, e.early, e.central, e.late, e.is_capped, e.limit_word, e.payload
FROM stock s JOIN lot l ON l.id = s.lot_id JOIN operation o ON o.id = l.operation_id
JOIN place p ON p.id = s.place_id LEFT JOIN package k ON k.id = s.package_id
LEFT JOIN packaging g ON g.id = k.packaging_id LEFT JOIN estimate e ON e.stock_id = s.id
ORDER BY s.lot_id, s.place_id, coalesce(k.number, 0)
"""
ON_HAND = "(SELECT lot_id FROM stock)"
HOME_MARKS = (
    f"SELECT lot_id, treatment FROM lot_treatment WHERE lot_id IN {ON_HAND}",
    f"SELECT lot_id, mark FROM lot_mark WHERE lot_id IN {ON_HAND}",
    """WITH RECURSIVE held(hold, lot) AS (
         SELECT id, lot_id FROM hold WHERE id NOT IN (SELECT hold_id FROM "release")
         UNION SELECT held.hold, flow.result_id FROM held JOIN flow ON flow.source_id = held.lot)
       SELECT hold, lot FROM held""",
)
DESCENDANTS = """
WITH RECURSIVE reached(lot) AS (
  SELECT result_id FROM flow WHERE source_id = ?
  UNION SELECT result_id FROM flow JOIN reached ON source_id = reached.lot)
SELECT lot.id, lot.name FROM reached JOIN lot ON lot.id = reached.lot
"""


@dataclass(frozen=True)
class Pair:
    """Ours and the floor, medians of one run."""

    name: str
    ours_s: float
    floor_s: float
    goal: float | None = None

    def __str__(self) -> str:
        """One line of the report."""
        asked = f", asked {self.goal:.1f}" if self.goal else ""
        ms = f"{self.ours_s * 1e3:9.2f} ms against {self.floor_s * 1e3:9.2f} ms"
        return f"{self.name:44} {ms}: {self.ours_s / self.floor_s:5.2f}{asked}"


def by_turns(
    name: str, ours: Callable[[], Any], floor: Callable[[], Any], *, rounds: int,
    goal: float | None = None, clock: Callable[[], float] = time.process_time,
) -> Pair:  # fmt: skip
    """Measure two things by turns, after one round that does not count."""
    ours(), floor()
    times = [(_seconds(ours, clock), _seconds(floor, clock)) for _ in range(rounds)]
    return Pair(name, *(statistics.median(column) for column in zip(*times, strict=True)), goal)


def _seconds(work: Callable[[], Any], clock: Callable[[], float]) -> float:
    gc.collect()
    gc.disable()  # as timeit does: what one leaves behind must not be cleared on the other's time
    try:
        start = clock()
        work()
        return clock() - start
    finally:
        gc.enable()


def bare(path: Path) -> sqlite3.Connection:
    """A connection with nothing between, as durable as ours."""
    connection = sqlite3.connect(path, isolation_level=None)
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
        connection.execute(f"PRAGMA {pragma}")
    return connection


# -- reading -------------------------------------------------------------------------------------


def application(folder: Path) -> Flask:
    """The application on the big ledger, with one more page: the home page from a list."""
    app = create_app(Settings(folder), lambda: NOW)
    handed: dict[str, Any] = {}

    def remember(template: str, **values: Any) -> str:
        handed.update(values, template=template)
        return render_template(template, **values)

    real, views.render_template = views.render_template, remember
    with app.test_request_context("/"):
        views.page()
    views.render_template = real
    template = handed.pop("template")
    app.add_url_rule("/from-a-list", "list", lambda: render_template(template, **handed))
    return app


def home(folder: Path, app: Flask, rounds: int) -> Iterator[Pair]:
    """The home page and its queries."""
    client, book, plain = (
        app.test_client(),
        Book(folder / "stillroom.db"),
        bare(folder / "stillroom.db"),
    )

    def page(path: str) -> None:
        assert client.get(path).status_code == 200

    def floor_query() -> None:
        plain.execute(HOME).fetchall()
        for query in HOME_MARKS:
            plain.execute(query).fetchall()

    def query() -> None:
        with book.reading() as session:
            eat_first(session, TODAY)

    def what_is_due() -> None:
        with book.reading() as session:
            due(session, NOW)

    yield by_turns(
        "home page / same page from a list", lambda: page("/"), lambda: page("/from-a-list"),
        rounds=rounds, goal=2.5,
    )  # fmt: skip

    def statement() -> None:
        with book.reading() as session:
            for asked in _queries(of_a_lot=False, at_a_place=False):
                session.execute(asked).all()

    yield by_turns("its statements but that of holds / bare", statement, floor_query, rounds=rounds)
    yield by_turns("home query / bare sqlite3", query, floor_query, rounds=rounds, goal=1.5)
    yield by_turns("what is due / bare home query", what_is_due, floor_query, rounds=rounds)


def traces(folder: Path, rounds: int) -> Iterator[Pair]:
    """Ten thousand descendants."""
    book, plain = Book(folder / "stillroom.db"), bare(folder / "stillroom.db")

    def floor() -> int:
        return len(plain.execute(DESCENDANTS, (MOTHER,)).fetchall())

    def ours() -> int:
        with book.reading() as session:
            return len(trace(session, MOTHER).downstream)

    print(f"descendants traced: {ours()} by us, {floor()} by the bare query")

    def named() -> None:
        with book.reading() as session:
            descendants(session, MOTHER)

    yield by_turns("descendants with names / bare recursion", named, floor, rounds=rounds, goal=1.5)
    yield by_turns("all of its trace, 31,000 rows / the same", ours, floor, rounds=rounds)


def other_pages(folder: Path, app: Flask, rounds: int) -> Iterator[tuple[str, float, int]]:
    """Processor time and size of further pages."""
    plain = bare(folder / "stillroom.db")
    newest, many = (
        row[0]
        for row in (
            plain.execute("SELECT max(lot_id) FROM stock").fetchone(),
            plain.execute("SELECT lot_id FROM hold ORDER BY id DESC LIMIT 1").fetchone(),
        )
    )
    client = app.test_client()
    for name, path in (
        ("a packed lot", f"/lots/{code_of(newest)}"),
        ("a held lot, with all made of it", f"/lots/{code_of(many)}"),
        ("the mother lot, 10,000 descendants", f"/lots/{code_of(MOTHER)}"),
        ("all lots on hand", "/lots"),
        ("the freezer", f"/places/{FREEZER}"),
        ("a stocktake of the freezer", f"/places/{FREEZER}/stocktake"),
        ("places", "/places"),
        ("sources", "/sources"),
        ("the whole way of the mother lot", f"/lots/{code_of(MOTHER)}/trace"),
        ("history", "/history"),
        ("what is due", "/due"),
        ("holds", "/holds"),
        ("the form that moves food", "/write/move"),
        ("papers", "/papers"),
    ):
        size = len(client.get(path).data)
        times = [_seconds(lambda p=path: client.get(p), time.process_time) for _ in range(rounds)]
        yield name, statistics.median(times), size


# -- writing -------------------------------------------------------------------------------------


def six_of(connection: sqlite3.Connection, skip: int) -> list[StockRef]:
    """Six packages of one lot in the freezer."""
    row = connection.execute(
        "SELECT lot_id FROM stock WHERE place_id IN (?, 7) AND opened_on IS NULL AND package_id "
        "IS NOT NULL GROUP BY lot_id HAVING count(*) >= 6 ORDER BY lot_id LIMIT 1 OFFSET ?",
        (FREEZER, skip),
    ).fetchone()
    rows = connection.execute(
        "SELECT lot_id, place_id, package_id FROM stock WHERE lot_id = ? ORDER BY package_id "
        "LIMIT 6",
        row,
    )
    return [StockRef(*found) for found in rows]


def eat_barely(connection: sqlite3.Connection, refs: list[StockRef]) -> None:
    """The rows of one operation that takes six packages, and what it does to the stock."""
    run = connection.execute
    run("BEGIN IMMEDIATE")
    op = run(
        "INSERT INTO operation (kind, done_on, recorded_at, person_id, note, method) "
        "VALUES ('eat', ?, ?, 1, '', '')",
        (TODAY.isoformat(), NOW.isoformat()),
    ).lastrowid
    total = 0
    for ref in refs:
        where = (ref.lot_id, ref.place_id, ref.package_id)
        stock, mass_mg = run(
            "SELECT id, mass_mg FROM stock WHERE lot_id = ? AND place_id = ? AND "
            "coalesce(package_id, 0) = ?", where,
        ).fetchone()  # fmt: skip
        run("DELETE FROM estimate WHERE stock_id = ?", (stock,))
        run("DELETE FROM stock WHERE id = ?", (stock,))
        run(
            "INSERT INTO entry (operation_id, lot_id, place_id, package_id, mass_mg) "
            "VALUES (?, ?, ?, ?, ?)", (op, *where, -mass_mg),
        )  # fmt: skip
        total += mass_mg
    run(
        "INSERT INTO loss (operation_id, kind, mass_mg, words) VALUES (?, 'eaten', ?, '')",
        (op, total),
    )
    run("INSERT INTO balance VALUES (?, ?, 0, 0, ?)", (op, total, total))
    run("COMMIT")


def writing(folder: Path, rounds: int) -> Iterator[Pair]:
    """Six packages eaten, durably: ours and bare, each on a copy of its own of the same ledger."""
    with tempfile.TemporaryDirectory(dir=folder) as room:
        mine, other = Path(room) / "mine.db", Path(room) / "bare.db"
        for copy in (mine, other):
            shutil.copy(folder / "stillroom.db", copy)
        book, look, plain = Book(mine), bare(mine), bare(other)

        def ours() -> None:
            refs = six_of(look, 8)
            with book.writing() as session:
                eat(session, Leave(tuple(refs), TODAY), at=NOW, by=1)

        def floor() -> None:
            eat_barely(plain, six_of(plain, 8))

        def carry() -> None:
            refs = six_of(look, 8)[:3]
            to = SECOND if refs[0].place_id == FREEZER else FREEZER
            with book.writing() as session:
                move(session, Move(tuple(refs), to, TODAY), at=NOW, by=1)

        for name, work, goal in (("six packages eaten", ours, 3.0), ("three moved", carry, None)):
            for what, clock in (("wall", time.perf_counter), ("processor", time.process_time)):
                yield by_turns(
                    f"{name} / bare sqlite3, {what}", work, floor, rounds=min(rounds, 15),
                    goal=goal, clock=clock,
                )  # fmt: skip
        book.close()


# -- the server ----------------------------------------------------------------------------------


@contextmanager
def served(folder: Path) -> Iterator[tuple[int, str, float]]:
    """A server of its own: its process, its address, and seconds until its first answer."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "app.cli", "serve", "--data", str(folder), "--port", str(port)]
    start = time.perf_counter()
    server = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL)
    address = f"http://127.0.0.1:{port}"
    try:
        while True:
            try:
                fetch(f"{address}/papers")
                break
            except OSError:
                if server.poll() is not None:
                    raise
                time.sleep(0.02)
        yield server.pid, address, time.perf_counter() - start
    finally:
        server.terminate()
        server.wait()


def fetch(address: str) -> int:
    """The size of a page."""
    with urllib.request.urlopen(address) as answer:  # noqa: S310 (our own server)
        return len(answer.read())


def resident_mb(pid: int) -> float:
    """What a process holds in memory (Linux)."""
    status = Path(f"/proc/{pid}/status").read_text(encoding="ascii")
    return int(status.split("VmRSS:")[1].split()[0]) / 1024


def memory(folder: Path, codes: list[str]) -> None:
    """Print what a server on the ledger takes, at first and after many pages."""
    with served(folder) as (pid, address, seconds):
        time.sleep(3)  # views are imported behind the first page
        idle = resident_mb(pid)
        paths = [
            "/",
            "/due",
            "/history",
            f"/places/{FREEZER}",
            *(f"/lots/{code}" for code in codes),
        ]
        for i in range(PAGES):
            fetch(address + paths[i % len(paths)])
        print(f"start to first page {seconds:.2f} s; {idle:.0f} MB at first, "
              f"{resident_mb(pid):.0f} MB after {PAGES} pages")  # fmt: skip


def checking(folder: Path) -> None:
    """Print how long it takes to check everything."""
    with Book(folder / "stillroom.db").reading() as session:
        start = time.process_time()
        findings = check_all(session)
        print(f"check of everything {time.process_time() - start:.1f} s, {len(findings)} findings")


def run(folder: Path, rounds: int) -> None:
    """Measure and print everything."""
    small = folder / "small"
    for place, scale in ((folder, 1.0), (small, 0.01)):
        if not (place / "stillroom.db").exists():
            place.mkdir(parents=True, exist_ok=True)
            print(json.dumps(build(place / "stillroom.db", scale)), flush=True)
    print(f"{date.today()}, {os.cpu_count()} processors, load {os.getloadavg()[0]:.1f}")  # noqa: DTZ011
    print(f"file {(folder / 'stillroom.db').stat().st_size / 1e6:.0f} MB")
    app = application(folder)
    for pairs in (home(folder, app, rounds), traces(folder, rounds), writing(folder, rounds)):
        for pair in pairs:
            print(pair, flush=True)
    for name, seconds, size in other_pages(folder, app, max(3, rounds // 3)):
        print(f"page: {name:38} {seconds * 1e3:9.1f} ms, {size / 1e3:7.0f} kB", flush=True)
    plain = bare(folder / "stillroom.db")
    codes = [code_of(row[0]) for row in plain.execute("SELECT DISTINCT lot_id FROM stock LIMIT 20")]
    memory(folder, codes)
    with served(small) as (_, _, seconds):
        print(f"start to first page on a hundredth of it {seconds:.2f} s")
    checking(folder)


def main() -> None:
    """Measure, in a folder that is kept or one that is not."""
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else 15
    if len(sys.argv) > 1:
        run(Path(sys.argv[1]), rounds)
        return
    with tempfile.TemporaryDirectory() as folder:
        run(Path(folder), rounds)


if __name__ == "__main__":
    main()
