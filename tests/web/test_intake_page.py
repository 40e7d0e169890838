"""Taking food in: weighed bowl by bowl, with where it came from."""

from collections.abc import Callable
from contextlib import AbstractContextManager

import pytest
from sqlalchemy import select, update

from app.ledger.book import Book
from app.ledger.codes import lot_id_of
from app.ledger.models import GameStory, Household, Lot, LotAllergen, Source, Weighing
from tests import builders
from tests.web.conftest import HandClock
from tests.web.pages import Page, Tablet

PAGE = "/write/intake"
MOOSE = {
    "name": "Moose trim",
    "food": "Game meat, moose, raw (17172)",
    "source_name": "Moose bull",
    "bowls__0__gross": "2431",
    "bowls__0__tare": "412",
    "cwd_status": "not detected",
}
Unchanged = Callable[[], AbstractContextManager[None]]


def lot_at(book: Book, page: Page) -> Lot:
    """The lot whose page an answer leads to."""
    with book.reading() as session:
        lot = session.get_one(Lot, lot_id_of(page.location.rsplit("/", 1)[1]))
        session.expunge(lot)
    return lot


def test_five_bowls_become_one_lot_of_their_net_weights(tablet: Tablet, book: Book) -> None:
    gross = ("2431", "2388 g", "2.702 kg", "2195", "1544")
    bowls = {f"bowls__{i}__gross": text for i, text in enumerate(gross)}
    bowls |= {f"bowls__{i}__tare": "412" for i in range(5)}
    page = tablet.fill(PAGE, **(MOOSE | bowls), tag="M-17", from_whom="Hunting team")
    assert page.status == 303
    shown = tablet.get(page.location)
    assert "9.20 kg" in shown.words  # 2431 + 2388 + 2702 + 2195 + 1544 - 5 × 412
    assert "2.702 kg less 412" in shown.words  # kept as typed
    with book.reading() as session:
        nets = [w.gross_mg - w.tare_mg for w in session.scalars(select(Weighing))]
    assert sum(nets) == 9_200_000


def test_the_answer_leads_to_the_new_lot_and_says_its_code(tablet: Tablet) -> None:
    page = tablet.fill(PAGE, **MOOSE)
    shown = tablet.get(page.location)
    code = page.location.rsplit("/", 1)[1]
    spoken = f"{code[:2]}-{code[2:4]}-{code[4:]}"
    assert f"Taken in: Moose trim is {spoken}." in shown.words


@pytest.mark.parametrize(
    ("typed", "mass_mg"),
    [("4 lb 6 oz", 1_984_467), ("2 lb", 907_185), ("1,375 kg", 1_375_000), ("6½ oz", 184_272)],
)
def test_a_weight_in_any_unit_of_a_kitchen_scale_is_kept_as_typed(
    tablet: Tablet, book: Book, typed: str, mass_mg: int
) -> None:
    tablet.fill(PAGE, **(MOOSE | {"bowls__0__gross": typed, "bowls__0__tare": ""}))
    with book.reading() as session:
        weighings = session.execute(select(Weighing.gross_typed, Weighing.gross_mg)).all()
    assert weighings == [(typed, mass_mg)]


def test_tag_giver_and_a_harvest_known_to_the_month_stay_with_the_lot(
    tablet: Tablet, book: Book
) -> None:
    page = tablet.fill(PAGE, **MOOSE, tag="M-17", from_whom="Hunting team", harvest="2025-10")
    lot = lot_at(book, page)
    with book.reading() as session:
        source = session.get_one(Source, lot.source_id)
        assert (source.tag, source.from_whom) == ("M-17", "Hunting team")
    assert (str(lot.harvest_from), str(lot.harvest_to)) == ("2025-10-01", "2025-10-31")
    assert "1 October 2025 to 31 October 2025" in tablet.get(page.location).words


def test_meat_is_raw_until_somebody_says_cooked(tablet: Tablet, book: Book) -> None:
    assert lot_at(book, tablet.fill(PAGE, **MOOSE)).is_raw
    assert not lot_at(book, tablet.fill(PAGE, **MOOSE, state="cooked")).is_raw


