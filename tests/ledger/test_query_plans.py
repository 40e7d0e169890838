"""No page and no entry may read through all that was ever written: SQLite's own plans say so.

The plans do not depend on how much there is, since the files carry no statistics.
"""

import re
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Connection, Engine, event, select
from sqlalchemy.orm import Session

from app.ledger.book import Book
from app.ledger.codes import code_of
from app.ledger.holds import held_lots
from app.ledger.models import Entry, Stock
from app.ledger.models.base import Base
from app.ledger.operations.leave import Leave, eat
from app.ledger.operations.move import Move, move
from app.ledger.queries.allergens import allergens_on_hand
from app.ledger.queries.at_place import lines_at
from app.ledger.queries.due import due
from app.ledger.queries.eat_first import Serves, Wanted, eat_first
from app.ledger.queries.holds import held_food
from app.ledger.queries.lot import lot_page
from app.ledger.queries.places import place_contents, place_lines
from app.ledger.queries.trace import descendants, trace
from app.ledger.stock import arrivals_of, ref_of, stock_of
from app.science.safety.allergens import AllergenGroup
from tests.benchmarks import big_ledger
from tests.ledger import kitchen

TODAY = date(2025, 11, 14)
GROWING = (
    *("operation", "entry", "flow", "addition", "loss", "balance", "lot", "lot_treatment"),
    *("lot_allergen", "lot_mark", "package", "reading", "checkpoint", "weighing"),
    *("incident_lot", "place_reading"),
)
_SCAN = re.compile(r"SCAN (\w+)")
_ALIAS = re.compile(r'\b(\w+)"? AS "?(\w+)')

Work = Callable[[Session, dict[str, int]], object]


@pytest.fixture(scope="module")
def ledger(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Book, dict[str, int]]]:
    """An evening and the week after, with holds, incidents and something taken back."""
    path: Path = tmp_path_factory.mktemp("plans") / "ledger.db"
    rows = kitchen.write_evening(path, with_troubles=True)
    book = Book(path)
    yield book, rows
    book.close()


def statements(engine: Engine, work: Callable[[], object]) -> list[tuple[str, object]]:
    """What a piece of work asks the database."""
    asked: list[tuple[str, object]] = []

    def note(_c: Connection, _k: object, text: str, parameters: object, *_: object) -> None:
        asked.append((text, parameters))

    event.listen(engine, "before_cursor_execute", note)
    try:
        work()
    finally:
        event.remove(engine, "before_cursor_execute", note)
    return asked


def scans(book: Book, asked: list[tuple[str, object]]) -> list[str]:
    """The tables that grow with history and are read from end to end, each with its statement."""
    found = []
    with book.engine.connect() as connection:
        for text, parameters in asked:
            if not text.lstrip().upper().startswith(("SELECT", "WITH")):
                continue
            plan = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {text}", parameters)
            names = {alias: table for table, alias in _ALIAS.findall(text)}
            for row in plan:
                read = _SCAN.match(row.detail)
                if read and names.get(read[1], read[1]) in GROWING:
                    found.append(f"{row.detail}: {text}")
    return found


def _home(session: Session, _rows: dict[str, int]) -> None:
    eat_first(session, TODAY)


def _narrowed(session: Session, _rows: dict[str, int]) -> None:
    wanted = Wanted(serves=Serves.TWO, without=frozenset({AllergenGroup.FISH}))
    eat_first(session, TODAY, wanted)
    allergens_on_hand(session)


def _due(session: Session, _rows: dict[str, int]) -> None:
    due(session, kitchen.at(14))


def _lot(session: Session, rows: dict[str, int]) -> None:
    lot_page(session, code_of(rows["packed"]))


def _trace(session: Session, rows: dict[str, int]) -> None:
    trace(session, rows["moose"])
    descendants(session, rows["moose"])


def _place(session: Session, _rows: dict[str, int]) -> None:
    place_lines(session)
    place_contents(session, kitchen.FREEZER)
    lines_at(session, kitchen.FREEZER, TODAY)


def _holds(session: Session, _rows: dict[str, int]) -> None:
    held_food(session)


