"""Files that released versions wrote: every one opens in the newest, and nothing in it changes.

`tests/files/ledgers` holds one for each revision before the newest, packed, named by its revision.
"""

import gzip
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from app.ledger import schema
from app.ledger.book import Book
from app.ledger.checks import check_all
from tests.ledger.kitchen import write_evening
from tests.migrations.test_migrations import shape_of

LEDGERS = Path(__file__).resolve().parents[1] / "files" / "ledgers"
RELEASED = sorted(path.name.removesuffix(".db.gz") for path in LEDGERS.glob("*.db.gz"))

Rows = dict[str, list[tuple[object, ...]]]


def unpack(revision: str, folder: Path) -> Path:
    path = folder / "stillroom.db"
    with gzip.open(LEDGERS / f"{revision}.db.gz") as packed, path.open("wb") as file:
        shutil.copyfileobj(packed, file)
    return path


@pytest.fixture
def first(tmp_path: Path) -> Path:
    """The demo as revision 0001 wrote it."""
    return unpack("0001", tmp_path)


def ask(path: Path, statement: str) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(statement).fetchall()


def columns_of(path: Path) -> dict[str, list[str]]:
    tables = ask(
        path,
        "SELECT name FROM sqlite_master WHERE type = 'table' "
        "AND name NOT IN ('alembic_version') AND name NOT LIKE 'sqlite_%'",
    )
    return {
        str(table): [str(row[1]) for row in ask(path, f'PRAGMA table_info("{table}")')]
        for (table,) in tables
    }


def rows_of(path: Path, columns: dict[str, list[str]]) -> Rows:
    """Every row of these tables by these columns."""
    return {
        table: sorted(ask(path, f"SELECT {', '.join(names)} FROM {table}"), key=repr)
        for table, names in columns.items()
    }


def findings(path: Path) -> list[str]:
    book = Book(path)
    try:
        with book.reading() as session:
            return [str(finding) for finding in check_all(session)]
    finally:
        book.close()


# -- every released file -----------------------------------------------------------------------


def test_a_file_of_every_revision_before_the_newest_is_kept() -> None:
    from alembic.script import ScriptDirectory

    scripts = ScriptDirectory(str(schema.MIGRATIONS)).walk_revisions()
    assert {s.revision for s in scripts} - {schema.HEAD} == set(RELEASED)


@pytest.mark.parametrize("revision", RELEASED)
def test_a_released_file_opens_in_the_newest_with_every_row_it_had(
    revision: str, tmp_path: Path
) -> None:
    path = unpack(revision, tmp_path)
    assert schema.revision_of(path) == revision
    columns = columns_of(path)
    before = rows_of(path, columns)
    assert len(before["operation"]) > 100  # a year of work, no empty shell
    schema.bring_up(path)
    assert schema.revision_of(path) == schema.HEAD
    assert rows_of(path, columns) == before
    assert findings(path) == []
    (kept,) = tmp_path.glob("*before-migration*")
    assert schema.revision_of(kept) == revision
    assert rows_of(kept, columns) == before


@pytest.mark.parametrize("revision", RELEASED)
def test_a_released_file_goes_down_again_and_up_again(
    revision: str, tmp_path: Path, empty_file: Path
) -> None:
    path = unpack(revision, tmp_path)
    columns, shape = columns_of(path), shape_of(path)
    before = rows_of(path, columns)
    schema.upgrade(path, "head")
    there = rows_of(path, columns_of(path))
    schema.downgrade(path, revision)
    assert schema.revision_of(path) == revision
    assert (columns_of(path), rows_of(path, columns)) == (columns, before)
    assert shape_of(path) == shape
    schema.upgrade(path, "head")
    assert rows_of(path, columns_of(path)) == there
    assert shape_of(path) == shape_of(empty_file)
    assert findings(path) == []


# -- from 0001 to 0002 -------------------------------------------------------------------------


def tainted(path: Path) -> Iterator[int]:
    """Every lot with lead in it, found by walking the flows from what was shot with lead."""
    shot = "SELECT lot.id FROM lot JOIN source ON source.id = source_id WHERE taken_with_lead"
    waiting = [int(str(lot_id)) for (lot_id,) in ask(path, shot)]
    flows = ask(path, "SELECT source_id, result_id FROM flow")
    seen: set[int] = set()
    while waiting:
        lot_id = waiting.pop()
        if lot_id not in seen:
            seen.add(lot_id)
            yield lot_id
            waiting += [int(str(result)) for source, result in flows if source == lot_id]


def test_lead_marks_are_given_to_exactly_what_was_made_of_the_animal(first: Path) -> None:
    schema.bring_up(first)
    marked = {lot_id for (lot_id,) in ask(first, "SELECT lot_id FROM lot_mark WHERE mark = 'lead'")}
    assert marked == set(tainted(first))
    lots = ask(first, "SELECT count(*) FROM lot")[0][0]
    assert 1 < len(marked) < int(str(lots))
    assert ask(first, "SELECT count(*) FROM lot_mark WHERE mark <> 'lead'") == [(0,)]