def test_allergens_that_are_ticked_stay_with_the_lot(tablet: Tablet, book: Book) -> None:
    lot = lot_at(book, tablet.fill(PAGE, **MOOSE, allergens=["celery", "mustard"]))
    query = select(LotAllergen.allergen).where(LotAllergen.lot_id == lot.id)
    with book.reading() as session:
        assert set(session.scalars(query)) == {"celery", "mustard"}


def test_a_packet_that_names_no_allergen_is_told_from_one_nobody_looked_at(
    tablet: Tablet, book: Book
) -> None:
    told = tablet.fill(PAGE, **MOOSE, allergens=["none"]).location
    assert "None of the fourteen allergens" in tablet.get(told).words
    nobody = tablet.fill(PAGE, **MOOSE).location
    assert "None of the fourteen allergens" not in tablet.get(nobody).words
    with book.reading() as session:
        assert session.scalar(select(LotAllergen)) is None


def test_none_and_some_allergens_at_once_are_refused_beside_the_boxes(
    tablet: Tablet, unchanged: Unchanged
) -> None:
    with unchanged():
        page = tablet.fill(PAGE, **MOOSE, allergens=["none", "milk"])
    assert page.status == 422
    assert "Either none of these, or those that are in it." in page.beside("allergens")
    assert page.typed("allergens") == ["none", "milk"]


def test_one_more_row_keeps_what_was_typed_and_writes_nothing(
    tablet: Tablet, unchanged: Unchanged
) -> None:
    with unchanged():
        page = tablet.fill(PAGE, **MOOSE, add_bowl="1")
    assert page.status == 200
    assert page.typed("bowls-0-gross") == ["2431"]
    assert page.typed("bowls-5-gross") == [""]
    assert page.typed("name") == ["Moose trim"]


@pytest.mark.parametrize(
    ("field", "words", "changes"),
    [
        ("bowls-0-gross", "The empty bowl (2.50 kg)", {"bowls__0__tare": "2.5 kg"}),
        ("bowls-0-gross", "(2.43 kg)", {"bowls__0__tare": "2431"}),
        ("bowls-1-gross", "(100 g)", {"bowls__1__gross": "90", "bowls__1__tare": "100"}),
        ("bowls-0-gross", "“stone” is no unit", {"bowls__0__gross": "3 stone"}),
        ("bowls-0-gross", "“1,234” can be read in two ways", {"bowls__0__gross": "1,234"}),
        ("bowls-0-gross", "“nan” is no amount", {"bowls__0__gross": "nan"}),
        ("bowls-0-gross", "“inf” is no amount", {"bowls__0__gross": "inf"}),
        ("bowls-0-gross", "below nothing", {"bowls__0__gross": "-3"}),
        ("bowls-0-gross", "more than a kitchen can hold", {"bowls__0__gross": "9" * 39}),
        ("bowls-0-gross", "more than a kitchen can hold", {"bowls__0__gross": "9" * 5000}),
        ("bowls-0-gross", "“-5” is below nothing", {"bowls__0__tare": "-5"}),
        ("bowls", "needed", {"bowls__0__gross": "", "bowls__0__tare": ""}),
        ("name", "Give it a name", {"name": ""}),
        ("name", "Give it a name", {"name": "   "}),
        ("name", "Give it a name", {"name": "\x00"}),
        ("name", "At most 80 letters", {"name": "x" * 81}),
        ("tag", "At most 80 letters", {"tag": "x" * 100_000}),
        ("note", "At most 2,000 letters", {"note": "x" * 2001}),
        ("food", "Choose the nearest food", {"food": " "}),
        ("food", "No such food in the table", {"food": "unobtainable (99999)"}),
        ("done_on", "21 October 2025 is still to come", {"done_on": "2025-10-21"}),
        ("done_on", "is still to come", {"done_on": "9999-12-31"}),
        ("done_on", "from 1950 on", {"done_on": "0001-01-01"}),
        ("done_on", "Write the day as", {"done_on": "20.10.2025"}),
        ("done_on", "needed", {"done_on": ""}),
        (
            "done_on",
            "20 October 2025 is before the harvest (21 October 2025)",
            {"harvest": "2025-10-21"},
        ),
        ("done_on", "is before the harvest (1 January 2026)", {"harvest": "2026"}),
        ("harvest", "Write a year, a month or a day", {"harvest": "last autumn"}),
        ("harvest", "Write a year, a month or a day", {"harvest": "2025-02-30"}),
        ("kept_since", "is still to come", {"kept_since": "2026"}),
        ("fat", "between 0 and 99", {"fat": "nan"}),
        ("fat", "between 0 and 99", {"fat": "inf"}),
        ("fat", "between 0 and 99", {"fat": "-1"}),
        ("fat", "between 0 and 99", {"fat": "120"}),
        ("fat", "should be a number", {"fat": "lots"}),
        ("place_id", ".", {"place_id": "999"}),
        ("place_id", ".", {"place_id": "9" * 5000}),
        ("state", ".", {"state": "alive"}),
        ("allergens", ".", {"allergens": "moonlight"}),
    ],
)
def test_bad_input_is_said_beside_its_field_kept_as_typed_and_not_written(
    tablet: Tablet, unchanged: Unchanged, field: str, words: str, changes: dict[str, str]
) -> None:
    with unchanged():
        page = tablet.fill(PAGE, **(MOOSE | changes))
    assert page.status == 422
    assert words in page.beside(field)
    assert page.summary
    kept = {name: value for name, value in changes.items() if value.strip("\x00 ")}
    for name, value in kept.items():
        if name not in ("place_id", "state", "allergens"):  # a choice that is none is not shown
            assert page.typed(name.replace("__", "-")) == [value]
    others = {"name": ["Moose trim"], "source_name": ["Moose bull"]}
    for name, typed in others.items():
        assert name in changes or page.typed(name) == typed


