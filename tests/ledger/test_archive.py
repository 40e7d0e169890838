"""Backup, restore and export: whole or not at all, and never over something that is there."""

import csv
import shutil
import sqlite3
from collections import defaultdict
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from sqlalchemy import Table
from sqlalchemy.sql import visitors

from app.ledger.archive.backup import Damaged, back_up, copy_whole
from app.ledger.archive.csv_tables import LEFT_OUT, _sheets, cell, export
from app.ledger.archive.restore import InUse, NotALedger, Unbalanced, restore
from app.ledger.archive.watch_sheets import watch_sheets
from app.ledger.book import Book
from app.ledger.errors import NewerLedger
from app.ledger.models import Base
from app.ledger.schema import HEAD
from tests.ledger.kitchen import write_evening

NOW = datetime(2025, 11, 30, 17, 5, 9, tzinfo=UTC)


@pytest.fixture(scope="module")
def evening(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("evening") / "stillroom.db"
    write_evening(path, with_troubles=True)
    return path


@pytest.fixture
def ledger(evening: Path, tmp_path: Path) -> Path:
    path = tmp_path / "house" / "stillroom.db"
    path.parent.mkdir()
    shutil.copy(evening, path)
    return path


@pytest.fixture
def backup(evening: Path, tmp_path: Path) -> Path:
    """A backup of the evening, on another disk."""
    path = tmp_path / "stick" / "autumn.db"
    path.parent.mkdir()
    back_up(evening, path)
    return path


@pytest.fixture
def book(ledger: Path) -> Iterator[Book]:
    book = Book(ledger)
    yield book
    book.close()


def rows_of(path: Path) -> list[str]:
    with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as connection:
        return [line for line in connection.iterdump() if line.startswith("INSERT")]


def change(path: Path, statement: str) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("DROP TRIGGER IF EXISTS balance_no_delete")
        connection.execute(statement)


def damage(path: Path) -> None:
    with path.open("rb+") as file:
        file.seek(4096)
        file.write(b"\xa5" * (path.stat().st_size - 4096))


def names_in(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


# --- backup ---


def test_a_backup_holds_every_row_in_one_file(ledger: Path, tmp_path: Path) -> None:
    target = tmp_path / "copy.db"
    size = back_up(ledger, target)
    assert size == target.stat().st_size
    assert rows_of(target) == rows_of(ledger)
    assert names_in(tmp_path) == {"house", "copy.db"}


def test_a_backup_taken_in_the_middle_of_an_entry_has_all_that_was_saved_before(
    ledger: Path, tmp_path: Path
) -> None:
    with closing(sqlite3.connect(ledger, isolation_level=None)) as writer:
        writer.execute("INSERT INTO person (id, name) VALUES (2, 'Ruaridh')")  # in the log only
        writer.execute("BEGIN IMMEDIATE")
        writer.execute("INSERT INTO person (id, name) VALUES (3, 'Morag')")
        back_up(ledger, tmp_path / "copy.db")
        writer.execute("COMMIT")
    with closing(sqlite3.connect(tmp_path / "copy.db")) as connection:
        names = [name for (name,) in connection.execute("SELECT name FROM person ORDER BY id")]
    assert names == ["Ailsa", "Ruaridh"]


def test_a_long_copy_tells_how_far_it_has_come(tmp_path: Path) -> None:
    source, told = tmp_path / "large.db", list[str]()
    with closing(sqlite3.connect(source)) as connection, connection:
        connection.execute("CREATE TABLE page (words BLOB)")
        connection.executemany("INSERT INTO page VALUES (randomblob(4000))", [()] * 5_000)
    copy_whole(source, tmp_path / "copy.db", told.append)
    assert 2 <= len(told) == len(set(told)) <= 10
    assert all(words.startswith("Copied ") and " of about 2" in words for words in told)


def test_a_backup_tells_when_it_is_read_through(ledger: Path, tmp_path: Path) -> None:
    told: list[str] = []
    back_up(ledger, tmp_path / "copy.db", told.append)
    assert told[-1] == "Copied. Reading the copy through"


def test_a_backup_never_overwrites_a_file(ledger: Path, tmp_path: Path) -> None:
    target = tmp_path / "recipes.txt"
    target.write_text("stock, carrots")
    with pytest.raises(FileExistsError):
        back_up(ledger, target)
    assert target.read_text() == "stock, carrots"


def test_a_damaged_ledger_gives_no_backup_and_leaves_nothing_behind(
    ledger: Path, tmp_path: Path
) -> None:
    damage(ledger)
    with pytest.raises(Damaged):
        back_up(ledger, tmp_path / "copy.db")
    assert names_in(tmp_path) == {"house"}


def test_a_backup_of_nothing_or_to_nowhere_is_refused(ledger: Path, tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        back_up(tmp_path / "none.db", tmp_path / "copy.db")
    with pytest.raises(FileNotFoundError):
        back_up(ledger, tmp_path / "no" / "copy.db")


# --- restore ---


def test_a_restored_ledger_is_the_backup_and_what_it_replaces_is_kept(
    ledger: Path, backup: Path
) -> None:
    change(ledger, "INSERT INTO person (id, name) VALUES (2, 'Ruaridh')")
    before = rows_of(ledger)
    kept = restore(backup, ledger, at=NOW)
    assert kept == ledger.with_name("stillroom-replaced-2025-11-30T170509Z.db")
    assert names_in(ledger.parent) == {"stillroom.db", kept.name}
    assert rows_of(kept) == before
    assert rows_of(ledger) == rows_of(backup)


def test_a_backup_is_restored_where_there_was_nothing(backup: Path, tmp_path: Path) -> None:
    ledger = tmp_path / "new" / "stillroom.db"
    assert restore(backup, ledger, at=NOW) is None
    assert rows_of(ledger) == rows_of(backup)


def test_a_ledger_that_is_being_served_is_not_replaced(book: Book, backup: Path) -> None:
    with book.writing() as session:
        session.connection().exec_driver_sql("INSERT INTO person (id, name) VALUES (2, 'Ruaridh')")
    before = rows_of(book.path)
    with pytest.raises(InUse):
        restore(backup, book.path, at=NOW)
    assert rows_of(book.path) == before
    assert names_in(book.path.parent) <= {"stillroom.db", "stillroom.db-wal", "stillroom.db-shm"}


def test_entries_still_in_the_log_are_kept_with_the_replaced_ledger(
    ledger: Path, backup: Path, tmp_path: Path
) -> None:
    torn = tmp_path / "torn" / "stillroom.db"  # as after a pulled plug: file and log
    torn.parent.mkdir()
    with closing(sqlite3.connect(ledger)) as writer:
        with writer:
            writer.execute("INSERT INTO person (id, name) VALUES (2, 'Ruaridh')")
        shutil.copy(ledger, torn)
        shutil.copy(f"{ledger}-wal", f"{torn}-wal")
    kept = restore(backup, torn, at=NOW)
    assert kept is not None
    assert any("Ruaridh" in row for row in rows_of(kept))
    assert rows_of(torn) == rows_of(backup)


def test_a_damaged_ledger_can_be_replaced_and_is_kept_byte_for_byte(
    ledger: Path, backup: Path
) -> None:
    damage(ledger)
    before = ledger.read_bytes()
    kept = restore(backup, ledger, at=NOW)
    assert kept is not None
    assert kept.read_bytes() == before
    assert rows_of(ledger) == rows_of(backup)


def _spoil_damaged(path: Path) -> None:
    damage(path)


def _spoil_words(path: Path) -> None:
    path.write_text("not a database, " * 500)


def _spoil_foreign(path: Path) -> None:
    path.unlink()
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("CREATE TABLE song (name TEXT)")


def _spoil_newer(path: Path) -> None:
    change(path, "UPDATE alembic_version SET version_num = '9999'")


def _spoil_unbalanced(path: Path) -> None:
    change(path, "DELETE FROM balance WHERE operation_id = 3")


def _spoil_dangling(path: Path) -> None:
    change(path, "UPDATE stock SET place_id = 77")


@pytest.mark.parametrize(
    ("spoil", "error"),
    [
        (_spoil_damaged, Damaged),
        (_spoil_words, Damaged),
        (_spoil_foreign, NotALedger),
        (_spoil_newer, NewerLedger),
        (_spoil_unbalanced, Unbalanced),
        (_spoil_dangling, Unbalanced),
    ],
)
def test_an_unsound_backup_is_refused_and_the_ledger_stays(
    ledger: Path, backup: Path, spoil, error: type[Exception]
) -> None:
    spoil(backup)
    before = ledger.read_bytes(), backup.read_bytes()
    with pytest.raises(error):
        restore(backup, ledger, at=NOW)
    assert (ledger.read_bytes(), backup.read_bytes()) == before
    assert names_in(ledger.parent) == {"stillroom.db"}


def test_a_ledger_is_not_restored_from_itself_or_from_nothing(ledger: Path) -> None:
    with pytest.raises(FileExistsError):
        restore(ledger, ledger, at=NOW)
    with pytest.raises(FileNotFoundError):
        restore(ledger.with_name("none.db"), ledger, at=NOW)


def test_the_restored_file_stands_at_the_newest_migration(backup: Path, tmp_path: Path) -> None:
    ledger = tmp_path / "stillroom.db"
    restore(backup, ledger, at=NOW)
    with closing(sqlite3.connect(ledger)) as connection:
        assert connection.execute("SELECT version_num FROM alembic_version").fetchone() == (HEAD,)


# --- export ---


@pytest.fixture
def tables(book: Book, tmp_path: Path) -> dict[str, list[dict[str, str]]]:
    folder = tmp_path / "tables"
    with book.reading() as session:
        export(session, folder)
    found = {}
    for path in folder.glob("*.csv"):
        with path.open(encoding="utf-8", newline="") as file:
            found[path.stem] = list(csv.DictReader(file))
    return found


def test_the_tables_people_want_are_there(tables: dict[str, list[dict[str, str]]]) -> None:
    wanted = "lots operations entries losses additions packages places stock flows weighings"
    assert {*wanted.split(), "readings", "runs", "trays", "tray_weighings"} <= tables.keys()
    full = {name for name, rows in tables.items() if rows}
    assert full == tables.keys() - {"trials"}  # the evening soaks nothing: see test_trial.py


def test_every_table_of_the_ledger_is_exported_or_left_out_for_a_reason() -> None:
    exported = {
        part.name
        for sheet in _sheets()
        for part in visitors.iterate(sheet.query)
        if isinstance(part, Table)
    }
    assert exported.isdisjoint(LEFT_OUT.keys() - {"absorber"})
    assert exported | LEFT_OUT.keys() == set(Base.metadata.tables)
    assert all(LEFT_OUT.values())


def test_every_column_of_what_is_watched_is_exported() -> None:
    """Row numbers of lots, places and operations stand in the export under other names."""
    renamed = {"id", "lot_id", "place_id", "discard_id", "held_id"}
    for sheet in watch_sheets():
        read = {part.name for part in visitors.iterate(sheet.query) if isinstance(part, Table)}
        (table,) = read - {"place"}
        columns = {column.name for column in Base.metadata.tables[table].columns}
        assert columns - renamed <= set(sheet.query.selected_columns.keys()), sheet.name


def test_what_is_watched_is_in_the_export_with_its_units(
    tables: dict[str, list[dict[str, str]]],
) -> None:
    marks = {row["name"]: row["marks"] for row in tables["lots"]}
    assert (marks["Boar trim"], marks["Mince"]) == ("lead; parasite", "")
    (game,) = tables["game"]
    assert (game["ammunition"], game["centre_c"], game["cwd_status"]) == ("lead", "3.3", "unknown")
    assert [row["cause"] for row in tables["holds"]] == ["test_awaited", "look_first"]
    assert tables["releases"][0]["hold_id"] == tables["holds"][0]["hold_id"]
    (incident,) = tables["incidents"]
    assert (incident["place"], incident["to_at"]) == ("Chest freezer", "2025-11-12T06:00:00Z")
    assert (incident["temp_c"], incident["warm_hours"]) == ("6.0", "3.0")
    assert [row["fate"] for row in tables["incident_lots"]] == ["opened", "worn", "look", "discard"]
    assert [row["month"] for row in tables["climates"]] == [str(n) for n in range(1, 13)]
    assert [row["typed"] for row in tables["place_readings"]] == ["", "", "4"]
    assert [row["place"] for row in tables["looks"]] == ["Fridge", ""]
    assert tables["logger_files"][0]["reading_count"] == "2"


def test_entries_of_the_export_sum_to_its_stock(tables: dict[str, list[dict[str, str]]]) -> None:
    summed: dict[tuple[str, str, str], Decimal] = defaultdict(Decimal)
    for row in tables["entries"]:
        summed[row["lot_code"], row["package_id"], row["place"]] += Decimal(row["mass_g"])
    on_hand = {
        (row["lot_code"], row["package_id"], row["place"]): Decimal(row["mass_g"])
        for row in tables["stock"]
    }
    assert {key: mass_g for key, mass_g in summed.items() if mass_g} == on_hand


def test_masses_are_exact_grams_and_dates_are_iso(tables: dict[str, list[dict[str, str]]]) -> None:
    mince = next(row for row in tables["lots"] if row["name"] == "Mince")
    made = [row for row in tables["entries"] if row["lot_code"] == mince["lot_code"]]
    assert made[0]["mass_g"] == "3777.001"
    assert mince["made_on"] == "2025-11-03"
    assert (mince["harvest_from"], mince["harvest_to"]) == ("2025-10-18", "2025-10-30")
    assert (mince["is_raw"], mince["contains"]) == ("true", "celery")
    assert tables["operations"][0]["recorded_at"] == "2025-11-02T18:00:00Z"
    assert tables["runs"][0]["ended_on"] == "2025-11-05"


def test_a_note_that_looks_like_a_formula_is_disarmed(
    tables: dict[str, list[dict[str, str]]],
) -> None:
    assert '\'=HYPERLINK("x")' in {row["note"] for row in tables["operations"]}


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_every_start_of_a_formula_is_disarmed(start: str) -> None:
    assert cell("note", f"{start}1") == f"'{start}1"


def test_numbers_below_zero_stay_numbers() -> None:
    assert cell("mass_g", -1) == "-0.001"
    assert cell("temp_c", -18.0) == "-18.0"
    assert cell("packed_on", date(2025, 11, 6)) == "2025-11-06"
    assert cell("note", None) == ""


def test_an_export_into_a_folder_with_something_in_it_writes_nothing(
    book: Book, tmp_path: Path
) -> None:
    folder = tmp_path / "tables"
    folder.mkdir()
    (folder / "lots.csv").write_text("mine")
    with book.reading() as session, pytest.raises(FileExistsError):
        export(session, folder)
    assert names_in(folder) == {"lots.csv"}
    assert (folder / "lots.csv").read_text() == "mine"


def test_the_export_says_what_each_file_holds_and_warns_of_the_apostrophe(
    book: Book, tmp_path: Path
) -> None:
    with book.reading() as session:
        written = export(session, tmp_path / "tables")
    words = written[0].read_text(encoding="utf-8")
    assert all(path.name in words for path in written[1:])
    assert "apostrophe" in words
