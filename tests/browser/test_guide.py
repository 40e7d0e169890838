"""The guide comes out of the printer on one page, whatever paper and whoever's advice."""

import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from app.ledger.household import PlaceIn, add_place
from app.ledger.words import PlaceKind
from tests import builders as b
from tests.browser.live import Live, serving
from tests.browser.tablet import Tablet, tablet_context
from tests.databases import Shelf

pytestmark = pytest.mark.browser


@pytest.fixture
def live(shelf: Shelf, furnished_file: Path) -> Iterator[Live]:
    with serving(shelf.settings(furnished_file), b.evening(b.TODAY)) as running:
        yield running


def words_of(pdf: bytes) -> str:
    """What stands on it, "" where poppler is not installed."""
    if shutil.which("pdftotext") is None:
        return ""
    told = subprocess.run(["pdftotext", "-", "-"], input=pdf, capture_output=True, check=True)
    return " ".join(told.stdout.decode().split())


@pytest.mark.parametrize("rule_set", ["us", "ca", "uk", "au"])
def test_the_guide_is_one_page_of_a4_and_of_letter(
    browser: Browser, live: Live, rule_set: str
) -> None:
    with live.book.writing() as session:
        for number in range(6):
            place = PlaceIn(f"Pantry, shelf {number}", PlaceKind.ROOM, (14.0, 19.0, 23.0))
            add_place(session, place)
    context = tablet_context(browser)
    page = context.new_page()
    tablet = Tablet(page, live)
    tablet.open("/household/settings")
    page.locator("[name=rule_set]").select_option(rule_set)
    page.locator(".actions .button.main").tap()
    page.locator(".flash").wait_for()
    tablet.open("/papers/guide")
    for paper in ("A4", "Letter"):
        pdf = page.pdf(format=paper)
        assert len(re.findall(rb"/Type\s*/Page\b", pdf)) == 1, (paper, rule_set)
        words = words_of(pdf)
        if not words:
            continue
        assert "Guide to Birkbrae" in words
        assert "Pantry, shelf 5" in words
        assert "Common practice, no source" in words  # the last line of the sheet
    context.close()


def test_the_guide_says_how_to_log_eat_weigh_and_read_in_words_of_the_household(
    browser: Browser, live: Live
) -> None:
    context = tablet_context(browser)
    page = context.new_page()
    page.goto(live.address + "/papers/guide")
    headings = page.locator(".guide h2").all_inner_texts()
    for wanted in (
        "Take food in",
        "Eat one",
        "Weigh a tray",
        "Reading a window",
        "Reading a code",
        "Where things lie",
        "Where the cautions are",
    ):
        assert wanted in headings
    text = page.locator(".guide").inner_text()
    for place in b.PLACES:
        assert place.name in text
    context.close()
