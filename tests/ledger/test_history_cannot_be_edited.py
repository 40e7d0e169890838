"""The data file itself refuses to change history, whoever asks."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import PrimaryKeyConstraint, UniqueConstraint, inspect, text
from sqlalchemy.exc import DataError, IntegrityError
from sqlalchemy.orm import Session

from app.ledger.book import Book
from app.ledger.models import Base
from migrations.triggers import HISTORY_0002, KEYS_0004
from tests.databases import Shelf
from tests.ledger.kitchen import write_evening

MAY_CHANGE = {  # every table that no trigger guards, and why
    "household": "a household renames itself and sets its scale anew",
    "person": "names are mended",
    "place": "places are renamed and get other trays; how warm they were is history",
    "bowl": "a bowl gets another weight",
    "packaging": "how the kitchen is furnished",
    "absorber": "how the kitchen is furnished",
    "stock": "made from the entries, and made again from them",
    "estimate": "made from the history, and made again from it",
    "device": "a device is seen, and removed",
    "pairing_code": "a code is used once, and gone",
    "alembic_version": "the revision of the tables",
}
FILLED_BY_HAND = (
    "INSERT INTO posting_key VALUES ('key', '/lots/7K3MC', '2025-11-07T18:00:00.000Z')",
    "INSERT INTO label_print (lot_id, printed_on, window_words) VALUES (1, '2025-11-07', 'soon')",
    "INSERT INTO trial (id, done_on, recorded_at, note) "
    "VALUES (1, '2025-11-07', '2025-11-07T18:00:00.000Z', '')",
    "INSERT INTO soaking VALUES (1, 1, 1, 50000, 150000, 140000, 20.0, 60.0, NULL, 0.02, 0.7)",
    "INSERT INTO lot_mark VALUES (1, 'lead')",
    "INSERT INTO game_story VALUES (1, 'lead', 0, 'unknown', NULL, NULL, NULL, '')",
    "INSERT INTO hold VALUES (1, 1, 1, 'recall', '')",
    "INSERT INTO release VALUES (1, 1, 'looked_fine')",
    "INSERT INTO incident (operation_id, kind) VALUES (1, 'worn')",
    "INSERT INTO incident_lot (operation_id, lot_id, fate) VALUES (1, 1, 'worn')",
    "INSERT INTO check_done (operation_id, kind, finding) VALUES (1, 'look', 'fine')",
    "INSERT INTO climate "
    "VALUES (1, 1, 1, '2025-11-07T18:00:00.000Z', NULL, 1, 2, 3, 0.5, 'stated')",
    "INSERT INTO logger_file VALUES (1, 1, 'freezer.csv', 'a1', 1, 0)",
    "INSERT INTO place_reading (operation_id, place_id, at, temp_c, typed) "
    "VALUES (1, 1, '2025-11-07T18:00:00.000Z', -18.0, '')",
)


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A ledger with a row in every table of history."""
    path = tmp_path_factory.mktemp("history") / "stillroom.db"
    write_evening(path)
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for statement in FILLED_BY_HAND:
            connection.execute(statement)
    return path


@pytest.fixture
def history(shelf: Shelf, written: Path) -> Iterator[Session]:
    """A writing transaction on it, as the ledger opens one; rolled back."""
    book = Book(shelf.copy(written))
    with book._write() as session:
        yield session
        session.rollback()
    book.close()


_GUARDS = {
    "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
    "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal",
}


def unguarded(session: Session) -> set[str]:
    """The tables of the database, as it is, of which rows may be changed or deleted."""
    dialect = session.get_bind().dialect.name
    guards = set(session.scalars(text(_GUARDS[dialect])))
    verbs = ("update", "delete", "truncate") if dialect == "postgresql" else ("update", "delete")
    return {
        table
        for table in inspect(session.connection()).get_table_names()
        if not {f"{table}_no_{verb}" for verb in verbs} <= guards
    }


def test_every_table_is_history_or_may_change_for_a_reason(history: Session) -> None:
    assert unguarded(history) == set(MAY_CHANGE)
    assert set(HISTORY_0002) == set(Base.metadata.tables) - set(MAY_CHANGE)


def test_a_new_table_without_its_guards_is_noticed(history: Session) -> None:
    history.execute(text("CREATE TABLE larder_note (id INTEGER PRIMARY KEY, words TEXT)"))
    assert unguarded(history) == {*MAY_CHANGE, "larder_note"}


def edits(table: str, dialect: str) -> list[str]:
    """Every way to change, delete, replace or overwrite the rows of a table."""
    columns = Base.metadata.tables[table].columns
    column = list(columns)[-1].name
    key = ", ".join(column.name for column in columns if column.primary_key)
    names = ", ".join(column.name for column in columns)
    found = [
        f"UPDATE {table} SET {column} = {column}",
        f"DELETE FROM {table}",
        f"INSERT INTO {table} ({names}) SELECT {names} FROM {table} WHERE true "
        f"ON CONFLICT ({key}) DO UPDATE SET {column} = excluded.{column}",
    ]
    if dialect == "postgresql":
        return [*found, f"TRUNCATE {table} CASCADE"]
    return [
        *found,
        f"UPDATE OR REPLACE {table} SET {column} = {column}",
        f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}",
        f"REPLACE INTO {table} SELECT * FROM {table}",
    ]


@pytest.mark.parametrize("table", HISTORY_0002)
def test_no_row_of_history_is_changed_deleted_or_replaced(history: Session, table: str) -> None:
    before = rows_of(history, table)
    assert before, f"{table} is empty, so nothing would be tried"
    for statement in edits(table, history.get_bind().dialect.name):
        with pytest.raises(IntegrityError) as caught, history.begin_nested():
            history.execute(text(statement))
        said = str(caught.value.orig)
        assert "append-only" in said or "already balanced" in said, statement
    assert rows_of(history, table) == before


