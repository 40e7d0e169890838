"""A machine that will not take the entry: a lock held long, a full disk, a read-only file."""

import logging
import sqlite3
from collections.abc import Callable
from contextlib import AbstractContextManager, closing
from typing import Any

import pytest
from flask import Flask

from app.ledger.book import Book
from app.ledger.checks import check_all
from app.ledger.engines import Hindrance, hindrance_of, where_of
from tests import builders as b
from tests.databases import only_a_file
from tests.web.hindered import impatient, somebody_writing
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]
Unchanged = Callable[[], AbstractContextManager[None]]
NOTE = "typed before supper"
LONGEST = "It was a long evening. " * 80  # fills pages of the file fast


def is_clean(book: Book) -> bool:
    with book.reading() as session:
        return check_all(session) == []


def kept_as_typed(page: Page) -> bool:
    return page.typed("note") == [NOTE] and page.typed("mass_mg") == ["250 g"]


# -- somebody else is writing ------------------------------------------------------------------


def test_a_writer_that_takes_too_long_is_said_and_the_form_can_be_sent_once_more(
    app: Flask, tablet: Tablet, given: Given, book: Book, unchanged: Unchanged
) -> None:
    address = f"/write/eat?from={given(b.take_in)}"
    form = tablet.get(address).form()
    typed = {"mass_mg": "250 g", "note": NOTE}
    with impatient(app), somebody_writing(book), unchanged():
        page = tablet.send(form, address, **typed)
    assert page.status == 503
    assert "Somebody else is writing just now" in page.summary
    assert "Nothing was written; send it once more." in page.summary
    assert kept_as_typed(page)
    assert page.form().values["key"] == form.values["key"]  # so that it is written once for sure
    assert tablet.send(page.form(), address).status == 303
    with book.reading() as session:
        assert sum(b.all_stock(session).values()) == 750 * b.G
    assert is_clean(book)


def test_an_undo_that_has_to_wait_too_long_is_a_page_that_says_so(
    app: Flask, tablet: Tablet, given: Given, book: Book, unchanged: Unchanged
) -> None:
    given(b.take_in)
    form = next(f for f in tablet.get("/operations/1").forms if f.action.endswith("/undo"))
    with impatient(app), somebody_writing(book), unchanged():
        page = tablet.send(form, "/")
    assert page.status == 503
    assert "Nothing was written" in page.words
    assert tablet.send(form, "/").status == 303


def test_pages_are_read_while_somebody_writes(
    app: Flask, tablet: Tablet, given: Given, book: Book
) -> None:
    ref = given(b.take_in)
    with impatient(app), somebody_writing(book):
        for address in ("/", "/lots", "/history", "/places", f"/write/eat?from={ref}"):
            assert tablet.get(address).status == 200


def test_no_word_of_the_database_reaches_page_or_log(
    app: Flask, tablet: Tablet, given: Given, book: Book, caplog: pytest.LogCaptureFixture
) -> None:
    address = f"/write/eat?from={given(b.take_in)}"
    form = tablet.get(address).form()
    with caplog.at_level(logging.INFO), impatient(app), somebody_writing(book):
        page = tablet.send(form, address)
    for text in (page.html, caplog.text):
        assert "locked" not in text
        assert "Traceback" not in text
    assert "Somebody else is writing" in caplog.text


# -- a full disk -------------------------------------------------------------------------------


@only_a_file
def test_a_full_disk_is_said_writes_nothing_and_keeps_what_was_typed(
    app: Flask, tablet: Tablet, given: Given, book: Book, unchanged: Unchanged
) -> None:
    address = f"/write/eat?from={given(b.take_in)}"
    with closing(sqlite3.connect(book.path)) as connection:
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
    written = 0
    with impatient(app, f"PRAGMA max_page_count={pages}"):
        for _ in range(100):
            form = tablet.get(address).form()
            page = tablet.send(form, address, mass_mg="1 g", note=LONGEST)
            if page.status != 303:
                break
            written += 1
        with unchanged():
            page = tablet.send(form, address, mass_mg="1 g", note=LONGEST)
    assert page.status == 507
    assert "The disk of the server is full. Nothing was written." in page.summary
    assert page.typed("note") == [LONGEST.strip()]
    with book.reading() as session:
        assert sum(b.all_stock(session).values()) == (1000 - written) * b.G
    assert is_clean(book)
    assert tablet.send(page.form(), address).status == 303  # there is room again


