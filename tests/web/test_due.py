"""What is due, on the home page and its own: one line and one tap for each look."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import select

from app.ledger.book import Book
from app.ledger.codes import code_of
from app.ledger.models import CheckDone, Checkpoint, Household, PlaceReading
from app.ledger.operations.hold import PutOnHold, hold
from app.ledger.words import Finding, HoldCause
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Page, Sent, Tablet

Given = Callable[..., Any]
Unchanged = Callable[[], AbstractContextManager[None]]


def form_of(page: Page, key: str) -> Sent:
    """The form of one line."""
    (found,) = (form for form in page.forms if form.action == f"/due/{key}")
    return found


def targets(page: Page) -> set[str]:
    """Where the page leads."""
    return {a["href"] for tag, a in page.tags if tag == "a"}


def line(page: Page, key: str) -> str:
    """The words of one line, "" when it is not there."""
    return page.inside(f"due-{key}")


def looks(book: Book) -> list[str]:
    """What the looks that were written found."""
    with book.reading() as session:
        return list(session.scalars(select(CheckDone.finding)))


@pytest.fixture
def seal(given: Given, clock: HandClock) -> str:
    """The key of three pouches packed yesterday."""
    lot = given(b.pouches)[0].lot_id
    clock.forward(days=2)
    return f"seal-{lot}"


@pytest.fixture
def freezer(given: Given, clock: HandClock) -> str:
    """The key of a freezer with food that nobody has read for a week."""
    given(b.take_in, place=b.FREEZER)
    clock.forward(days=7)
    return f"thermometer-{b.FREEZER}"


@pytest.fixture
def fridge(given: Given, clock: HandClock) -> str:
    """The key of a refrigerator with food that nobody has read for a week."""
    given(b.take_in)
    clock.forward(days=7)
    return f"thermometer-{b.FRIDGE}"


# -- seals ---------------------------------------------------------------------------------------


def test_a_seal_is_due_on_the_home_page_with_one_tap(tablet: Tablet, book: Book, seal: str) -> None:
    home = tablet.get("/")
    code = code_of(int(seal.split("-")[1]))
    assert "3 packs, Pantry: is each drawn tight, or its lid down?" in line(home, seal)
    assert "Due today" in line(home, seal)
    assert f"/went-wrong/seal_failed?lot={code}" in targets(home)
    done = tablet.send(form_of(home, seal), "/")
    assert (done.status, done.location) == (303, "/")
    assert looks(book) == [Finding.FINE]
    home = tablet.get("/")
    assert "All tight: Moose trim" in home.words
    assert line(home, seal) == ""
    with book.reading() as session:  # the rule that was met is kept as evidence
        assert "ABS-24H" in set(session.scalars(select(Checkpoint.rule)))


def test_a_double_tap_is_one_look(tablet: Tablet, book: Book, seal: str) -> None:
    form = form_of(tablet.get("/"), seal)
    first, second = tablet.send(form, "/"), tablet.send(form, "/")
    assert (first.status, second.status) == (303, 303)
    assert len(looks(book)) == 1
    assert "written already" in tablet.get("/").words


def test_two_tablets_that_look_at_the_same_pack_write_it_once(
    app: Flask, tablet: Tablet, book: Book, seal: str
) -> None:
    other = Tablet(app)
    mine, theirs = form_of(tablet.get("/"), seal), form_of(other.get("/due"), seal)
    tablet.send(mine, "/")
    late = other.send(theirs, "/due")
    assert (late.status, late.location) == (303, "/due")
    assert len(looks(book)) == 1
    assert "somebody has seen to it meanwhile" in other.get("/due").words


def test_taking_a_look_back_brings_its_line_back(tablet: Tablet, seal: str) -> None:
    tablet.send(form_of(tablet.get("/"), seal), "/")
    home = tablet.get("/")
    (undo,) = (form for form in home.forms if form.action.endswith("/undo"))
    tablet.send(undo, "/")
    assert line(tablet.get("/"), seal) != ""


def test_a_look_without_the_token_writes_nothing(
    tablet: Tablet, unchanged: Unchanged, seal: str
) -> None:
    form = form_of(tablet.get("/"), seal)
    with unchanged():
        assert tablet.send(form, "/", csrf_token=None).status == 422


def test_a_seal_that_is_not_due_yet_is_told_of_without_a_button(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    lot = given(b.pouches)[0].lot_id
    clock.forward(days=1)
    page = tablet.get("/due")
    assert "Due tomorrow" in line(page, f"seal-{lot}")
    assert not [form for form in page.forms if form.action == f"/due/seal-{lot}"]
    assert line(tablet.get("/"), f"seal-{lot}") == ""


def test_the_day_is_the_households_own(
    tablet: Tablet, given: Given, clock: HandClock, book: Book
) -> None:
    lot = given(b.pouches)[0].lot_id  # packed on the 21st
    clock.forward(days=1, hours=5, minutes=30)  # 23:30 by UTC: after midnight in London's summer
    assert "Due today" in line(tablet.get("/"), f"seal-{lot}")
    with book.writing() as session:
        session.get_one(Household, 1).time_zone = "America/Halifax"  # half past eight there
    assert "Due tomorrow" in line(tablet.get("/due"), f"seal-{lot}")


# -- thermometers --------------------------------------------------------------------------------


def test_a_reading_is_written_with_its_number(tablet: Tablet, book: Book, freezer: str) -> None:
    home = tablet.get("/")
    assert "Not read yet" in line(home, freezer)
    assert f"/went-wrong/power_out?place={b.FREEZER}" in targets(home)
    assert tablet.send(form_of(home, freezer), "/", temp="-18,5").status == 303
    with book.reading() as session:
        (read,) = session.scalars(select(PlaceReading)).all()
        assert (read.place_id, read.temp_c, read.typed) == (b.FREEZER, -18.5, "-18,5")
    home = tablet.get("/")
    assert "Chest freezer reads −18.5 °C" in home.words
    assert line(home, freezer) == ""
    coming = tablet.get("/due")
    assert "Last read 27 October 2025: −18.5 °C" in line(coming, freezer)
    boxes = [a for tag, a in coming.tags if tag == "input" and a.get("name") == "temp"]
    assert [box["placeholder"] for box in boxes] == ["−18.5 °C"]


def test_an_empty_box_is_no_reading(tablet: Tablet, unchanged: Unchanged, freezer: str) -> None:
    with unchanged():
        page = tablet.send(form_of(tablet.get("/"), freezer), "/")
    assert page.status == 422
    assert "Something is needed here" in page.beside("temp")


def test_a_number_typed_in_the_wrong_unit_is_asked_about_and_can_be_insisted_on(
    tablet: Tablet, book: Book, unchanged: Unchanged, freezer: str
) -> None:
    with unchanged():
        page = tablet.send(form_of(tablet.get("/"), freezer), "/", temp="0")
    assert page.status == 422
    assert "Did you mean 0 °F (-17.8 °C)?" in page.words
    assert page.typed("temp") == ["0"]
    done = tablet.send(page.form(), f"/due/{freezer}", reason="read twice, it is failing")
    assert done.status == 303
    assert looks(book) == [Finding.NOT_FINE]
    assert "warmer than −15 °C" in tablet.get("/").words


def test_a_warm_freezer_is_written_and_said(tablet: Tablet, book: Book, freezer: str) -> None:
    tablet.send(form_of(tablet.get("/"), freezer), "/", temp="-12")
    assert "Chest freezer: -12 °C in the freezer, warmer than −15 °C" in tablet.get("/").words
    assert looks(book) == [Finding.NOT_FINE]


def test_a_warm_refrigerator_asks_what_was_done(
    tablet: Tablet, book: Book, unchanged: Unchanged, fridge: str
) -> None:
    with unchanged():
        page = tablet.send(form_of(tablet.get("/"), fridge), "/", temp="7")
    assert page.status == 422
    assert "7 °C in the fridge, above 5 °C (41 °F): the two-hour clock runs" in page.words
    assert page.typed("temp") == ["7"]
    answer = {"reason": "door stood open, shut since"}
    done = tablet.send(page.form(), f"/due/{fridge}", **answer)
    assert (done.status, done.location) == (303, "/")
    assert looks(book) == [Finding.NOT_FINE]
    with book.reading() as session:
        kept = session.scalars(
            select(Checkpoint.reason).where(Checkpoint.rule == "HOLD-COLD")
        ).all()
    assert kept == ["door stood open, shut since"]


def test_a_household_of_fahrenheit_reads_in_fahrenheit(
    tablet: Tablet, book: Book, freezer: str
) -> None:
    with book.writing() as session:
        session.get_one(Household, 1).units = "us"
    tablet.send(form_of(tablet.get("/"), freezer), "/", temp="0")
    home = tablet.get("/due")
    assert "Last read 27 October 2025: 0 °F" in line(home, freezer)
    assert looks(book) == [Finding.FINE]


# -- what is done on pages of its own ------------------------------------------------------------


def test_a_tray_leads_to_its_run_and_stands_on_the_bench(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    run = given(b.loaded, b.a_tray(given(b.cooked), 1000))
    given(b.weigh, run, 1, 900, 20)
    clock.forward(hours=20.1)
    assert "again now" not in tablet.get("/bench").words
    clock.forward(hours=13)
    home = tablet.get("/")
    assert "Weigh tray 1 again" in line(home, f"tray-{run}")
    assert f"/runs/{run}?tray=1" in targets(home)
    assert "Weigh tray 1 again now." in tablet.get("/bench").words
    assert tablet.get(f"/due/tray-{run}").location == f"/runs/{run}?tray=1"


@pytest.mark.parametrize(
    ("cause", "days", "kind", "address"),
    [
        (HoldCause.TEST_AWAITED, 14, "result", "/holds/1/result"),
        (HoldCause.LOOK_FIRST, 0, "hold", "/holds"),
    ],
)
def test_what_is_on_hold_leads_to_where_it_ends(
    tablet: Tablet, given: Given, clock: HandClock, cause: HoldCause, days: int, kind: str,
    address: str,
) -> None:  # fmt: skip
    ref = given(b.take_in)
    given(b.do, hold, PutOnHold((ref.lot_id,), cause, b.TODAY, "wasting disease"))
    clock.forward(days=days)
    home = tablet.get("/")
    assert "On hold since 20 October 2025" in line(home, f"{kind}-1")
    assert "wasting disease" in line(home, f"{kind}-1")
    assert address in targets(home)
    assert tablet.get(f"/due/{kind}-1").location == address


def test_a_yearly_look_is_one_tap(
    tablet: Tablet, given: Given, clock: HandClock, book: Book
) -> None:
    lot = given(b.pouches)[0].lot_id
    clock.forward(days=366)
    page = tablet.get("/due")
    assert "not looked at since 21 October 2025" in line(page, f"look-{lot}")
    assert f"/went-wrong/worn?lot={code_of(lot)}" in targets(page)
    done = tablet.send(form_of(page, f"look-{lot}"), "/due")
    assert done.location == "/due"
    assert looks(book) == [Finding.FINE]
    assert "Looks fine: Moose trim" in tablet.get("/due").words


def test_something_is_wrong_leads_to_where_it_is_told(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    given(b.pouches)
    given(b.take_in, place=b.FREEZER)
    clock.forward(days=30)
    seals = {x for x in targets(tablet.get("/")) if x.startswith("/went-wrong/")}
    clock.forward(days=366)
    years = {x for x in targets(tablet.get("/")) if x.startswith("/went-wrong/")}
    assert len(seals | years) == 3  # a seal, a thermometer, a yearly look
    assert [tablet.get(address).status for address in seals | years] == [200] * 3


# -- the page of all -----------------------------------------------------------------------------


def test_more_than_five_stand_behind_a_link(tablet: Tablet, given: Given, clock: HandClock) -> None:
    lots = [given(b.pouches, 80)[0].lot_id for _ in range(7)]
    clock.forward(days=3)
    home, page = tablet.get("/"), tablet.get("/due")
    assert sum(bool(line(home, f"seal-{lot}")) for lot in lots) == 5
    assert "2 more are due" in home.words
    assert all("Overdue since 22 October 2025" in line(page, f"seal-{lot}") for lot in lots)


def test_an_empty_page_says_what_comes_next(tablet: Tablet, given: Given) -> None:
    assert "until food is frozen, dried or packed" in tablet.get("/due").words
    given(b.take_in, place=b.FREEZER)
    page = tablet.get("/due")
    assert "Nothing is due. Next comes: read the thermometer, Chest freezer" in page.words
    assert "27 October 2025" in page.words


def test_what_was_done_meanwhile_is_said_and_what_never_was_is_not_found(
    tablet: Tablet, seal: str
) -> None:
    tablet.send(form_of(tablet.get("/"), seal), "/")
    late = tablet.get(f"/due/{seal}")  # as a phone's calendar may still offer it
    assert (late.status, late.location) == (303, "/due")
    for key in ("seal", "seal-", "seal-x", "nothing-1", "seal--1"):
        assert tablet.get(f"/due/{key}").status == 404


def test_the_intervals_stand_among_the_cautions_with_their_marks(tablet: Tablet) -> None:
    words = tablet.get("/papers/cautions").words
    for id_ in ("CHECK-COLD", "CHECK-SEAL", "CHECK-YEARLY", "CHECK-TEST", "CHECK-TRAY"):
        assert id_ in words
