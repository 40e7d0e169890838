"""Wild game at the door, by finger: its questions come with the food and go with it."""

from collections.abc import Iterator
from datetime import timedelta

import pytest
from playwright.sync_api import Browser, Locator, Page, expect
from sqlalchemy.orm import Session

from app.ledger.checks import check_all
from tests import builders as b
from tests.browser.live import Live, serving
from tests.browser.tablet import Tablet, complaints_of, tablet_context
from tests.browser.test_holds import troubles
from tests.databases import Shelf

pytestmark = pytest.mark.browser

MOOSE, HARE = "Game meat, moose, raw (17172)", "Game meat, rabbit, wild, raw (17180)"
APPLES, TROUT = "Apples, raw, with skin (09003)", "Fish, trout, mixed species, raw (15114)"


@pytest.fixture
def live(shelf: Shelf) -> Iterator[Live]:
    with serving(
        shelf.settings(folder=shelf.folder / "data"), b.evening(b.TODAY + timedelta(days=1))
    ) as running:
        with running.book.writing() as session:
            b.a_household(session)
        yield running


def choose(page: Page, food: str) -> None:
    """The food as the browser's own list would fill it in."""
    page.get_by_label("Nearest food in the table").fill(food)


def parts(page: Page) -> tuple[Locator, Locator]:
    """The questions of game and of fish."""
    return page.locator("details#game"), page.locator("details#fish")


def test_the_questions_come_with_the_food_and_a_test_awaited_holds_the_lot(
    browser: Browser, live: Live
) -> None:
    context = tablet_context(browser, bypass_csp=True)  # axe is injected
    page = context.new_page()
    complaints = complaints_of(page)
    tablet = Tablet(page, live)
    tablet.open("/write/intake")
    game, fish = parts(page)
    choose(page, APPLES)
    expect(game).to_be_hidden()
    expect(fish).to_be_hidden()
    choose(page, TROUT)
    expect(fish.get_by_label("Hours the fish was warm")).to_be_visible()
    choose(page, HARE)
    expect(game.get_by_text("Lead-free", exact=False)).to_be_visible()
    expect(game.get_by_text("Test for chronic wasting disease")).to_be_hidden()
    choose(page, MOOSE)
    expect(fish).to_be_hidden()
    expect(game.get_by_text("Test for chronic wasting disease")).to_be_visible()

    tablet.type("What is it", "Moose trim")
    tablet.type("Bowl 1, gross", "2431")
    tablet.refused("Give a reason to go on")
    expect(page.locator("form .caution.confirm")).to_contain_text("chronic wasting disease")
    expect(page.get_by_label("Bowl 1, gross")).to_have_value("2431")
    tablet.tick("Sample sent, result awaited")
    tablet.tick("Lead-free")
    tablet.send("It is on hold: a test result is awaited.")
    context.close()
    assert complaints == []
    with live.book.reading() as session:
        assert check_all(session) == []


def test_without_scripts_the_questions_stand_folded_and_open_when_they_matter(
    browser: Browser, live: Live
) -> None:
    context = tablet_context(browser, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{live.address}/write/intake")
    game, _ = parts(page)
    expect(game.locator("summary")).to_be_visible()
    expect(game.get_by_text("Lead-free", exact=False)).to_be_hidden()
    page.get_by_label("What is it", exact=True).fill("Moose trim")
    choose(page, "moose raw")
    page.get_by_label("Bowl 1, gross").fill("2431")
    page.locator(".actions .button.main").click()
    expect(page.locator("#errors")).to_contain_text("Give a reason to go on")
    expect(game.get_by_text("Lead-free", exact=False)).to_be_visible()
    context.close()


def some_food(session: Session) -> tuple[str, str, str]:
    """Raw moose, cooked moose and frozen trout, as the addresses name them."""
    trout = b.take_in(session, b.TROUT, place=b.FREEZER)
    return str(b.take_in(session)), str(b.cooked(session)), str(trout)


def test_the_pages_of_the_steps_are_sound_for_every_eye_and_finger(
    browser: Browser, live: Live
) -> None:
    with live.book.writing() as session:
        raw, cooked, trout = some_food(session)
    context = tablet_context(browser, bypass_csp=True)
    paths = [
        "/write/intake", f"/write/cook?from={raw}", f"/write/chill?from={cooked}",
        f"/write/blend?from={raw}", f"/write/thaw?from={trout}", f"/write/eat?from={trout}",
        "/write/mix", "/papers/not-covered",
    ]  # fmt: skip
    assert troubles(Tablet(context.new_page(), live), paths) == []
    context.close()
