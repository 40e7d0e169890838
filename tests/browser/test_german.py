"""Every page of a full ledger in German: nothing breaks, nothing is left in braces."""

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from app import language
from app.settings import Settings
from app.web.factory import create_app
from tests.browser.live import Live, serving
from tests.browser.populated import NOW
from tests.browser.tablet import complaints_of, tablet_context
from tests.language.unspoken import every_page

PHONE = {"width": 390, "height": 844}
POINT = re.compile(r"(?<![\w.])\d+\.\d{1,2}(?![\w.])[^\w]{0,2}(g|kg|oz|lb|h|°C|°F|%|l|ml|Cups)\b")
TYPED = re.compile(r"getippt|^-?[\d.]+ °C$|Abgelesen|Gemessen: ")  # as somebody typed it
TOO_WIDE = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"


def test_every_page_is_said_in_german_with_its_values(populated: Path, tmp_path: Path) -> None:
    shutil.copy(populated, tmp_path / "stillroom.db")
    app = create_app(Settings(tmp_path), lambda: NOW)
    app.testing = True  # a text whose values do not fit raises
    app.before_request(lambda: language.speak("de"))
    pages = dict(every_page(app))
    assert len(pages) > 150
    odd = {a: [t for t in page.texts if re.search(r"\{\w*\}", t)] for a, page in pages.items()}
    assert {address: texts for address, texts in odd.items() if texts} == {}
    said = {(a, t) for a, page in pages.items() for t in page.texts if not TYPED.search(t)}
    assert {(a, t) for a, t in said if POINT.search(t)} == set()
    assert {(a, t) for a, t in said if re.search(r"\b\d+ of \d+\b", t)} == set()


@pytest.fixture
def live(populated: Path, tmp_path: Path) -> Iterator[Live]:
    shutil.copy(populated, tmp_path / "stillroom.db")
    with serving(tmp_path, NOW) as running:
        yield running


@pytest.mark.browser
@pytest.mark.parametrize("path", ["/", "/bench", "/write/intake", "/season", "/household"])
def test_german_words_fit_a_phone(browser: Browser, live: Live, path: str) -> None:
    context = tablet_context(browser, viewport=PHONE, locale="de-DE")
    page = context.new_page()
    found = complaints_of(page)
    page.goto(live.address + path)
    expect(page.locator("html")).to_have_attribute("lang", "de")
    assert page.evaluate(TOO_WIDE) == 0
    assert found == []
    context.close()