def test_every_key_of_a_row_of_history_is_guarded_against_replacement() -> None:
    def keys(table: str) -> set[tuple[str, ...]]:
        rules = Base.metadata.tables[table].constraints
        unique = (PrimaryKeyConstraint, UniqueConstraint)
        return {tuple(c.name for c in rule.columns) for rule in rules if isinstance(rule, unique)}

    guarded = {table: set(KEYS_0004.get(table, (("id",),))) for table in HISTORY_0002}
    assert guarded == {table: keys(table) for table in HISTORY_0002}
    indexes = [index for table in HISTORY_0002 for index in Base.metadata.tables[table].indexes]
    assert not any(index.unique for index in indexes)


def rows_of(session: Session, table: str) -> list[Any]:
    return sorted(session.execute(text(f"SELECT * FROM {table}")).all(), key=repr)


@pytest.mark.parametrize("table", HISTORY_0002)
def test_another_program_without_our_pragmas_can_neither_edit_nor_delete(
    written: Path, table: str
) -> None:
    with closing(sqlite3.connect(written)) as connection:
        assert connection.execute("PRAGMA recursive_triggers").fetchone() == (0,)
        for statement in (f"UPDATE {table} SET rowid = rowid", *edits(table, "sqlite")):
            with pytest.raises(sqlite3.IntegrityError, match=r"append-only|already balanced"):
                connection.execute(statement)


NEW_OPERATION = (
    "INSERT INTO operation (id, kind, done_on, recorded_at, note, method) "
    "VALUES (99, 'trim', '2025-11-08', '2025-11-08T18:00:00.000Z', '', '')"
)
ENTRY = "INSERT INTO entry (operation_id, lot_id, place_id, mass_mg) VALUES (99, 1, 2, {})"
LOSS = "INSERT INTO loss (operation_id, kind, mass_mg, words) VALUES (99, 'trim', {}, '')"
ADDITION = "INSERT INTO addition (operation_id, kind, mass_mg, words) VALUES (99, 'water', {}, '')"
BALANCE = "INSERT INTO balance VALUES (99, {}, {}, {}, {})"


def run(session: Session, *statements: str) -> None:
    for statement in statements:
        session.execute(text(statement))


def test_an_operation_that_adds_up_can_be_closed(history: Session) -> None:
    run(history, NEW_OPERATION, ENTRY.format(-100), ENTRY.format(90), LOSS.format(10))
    run(history, BALANCE.format(100, 0, 90, 10))


def test_a_balance_row_that_does_not_conserve_mass_is_refused(history: Session) -> None:
    run(history, NEW_OPERATION, ENTRY.format(-100), ENTRY.format(90))
    with pytest.raises(IntegrityError, match="ck_balance_conserved"):
        run(history, BALANCE.format(100, 0, 90, 0))


@pytest.mark.parametrize(
    "figures", [(101, 0, 90, 11), (100, 1, 91, 10), (90, 0, 80, 10), (100, 0, 100, 0)]
)
def test_a_balance_row_that_differs_from_its_lines_is_refused(
    history: Session, figures: tuple[int, ...]
) -> None:
    run(history, NEW_OPERATION, ENTRY.format(-100), ENTRY.format(90), LOSS.format(10))
    with pytest.raises(IntegrityError, match="balance differs from its lines"):
        run(history, BALANCE.format(*figures))


@pytest.mark.parametrize("line", [ENTRY.format(5), LOSS.format(5), ADDITION.format(5)])
def test_nothing_is_added_to_an_operation_that_was_closed(history: Session, line: str) -> None:
    run(
        history,
        NEW_OPERATION,
        ENTRY.format(-100),
        ENTRY.format(100),
        BALANCE.format(100, 0, 100, 0),
    )
    with pytest.raises(IntegrityError, match="already balanced"):
        run(history, line)


@pytest.mark.parametrize(
    ("statement", "constraint"),
    [
        (ENTRY.format(0), "ck_entry_mass"),
        (LOSS.format(0), "ck_loss_mass"),
        (LOSS.format(-5), "ck_loss_mass"),
        (LOSS.format(5).replace("'trim'", "'stolen'"), "ck_loss_kind_known"),
        (ADDITION.format(-5), "ck_addition_mass"),
        (ENTRY.format("'much'"), "cannot store TEXT value|invalid input syntax"),
        (ENTRY.format(5).replace("99, 1, 2", "99, 999, 2"), "(?i)foreign key"),
        ("UPDATE stock SET mass_mg = 0", "ck_stock_mass"),
        (
            "INSERT INTO household SELECT 2, name, units, altitude_m, time_zone, rule_set, "
            "scale_step_mg, label_width_mm, label_height_mm, label_printer_dpi, created_at, NULL "
            "FROM household",
            "ck_household_only_one",
        ),
    ],
)
def test_a_row_that_makes_no_sense_is_refused(
    history: Session, statement: str, constraint: str
) -> None:
    run(history, NEW_OPERATION)
    with pytest.raises((IntegrityError, DataError), match=constraint):
        run(history, statement)


def test_an_operation_is_taken_back_once_at_most(history: Session) -> None:
    with pytest.raises(IntegrityError, match=r"operation.reverses_id|append-only"):
        run(
            history,
            "INSERT INTO operation (kind, done_on, recorded_at, note, method, reverses_id) "
            "SELECT kind, done_on, recorded_at, note, method, reverses_id FROM operation "
            "WHERE reverses_id IS NOT NULL",
        )
