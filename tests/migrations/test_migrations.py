"""The tables by migration are the tables of the models; no file is harmed on its way."""

import re
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import create_engine

from app.ledger import schema
from app.ledger.book import Book
from app.ledger.checks import check_all
from app.ledger.errors import NewerLedger
from app.ledger.models import Base
from migrations.triggers import newest
from tests.ledger.kitchen import write_evening

Shape = dict[tuple[str, str], tuple[str, ...]]


def clauses(sql: str) -> tuple[str, ...]:
    """A CREATE statement with its clauses in a fixed order: their order means nothing."""
    plain = re.sub(r"\s+", " ", sql.replace('"', "")).strip()
    opening = plain.find("(")
    if not plain.upper().startswith("CREATE TABLE") or opening < 0:
        return (plain,)
    closing_at = plain.rfind(")")
    parts, depth, start = [], 0, opening + 1
    for at in range(opening + 1, closing_at):
        depth += {"(": 1, ")": -1}.get(plain[at], 0)
        if plain[at] == "," and depth == 0:
            parts.append(plain[start:at].strip())
            start = at + 1
    parts.append(plain[start:closing_at].strip())
    columns = [part for part in parts if not part.startswith("CONSTRAINT")]
    named = sorted(part for part in parts if part.startswith("CONSTRAINT"))
    return (plain[:opening].strip(), *columns, *named, plain[closing_at + 1 :].strip())


def shape_of(path: Path, *kinds: str) -> Shape:
    """Everything a file is made of, Alembic's own table left out."""
    with closing(sqlite3.connect(path)) as connection:
        rows = connection.execute(
            "SELECT type, name, sql FROM sqlite_master WHERE sql IS NOT NULL "
            "AND name <> 'alembic_version'"
        ).fetchall()
    return {(kind, name): clauses(sql) for kind, name, sql in rows if not kinds or kind in kinds}


def rows_of(path: Path) -> dict[str, list[tuple[object, ...]]]:
    """Every row of every table of the ledger."""
    with closing(sqlite3.connect(path)) as connection:
        return {
            table: connection.execute(f"SELECT * FROM {table} ORDER BY 1, 2").fetchall()
            for table in Base.metadata.tables
        }


def by_models(path: Path) -> Path:
    engine = create_engine(f"sqlite:///{path}")
    Base.metadata.create_all(engine)
    engine.dispose()
    return path


@pytest.fixture
def full(tmp_path: Path) -> Path:
    """A data file with an evening's work in it."""
    path = tmp_path / "stillroom.db"
    write_evening(path)
    return path


def say(path: Path, *statements: str) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for statement in statements:
            connection.execute(statement)


def test_models_equal_migrations(tmp_path: Path, empty_file: Path) -> None:
    by_model = shape_of(by_models(tmp_path / "models.db"), "table", "index")
    assert shape_of(empty_file, "table", "index") == by_model


def test_a_difference_between_models_and_migrations_would_be_seen(
    tmp_path: Path, empty_file: Path
) -> None:
    """A CHECK, a type, a name and an index, each made different on purpose."""
    other = tmp_path / "other.db"
    by_models(other)
    say(
        other,
        "PRAGMA writable_schema=ON",
        "UPDATE sqlite_master SET sql = replace(sql, 'mass_mg <> 0', 'mass_mg <> 1') "
        "WHERE name = 'entry'",
        "UPDATE sqlite_master SET sql = replace(sql, 'tare_mg INTEGER', 'tare_mg REAL') "
        "WHERE name = 'bowl'",
        "UPDATE sqlite_master SET sql = replace(sql, 'fk_flow_result_id', 'fk_flow') "
        "WHERE name = 'flow'",
    )
    say(other, "DROP INDEX ix_entry_place_id")
    ours, theirs = shape_of(empty_file, "table", "index"), shape_of(other, "table", "index")
    differing = {key for key in ours.keys() | theirs.keys() if ours.get(key) != theirs.get(key)}
    assert differing == {
        ("table", "entry"),
        ("table", "bowl"),
        ("table", "flow"),
        ("index", "ix_entry_place_id"),
    }


def test_every_table_is_strict(empty_file: Path) -> None:
    tables = shape_of(empty_file, "table")
    assert {name for (_, name), parts in tables.items() if parts[-1] == "STRICT"} == set(
        Base.metadata.tables
    )


