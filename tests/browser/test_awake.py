"""The screen stays on where somebody wants it and the browser can do it."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from sqlalchemy import func, select

from app.ledger.models import Run
from app.settings import Settings
from tests.browser.elsewhere import PLAIN, by_name, in_another_room
from tests.browser.live import Live, serving
from tests.browser.populated import NOW
from tests.browser.tablet import tablet_context

pytestmark = pytest.mark.browser
COUNTED = """(() => {
  window.locks = [];
  const request = navigator.wakeLock?.request;
  if (request) navigator.wakeLock.request = async function (kind) {
    if (window.isRefused) throw new DOMException("the battery is low", "NotAllowedError");
    const lock = await request.call(navigator.wakeLock, kind);
    window.locks.push(lock);
    return lock;
  };
})()"""
# what a browser does when another window is looked at, and when ours is again
HIDE = """async () => {
  Object.defineProperty(document, "visibilityState", { value: "hidden", configurable: true });
  for (const lock of window.locks) await lock.release();
  document.dispatchEvent(new Event("visibilitychange"));
}"""
SHOW = """() => {
  delete document.visibilityState;
  document.dispatchEvent(new Event("visibilitychange"));
}"""


@pytest.fixture(scope="module")
def demo(populated: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Live]:
    """The populated ledger, served for reading."""
    folder = tmp_path_factory.mktemp("awake")
    shutil.copy(populated, folder / "stillroom.db")
    with serving(Settings(folder, names=(PLAIN,)), NOW) as running:
        yield running


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    context = tablet_context(browser)
    context.add_init_script(COUNTED)
    yield context.new_page()
    context.close()


def run_page(live: Live) -> str:
    """A dryer that is running."""
    with live.book.reading() as session:
        return f"/runs/{session.scalar(select(func.max(Run.id)))}"


def held(page: Page, number: int) -> None:
    """Wait until so many locks were given, of which the last is held."""
    page.wait_for_function(
        "(n) => window.locks.length === n && !window.locks.at(-1).released", arg=number
    )


def test_the_screen_is_kept_on_only_for_those_who_ask_and_that_is_remembered(
    page: Page, demo: Live
) -> None:
    page.goto(demo.address + run_page(demo))
    switch = page.get_by_label("Keep the screen on")
    expect(switch).not_to_be_checked()
    expect(page.get_by_text("The screen may go dark")).to_be_hidden()
    assert page.evaluate("window.locks.length") == 0
    page.get_by_text("Keep the screen on").tap()
    held(page, 1)
    page.goto(demo.address + "/write/chill")
    expect(switch).to_be_checked()
    held(page, 1)
    page.get_by_text("Keep the screen on").tap()
    page.wait_for_function("window.locks[0].released")
    page.goto(demo.address + "/write/intake")
    expect(switch).not_to_be_checked()
    assert page.evaluate("window.locks.length") == 0


def test_the_browser_is_asked_again_when_the_page_is_seen_again(page: Page, demo: Live) -> None:
    page.goto(demo.address + run_page(demo))
    page.get_by_text("Keep the screen on").tap()
    held(page, 1)
    page.evaluate(HIDE)
    page.wait_for_function("window.locks[0].released")
    assert page.evaluate("window.locks.length") == 1  # not while nobody looks
    page.evaluate(SHOW)
    held(page, 2)


def test_a_browser_that_refuses_is_named(page: Page, demo: Live) -> None:
    page.add_init_script("window.isRefused = true")
    page.goto(demo.address + run_page(demo))
    page.get_by_text("Keep the screen on").tap()
    expect(page.locator("[data-awake] [aria-live]")).to_have_text(
        "The browser does not allow it now, perhaps to save the battery."
    )


def test_nothing_is_promised_where_no_browser_can_do_it(browser: Browser, demo: Live) -> None:
    with in_another_room(browser) as plain:
        page = tablet_context(plain).new_page()
        page.goto(by_name(demo.address) + run_page(demo))
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        assert not page.evaluate("'wakeLock' in navigator")
        expect(page.get_by_text("Keep the screen on")).to_be_hidden()
        expect(page.get_by_text("The screen may go dark")).to_be_visible()
        page.get_by_role("link", name="With the lock it can").tap()
        expect(page.get_by_role("heading", level=1, name="The lock")).to_be_visible()