def test_every_bowl_at_fault_is_named_at_once(tablet: Tablet, unchanged: Unchanged) -> None:
    bowls = {"bowls__2__gross": "300", "bowls__2__tare": "400"}
    with unchanged():
        page = tablet.fill(PAGE, **(MOOSE | bowls | {"bowls__0__tare": "2500"}))
    assert "2.43 kg" in page.beside("bowls-0-gross")
    assert "300 g" in page.beside("bowls-2-gross")
    assert not page.beside("bowls-1-gross")


def test_after_a_refusal_the_same_form_can_be_put_right_and_is_written_once(
    tablet: Tablet, book: Book
) -> None:
    refused = tablet.fill(PAGE, **(MOOSE | {"bowls__0__tare": "2500"}))
    written = tablet.send(refused.form(), PAGE, bowls__0__tare="412")
    assert written.status == 303
    with book.reading() as session:
        assert len(session.scalars(select(Lot)).all()) == 1


def test_the_day_is_the_day_of_the_household_not_of_greenwich(
    tablet: Tablet, clock: HandClock
) -> None:
    clock.now = builders.evening(builders.TODAY).replace(hour=23, minute=30)  # 00:30 in summer
    assert tablet.get(PAGE).typed("done_on") == ["2025-10-21"]


def test_a_household_of_us_units_types_ounces(tablet: Tablet, book: Book) -> None:
    from app.ledger.models import Household

    with book.writing() as session:
        session.get_one(Household, 1).units = "us"
    tablet.fill(PAGE, **(MOOSE | {"bowls__0__gross": "16", "bowls__0__tare": ""}))
    with book.reading() as session:
        assert session.scalars(select(Weighing.gross_mg)).all() == [453_592]


HARE = "Game meat, rabbit, wild, raw (17180)"
HUTCH = "Game meat, rabbit, domesticated, composite of cuts, raw (17177)"


def asked(page: Page) -> set[str]:
    """Which groups of questions stand on the page, open or closed."""
    parts = [a for tag, a in page.tags if tag == "details" and a.get("id")]
    return {a["id"] if "open" in a else f"{a['id']} closed" for a in parts}


def test_before_a_food_is_chosen_the_questions_of_game_and_fish_are_folded_away(
    tablet: Tablet,
) -> None:
    assert asked(tablet.get(PAGE)) == {"game closed", "fish closed"}


