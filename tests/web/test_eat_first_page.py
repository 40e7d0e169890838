"""The home page: what to eat this week, what to process, and what keeps."""

import re
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import date, timedelta
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import event

from app.ledger.book import Book
from app.ledger.codes import code_of
from app.ledger.stock import StockRef
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]
Unchanged = Callable[[], AbstractContextManager[None]]


def group(page: Page, name: str) -> str:
    """The words of one group of the page."""
    return page.inside(name)


@contextmanager
def counted(book: Book) -> Iterator[list[str]]:
    """Every query sent to the data file."""
    sent: list[str] = []

    def note(_c: Any, _cursor: Any, statement: str, *_: Any) -> None:
        sent.append(statement)

    event.listen(book.engine, "before_cursor_execute", note)
    try:
        yield sent
    finally:
        event.remove(book.engine, "before_cursor_execute", note)


def test_an_empty_ledger_says_what_to_do_first(tablet: Tablet) -> None:
    page = tablet.get("/")
    assert "Nothing is in the ledger yet" in page.words
    assert any(a["href"].startswith("/write/intake") for tag, a in page.tags if tag == "a")


def test_before_the_household_is_set_up_every_page_leads_to_the_first_one(new_app: Flask) -> None:
    tablet = Tablet(new_app)
    for address in ("/", "/lots", "/write/intake", "/labels"):
        answer = tablet.get(address)
        assert (answer.status, answer.location) == (303, "/first-run")


def test_fresh_meat_stands_under_this_week_and_frozen_meat_keeps(
    tablet: Tablet, given: Given
) -> None:
    given(b.take_in, name="Moose steak")
    given(b.take_in, b.PORK, name="Pork shoulder", place=b.FREEZER)
    page = tablet.get("/")
    assert "Moose steak" in group(page, "this_week")
    assert "Pork shoulder" in group(page, "later")
    assert "2 lots, 2.00 kg on hand" in page.words


def test_an_old_packet_in_the_freezer_is_to_be_processed(tablet: Tablet, given: Given) -> None:
    given(
        b.take_in,
        name="Moose trim, old packet",
        place=b.FREEZER,
        harvest=(b.OLD, b.OLD),
        kept_since=b.OLD,
    )
    page = tablet.get("/")
    assert "Moose trim, old packet" in group(page, "process")
    assert "raw" in group(page, "process")


def test_the_soonest_stands_first(tablet: Tablet, given: Given) -> None:
    on = b.TODAY - timedelta(days=1)
    given(b.take_in, name="Taken in today")
    given(b.take_in, name="Taken in yesterday", on=on)
    words = group(tablet.get("/"), "this_week")
    assert words.index("Taken in yesterday") < words.index("Taken in today")


def test_food_in_a_dryer_is_on_the_bench_and_not_here(tablet: Tablet, given: Given) -> None:
    cooked = given(b.cooked, name="Moose in the dryer")
    given(b.loaded, b.a_tray(cooked, 1000))
    assert "Moose in the dryer" not in tablet.get("/").words
    assert "Moose in the dryer" in tablet.get("/bench").words


def test_a_month_later_a_pouch_is_eaten_and_is_gone(
    tablet: Tablet, book: Book, given: Given, clock: HandClock
) -> None:
    pouch = given(b.pouches)[0]
    clock.forward(days=30)
    answer = tablet.fill(f"/write/eat?from={pouch}")
    assert (answer.status, answer.location) == (303, "/")
    page = tablet.get("/")
    assert "Eaten." in page.words
    assert "2 packages, 160 g" in page.words
    with book.reading() as session:
        assert b.on_hand(session, pouch) == 0


def test_two_tablets_that_eat_one_pouch_eat_it_once_and_the_second_is_told(
    app: Flask, book: Book, given: Given, clock: HandClock, unchanged: Unchanged
) -> None:
    pouches = given(b.pouches)
    clock.forward(days=30)
    first, second = Tablet(app), Tablet(app)
    address = f"/write/eat?from={pouches[0]}"
    forms = [tablet.get(address).form() for tablet in (first, second)]
    assert first.send(forms[0], address).status == 303
    with unchanged():
        told = second.send(forms[1], address, note="for the hut")
    assert told.status == 422
    assert "not on hand any more" in told.beside("refs")
    assert told.typed("note") == ["for the hut"]
    with book.reading() as session:
        assert b.mass_of(session, pouches) == 160 * b.G


def test_a_second_tap_on_the_same_form_eats_one_pouch_and_leads_to_the_same_page(
    tablet: Tablet, book: Book, given: Given, clock: HandClock
) -> None:
    pouches = given(b.pouches)
    clock.forward(days=30)
    address = f"/write/eat?from={pouches[0]}"
    form = tablet.get(address).form()
    answers = [tablet.send(form, address) for _ in range(3)]
    assert {(answer.status, answer.location) for answer in answers} == {(303, "/")}
    with book.reading() as session:
        assert b.mass_of(session, pouches) == 160 * b.G
    assert "it stands in the ledger once" in tablet.get("/").words


def test_dates_are_called_quality_and_never_safety(tablet: Tablet, given: Given) -> None:
    given(b.take_in, place=b.FREEZER)
    words = tablet.get("/").words
    assert "Dates are about quality, not safety." in words
    assert not re.search(r"\bsafe (?:to|until|for)\b", words)


def test_every_row_leads_to_its_lot_and_to_its_next_step(tablet: Tablet, given: Given) -> None:
    meat: StockRef = given(b.take_in)
    page = tablet.get("/")
    targets = {a["href"] for tag, a in page.tags if tag == "a"}
    assert f"/lots/{code_of(meat.lot_id)}" in targets
    assert any(target.startswith("/write/") and str(meat) in target for target in targets)


@pytest.mark.parametrize("address", ["/", "/lots", "/bench", "/labels"])
def test_a_list_asks_as_often_for_sixty_lots_as_for_ten(
    tablet: Tablet, book: Book, given: Given, address: str
) -> None:
    def more(session: Any, count: int) -> None:
        for number in range(count):
            place = (b.FREEZER, b.FRIDGE, b.BENCH)[number % 3]
            b.take_in(session, name=f"Moose trim {number}", place=place, on=date(2025, 10, 1))

    asked = []
    for count in (10, 50):
        given(more, count)
        tablet.get(address)  # templates are read from disk once
        with counted(book) as queries:
            page = tablet.get(address)
        asked.append(len(queries))
    assert page.words.count("Moose trim") >= 20  # on the bench only what is there
    assert asked[0] == asked[1]