# -- a file that may not be written ------------------------------------------------------------


@only_a_file
@pytest.mark.parametrize("kind", ["eat", "trim", "move", "measure"])
def test_a_read_only_file_is_said_and_keeps_what_was_typed(
    app: Flask, tablet: Tablet, given: Given, book: Book, unchanged: Unchanged, kind: str
) -> None:
    address = f"/write/{kind}?from={given(b.take_in)}"
    form = tablet.get(address).form()
    sensible = {"trim": {"made_mg": "1000"}, "move": {"place_id": b.FREEZER}}
    typed = {"measure": {"water": "70"}, **sensible}.get(kind, {})
    with impatient(app, "PRAGMA query_only=ON"), unchanged():
        page = tablet.send(form, address, note=NOTE, **typed)
    assert page.status == 503, page.summary
    assert "is not let to write the data file" in page.summary
    assert page.typed("note") == [NOTE]
    assert tablet.send(page.form(), address).status == 303
    assert is_clean(book)


@only_a_file
def test_a_folder_that_is_gone_is_a_page_that_says_so(
    app: Flask, tablet: Tablet, book: Book
) -> None:
    lost = Book(book.path.parent / "unmounted" / "stillroom.db", wait_ms=20)
    app.extensions["stillroom.book"] = lost
    page = tablet.get("/lots")
    app.extensions["stillroom.book"] = book
    assert page.status == 503
    assert "The ledger cannot be written" in page.words


@only_a_file
def test_a_page_that_cannot_even_be_read_keeps_what_was_typed(
    app: Flask, tablet: Tablet, given: Given, book: Book
) -> None:
    address = f"/write/eat?from={given(b.take_in)}"
    form = tablet.get(address).form()
    app.extensions["stillroom.book"] = Book(book.path.parent / "unmounted" / "stillroom.db")
    page = tablet.send(form, address, mass_mg="250 g", note=NOTE)
    app.extensions["stillroom.book"] = book
    assert page.status == 503
    kept = page.form("once-more")
    assert kept.values["note"] == NOTE
    assert [tablet.send(kept, address).status for _ in range(2)] == [303, 303]
    with book.reading() as session:
        assert sum(b.all_stock(session).values()) == 750 * b.G


def test_a_database_that_does_not_answer_is_said_on_the_page(
    app: Flask, tablet: Tablet, given: Given, book: Book
) -> None:
    address = f"/write/eat?from={given(b.take_in)}"
    form = tablet.get(address).form()
    away = Book(where_of("postgresql://nobody@127.0.0.1:1/none"), wait_ms=20)
    app.extensions["stillroom.book"] = away
    page = tablet.get("/lots")
    app.extensions["stillroom.book"] = book
    away.close()
    assert page.status == 503
    assert "The database does not answer" in page.words
    assert tablet.send(form, address, mass_mg="1 g").status == 303


# -- what is ours to mend is not called the machine's ------------------------------------------


@only_a_file
def test_a_fault_of_ours_stays_a_fault(book: Book) -> None:
    with closing(sqlite3.connect(book.path)) as connection:
        for statement in ("SELECT * FROM nothing", "INSERT INTO person (id, name) VALUES (1, 'x')"):
            with pytest.raises(sqlite3.Error) as caught:
                connection.execute(statement)
            assert hindrance_of(caught.value) is None
    assert hindrance_of(ValueError("no")) is None


@only_a_file
def test_a_lock_is_known_by_its_code_not_by_its_words(book: Book) -> None:
    with closing(sqlite3.connect(book.path, timeout=0)) as connection, somebody_writing(book):
        with pytest.raises(sqlite3.OperationalError) as caught:
            connection.execute("BEGIN IMMEDIATE")
        assert hindrance_of(caught.value) is Hindrance.BUSY
