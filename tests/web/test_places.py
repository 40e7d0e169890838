"""Places: what lies there, how warm it is, and new ones."""

from collections.abc import Callable
from contextlib import AbstractContextManager

import pytest
from sqlalchemy import select

from app.ledger.book import Book
from app.ledger.models import Place
from tests import builders
from tests.web.pages import Tablet

Unchanged = Callable[[], AbstractContextManager[None]]


def place_named(book: Book, name: str) -> Place:
    with book.reading() as session:
        place = session.scalars(select(Place).where(Place.name == name)).one()
        session.expunge(place)
        return place


def test_every_place_says_how_warm_it_is_and_how_much_lies_there(
    tablet: Tablet, book: Book
) -> None:
    with book.writing() as session:
        builders.take_in(session, mass_g=2400, place=builders.FREEZER)
        builders.take_in(session, mass_g=600, place=builders.FREEZER)
    words = tablet.get("/places").words
    told = "as told when the place was added"
    assert f"Chest freezer Freezer −18 °C (−20 °C to −16 °C) {told} 2 3.00 kg" in words
    assert f"Pantry Shelf, pantry or cellar 15 °C (10 °C to 20 °C) {told} none nothing" in words


def test_a_place_shows_its_lots_with_what_they_need_next(tablet: Tablet, book: Book) -> None:
    with book.writing() as session:
        builders.take_in(session, mass_g=2400, place=builders.FREEZER, name="Moose trim")
        builders.take_in(session, builders.TROUT, 500, place=builders.FRIDGE, name="Trout")
    page = tablet.get(f"/places/{builders.FREEZER}")
    assert "Moose trim raw · 2.40 kg" in page.words
    assert "Best before" in page.words
    assert "2.40 kg (5 lb 4.7 oz) here" in page.words
    assert "Trout" not in page.words


def test_what_ends_first_stands_first(tablet: Tablet, book: Book) -> None:
    with book.writing() as session:
        builders.take_in(session, mass_g=500, place=builders.FREEZER, name="Fresh trim")
        builders.take_in(
            session, mass_g=500, place=builders.FREEZER, on=builders.OLD, name="Old trim"
        )
    words = tablet.get(f"/places/{builders.FREEZER}").words
    assert words.index("Old trim") < words.index("Fresh trim")


def test_an_empty_place_says_what_would_fill_it(tablet: Tablet) -> None:
    assert "Nothing lies here" in tablet.get(f"/places/{builders.PANTRY}").words
    assert "Load it tray by tray" in tablet.get(f"/places/{builders.FREEZE_DRYER}").words


def test_there_is_no_page_for_a_place_that_is_not(tablet: Tablet) -> None:
    page = tablet.get("/places/99")
    assert page.status == 404
    assert "Nothing here" in page.words


def test_a_place_measured_in_fahrenheit_is_kept_in_celsius(tablet: Tablet, book: Book) -> None:
    tablet.fill("/household/settings", units="us")
    answer = tablet.fill(
        "/places/new", name="Cellar", kind="room", usual="50", low="41", high="14 C", humidity="85"
    )
    assert answer.status == 303
    cellar = place_named(book, "Cellar")
    temps = [round(t, 6) for t in (cellar.temp_low_c, cellar.temp_c, cellar.temp_high_c)]
    assert (temps, cellar.relative_humidity) == ([5.0, 10.0, 14.0], 0.85)
    words = tablet.get(answer.location).words
    assert "50 °F (41 °F to 57.2 °F)" in words
    assert "Added: Cellar." in words


def test_where_nobody_measured_the_usual_is_taken_and_called_our_judgement(
    tablet: Tablet, book: Book
) -> None:
    assert "by our own judgement" in tablet.get("/places/new").words
    tablet.fill("/places/new", name="Upright freezer", kind="freezer")
    freezer = place_named(book, "Upright freezer")
    assert (freezer.temp_low_c, freezer.temp_c, freezer.temp_high_c) == (-20.0, -18.0, -15.0)


def test_a_dryer_has_trays_and_a_shelf_has_none(tablet: Tablet, book: Book) -> None:
    trays = {"tray_count": "6", "tray_length": "40", "tray_width": "30 cm"}
    tablet.fill("/places/new", name="Second box", kind="dehydrator", **trays)
    tablet.fill("/places/new", name="Shelf", kind="room", **trays)
    box, shelf = place_named(book, "Second box"), place_named(book, "Shelf")
    assert (box.tray_count, round(box.tray_area_m2 or 0, 6)) == (6, 0.12)
    assert (shelf.tray_count, shelf.tray_area_m2) == (None, None)


@pytest.mark.parametrize(
    ("answers", "field", "words"),
    [
        ({"name": ""}, "name", "Give it a name."),
        ({"name": "Pantry"}, "name", "There is a “Pantry” already."),
        ({"kind": None}, "kind", "Choose one."),
        ({"usual": "5", "low": "9"}, "usual", "must rise in that order"),
        ({"low": "9"}, "low", "Say how warm it usually is"),
        ({"usual": "warm"}, "usual", "is no amount"),
        ({"humidity": "140"}, "humidity", "between 0 and 100"),
        ({"tray_length": "40"}, "tray_width", "Give both"),
    ],
)
def test_a_place_that_cannot_be_is_refused_beside_its_field(
    tablet: Tablet, unchanged: Unchanged, answers: dict[str, str], field: str, words: str
) -> None:
    shelf = {"name": "Attic", "kind": "room"} | answers
    with unchanged():
        answer = tablet.fill("/places/new", **shelf)
    assert answer.status == 422
    assert words in answer.beside(field)
    assert answer.typed("name") == [shelf["name"]]
