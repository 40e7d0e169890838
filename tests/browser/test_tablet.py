"""Entries in a full ledger: by finger and keyboard, with and without scripts, sent once."""

import http.client
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, Page, Route, expect
from sqlalchemy import func, select

from app.ledger.models import Operation
from tests.browser.live import Live, serving
from tests.browser.populated import NOW
from tests.browser.stored import keeps
from tests.browser.tablet import Tablet, tablet_context
from tests.databases import Shelf

pytestmark = pytest.mark.browser


@pytest.fixture
def live(populated: Path, shelf: Shelf) -> Iterator[Live]:
    """The populated ledger, served for writing in."""
    with serving(shelf.settings(populated), NOW) as running:
        yield running


def operations(live: Live) -> int:
    with live.book.reading() as session:
        return session.scalar(select(func.count(Operation.id))) or 0


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    context = tablet_context(browser)
    yield context.new_page()
    context.close()


def fill_an_intake(page: Page) -> None:
    page.get_by_label("What is it", exact=True).fill("Rabbit")
    page.get_by_label("Nearest food in the table").fill("Game meat, rabbit, wild, raw (17180)")
    page.get_by_label("Bowl 1, gross").fill("1240 g")


def test_one_tap_takes_a_late_choice_while_the_number_pad_is_open(
    browser: Browser, live: Live
) -> None:
    context = tablet_context(browser, viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.goto(f"{live.address}/write/intake")
    page.get_by_label("Bowl 1, gross").tap()
    expect(page.locator("[data-pad-board]")).to_be_visible()
    choice = page.locator("main form.entry input[type=radio]:visible").last
    page.evaluate("window.scrollTo(0, document.documentElement.scrollHeight)")
    choice.tap()
    expect(choice).to_be_checked()
    context.close()


def test_two_quick_taps_write_once(page: Page, live: Live) -> None:
    before = operations(live)
    page.goto(f"{live.address}/write/intake")
    fill_an_intake(page)
    box = page.locator(".actions .button.main").bounding_box()
    assert box is not None
    at = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.touchscreen.tap(*at)
    page.touchscreen.tap(*at)
    expect(page.locator(".flash")).to_contain_text("Taken in: Rabbit")
    assert operations(live) == before + 1


def test_a_double_click_writes_once_without_scripts(browser: Browser, live: Live) -> None:
    before = operations(live)
    context = tablet_context(browser, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{live.address}/write/intake")
    fill_an_intake(page)
    page.locator(".actions .button.main").dblclick()
    expect(page.get_by_role("heading", level=1)).to_have_text("Rabbit")
    context.close()
    assert operations(live) == before + 1


def test_back_and_reload_keep_what_was_typed(page: Page, live: Live) -> None:
    page.goto(f"{live.address}/write/intake")
    fill_an_intake(page)
    page.reload()
    expect(page.get_by_label("What is it", exact=True)).to_have_value("Rabbit")
    expect(page.locator("[data-tally-kg]")).to_have_text("1.240 kg")
    page.get_by_role("navigation", name="Pages").get_by_text("Bench").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Bench")
    page.go_back()
    expect(page.get_by_label("What is it", exact=True)).to_have_value("Rabbit")
    expect(page.get_by_label("Bowl 1, gross")).to_have_value("1240 g")


def leave_before_scripts_run(page: Page) -> None:
    """Send the form; its answer is left before the answer's own scripts could run."""
    page.route("**/js/draft.js*", lambda route: route.abort())
    page.locator(".actions .button.main").tap()
    expect(page.locator(".flash")).to_contain_text("Taken in: Rabbit")
    page.unroute("**/js/draft.js*")


def lose_the_answer(page: Page) -> None:
    """Send the form; the ledger writes it, and its answer never comes."""

    def swallow(route: Route) -> None:
        sent = route.request
        if sent.method == "POST":  # not by the browser, which would keep the answer's cookie
            to = http.client.HTTPConnection(urlsplit(sent.url).netloc)
            to.request("POST", urlsplit(sent.url).path, sent.post_data, sent.all_headers())
            with to.getresponse() as answer:
                assert answer.status == 303
            to.close()
            route.abort()
        else:
            route.continue_()

    page.route("**/write/intake", swallow)
    with page.expect_event("requestfailed"):
        page.locator(".actions .button.main").tap()
    page.unroute("**/write/intake")


@pytest.mark.parametrize("send", [leave_before_scripts_run, lose_the_answer])
def test_what_was_written_does_not_come_back_as_a_draft(
    page: Page, live: Live, send: Callable[[Page], None]
) -> None:
    """Of a form that the browser itself sends; tests/browser/test_drafts.py has the others."""
    before = operations(live)
    page.route("**/js/outbox.js*", lambda route: route.abort())
    page.goto(f"{live.address}/write/intake")
    fill_an_intake(page)
    keeps(page, "drafts", 1)
    send(page)
    assert operations(live) == before + 1
    again = page.context.new_page()  # the first may still be about to say that nothing answered
    with again.expect_response("**/written/*"):
        again.goto(f"{live.address}/write/intake")
    keeps(again, "drafts", 0)
    expect(again.get_by_label("What is it", exact=True)).to_have_value("")


def test_what_was_not_written_comes_back_under_a_new_key(page: Page, live: Live) -> None:
    page.goto(f"{live.address}/write/intake")
    fill_an_intake(page)
    keeps(page, "drafts", 1)
    with page.expect_response("**/written/*") as asked:
        page.goto(f"{live.address}/write/intake")
    assert asked.value.json() == {"written": False}
    expect(page.get_by_label("What is it", exact=True)).to_have_value("Rabbit")


def test_intake_and_eating_work_without_scripts(browser: Browser, live: Live) -> None:
    context = tablet_context(browser, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{live.address}/write/intake")
    fill_an_intake(page)
    page.get_by_role("button", name="Add a row").click()
    expect(page.get_by_label("Bowl 1, gross")).to_have_value("1240 g")
    page.locator(".actions .button.main").click()
    expect(page.locator(".flash")).to_contain_text("Taken in: Rabbit")
    page.get_by_role("link", name="Eat", exact=False).first.click()
    page.locator(".actions .button.main").click()
    expect(page.locator(".flash")).to_contain_text("Eaten")
    context.close()


def test_an_entry_is_written_by_keyboard_alone(page: Page, live: Live) -> None:
    before = operations(live)
    page.goto(f"{live.address}/")
    reach(page, "Write an entry")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Write an entry")
    reach(page, "Take in")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Take in")
    reach(page, "What is it")
    page.keyboard.type("Rabbit")
    page.keyboard.press("Tab")
    page.keyboard.type("Game meat, rabbit, wild, raw (17180)")
    reach(page, "Bowl 1, gross")
    page.keyboard.type("1240")
    page.keyboard.press("Enter")  # goes on to the next number, and does not send half an entry
    assert operations(live) == before
    reach(page, "Take in")
    page.keyboard.press("Enter")
    expect(page.locator(".flash")).to_contain_text("Taken in: Rabbit")
    assert operations(live) == before + 1


NAME_OF_FOCUS = """() => { const e = document.activeElement;
  return e.getAttribute("aria-label") ?? e.labels?.[0]?.textContent.trim()
    ?? e.querySelector("strong")?.textContent ?? e.textContent.trim(); }"""


def reach(page: Page, name: str) -> None:
    """Press Tab until something of that name has the focus, and can be seen to have it."""
    for _ in range(250):  # a row of a list has three stops
        page.keyboard.press("Tab")
        if page.evaluate(NAME_OF_FOCUS) == name:
            outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
            assert outline != "none"
            return
    pytest.fail(f"Tab does not lead to {name}")


def test_a_refused_entry_says_why_and_keeps_what_was_typed(page: Page, live: Live) -> None:
    before = operations(live)
    tablet = Tablet(page, live)
    tablet.open("/write/intake")
    fill_an_intake(page)
    page.get_by_label("Bowl 1, tare").fill("2 kg")
    tablet.refused("cannot weigh as much as the full one")
    expect(page.get_by_label("Bowl 1, tare")).to_have_value("2 kg")
    assert operations(live) == before
