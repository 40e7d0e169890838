"""What a form that a script sends is answered, now and later."""

from typing import Any

import pytest
from sqlalchemy import func, select
from werkzeug.test import TestResponse

from app.ledger.book import Book
from app.ledger.models import Operation
from app.ledger.stock import StockRef
from tests import builders as b
from tests.web.pages import Tablet

SAID = "Eaten"


@pytest.fixture
def food(given: Any) -> StockRef:
    """Two pounds of moose that somebody can eat of."""
    ref: StockRef = given(b.take_in, place=b.FREEZER)
    return ref


def eat(tablet: Tablet, food: StockRef, how: str, mass: str = "100 g") -> TestResponse:
    """Send the form of eating as a script does."""
    address = f"/write/eat?from={food}"
    form = tablet.get(address).form()
    values = form.values.copy()
    values["mass_mg"] = mass
    return tablet.client.post(
        address, data=values, headers={"X-Stillroom-Sent": how} if how else {}
    )


def operations(book: Book) -> int:
    with book.reading() as session:
        return session.scalar(select(func.count(Operation.id))) or 0


def test_a_form_that_a_browser_sends_is_led_on_as_ever(tablet: Tablet, food: StockRef) -> None:
    answer = eat(tablet, food, "")
    assert answer.status_code == 303
    assert "X-Stillroom-Answer" not in answer.headers


def test_a_script_is_told_where_to_go_and_the_next_page_says_what_was_done(
    tablet: Tablet, food: StockRef, book: Book
) -> None:
    before = operations(book)
    answer = eat(tablet, food, "now")
    assert answer.status_code == 200
    assert answer.headers["X-Stillroom-Answer"] == "told"
    assert answer.headers["Cache-Control"] == "no-store"
    told = answer.get_json()
    assert told["written"] is True
    assert "answer" not in told
    assert SAID in tablet.get(told["location"]).words
    assert operations(book) == before + 1


def test_what_is_sent_later_brings_its_words_and_undo_along_and_no_page_repeats_them(
    tablet: Tablet, food: StockRef, book: Book
) -> None:
    told = eat(tablet, food, "later").get_json()
    assert SAID in told["answer"]
    assert f'action="/operations/{operations(book)}/undo"' in told["answer"]
    assert "csrf_token" in told["answer"]
    page = tablet.client.get("/bench").get_data(as_text=True)
    assert 'class="flash"' not in page


def test_what_is_sent_twice_is_told_as_written_and_stands_once(
    tablet: Tablet, food: StockRef, book: Book
) -> None:
    before = operations(book)
    address = f"/write/eat?from={food}"
    values = tablet.get(address).form().values.copy()
    values["mass_mg"] = "100 g"
    answers = [
        tablet.client.post(address, data=values, headers={"X-Stillroom-Sent": "later"}).get_json()
        for _ in range(2)
    ]
    assert [told["written"] for told in answers] == [True, True]
    assert "written already" in answers[1]["answer"]
    assert answers[0]["location"] == answers[1]["location"]
    assert operations(book) == before + 1


@pytest.mark.parametrize("how", ["now", "later"])
def test_a_form_that_is_refused_is_a_page_of_ours(
    tablet: Tablet, food: StockRef, how: str, book: Book
) -> None:
    before = operations(book)
    answer = eat(tablet, food, how, "900 kg")
    assert (answer.status_code, answer.headers["X-Stillroom-Answer"]) == (422, "page")
    assert operations(book) == before


def test_a_way_on_that_wrote_nothing_does_not_pass_for_an_entry(tablet: Tablet, book: Book) -> None:
    before = operations(book)
    answer = tablet.client.post(
        "/household/writer", data={"person": "0"}, headers={"X-Stillroom-Sent": "later"}
    )
    told = answer.get_json(silent=True)
    assert told is None or (told["written"] is False and "answer" not in told)
    assert operations(book) == before


def test_the_cookie_outlives_the_browser_so_that_a_form_kept_overnight_is_known(
    tablet: Tablet, food: StockRef
) -> None:
    answer = tablet.client.get(f"/write/eat?from={food}")
    cookie = next(c for c in answer.headers.getlist("Set-Cookie") if c.startswith("stillroom="))
    assert "Expires=" in cookie