@pytest.mark.parametrize("page", [_home, _narrowed, _due, _lot, _trace, _place, _holds])
def test_a_page_reads_what_it_shows_through_indexes(
    ledger: tuple[Book, dict[str, int]], page: Work
) -> None:
    book, rows = ledger
    with book.reading() as session:
        asked = statements(book.engine, lambda: page(session, rows))
    assert asked
    assert scans(book, asked) == []


def test_an_entry_reads_what_it_moves_through_indexes(
    ledger: tuple[Book, dict[str, int]],
) -> None:
    book, rows = ledger

    def work() -> None:
        with book.writing() as session:
            refs = [ref_of(row) for row in stock_of(session, [rows["boar_mince"]])]
            move(session, Move((refs[0],), kitchen.BENCH, TODAY), at=kitchen.at(14), by=1)
            refs = [ref_of(row) for row in stock_of(session, [rows["stew"]])]
            eat(session, Leave((refs[0],), TODAY), at=kitchen.at(14), by=1)

    asked = statements(book.engine, work)
    assert any("entry" in text for text, _ in asked)
    assert scans(book, asked) == []


def test_one_food_at_one_place_is_found_by_an_index_of_its_own(
    ledger: tuple[Book, dict[str, int]],
) -> None:
    book, rows = ledger
    with book.reading() as session:
        ref = ref_of(stock_of(session, [rows["packed"]])[0])
        asked = statements(book.engine, lambda: arrivals_of(session, [ref]))
    with book.engine.connect() as connection:
        ((text, parameters),) = [pair for pair in asked if pair[0].startswith("SELECT")]
        plan = [
            row.detail
            for row in connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {text}", parameters)
        ]
    assert any(
        "ix_entry_lot_place_package (lot_id=? AND place_id=? AND package_id=?)" in p for p in plan
    )


def test_a_reading_through_everything_would_be_seen(ledger: tuple[Book, dict[str, int]]) -> None:
    book, _ = ledger
    everything = select(Entry.id).where(Entry.mass_mg > 5)
    with book.reading() as session:
        asked = statements(book.engine, lambda: session.execute(everything).all())
    assert len(scans(book, asked)) == 1


def test_every_table_named_here_exists() -> None:
    assert set(GROWING) <= set(Base.metadata.tables)


def test_an_entry_asks_no_more_for_six_foods_than_for_two(tmp_path: Path) -> None:
    path = tmp_path / "ledger.db"
    big_ledger.build(path, 0.01)
    book = Book(path)

    def eat_some(count: int) -> list[str]:
        with book.writing() as session:
            rows = session.scalars(
                select(Stock).where(
                    Stock.package_id.is_not(None),
                    Stock.opened_on.is_(None),
                    Stock.lot_id.not_in(held_lots(session)),
                )
            )
            refs = tuple(sorted(map(ref_of, rows), key=str)[:count])
            assert len(refs) == count
            leave = Leave(refs, big_ledger.TODAY)
            asked = statements(book.engine, lambda: eat(session, leave, at=big_ledger.NOW, by=1))
            return [text.partition(" (")[0] for text, _ in asked]

    few, many = eat_some(2), eat_some(6)
    book.close()
    assert len(many) == len(few) <= 20
    assert many.count("INSERT INTO entry") == 1


def test_a_row_somebody_holds_is_told_of_what_was_taken(tmp_path: Path) -> None:
    path = tmp_path / "ledger.db"
    rows = kitchen.write_evening(path)
    book = Book(path)
    with book.writing() as session:
        first, second, *_ = stock_of(session, [rows["packed"]])
        mass_mg, gone = first.mass_mg, ref_of(second)
        eat(session, Leave((ref_of(first),), TODAY, mass_mg=1000), at=kitchen.at(14), by=1)
        assert first.mass_mg == mass_mg - 1000
        assert first.opened_on == TODAY
        eat(session, Leave((gone,), TODAY), at=kitchen.at(14), by=1)
        assert second not in session
        assert gone not in {ref_of(row) for row in stock_of(session, [rows["packed"]])}
    book.close()