def test_parasite_marks_follow_a_wild_meat_eater_until_it_was_cooked(first: Path) -> None:
    """A raw lot of the old file and one step of what was made of it, told to be boar."""
    raw = "SELECT id FROM lot WHERE is_raw = 1 AND id IN (SELECT source_id FROM flow)"
    (boar,) = ask(first, f"{raw} ORDER BY id LIMIT 1")[0]
    with closing(sqlite3.connect(first)) as connection, connection:
        connection.execute("DROP TRIGGER lot_no_update")
        connection.execute(f"UPDATE lot SET food_class = 'wild_meat_eater' WHERE id = {boar}")
    schema.upgrade(first, "head")
    waiting, expected = [boar], set()
    raws = {lot_id for (lot_id,) in ask(first, "SELECT id FROM lot WHERE is_raw = 1")}
    flows = ask(first, "SELECT source_id, result_id FROM flow")
    while waiting:
        lot_id = waiting.pop()
        expected.add(lot_id)
        waiting += [r for s, r in flows if s == lot_id and r in raws and r not in expected]
    marked = ask(first, "SELECT lot_id FROM lot_mark WHERE mark = 'parasite'")
    assert {lot_id for (lot_id,) in marked} == expected
    assert len(expected) > 1
    assert findings(first) == []


# -- down with everything that only the newer one knows ----------------------------------------

NEWER = ("hold", "release", "incident", "check", "climate")
OPENED = """
    SELECT min(done_on) FROM operation JOIN entry ON entry.operation_id = operation.id
    WHERE entry.package_id = stock.package_id AND kind = 'open' AND operation.id NOT IN
        (SELECT reverses_id FROM operation WHERE reverses_id IS NOT NULL)"""


@pytest.fixture
def troubled(tmp_path: Path) -> Path:
    """A week with holds, climates, mishaps, looks and readings; one hold was taken back."""
    from datetime import date

    from app.ledger.operations.correct import Correct, correct
    from app.ledger.operations.hold import PutOnHold, hold
    from app.ledger.words import HoldCause
    from tests.ledger.kitchen import at

    path = tmp_path / "stillroom.db"
    rows = write_evening(path, with_troubles=True)
    book = Book(path)
    with book.writing() as session:
        day = date(2025, 11, 13)
        held = PutOnHold((rows["pork"],), HoldCause.RECALL, day)
        posted = hold(session, held, at=at(13), by=1)
        correct(session, Correct(posted.operation_id, day), at=at(13), by=1)
    book.close()
    return path


@pytest.fixture
def stepped_down(troubled: Path) -> Path:
    schema.downgrade(troubled, "0001")
    return troubled


def test_a_file_with_everything_new_goes_down_to_the_shape_of_the_old(
    stepped_down: Path, tmp_path: Path
) -> None:
    plain = tmp_path / "plain.db"
    schema.upgrade(plain, "0001")
    assert shape_of(stepped_down) == shape_of(plain)
    assert ask(stepped_down, "PRAGMA integrity_check") == [("ok",)]
    assert ask(stepped_down, "PRAGMA foreign_key_check") == []


def test_nothing_of_the_newer_work_is_left_and_all_of_the_older_is(
    troubled: Path, tmp_path: Path
) -> None:
    newer = f"SELECT id FROM operation WHERE kind IN {NEWER}"
    gone = f"{newer} UNION SELECT id FROM operation WHERE reverses_id IN ({newer})"
    older = ask(troubled, f"SELECT * FROM operation WHERE id NOT IN ({gone})")
    kept = ("lot", "entry", "flow", "addition", "loss", "package", "source", "weighing", "tray")
    before = rows_of(troubled, {table: ["*"] for table in kept})
    assert len(ask(troubled, gone)) == 9
    schema.downgrade(troubled, "0001")
    assert ask(troubled, "SELECT * FROM operation") == older
    assert rows_of(troubled, {table: ["*"] for table in kept}) == before
    for table in ("balance", "checkpoint", "reading"):
        orphans = f"SELECT 1 FROM {table} WHERE operation_id NOT IN (SELECT id FROM operation)"
        assert ask(troubled, orphans) == [], table


def test_the_old_file_opens_no_package_by_what_it_does_not_know(
    troubled: Path,
) -> None:
    odd = f"SELECT package_id FROM stock WHERE opened_on IS NOT ({OPENED})"
    assert ask(troubled, odd) == [(1,)]  # a seal that failed
    schema.downgrade(troubled, "0001")
    assert ask(troubled, odd) == []


def test_the_old_program_works_out_again_the_windows_it_could_not_have_given(
    stepped_down: Path,
) -> None:
    """It does so at its start for every window that another model gave."""
    models = "SELECT DISTINCT json_extract(payload, '$.model') FROM estimate"
    assert ask(stepped_down, models) == [(None,)]


def test_the_old_file_comes_up_again_sound(stepped_down: Path, empty_file: Path) -> None:
    schema.bring_up(stepped_down)
    assert shape_of(stepped_down) == shape_of(empty_file)
    assert findings(stepped_down) == []
    for table in ("hold", "incident", "climate", "check_done", "place_reading", "game_story"):
        assert ask(stepped_down, f"SELECT count(*) FROM {table}") == [(0,)]
