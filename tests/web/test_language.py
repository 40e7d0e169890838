"""Each person reads the pages in a language of their own; without one the browser is asked."""

import json
import re

import pytest
from flask import Flask
from sqlalchemy import select

from app.ledger.book import Book
from app.ledger.models import Packaging, Person, Place
from app.web.script_words import script_words
from tests import builders
from tests.language.brackets import CODE, NAME, speak_in_brackets
from tests.language.catalogue import gathered
from tests.web.pages import Page, Tablet


@pytest.fixture(autouse=True)
def _brackets(monkeypatch: pytest.MonkeyPatch) -> None:
    speak_in_brackets(monkeypatch)


def writes_here(tablet: Tablet, person: int) -> None:
    """Say who writes on this device."""
    form = next(f for f in tablet.get("/household").forms if f.action == "/household/writer")
    tablet.send(form, "/household", person=str(person))


def reads(tablet: Tablet, code: str) -> Page:
    """Choose a language on the household's page."""
    form = next(f for f in tablet.get("/household").forms if f.action == "/household/language")
    return tablet.send(form, "/household", language=code)


def heading(app: Flask, **headers: str) -> str:
    """The heading of the papers, as somebody unknown gets it."""
    page = app.test_client().get("/papers", headers=headers).get_data(as_text=True)
    found = re.search(r"<h1>(.*?)</h1>", page)
    assert found
    return found[1]


def test_each_person_reads_a_language_of_their_own(tablet: Tablet, app: Flask, book: Book) -> None:
    writes_here(tablet, builders.EWAN)
    assert reads(tablet, CODE).location == "/household#language"
    assert "⟦That is the language wherever you write.⟧" in tablet.get("/household").words
    other = Tablet(app)
    assert "⟦" not in other.get("/papers").words  # nobody in particular
    writes_here(other, builders.EWAN)
    assert "⟦Papers⟧" in other.get("/papers").words  # on every device of theirs
    reads(tablet, "")
    assert "⟦" not in other.get("/papers").words
    with book.reading() as session:
        assert session.scalars(select(Person.language)).all() == [None, None]


def test_who_takes_over_is_answered_in_their_own_language(tablet: Tablet) -> None:
    writes_here(tablet, builders.EWAN)
    reads(tablet, CODE)
    form = next(f for f in tablet.get("/household").forms if f.action == "/household/writer")
    tablet.send(form, "/household", person="0")
    assert "Entries from this device are written without a name." in tablet.get("/household").words


def test_a_browser_is_answered_in_the_first_language_it_asks_for_that_we_speak(app: Flask) -> None:
    assert heading(app) == "Papers"
    assert heading(app, **{"Accept-Language": "fr, xx;q=0.8, en;q=0.5"}) == "⟦Papers⟧"
    assert heading(app, **{"Accept-Language": "en-GB, xx;q=0.8"}) == "Papers"
    assert heading(app, **{"Accept-Language": "fr"}) == "Papers"


def test_the_language_of_a_person_goes_before_that_of_the_browser(app: Flask) -> None:
    tablet = Tablet(app)
    writes_here(tablet, builders.EWAN)
    reads(tablet, CODE)
    answer = tablet.client.get("/papers", headers={"Accept-Language": "en"})
    assert "⟦Papers⟧" in answer.get_data(as_text=True)


def test_a_page_says_which_language_it_speaks_and_what_that_depends_on(app: Flask) -> None:
    answer = app.test_client().get("/papers", headers={"Accept-Language": CODE})
    assert f'<html lang="{CODE}">' in answer.get_data(as_text=True)
    assert answer.headers["Content-Language"] == CODE
    assert {"accept-language", "cookie"} <= {name.lower() for name in answer.vary}


def test_languages_are_asked_only_of_somebody_and_must_be_spoken(tablet: Tablet) -> None:
    assert not [f for f in tablet.get("/household").forms if f.action == "/household/language"]
    writes_here(tablet, builders.EWAN)
    assert NAME in tablet.get("/household").words
    form = next(f for f in tablet.get("/household").forms if f.action == "/household/language")
    assert tablet.send(form, "/household", language="tlh").status == 400
    assert tablet.post("/household/language", {"language": CODE}).status == 400


def test_where_only_one_language_is_spoken_nobody_is_asked(
    tablet: Tablet, monkeypatch: pytest.MonkeyPatch
) -> None:
    writes_here(tablet, builders.EWAN)
    monkeypatch.setattr("app.language.LANGUAGES", {"en": "English"})
    monkeypatch.setattr("app.web.household.views.LANGUAGES", {"en": "English"})
    assert "Language you read" not in tablet.get("/household").words


def test_a_page_carries_the_words_of_its_scripts(app: Flask) -> None:
    page = app.test_client().get("/scan", headers={"Accept-Language": CODE})
    found = re.search(r'id="script-words">(.*?)</script>', page.get_data(as_text=True))
    assert found
    assert json.loads(found[1])["{number} bowls"] == "⟦{number} bowls⟧"
    assert "script-words" not in app.test_client().get("/scan").get_data(as_text=True)


def test_no_text_of_a_script_is_left_out() -> None:
    of_scripts = {
        text
        for message in gathered()
        if message.id and any(file.endswith(".js") for file, _line in message.locations)
        for text in ([message.id] if isinstance(message.id, str) else message.id)
    }
    assert len(of_scripts) > 10
    assert of_scripts <= set(script_words())


def test_a_refusal_is_said_in_the_readers_language(app: Flask) -> None:
    tablet = Tablet(app)
    writes_here(tablet, builders.EWAN)
    reads(tablet, CODE)
    answer = tablet.fill("/household/person/new", name="Ewan")
    assert "⟦There is a “Ewan” already.⟧" in answer.words


def test_ready_made_places_and_packages_are_called_in_the_language_of_the_first_run(
    new_app: Flask,
) -> None:
    tablet = Tablet(new_app)
    tablet.client.environ_base["HTTP_ACCEPT_LANGUAGE"] = CODE
    page = tablet.get("/first-run")
    assert "⟦Chest freezer⟧, −18 °C (0 °F)" in page.words
    answer = tablet.fill(
        "/first-run", name="Upland", people="Ewan", altitude="310", time_zone="Europe/London"
    )
    assert answer.status == 303
    book: Book = new_app.extensions["stillroom.book"]
    with book.reading() as session:
        assert "⟦Chest freezer⟧" in session.scalars(select(Place.name)).all()
        assert "⟦Glass jar, 1 l⟧" in session.scalars(select(Packaging.name)).all()