def test_every_trigger_is_there_word_for_word(empty_file: Path) -> None:
    found = {parts[0] for parts in shape_of(empty_file, "trigger").values()}
    assert found == {clauses(text)[0] for text in newest()}


def test_head_is_the_newest_script() -> None:
    from alembic.script import ScriptDirectory

    assert ScriptDirectory(str(schema.MIGRATIONS)).get_heads() == [schema.HEAD]


def test_migrations_never_import_the_models() -> None:
    for path in schema.MIGRATIONS.rglob("*.py"):
        assert "app.ledger" not in path.read_text("utf-8").replace(
            "app.ledger.schema hands over", ""
        ), path.name


def test_up_down_and_up_again_on_a_full_file(full: Path) -> None:
    shape = shape_of(full)
    schema.downgrade(full, "base")
    assert shape_of(full) == {}
    schema.upgrade(full, "head")
    assert shape_of(full) == shape
    assert schema.revision_of(full) == schema.HEAD


def test_upgrading_what_is_up_to_date_changes_no_row(full: Path) -> None:
    before = rows_of(full)
    schema.upgrade(full, "head")
    schema.bring_up(full)
    assert rows_of(full) == before
    book = Book(full)
    with book.reading() as session:
        assert check_all(session) == []
    book.close()


def test_foreign_keys_are_checked_before_a_migration_is_kept(full: Path) -> None:
    """The upgrade of a broken file fails and leaves it at the revision it had."""
    say(
        full,
        "DROP TRIGGER entry_no_update",
        "PRAGMA foreign_keys=OFF",
        "UPDATE entry SET place_id = 99 WHERE id = 1",
    )
    with pytest.raises(RuntimeError, match="broke foreign keys"):
        schema.upgrade(full, "head")
    assert schema.revision_of(full) == schema.HEAD


def test_a_new_file_is_made_with_its_folder(tmp_path: Path) -> None:
    path = tmp_path / "a" / "b" / "stillroom.db"
    assert schema.revision_of(path) is None
    schema.bring_up(path)
    assert schema.revision_of(path) == schema.HEAD


def test_an_empty_file_is_brought_up(tmp_path: Path, empty_file: Path) -> None:
    path = tmp_path / "stillroom.db"
    path.touch()
    schema.bring_up(path)
    assert shape_of(path) == shape_of(empty_file)
    assert [each.name for each in tmp_path.glob("*before-migration*")] == []


def test_a_newer_file_is_refused_and_untouched_byte_for_byte(full: Path) -> None:
    say(full, "UPDATE alembic_version SET version_num = '9999'", "PRAGMA journal_mode=DELETE")
    before = full.read_bytes()
    with pytest.raises(NewerLedger):
        schema.bring_up(full)
    assert full.read_bytes() == before
    assert [path.name for path in full.parent.iterdir()] == [full.name]


def test_a_copy_of_the_file_as_it_was_is_kept_before_migrating(
    full: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A newer program with one more migration, written here, meets today's file."""
    scripts = tmp_path / "migrations"
    shutil.copytree(schema.MIGRATIONS, scripts, ignore=shutil.ignore_patterns("__pycache__"))
    (scripts / "versions" / "9000_next.py").write_text(
        "from alembic import op\n"
        f"revision, down_revision = '9000', '{schema.HEAD}'\n"
        "branch_labels = depends_on = None\n"
        "def upgrade():\n    op.execute('ALTER TABLE bowl ADD COLUMN colour TEXT')\n"
        "def downgrade():\n    op.execute('ALTER TABLE bowl DROP COLUMN colour')\n",
        "utf-8",
    )
    monkeypatch.setattr(schema, "MIGRATIONS", scripts)
    monkeypatch.setattr(schema, "HEAD", "9000")
    old_head, rows, shape = schema.revision_of(full), rows_of(full), shape_of(full)
    schema.bring_up(full)
    assert schema.revision_of(full) == "9000"
    (kept,) = full.parent.glob("*before-migration*")
    assert schema.revision_of(kept) == old_head
    assert rows_of(kept) == rows
    assert shape_of(kept) == shape
    assert rows_of(full) == {**rows, "bowl": []}
    triggers = shape_of(full, "trigger")
    assert triggers == {key: value for key, value in shape.items() if key[0] == "trigger"}
