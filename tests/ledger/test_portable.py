"""Moving house: an archive of JSON read into an empty folder is the same ledger, or is refused."""

import json
import sqlite3
import zipfile
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from app.ledger.archive.portable import MANIFEST, Altered, read_archive, write_archive
from app.ledger.archive.restore import NotALedger, Unbalanced
from app.ledger.book import Book
from app.ledger.checks import check_all
from app.ledger.errors import NewerLedger
from tests.ledger.kitchen import write_evening

NOW = datetime(2025, 11, 8, 9, tzinfo=UTC)


def rows_of(path: Path) -> dict[str, list[tuple[object, ...]]]:
    """Every row of every table but the kept windows."""
    with closing(sqlite3.connect(path)) as connection:
        names = connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name <> 'estimate'"
        ).fetchall()
        return {
            name: sorted(connection.execute(f"SELECT * FROM {name}").fetchall(), key=repr)
            for (name,) in names
        }


@pytest.fixture
def house(tmp_path: Path) -> Path:
    path = tmp_path / "old" / "stillroom.db"
    path.parent.mkdir()
    write_evening(path)
    return path


@pytest.fixture
def archive(house: Path, tmp_path: Path) -> Path:
    target = tmp_path / "ledger.zip"
    write_archive(house, target)
    return target


def change(archive: Path, target: Path, member: str, text: str | None) -> Path:
    """A copy of an archive with one file of it changed or left out."""
    with zipfile.ZipFile(archive) as old, zipfile.ZipFile(target, "w") as new:
        for name in old.namelist():
            if name != member:
                new.writestr(name, old.read(name))
            elif text is not None:
                new.writestr(name, text)
    return target


def test_a_ledger_read_into_another_folder_is_the_same_to_the_last_row(
    house: Path, archive: Path, tmp_path: Path
) -> None:
    new = tmp_path / "new" / "stillroom.db"
    assert read_archive(archive, new, at=NOW) is None
    assert rows_of(new) == rows_of(house)
    book = Book(new)
    with book.reading() as session:
        assert check_all(session) == []
    book.close()
    again = tmp_path / "again.zip"
    write_archive(new, again)
    with zipfile.ZipFile(archive) as first, zipfile.ZipFile(again) as second:
        assert {n: first.read(n) for n in first.namelist()} == {
            n: second.read(n) for n in second.namelist()
        }


def test_what_was_there_is_kept(house: Path, archive: Path) -> None:
    before = rows_of(house)
    kept = read_archive(archive, house, at=NOW)
    assert kept is not None
    assert rows_of(kept) == before


def test_every_file_of_the_archive_is_json_that_others_can_read(archive: Path) -> None:
    with zipfile.ZipFile(archive) as opened:
        manifest = json.loads(opened.read(MANIFEST))
        for table in manifest["tables"]:
            lines = opened.read(f"tables/{table['name']}.jsonl").decode().splitlines()
            assert len(lines) == table["rows"]
            assert all(set(json.loads(line)) == set(table["columns"]) for line in lines)


def test_a_changed_row_is_seen_and_nothing_is_replaced(archive: Path, tmp_path: Path) -> None:
    member = "tables/entry.jsonl"
    with zipfile.ZipFile(archive) as opened:
        text = opened.read(member).decode()
    assert "3000000" in text
    forged = change(archive, tmp_path / "b.zip", member, text.replace("3000000", "3000001", 1))
    new = tmp_path / "new" / "stillroom.db"
    with pytest.raises((Altered, sqlite3.IntegrityError)):
        read_archive(forged, new, at=NOW)
    assert not new.exists()


def test_a_missing_table_is_seen(archive: Path, tmp_path: Path) -> None:
    torn = change(archive, tmp_path / "b.zip", "tables/loss.jsonl", None)
    with pytest.raises(Altered):
        read_archive(torn, tmp_path / "new.db", at=NOW)


def test_an_archive_that_does_not_balance_is_refused(house: Path, tmp_path: Path) -> None:
    with closing(sqlite3.connect(house)) as connection, connection:
        connection.execute(
            "UPDATE stock SET mass_mg = mass_mg + 1 WHERE id = (SELECT min(id) FROM stock)"
        )
    target = tmp_path / "ledger.zip"
    write_archive(house, target)
    with pytest.raises(Unbalanced):
        read_archive(target, tmp_path / "new.db", at=NOW)


def test_an_archive_of_a_newer_version_is_refused(archive: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(archive) as opened:
        manifest = json.loads(opened.read(MANIFEST))
    newer = json.dumps({**manifest, "revision": "9999"})
    with pytest.raises(NewerLedger):
        read_archive(
            change(archive, tmp_path / "b.zip", MANIFEST, newer), tmp_path / "n.db", at=NOW
        )


def test_other_files_are_refused(tmp_path: Path) -> None:
    text, other = tmp_path / "a.txt", tmp_path / "other.zip"
    text.write_text("no archive")
    with zipfile.ZipFile(other, "w") as archive:
        archive.writestr("holiday.jpg", b"")
    for source in (text, other):
        with pytest.raises((NotALedger, KeyError)):
            read_archive(source, tmp_path / "new.db", at=NOW)


def test_nothing_is_overwritten(house: Path, archive: Path) -> None:
    with pytest.raises(FileExistsError):
        write_archive(house, archive)
