"""The household's page: who writes, what is owned, and settings that move windows."""

from collections.abc import Callable
from contextlib import AbstractContextManager

import pytest
from flask import Flask
from sqlalchemy import select

from app.ledger.book import Book
from app.ledger.codes import code_of
from app.ledger.models import Absorber, Bowl, Estimate, Household, Packaging, Person
from app.science.packaging import pouch_geometry
from tests import builders
from tests.web.pages import Page, Tablet

Unchanged = Callable[[], AbstractContextManager[None]]


def test_the_page_shows_what_the_household_told_us(tablet: Tablet) -> None:
    words = tablet.get("/household").words
    for word in ("Birkbrae", "310 m (1017 ft)", "Europe/London", "Blue bowl", "300 g", "Ailsa"):
        assert word in words
    assert "300, for moist food only with moist food 300 cc" in words


def test_the_altitude_is_in_feet_first_where_units_are_american(tablet: Tablet) -> None:
    tablet.fill("/household/settings", units="us")
    assert "1017 ft (310 m)" in tablet.get("/household").words


def test_who_writes_here_stands_beside_what_is_written(tablet: Tablet, book: Book) -> None:
    form = next(f for f in tablet.get("/household").forms if f.action == "/household/writer")
    assert tablet.send(form, "/household", person=str(builders.EWAN)).location == "/household"
    assert "Ewan writes on this device." in tablet.get("/household").words
    with book.writing() as session:
        food = builders.take_in(session)
    eaten = tablet.fill(f"/write/eat?from={food}", refs=[str(food)], mass_mg="100 g")
    assert eaten.status == 303
    assert "Eaten no. 2 · 20 October 2025, by Ewan" in tablet.get("/history").words


def test_nobody_in_particular_may_write_too(tablet: Tablet) -> None:
    form = next(f for f in tablet.get("/household").forms if f.action == "/household/writer")
    tablet.send(form, "/household", person=str(builders.EWAN))
    tablet.send(form, "/household", person="0")
    assert "without a name" in tablet.get("/household").words


@pytest.mark.parametrize("sent", [{"person": "1"}, {"person": "1", "csrf_token": "forged"}])
def test_a_writer_is_not_chosen_by_a_form_that_is_not_ours(
    tablet: Tablet, sent: dict[str, str]
) -> None:
    assert tablet.post("/household/writer", sent).status == 400


def test_somebody_unknown_cannot_write(tablet: Tablet) -> None:
    form = next(f for f in tablet.get("/household").forms if f.action == "/household/writer")
    assert tablet.send(form, "/household", person="99").status == 404


def writes_here(tablet: Tablet, person: int) -> None:
    form = next(f for f in tablet.get("/household").forms if f.action == "/household/writer")
    tablet.send(form, "/household", person=str(person))


def reads(tablet: Tablet, units: str) -> Page:
    form = next(f for f in tablet.get("/household").forms if f.action == "/household/units")
    return tablet.send(form, "/household", units=units)


def test_each_person_reads_units_of_their_own(tablet: Tablet, app: Flask, book: Book) -> None:
    with book.writing() as session:
        food = builders.take_in(session, mass_g=1000)
    lot = f"/lots/{code_of(food.lot_id)}"
    writes_here(tablet, builders.EWAN)
    assert reads(tablet, "us").location == "/household"
    assert "2 lb 3.3 oz (1.00 kg) on hand" in tablet.get(lot).words
    other = Tablet(app)
    assert "1.00 kg (2 lb 3.3 oz) on hand" in other.get(lot).words  # nobody in particular
    writes_here(other, builders.EWAN)
    assert "2 lb 3.3 oz (1.00 kg) on hand" in other.get(lot).words  # on every device of theirs
    reads(tablet, "")
    assert "1.00 kg (2 lb 3.3 oz) on hand" in other.get(lot).words


def test_what_a_person_types_without_a_unit_is_in_the_units_they_read(
    tablet: Tablet, book: Book
) -> None:
    with book.writing() as session:
        food = builders.take_in(session, mass_g=1000)
    writes_here(tablet, builders.EWAN)
    reads(tablet, "us")
    assert tablet.fill(f"/write/eat?from={food}", refs=[str(food)], mass_mg="4").status == 303
    with book.reading() as session:
        assert builders.on_hand(session, food) == 1_000_000 - 113_398


def test_units_are_asked_only_of_somebody_and_must_be_known(tablet: Tablet) -> None:
    assert not [f for f in tablet.get("/household").forms if f.action == "/household/units"]
    writes_here(tablet, builders.EWAN)
    form = next(f for f in tablet.get("/household").forms if f.action == "/household/units")
    assert tablet.send(form, "/household", units="stones").status == 400
    assert tablet.post("/household/units", {"units": "us"}).status == 400


def test_people_bowls_and_absorbers_are_added(tablet: Tablet, book: Book) -> None:
    assert tablet.fill("/household/person/new", name=" Isla ").location == "/household"
    assert "Added: Isla." in tablet.get("/household").words
    tablet.fill("/household/bowl/new", name="Steel bowl", tare_mg="11 oz")
    tablet.fill("/household/absorber/new", name="50 cc", rating_ml="50", kind="moist")
    with book.reading() as session:
        assert session.scalar(select(Person.id).where(Person.name == "Isla"))
        tare = session.scalar(select(Bowl.tare_mg).where(Bowl.name == "Steel bowl"))
        assert tare == 311_845
        absorber = session.scalars(select(Absorber).where(Absorber.name == "50 cc")).one()
        assert (absorber.rating_ml, absorber.is_self_activated) == (50.0, False)