def test_farm_meat_and_produce_bring_no_question(tablet: Tablet) -> None:
    for food in ("Pork, fresh, ground, raw (10219)", "Apples, raw (09003)", HUTCH):
        typed = MOOSE | {"food": food, "name": "From the farm", "cwd_status": "unknown"}
        refused = tablet.fill(PAGE, **(typed | {"bowls__0__gross": "what"}))
        assert asked(refused) == set()
        assert tablet.fill(PAGE, **typed).status == 303


def test_a_hare_is_asked_for_its_story_but_not_for_the_test_of_deer(tablet: Tablet) -> None:
    typed = MOOSE | {"food": HARE, "name": "Hare", "bowls__0__gross": "what"}
    page = tablet.fill(PAGE, **typed)
    assert asked(page) == {"game"}
    assert "ammunition" in page.form().values
    assert "cwd_status" not in page.form().values


def test_moose_of_which_nobody_knows_more_is_asked_about_and_a_reason_lets_it_in(
    tablet: Tablet, book: Book, unchanged: Unchanged
) -> None:
    with unchanged():
        page = tablet.fill(PAGE, **(MOOSE | {"cwd_status": "unknown"}), ammunition="lead")
    assert page.status == 422
    assert "is it tested for chronic wasting disease" in page.words
    assert asked(page) == {"game"}
    assert page.typed("ammunition") == ["lead"]
    assert page.typed("bowls-0-gross") == ["2431"]
    assert page.beside("reason") == "Give a reason to go on."
    written = tablet.send(page.form(), PAGE, reason="a share of the team's animal")
    assert written.status == 303
    lot = lot_at(book, written)
    with book.reading() as session:
        assert session.get_one(GameStory, lot.source_id).ammunition == "lead"
        assert session.get_one(Source, lot.source_id).taken_with_lead


def test_with_a_result_awaited_the_answer_says_that_the_lot_is_on_hold(tablet: Tablet) -> None:
    page = tablet.fill(PAGE, **(MOOSE | {"cwd_status": "test awaited"}))
    assert page.status == 303
    assert "It is on hold: a test result is awaited." in tablet.get(page.location).words


def test_a_sick_animal_is_written_only_as_held(tablet: Tablet) -> None:
    page = tablet.fill(PAGE, **(MOOSE | {"food": HARE, "name": "Hare"}), looked_sick="y")
    words = tablet.get(page.location).words
    assert "It is on hold: the animal looked sick or was found dead." in words


def test_fahrenheit_typed_as_celsius_is_asked_about_and_stands_with_a_reason(
    tablet: Tablet,
) -> None:
    page = tablet.fill(PAGE, **MOOSE, hours_to_cold="9", centre="38 C")
    assert page.status == 422
    assert "Did you mean 38 °F (3.3 °C)?" in page.words
    assert page.typed("centre") == ["38 C"]
    assert tablet.send(page.form(), PAGE, centre="38 F").status == 303


def test_a_mackerel_warm_for_hours_is_stopped_and_what_was_typed_stays(
    tablet: Tablet, unchanged: Unchanged
) -> None:
    typed = MOOSE | {"food": "Fish, trout, mixed species, raw (15114)", "name": "Mackerel"}
    with unchanged():
        page = tablet.fill(PAGE, **typed, warm_hours="3")
    assert page.status == 422
    assert "histamine may have formed" in page.summary
    assert page.typed("warm_hours") == ["3"]


def test_elsewhere_the_test_of_deer_is_no_question(tablet: Tablet, book: Book) -> None:
    with book.writing() as session:
        session.execute(update(Household).values(rule_set="uk"))
    assert "Test for chronic wasting disease" not in tablet.get(PAGE).words
    assert tablet.fill(PAGE, **(MOOSE | {"cwd_status": None})).status == 303


def test_a_deer_known_only_by_its_name_is_asked_for_its_test_too(tablet: Tablet) -> None:
    typed = {"food": "Game meat, antelope, raw (17144)", "name": "Roe deer", "cwd_status": None}
    page = tablet.fill(PAGE, **(MOOSE | typed))
    assert page.status == 422
    assert "cwd_status" in page.form().values
