"""What was typed is there again: after sleep, going back, turning the tablet, a killed browser."""

import os
import shutil
import signal
from collections.abc import Iterator
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Error, Page, Route, ViewportSize, expect
from sqlalchemy import func, select

from app.ledger.models import Operation
from tests.browser.conftest import ARGUMENTS
from tests.browser.live import Live, serving
from tests.browser.populated import NOW
from tests.browser.stored import keeps
from tests.browser.tablet import LANDSCAPE, tablet_context
from tests.databases import Shelf
from tests.server import Server

pytestmark = pytest.mark.browser
PHONE: ViewportSize = {"width": 390, "height": 844}
FOOD = "Snared rabbit"
TUESDAY = datetime(2026, 11, 24, 14, 10, tzinfo=UTC)


@pytest.fixture
def live(populated: Path, shelf: Shelf) -> Iterator[Live]:
    """The populated ledger, served for writing in."""
    with serving(shelf.settings(populated), NOW) as running:
        yield running


@pytest.fixture(params=[LANDSCAPE, PHONE], ids=["tablet", "phone"])
def page(browser: Browser, request: pytest.FixtureRequest) -> Iterator[Page]:
    """A touch tablet held sideways, or a phone."""
    context = tablet_context(browser, viewport=request.param, timezone_id="UTC")
    yield context.new_page()
    context.close()


def operations(live: Live) -> int:
    with live.book.reading() as session:
        return session.scalar(select(func.count(Operation.id))) or 0


def fill(page: Page, food: str = "Rabbit") -> None:
    page.get_by_label("What is it", exact=True).fill(food)
    page.get_by_label("Nearest food in the table").fill("Game meat, rabbit, wild, raw (17180)")
    page.get_by_label("Bowl 1, gross").fill("1240 g")


def is_filled(page: Page) -> None:
    expect(page.get_by_label("What is it", exact=True)).to_have_value("Rabbit")
    expect(page.get_by_label("Bowl 1, gross")).to_have_value("1240 g")


def is_empty(page: Page) -> None:
    expect(page.get_by_label("What is it", exact=True)).to_have_value("")
    expect(page.locator(".draft-note")).to_be_hidden()


def send(page: Page) -> None:
    page.locator(".actions .button.main").tap()


def test_every_kind_of_answer_comes_back(page: Page, live: Live) -> None:
    address = f"{live.address}/write/intake"
    page.goto(address)
    place = page.locator("select#place_id")
    chosen = place.locator("option").last.get_attribute("value")
    place.select_option(chosen)
    page.locator("details.more", has_text="Fat, allergens, note").locator("summary").tap()
    allergen = page.locator("fieldset#allergens input").last
    allergen.tap()
    expect(allergen).to_be_checked()
    page.get_by_label("Note", exact=True).fill("two hind legs,\nshot by the pond")
    fill(page)
    keeps(page, "drafts", 1)
    page.goto(live.address + "/bench")
    page.goto(address)
    is_filled(page)
    expect(place).to_have_value(str(chosen))
    expect(allergen).to_be_checked()
    expect(allergen).to_be_visible()  # what is back does not lie in a closed fold
    expect(page.get_by_label("Note", exact=True)).to_have_value("two hind legs,\nshot by the pond")


def test_a_draft_says_when_it_was_typed(page: Page, live: Live) -> None:
    page.clock.set_fixed_time(TUESDAY)
    page.goto(f"{live.address}/write/intake")
    fill(page)
    keeps(page, "drafts", 1)
    page.clock.set_fixed_time(TUESDAY.replace(day=26))
    page.reload()
    is_filled(page)
    expect(page.locator(".draft-note")).to_contain_text("What you typed on Tuesday 14:10 is back.")
    page.get_by_role("button", name="Start afresh").tap()
    is_empty(page)
    keeps(page, "drafts", 0)


def test_a_draft_older_than_a_week_is_gone(page: Page, live: Live) -> None:
    page.clock.set_fixed_time(TUESDAY.replace(day=16))
    page.goto(f"{live.address}/write/intake")
    fill(page)
    keeps(page, "drafts", 1)
    page.clock.set_fixed_time(TUESDAY)
    page.reload()
    keeps(page, "drafts", 0)
    is_empty(page)


def test_turning_the_tablet_and_going_back_keep_what_was_typed(page: Page, live: Live) -> None:
    page.goto(f"{live.address}/write/intake")
    fill(page)
    page.set_viewport_size({"width": 800, "height": 1280})
    is_filled(page)
    page.set_viewport_size({"width": 844, "height": 390})
    is_filled(page)
    page.goto(live.address + "/lots")
    page.go_back()
    is_filled(page)


def test_going_back_to_a_form_that_was_written_makes_a_new_entry(page: Page, live: Live) -> None:
    before = operations(live)
    page.goto(live.address + "/write")
    page.goto(f"{live.address}/write/intake")
    fill(page)
    send(page)
    expect(page.locator(".page .flash")).to_contain_text("Taken in: Rabbit")
    page.go_back()
    is_empty(page)
    fill(page, "Hare")
    send(page)
    expect(page.locator(".page .flash")).to_contain_text("Taken in: Hare")
    assert operations(live) == before + 2


