"""The book: where transactions begin and end, and how values are stored."""

import contextlib
import re
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path

import pytest
from sqlalchemy import select, text
from sqlalchemy.exc import IntegrityError, InternalError, StatementError
from sqlalchemy.orm import Session

from app.ledger.book import Book
from app.ledger.models import Operation, Person
from app.ledger.operations.intake import intake
from tests.builders import TODAY, an_intake, do, operation_of
from tests.databases import only_a_file

APP = Path(__file__).resolve().parents[2] / "app"


@only_a_file
def test_every_connection_carries_what_the_ledger_relies_on(book: Book) -> None:
    with book.reading() as session:
        said = {
            name: session.execute(text(f"PRAGMA {name}")).scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys", "recursive_triggers")
        }
    assert said == {
        "journal_mode": "wal",
        "synchronous": 2,  # FULL
        "foreign_keys": 1,
        "recursive_triggers": 1,
    }


def test_nobody_else_begins_or_ends_a_transaction() -> None:
    ends = re.compile(r"\.(commit|begin)\(")
    found = {
        path.relative_to(APP).as_posix()
        for path in APP.rglob("*.py")
        if ends.search(path.read_text("utf-8"))
    }
    whole_ledgers = {"ledger/schema.py", "ledger/archive/database.py", "ledger/archive/portable.py"}
    assert found == {"ledger/book.py"} | whole_ledgers  # no entry is written by these


def test_what_is_written_whole_stays_and_what_fails_leaves_nothing(book: Book) -> None:
    with book.writing() as session:
        session.add(Person(name="Isla"))
    with pytest.raises(IntegrityError), book.writing() as session:
        session.add_all([Person(name="Nobody"), Person(name="Ewan")])
    with book.reading() as session:
        assert "Isla" in session.scalars(select(Person.name)).all()
        assert "Nobody" not in session.scalars(select(Person.name)).all()


def test_nothing_written_while_reading_is_kept(book: Book) -> None:
    """A file keeps nothing of it, PostgreSQL refuses it."""
    with contextlib.suppress(InternalError), book.reading() as session:
        session.add(Person(name="Nobody"))
        session.flush()
    with book.reading() as session:
        assert sorted(session.scalars(select(Person.name))) == ["Ailsa", "Ewan"]


def test_a_reader_sees_one_moment_while_somebody_writes(book: Book) -> None:
    with book.reading() as reader:
        before = reader.scalars(select(Person.name)).all()
        with book.writing() as writer:
            writer.add(Person(name="Isla"))
        reader.expire_all()
        assert reader.scalars(select(Person.name)).all() == before
    with book.reading() as reader:
        assert len(reader.scalars(select(Person.name)).all()) == len(before) + 1


def test_an_instant_without_a_zone_is_refused(session: Session) -> None:
    naive = datetime(2025, 10, 20, 18)  # noqa: DTZ001
    session.add(Operation(kind="trim", done_on=TODAY, recorded_at=naive, note="", method=""))
    with pytest.raises(StatementError, match="time zone"):
        session.flush()


def test_an_instant_of_another_zone_comes_back_as_the_same_instant(session: Session) -> None:
    operation = operation_of(session, do(session, intake, an_intake()))
    local = datetime(2025, 10, 20, 19, 30, tzinfo=timezone(timedelta(hours=1)))
    row = Operation(kind="trim", done_on=TODAY, recorded_at=local, note="", method="")
    session.add(row)
    session.flush()
    session.expire_all()
    assert row.recorded_at == local
    assert row.recorded_at.tzinfo == UTC
    assert row.recorded_at > operation.recorded_at
    assert row.done_on == date(2025, 10, 20)
    raw = session.execute(text(f"SELECT recorded_at FROM operation WHERE id = {row.id}")).scalar()
    assert raw == "2025-10-20T18:30:00.000Z"
