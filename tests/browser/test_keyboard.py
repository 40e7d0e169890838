"""The core of the main story without mouse or finger: Tab, Enter, Space, arrows and letters.

At every stop it is asked what a person who cannot point needs: that something has the focus, that
it can be seen to have it, and that nothing lies over it.
"""

from collections.abc import Iterator
from contextlib import suppress
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect
from playwright.sync_api import TimeoutError as PlaywrightTimeoutError
from sqlalchemy import func, select

from app.ledger.checks import check_all
from app.ledger.models import Stock
from tests import builders as b
from tests.browser.live import Live, serving
from tests.browser.tablet import PATIENCE_MS, complaints_of
from tests.databases import Shelf

pytestmark = pytest.mark.browser

SETTLED_MS = 1_000
STOPS = 250  # more of them than any page of this story has

# what has the focus: its name, whether that shows, and whether something lies over it
FOCUS = """() => {
  const e = document.activeElement;
  if (!e || e === document.body || e === document.documentElement) return null;
  const words = (x) => x.textContent.replace(/\\s+/g, " ").trim();
  const label = e.labels?.[0] ? words(e.labels[0]) : "";
  const style = getComputedStyle(e);
  const box = e.getClientRects()[0] ?? e.getBoundingClientRect();  // a link may be broken
  const x = box.x + Math.min(box.width / 2, 20), y = box.y + Math.min(box.height / 2, 20);
  const on_top = document.elementFromPoint(x, y);
  return {
    name: e.getAttribute("aria-label") ?? (label || words(e)),
    kind: e.tagName.toLowerCase(),
    outlined: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
    seen: on_top !== null && (e.contains(on_top) || on_top.contains(e)),
    html: e.outerHTML.slice(0, 120),
  };
}"""


class Keys:
    """A page used by keyboard alone."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.faults: list[str] = []

    def stop(self) -> dict[str, Any] | None:
        """What has the focus now; it is noted where that is not to be seen."""
        focus: dict[str, Any] | None = self.page.evaluate(FOCUS)
        if focus is not None and not focus["seen"]:  # the page is on its way there
            with suppress(PlaywrightTimeoutError):
                self.page.wait_for_function(f"() => ({FOCUS})()?.seen", timeout=SETTLED_MS)
            focus = self.page.evaluate(FOCUS)
        if focus is not None:
            for asked, fault in (("outlined", "shows no focus"), ("seen", "is covered")):
                if not focus[asked]:
                    self.faults.append(f"{self.page.url}: {focus['html']} {fault}")
        return focus

    def to(self, name: str, kind: str = "") -> None:
        """Press Tab until something whose name begins so has the focus, a button if so told."""
        names = []
        for _ in range(STOPS):
            self.page.keyboard.press("Tab")
            focus = self.stop()
            names.append(focus["name"] if focus else "-")
            if focus and focus["name"].startswith(name) and focus["kind"].endswith(kind):
                return
            if names.count("-") > 1:  # once round the page
                break
        pytest.fail(f"{self.page.url}: Tab does not lead to {name!r}, but to {names}")

    def fill(self, name: str, text: str) -> None:
        """Come to a box, which chooses what stands in it, and type."""
        self.to(name)
        self.page.keyboard.type(text)

    def go(self, name: str, heading: str) -> None:
        """Follow a link or press a button with Enter, and arrive."""
        self.to(name)
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")
        expect(self.page.get_by_role("heading", level=1)).to_contain_text(heading)

    def send(self, name: str, said: str) -> None:
        """Press a button with Enter; the next page must say so."""
        self.to(name, "button")
        self.page.keyboard.press("Enter")
        self.page.locator(".flash, #errors").first.wait_for()
        amiss = self.page.locator("#errors, form .error, form .caution").all_inner_texts()
        if amiss:
            pytest.fail(f"{self.page.url}: {amiss}", pytrace=False)
        expect(self.page.locator(".flash")).to_contain_text(said)
        self.page.wait_for_load_state()


@pytest.fixture
def live(shelf: Shelf) -> Iterator[Live]:
    """Nothing is there yet."""
    with serving(shelf.settings(folder=shelf.folder / "data"), b.evening(b.TODAY)) as running:
        yield running


def test_a_lot_is_taken_in_packed_eaten_and_brought_back_by_keyboard(
    browser: Browser, live: Live
) -> None:
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    complaints = complaints_of(page)
    keys = Keys(page)
    page.goto(live.address)
    keys.fill("What is the household called", "Larkfell")
    keys.fill("Who writes entries", "Marit, Jonas")
    keys.fill("Height above the sea", "310")
    keys.send("Open the ledger", "The ledger of Larkfell is open")

    page.goto(live.address)
    keys.go("Write an entry", "Write an entry")
    keys.go("Take in", "Take in")
    keys.fill("What is it", "Rabbit")
    keys.fill("Nearest food in the table", "Game meat, rabbit, wild, raw (17180)")
    keys.fill("Bowl 1, gross", "1240")
    keys.to("Where it is now")
    page.keyboard.type("Fridge")  # a list is chosen from by its letters
    keys.send("Take in", "Taken in: Rabbit")
    keys.go("Pack", "Pack")
    keys.fill("Packages", "2")  # what stood there is chosen whole by coming to it
    keys.go("Compare again", "Pack")
    keys.fill("Package 1, net weight", "600")
    keys.fill("Package 2, net weight", "640")
    keys.to("I looked at every seal")
    page.keyboard.press("Space")
    keys.to("Where they are kept")
    page.keyboard.type("Chest")
    keys.send("Pack", "Packed: 2 packages")

    page.goto(live.address)
    keys.go(page.locator(".lot-line .lot-code").inner_text(), "Rabbit")
    keys.go("Eat", "Eat")
    keys.send("Eat", "Eaten")
    assert grams(live) == 640
    keys.to("Undo")
    page.keyboard.press("Enter")
    expect(page.locator(".flash")).to_contain_text("Taken back")
    assert grams(live) == 1240
    context.close()
    assert keys.faults == []
    assert complaints == []
    with live.book.reading() as session:
        assert check_all(session) == []


def grams(live: Live) -> int:
    with live.book.reading() as session:
        return (session.scalar(select(func.sum(Stock.mass_mg))) or 0) // 1000