def test_going_back_after_two_entries_of_one_page_makes_a_third(page: Page, live: Live) -> None:
    """The page made the second one's key by itself; a browser may put it back into the form."""
    before = operations(live)
    page.goto(live.address + "/write")
    page.goto(f"{live.address}/write/intake")
    for food in ("Rabbit", "Hare"):
        fill(page, food)
        if food == "Rabbit":
            page.context.set_offline(True)
            send(page)
            expect(page.locator(".outbox-note")).to_be_visible()
            page.context.set_offline(False)
            expect(page.locator("[data-outbox-answers]")).to_contain_text("Taken in: Rabbit")
    send(page)
    expect(page.locator(".page .flash")).to_contain_text("Taken in: Hare")
    page.go_back()
    is_empty(page)
    fill(page, "Trout")
    send(page)
    expect(page.locator(".page .flash")).to_contain_text("Taken in: Trout")
    assert operations(live) == before + 3


def test_a_page_the_browser_had_put_aside_asks_for_a_new_key(page: Page, live: Live) -> None:
    page.goto(f"{live.address}/write/intake")
    key = page.locator("form.entry input[name=key]").get_attribute("value")
    with page.expect_navigation():
        page.evaluate("""() => {
          document.querySelector("form.entry").dataset.sent = "";
          window.dispatchEvent(new PageTransitionEvent("pageshow", { persisted: true }));
        }""")
    assert page.locator("form.entry input[name=key]").get_attribute("value") != key


def test_what_was_written_is_no_draft_even_if_its_answer_is_left_at_once(
    page: Page, live: Live
) -> None:
    before = operations(live)
    page.goto(f"{live.address}/write/intake")
    fill(page)
    keeps(page, "drafts", 1)

    def without_scripts(route: Route) -> None:
        route.abort()

    page.route("**/js/*.js*", without_scripts)  # the answer's own scripts never run
    send(page)
    expect(page.locator(".page .flash")).to_contain_text("Taken in: Rabbit")
    page.unroute("**/js/*.js*")
    keeps(page, "drafts", 0)
    page.goto(f"{live.address}/write/intake")
    is_empty(page)
    assert operations(live) == before + 1


def test_a_refused_entry_is_a_draft_again(page: Page, live: Live) -> None:
    page.goto(f"{live.address}/write/intake")
    fill(page)
    page.get_by_label("Bowl 1, gross").fill("heavy")
    send(page)
    expect(page.locator("#errors")).to_be_visible()
    keeps(page, "drafts", 1)
    page.goto(f"{live.address}/write/intake")
    expect(page.get_by_label("Bowl 1, gross")).to_have_value("heavy")


# -- the browser is killed ---------------------------------------------------------------------


def opened(browser: Browser, profile: Path) -> BrowserContext:
    """A browser with a folder of its own, as on a tablet."""
    return browser.browser_type.launch_persistent_context(
        profile,
        executable_path=shutil.which("chromium"),
        args=ARGUMENTS,
        viewport=LANDSCAPE,
        has_touch=True,
    )


def kill(context: BrowserContext, profile: Path) -> None:
    """Every process of that browser at once, as when a tablet's battery is pulled."""
    mark = f"--user-data-dir={profile}".encode()
    ours = [
        int(one.parent.name)
        for one in Path("/proc").glob("[0-9]*/cmdline")
        if mark in one.read_bytes().split(b"\0")
    ]
    assert ours
    for number in ours:
        os.kill(number, signal.SIGKILL)
    with suppress(Error):  # it is gone
        context.close()


def test_draft_and_kept_entry_outlive_a_killed_browser_and_a_killed_server(
    browser: Browser, populated: Path, tmp_path: Path
) -> None:
    shutil.copy(populated, tmp_path / "stillroom.db")
    profile = tmp_path / "profile"
    with Server(tmp_path) as server:
        context = opened(browser, profile)
        context.pages[0].goto(server.address)  # a browser writes cookies down half a minute late
        context.close()
        context = opened(browser, profile)
        page = context.pages[0]
        page.goto(f"{server.address}/write/intake")
        fill(page, FOOD)
        server.kill()
        send(page)
        expect(page.locator(".outbox-note")).to_be_visible()
        page.get_by_label("What is it", exact=True).fill("Trout, not yet weighed")
        keeps(page, "drafts", 1)
    kill(context, profile)
    context = opened(browser, profile)
    page = context.pages[0]
    with Server(tmp_path, server.port) as server:
        page.goto(f"{server.address}/write/intake")
        expect(page.get_by_label("What is it", exact=True)).to_have_value("Trout, not yet weighed")
        expect(page.locator("[data-outbox-answers] .flash")).to_contain_text(f"Taken in: {FOOD}")
        page.goto(f"{server.address}/lots?q={FOOD}")
        expect(page.locator("main .lot-line", has_text=FOOD)).to_have_count(1)
        keeps(page, "drafts", 1)
    context.close()