def test_a_jar_is_added_by_what_it_holds(tablet: Tablet, book: Book) -> None:
    answer = tablet.fill(
        "/household/package/new", kind="glass_jar", name="Small jar", volume="1 pint"
    )
    assert answer.status == 303
    with book.reading() as session:
        jar = session.scalars(select(Packaging).where(Packaging.name == "Small jar")).one()
        assert (round(jar.volume_ml, 1), jar.area_cm2) == (473.2, None)


def test_a_pouch_is_added_by_its_width_and_height(tablet: Tablet, book: Book) -> None:
    answer = tablet.fill(
        "/household/package/new", kind="foil_pouch", name="Pouch", width="20", height="12 in"
    )
    assert answer.status == 303
    flat = pouch_geometry(0.20, 12 * 0.0254)
    with book.reading() as session:
        pouch = session.scalars(select(Packaging).where(Packaging.name == "Pouch")).one()
        assert pouch.area_cm2 == pytest.approx(2 * 20 * 30.48)
        assert pouch.volume_ml == pytest.approx(flat.volume_m3 * 1e6)


@pytest.mark.parametrize(
    ("answers", "field", "words"),
    [
        ({"kind": None}, "kind", "Choose one."),
        ({"volume": ""}, "volume", "Say how much it holds"),
        ({"volume": "lots"}, "volume", "is no amount"),
        ({"volume": "0 ml"}, "volume", "more than nothing"),
        ({"width": "20"}, "width", "Give both"),
        ({"width": "20", "height": "30"}, "width", "Only pouches and bags"),
        ({"kind": "zip_bag", "width": "1 mm", "height": "30"}, "width", "Measure again"),
        ({"name": "Glass jar, 1 l"}, "name", "There is a “Glass jar, 1 l” already."),
    ],
)
def test_a_package_that_cannot_be_is_refused_beside_its_field(
    tablet: Tablet, unchanged: Unchanged, answers: dict[str, str], field: str, words: str
) -> None:
    jar = {"kind": "glass_jar", "name": "Another jar", "volume": "1 l"}
    with unchanged():
        answer = tablet.fill("/household/package/new", **(jar | answers))
    assert answer.status == 422
    assert words in answer.beside(field)
    assert answer.typed("name") == [(jar | answers)["name"]]


def test_a_name_that_is_taken_is_refused(tablet: Tablet, unchanged: Unchanged) -> None:
    with unchanged():
        answer = tablet.fill("/household/bowl/new", name="Blue bowl", tare_mg="1 kg")
    assert (answer.status, answer.beside("name")) == (422, "There is a “Blue bowl” already.")
    assert answer.typed("tare_mg") == ["1 kg"]


def test_nothing_else_can_be_added(tablet: Tablet) -> None:
    assert tablet.get("/household/cannon/new").status == 404


def test_settings_start_as_they_are_and_change_what_was_changed(tablet: Tablet, book: Book) -> None:
    form = tablet.get("/household/settings").form()
    assert form.values["altitude"] == "310"
    assert form.values["label_width"] == "100 mm"
    answer = tablet.send(
        form, "/household/settings", label_width="4 in", scale_step_mg="5 g", rule_set="uk"
    )
    assert answer.location == "/household"
    with book.reading() as session:
        known = session.scalars(select(Household)).one()
        assert (round(known.label_width_mm, 1), known.scale_step_mg) == (101.6, 5_000)
        assert (known.rule_set, known.altitude_m, known.label_height_mm) == ("uk", 310.0, 62.0)


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("scale_step_mg", "0 g", "more than nothing"),
        ("label_width", "1 m", "between 20 and 300 mm"),
        ("label_height", "1 mm", "between 15 and 300 mm"),
        ("label_dpi", "72", "between 150 and 1200"),
        ("altitude", "-900", "−500 m"),
        ("time_zone", "Mars/Olympus", "No such zone"),
    ],
)
def test_settings_that_cannot_be_are_refused_and_stay_typed(
    tablet: Tablet, book: Book, field: str, typed: str, words: str
) -> None:
    answer = tablet.fill("/household/settings", name="Elsewhere", **{field: typed})
    assert answer.status == 422
    assert words in answer.beside(field)
    assert answer.typed(field) == [typed]
    with book.reading() as session:
        assert session.scalar(select(Household.name)) == "Birkbrae"


def test_settings_saved_untouched_in_feet_leave_the_altitude_as_it_was(
    tablet: Tablet, book: Book
) -> None:
    tablet.fill("/household/settings", units="us")
    assert tablet.get("/household/settings").form().values["altitude"] == "1017.1"
    tablet.fill("/household/settings")
    with book.reading() as session:
        assert session.scalar(select(Household.altitude_m)) == 310.0


def keys_of(book: Book) -> set[str]:
    with book.reading() as session:
        return set(session.scalars(select(Estimate.key)))


def test_a_new_altitude_works_every_window_out_again(tablet: Tablet, book: Book) -> None:
    with book.writing() as session:
        builders.pouches(session)
    before = keys_of(book)
    tablet.fill("/household/settings", name="Birkbrae Hill")
    assert keys_of(book) == before
    tablet.fill("/household/settings", altitude="2000")
    assert before
    assert not keys_of(book) & before
    assert "windows worked out again" in tablet.get("/household").words
