"""Questions that rules ask at a step: shown where they matter, refused with what was typed kept."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import timedelta
from typing import Any

import hypothesis
import pytest
from flask import Flask
from hypothesis import strategies as st
from sqlalchemy import select
from wtforms import Form as WtForm

from app.ledger.book import Book
from app.ledger.codes import code_of, lot_id_of
from app.ledger.models import Checkpoint, Lot, LotAllergen, Operation, Reading
from app.ledger.operations.pack import pack
from app.web.operations.probe import ProbeField
from tests import builders as b
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]
Unchanged = Callable[[], AbstractContextManager[None]]


def page_of(kind: str, ref: object) -> str:
    """The address of an operation that starts from a row of stock."""
    return f"/write/{kind}?from={ref}"


def lot_at(book: Book, page: Page) -> Lot:
    """The lot whose page an answer leads to."""
    assert page.status == 303, page.summary
    with book.reading() as session:
        lot = session.get_one(Lot, lot_id_of(page.location.rsplit("/", 1)[1]))
        session.expunge(lot)
    return lot


def rules(book: Book, kind: str) -> dict[str, str]:
    """What the rules said at the newest operation of a kind."""
    with book.reading() as session:
        newest = session.scalar(
            select(Operation.id).where(Operation.kind == kind).order_by(Operation.id.desc())
        )
        query = select(Checkpoint.rule, Checkpoint.outcome).where(Checkpoint.operation_id == newest)
        return dict(session.execute(query).all())


# -- the readings of a probe ---------------------------------------------------------------------

COOKING = {"mass_mg": "1 kg", "made_mg": "900 g"}
LOGGED = (
    "Date;Time;Centre (°C)\n"
    "2025-10-20;17:00:00;60,5\n"
    "2025-10-20;17:02:00;72,0\n"
    "2025-10-20;17:04:00;73,1\n"
)


@pytest.mark.parametrize(
    "history",
    [
        "0 60\n2 72\n4 73",
        "0; 60,5\n2; 72,0\n4; 73,1",
        "0, 140 F\n2, 161 °F\n4, 163 F",
        "0\t60 °C\r\n2\t72 °C\r\n4\t---\r\n6\t73\r\n8\t72",
        LOGGED,
    ],
)
def test_a_pasted_history_that_holds_the_target_takes_the_raw_mark(
    tablet: Tablet, book: Book, given: Given, history: str
) -> None:
    page = tablet.fill(page_of("cook", given(b.take_in)), **COOKING, history=history)
    assert not lot_at(book, page).is_raw
    with book.reading() as session:
        hours = session.scalars(select(Reading.hours).order_by(Reading.hours)).all()
    assert [round(60 * (hour or 0)) for hour in hours][:2] == [0, 2]


def test_of_a_long_history_the_history_page_shows_the_beginning(
    tablet: Tablet, given: Given
) -> None:
    rows = "\n".join(f"{n} {min(75, 20 + n)}" for n in range(100))
    tablet.fill(page_of("cook", given(b.take_in)), **COOKING, history=rows)
    words = tablet.get("/history").words
    assert "and 88 more." in words


def test_a_gap_in_a_pasted_file_proves_nothing(tablet: Tablet, book: Book, given: Given) -> None:
    rows = LOGGED.replace("17:02:00;72,0", "17:02:00;ERR").replace("17:04:00;73,1", "17:09:00;73,1")
    page = tablet.fill(page_of("cook", given(b.take_in)), **COOKING, history=rows, reason="eaten")
    assert lot_at(book, page).is_raw


@pytest.mark.parametrize(
    ("history", "words"),
    [
        ("rather hot", "Write minutes and temperature, one pair a line"),
        ("0 60\nthen 70", "Write minutes and temperature"),
        ("-5 60\n0 71", "minutes count from the first reading"),
        ("0 60\n2 absolute", "Write minutes and temperature"),
        (LOGGED.replace(" (°C)", ""), "Is this in °C or °F?"),
        ("1 60\n" * 721, "At most 720 rows"),
        ("nan 60", "Write minutes and temperature"),
    ],
)
def test_a_history_that_cannot_be_read_is_said_beside_it_and_kept(
    tablet: Tablet, given: Given, unchanged: Unchanged, history: str, words: str
) -> None:
    address = page_of("cook", given(b.take_in))
    with unchanged():
        page = tablet.fill(address, **COOKING, history=history)
    assert page.status == 422
    assert words in page.beside("history")
    assert page.typed("history") == [history.strip("\r\n") if not history.strip() else history]


@hypothesis.settings(
    max_examples=60, suppress_health_check=[hypothesis.HealthCheck.function_scoped_fixture]
)
@hypothesis.given(
    st.one_of(
        st.text(max_size=80),
        st.lists(
            st.tuples(st.sampled_from(["0", "1.5", "2,5", "10:30", "-1", "x"]),
                      st.sampled_from([" ", ";", "\t", ","]),
                      st.sampled_from(["60", "140 F", "---", "-127", "NaN", "7,5 °C", ""])),
            max_size=6,
        ).map(lambda rows: "\n".join("".join(row) for row in rows)),
    )
)  # fmt: skip
def test_any_text_is_read_or_refused_with_a_sentence(app: Flask, text: str) -> None:
    with app.test_request_context():
        field = ProbeField("Readings", is_optional=True).bind(WtForm(), "history")
        said, found = "", ()
        try:
            found = field.parse(text)
        except ValueError as fault:
            said = str(fault)
    assert all(one.minutes >= 0.0 for one in found)
    assert not said or said.endswith((".", "63.5", "?"))


def test_fahrenheit_pasted_as_celsius_is_asked_about(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    address = page_of("cook", given(b.take_in))
    with unchanged():
        page = tablet.fill(address, **COOKING, history="0 150\n2 161\n4 163")
    assert "Did you mean 163 °F (72.8 °C)?" in page.words
    assert page.beside("reason")


def test_more_rows_can_be_asked_for_and_write_nothing(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    address = page_of("chill", given(b.cooked))
    first = tablet.get(address)
    assert first.typed("readings-3-hours") == []
    with unchanged():
        page = tablet.send(first.form(), address, readings__0__temp="57", add_row="readings")
    assert page.status == 200
    assert page.typed("readings-3-hours") == [""]
    assert page.typed("readings-0-temp") == ["57"]
    assert tablet.send(page.form(), address, add_row="csrf_token").status == 422


def test_a_cooling_is_proven_by_what_a_probe_wrote(
    tablet: Tablet, book: Book, given: Given
) -> None:
    """Food Code 3-501.14: to 21 °C within 2 hours and to 5 °C within 6 hours in all."""
    history = "0 62\n30 45\n60 33\n90 25\n115 20\n240 9\n330 4.5"
    page = tablet.fill(page_of("chill", given(b.cooked)), history=history)
    lot_at(book, page)
    assert rules(book, "chill")["COOL-2STAGE"] == "pass"


def test_only_dried_food_is_asked_whether_it_was_soaked(tablet: Tablet, given: Given) -> None:
    assert "is_reconstituted" not in tablet.get(page_of("chill", given(b.cooked))).html
    assert "is_reconstituted" in tablet.get(page_of("chill", given(b.dried))).html


# -- seasonings and machines ---------------------------------------------------------------------


def a_sausage(given: Given) -> tuple[str, dict[str, str]]:
    lean, fat = given(b.take_in), given(b.take_in, b.BACK_FAT)
    typed = {"mass_mg": "1 kg", "other_ref": str(fat), "other_mass_mg": "200 g", "made_mg":
             "1220 g", "seasoning_mg": "20 g", "seasoning_words": "spice mix"}  # fmt: skip
    return page_of("blend", lean), typed


def test_a_spice_without_its_allergens_asks_for_them_or_for_a_reason(
    tablet: Tablet, book: Book, given: Given, unchanged: Unchanged
) -> None:
    address, typed = a_sausage(given)
    with unchanged():
        page = tablet.fill(address, **typed)
    assert "Nobody has recorded the allergens of spice mix" in page.words
    assert page.typed("seasoning_words") == ["spice mix"]
    told = tablet.send(page.form(), address, seasoning_allergens=["mustard"])
    with book.reading() as session:
        query = select(LotAllergen.allergen).where(LotAllergen.lot_id == lot_at(book, told).id)
        assert set(session.scalars(query)) == {"mustard"}


def test_none_of_these_is_an_answer(tablet: Tablet, book: Book, given: Given) -> None:
    address, typed = a_sausage(given)
    lot_at(book, tablet.fill(address, **typed, seasoning_allergens=["none"]))
    assert "ALG-UNKNOWN" not in rules(book, "blend")


def test_spices_of_a_mix_are_asked_for_too(
    tablet: Tablet, book: Book, given: Given, unchanged: Unchanged
) -> None:
    one, two = given(b.take_in), given(b.take_in, b.PORK)
    typed = {"parts__0__ref": str(one), "parts__0__mass": "500 g", "parts__1__ref": str(two),
             "parts__1__mass": "500 g", "seasonings__0__stuff": "spice",
             "seasonings__0__name": "curry", "seasonings__0__percent": "2", "name": "Sausage",
             "made_mg": "1020 g"}  # fmt: skip
    with unchanged():
        page = tablet.fill("/write/mix", **typed)
    assert "allergens of curry" in page.words
    lot_at(book, tablet.send(page.form(), "/write/mix", spice_allergens=["celery", "mustard"]))


def test_a_grinder_leaves_its_trace_unless_the_box_is_ticked(
    tablet: Tablet, book: Book, given: Given
) -> None:
    spiced = given(b.take_in, b.PORK, allergens=frozenset({"mustard"}))
    typed = {"parts__0__mass": "500 g", "name": "Mince", "made_mg": "500 g"}
    tablet.fill(page_of("grind", spiced), **typed)
    lot_at(book, tablet.fill(page_of("grind", given(b.take_in)), **typed))
    assert rules(book, "grind")["ALG-CROSS"] == "note"
    lot_at(book, tablet.fill(page_of("grind", given(b.take_in)), **typed, cleaned="y"))
    assert "ALG-CROSS" not in rules(book, "grind")


def test_a_dryer_that_was_not_cleaned_after_raw_meat_needs_a_reason(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    meat = given(b.take_in)
    run_id = given(b.loaded, b.a_tray(meat, 1000))
    tablet.send(tablet.get(f"/runs/{run_id}").form(f"unload-{run_id}"), "",
                made__0__mass="260 g")  # fmt: skip
    corn = given(b.take_in, b.SWEETCORN, 500)
    typed = {"place_id": b.FREEZE_DRYER, "trays__0__gross": "1100", "trays__0__tare": "600"}
    with unchanged():
        page = tablet.fill(f"/write/load?from={corn}", **typed)
    assert "all of it becomes RAW" in page.words
    assert tablet.send(page.form(), f"/write/load?from={corn}", cleaned="y").status == 303


# -- packages, thawing, eating -------------------------------------------------------------------


def test_absorbers_open_too_long_are_asked_about(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    ref = given(b.dried)
    typed = {"packaging_id": b.FOIL_POUCH, "absorber_id": b.CC_300, "net_mg__0__net": "80 g",
             "place_id": b.FREEZER, "minutes_open": "45"}  # fmt: skip
    address = f"/write/pack?from={ref}"
    first = tablet.get(address)
    given_day = first.typed("done_on")
    assert given_day
    with unchanged():
        page = tablet.send(first.form(), address, **typed)
    assert "open for 45 minutes" in page.words
    assert page.typed("minutes_open") == ["45"]


def test_a_package_said_to_be_canned_is_stopped(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    ref = given(b.dried)
    typed = {"packaging_id": b.JAR, "absorber_id": 0, "net_mg__0__net": "80 g",
             "note": "Pressure canned, 75 min"}  # fmt: skip
    with unchanged():
        page = tablet.fill(f"/write/pack?from={ref}", **typed)
    assert "Canning is not covered here: use the current official guide." in page.summary
    assert page.typed("note") == ["Pressure canned, 75 min"]


def test_a_note_on_fermenting_is_answered_after_it_is_written(
    tablet: Tablet, book: Book, given: Given
) -> None:
    page = tablet.fill(page_of("cook", given(b.take_in)), **COOKING, centre="80",
                       note="with fermented cabbage")  # fmt: skip
    lot_at(book, page)
    assert "Fermenting is not covered here" in tablet.get(page.location).words


def sealed_trout(session: Any) -> Any:
    """Pond trout in a vacuum bag in the freezer."""
    request = b.a_pack(b.take_in(session, b.TROUT), 400, packaging_id=b.VACUUM_BAG,
                       absorber_id=None, pressure_fraction=0.1, place_id=b.FREEZER,
                       done_on=b.TODAY, reason="")  # fmt: skip
    return b.units(b.do(session, pack, request), b.FREEZER)[0]


def test_sealed_fish_is_opened_before_it_thaws_and_meat_is_not_asked(
    tablet: Tablet, book: Book, given: Given, unchanged: Unchanged
) -> None:
    address = page_of("thaw", given(sealed_trout))
    with unchanged():
        page = tablet.fill(address)
        asked = tablet.fill(address, warmest="40")
    assert "Open or slit the pack before thawing" in page.words
    assert "Did you mean 40 °F (4.4 °C)?" in asked.words
    lot_at(book, tablet.send(page.form(), address, pack_opened="y"))
    meat = given(b.take_in, place=b.FREEZER)
    assert "pack_opened" not in tablet.get(page_of("thaw", meat)).html


def test_trout_eaten_raw_is_stopped_by_a_home_freezer(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    address = page_of("eat", given(b.take_in, b.TROUT))
    with unchanged():
        page = tablet.fill(address, fish_use="raw", frozen_at="-18", frozen_days="60",
                           thickest="3 cm")  # fmt: skip
    assert "A home freezer at −18 °C never does it" in page.summary
    assert page.typed("frozen_at") == ["-18"]
    assert "−4 °F" not in page.beside("frozen_at")
    asked = tablet.send(page.form(), address, frozen_at="-4")
    assert "Did you mean -4 °F (-20 °C)?" in asked.words
    assert tablet.send(page.form(), address, fish_use="cooked").status == 303


def test_moose_is_not_asked_how_its_fish_is_eaten(tablet: Tablet, given: Given) -> None:
    assert "fish_use" not in tablet.get(page_of("eat", given(b.take_in))).html


def test_dried_raw_meat_says_at_the_table_that_soaking_does_not_cook(
    tablet: Tablet, given: Given
) -> None:
    raw = given(lambda session: b.dried(session, food=b.take_in(session)))
    words = tablet.get(page_of("eat", raw)).words
    assert "Boiling water poured on does not cook it" in words
    assert "160 °F (71.1 °C)" in words
    cooked = tablet.get(page_of("eat", given(b.dried))).words
    assert "Boiling water poured on" not in cooked
    assert "Eat it within 2 hours, or have it below 5 °C within 4." in cooked


def test_cautions_about_meat_are_not_said_of_apples(tablet: Tablet, given: Given) -> None:
    apples = given(b.take_in, b.APPLES)
    load = tablet.get(f"/write/load?from={apples}").words
    assert "Drying does not clean it: wash it well before." in load
    assert "only a cook step that reaches its target takes RAW away" not in load
    assert "Colour does not show" not in tablet.get(page_of("cook", apples)).words
    assert "brucella" not in tablet.get(page_of("grind", given(b.take_in, b.PORK))).words
    assert "brucella" in tablet.get(page_of("grind", given(b.take_in))).words


# -- food after its days -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "typed"),
    [
        ("cook", COOKING),
        ("grind", {"parts-0-mass": "1 kg", "made_mg": "1 kg", "name": "Mince"}),
    ],
)
def test_meat_after_its_days_is_worked_on_with_a_reason_and_told_so(
    tablet: Tablet, book: Book, given: Given, unchanged: Unchanged, kind: str, typed: dict[str, str]
) -> None:
    """Cold Food Storage Chart, FoodSafety.gov: ground and cut-up meat 1 to 2 days."""
    old = given(b.take_in, done_on=b.TODAY - timedelta(days=3))
    with unchanged():
        page = tablet.fill(page_of(kind, old), **typed)
    assert "Give a reason" in page.beside("reason")
    assert "its 2 days in the fridge are over" in page.words
    assert "Cold Food Storage Chart" in page.words
    page = tablet.fill(page_of(kind, old), **typed, reason="smelt and looked at")
    lot_at(book, page)
    assert rules(book, kind)["FRIDGE-OVER"] == "confirm"
    assert "smelt and looked at" in tablet.get(page.location).words


def test_a_lot_says_that_its_days_go_on(tablet: Tablet, given: Given) -> None:
    old = given(b.take_in, done_on=b.TODAY - timedelta(days=1))
    cold = {"place_id": str(b.FRIDGE), "made_mg": "1 kg", "name": "Mince"}
    page = tablet.fill(page_of("grind", old), **cold, **{"parts-0-mass": "1 kg"})
    assert (
        "19 October 2025: its days go on from those of the food" in tablet.get(page.location).words
    )
    assert "its days go on" not in tablet.get(f"/lots/{code_of(old.lot_id)}").words
