"""The ledger of the benchmark is a true one: what is measured on it holds for a real one too."""

import sqlite3
from contextlib import closing
from pathlib import Path

from app.ledger.book import Book
from app.ledger.checks import check_all
from tests.benchmarks.big_ledger import MOTHER, build

SCALE = 0.003  # thirty chains, of which one is left whole


def test_everything_balances_in_a_small_one(tmp_path: Path) -> None:
    path = tmp_path / "stillroom.db"
    rows = build(path, SCALE)
    assert rows["lot"] > 300
    assert rows["entry"] > 3_000
    book = Book(path)
    with book.reading() as session:
        assert check_all(session) == []
    book.close()


def test_the_same_scale_gives_the_same_ledger(tmp_path: Path) -> None:
    first, second = tmp_path / "first.db", tmp_path / "second.db"
    build(first, SCALE)
    build(second, SCALE)
    assert _told(first) == _told(second)


def test_the_mother_lot_has_descendants_and_something_is_on_hand(tmp_path: Path) -> None:
    path = tmp_path / "stillroom.db"
    build(path, SCALE)
    with closing(sqlite3.connect(path)) as connection:
        (flows,) = connection.execute(
            "SELECT count(*) FROM flow WHERE source_id = ?", (MOTHER,)
        ).fetchone()
        (dated,) = connection.execute("SELECT count(*) FROM estimate").fetchone()
    assert flows > 0
    assert dated > 0


def _told(path: Path) -> list[object]:
    with closing(sqlite3.connect(path)) as connection:
        return [
            connection.execute(f"SELECT * FROM {table} ORDER BY 1, 2, 3").fetchall()
            for table in ("operation", "lot", "entry", "flow", "loss", "stock", "estimate")
        ]
