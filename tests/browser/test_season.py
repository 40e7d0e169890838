"""The season page on a tablet and a phone: it fits with every fold open, and leads to the lots."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, ViewportSize, expect

from tests.browser.live import Live, serving
from tests.browser.populated import NOW
from tests.browser.tablet import Tablet, complaints_of, tablet_context
from tests.databases import Shelf

SIZES = [(1280, 800), (800, 1280), (390, 844), (320, 700)]
BEYOND = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
OPEN_ALL = "document.querySelectorAll('details').forEach((fold) => { fold.open = true; })"
# the feet of the columns of one drawing, in px of the screen, and the line they stand on
STANDING = """(drawing) => {
  const foot = (e) => e.getBoundingClientRect().bottom;
  const board = drawing.querySelector(".board").getBoundingClientRect();
  const there = [...drawing.querySelectorAll(".there")];
  return there.map((e) => Math.abs(foot(e) - (board.top + board.bottom) / 2)); }"""


@pytest.fixture
def demo(shelf: Shelf, populated: Path) -> Iterator[Live]:
    """The demo household, served."""
    with serving(shelf.settings(populated), NOW) as running:
        yield running


def opened(browser: Browser, live: Live, size: tuple[int, int]) -> Page:
    """The season page at a size."""
    viewport: ViewportSize = {"width": size[0], "height": size[1]}
    page = tablet_context(browser, viewport=viewport).new_page()
    page.goto(live.address + "/season")
    return page


def test_no_fold_opens_wider_than_the_screen(browser: Browser, demo: Live) -> None:
    for size in SIZES:
        page = opened(browser, demo, size)
        complaints = complaints_of(page)
        page.evaluate(OPEN_ALL)
        assert page.evaluate(BEYOND) == 0, size
        assert complaints == []
        page.context.close()


def test_columns_stand_on_their_line_at_every_size(browser: Browser, demo: Live) -> None:
    for size in SIZES:
        page = opened(browser, demo, size)
        drawings = page.locator(".shelf-svg:has(.there)").all()
        assert len(drawings) > 15
        for drawing in drawings[:5]:
            assert max(drawing.evaluate(STANDING)) <= 2.0, size
        page.context.close()


def test_from_the_section_to_a_lot_that_outlasts_its_window(browser: Browser, demo: Live) -> None:
    page = tablet_context(browser).new_page()
    tablet = Tablet(page, demo)
    tablet.open("/")
    tablet.section("Season")
    expect(page.get_by_role("heading", level=1)).to_have_text("Season")
    page.get_by_role("link", name="Six months ahead").tap()
    page.get_by_text(re.compile("more lots that would outlast their windows")).first.tap()
    sentence = page.locator("details[open] .outlasting li").first
    expect(sentence).to_contain_text("would still be there")
    name = sentence.get_by_role("link").inner_text()
    sentence.get_by_role("link").tap()
    expect(page.get_by_role("heading", level=1)).to_contain_text(name.rsplit(" ", 1)[0])
    page.context.close()
