"""A place by finger: how warm it is told, a reading, a logger's file, and the lot that says why."""

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from tests import builders as b
from tests.browser.live import Live, serving
from tests.browser.tablet import Tablet, complaints_of, tablet_context
from tests.browser.test_gallery import SMALL_TARGETS
from tests.databases import Shelf

pytestmark = pytest.mark.browser


@pytest.fixture
def live(shelf: Shelf) -> Iterator[Live]:
    """A household with moose trim in the freezer and apples in the pantry."""
    with serving(shelf.settings(folder=shelf.folder / "data"), b.evening(b.TODAY)) as running:
        with running.book.writing() as session:
            b.a_household(session)
            b.take_in(session, mass_g=2400, place=b.FREEZER, on=date(2025, 8, 1))
            b.take_in(session, b.APPLES, 900, place=b.PANTRY, on=date(2025, 9, 1))
        yield running


def a_file() -> bytes:
    """A reading every two hours from 25 August on, day first, some rows broken."""
    lines, at = ["Time;Temperature (°C);Humidity (%)"], datetime.combine(date(2025, 8, 25), time())
    while at.date() < date(2025, 10, 19):
        lines.append(f"{at:%d.%m.%Y %H:%M};{-16.5 + at.hour / 12:.1f};{70 + at.hour % 5}")
        at += timedelta(hours=2)
    lines[9] = lines[9].replace("-16.0", "ERR").replace("-15.2", "ERR")
    return "\n".join(lines).encode()


def blemishes(page: Page) -> list[object]:
    """What axe finds on this page, and what is too small for a finger."""
    found = [(page.url, v["id"], [n["html"][:120] for n in v["nodes"][:3]])
             for v in Axe().run(page).response["violations"]]  # fmt: skip
    return found + [(page.url, target) for target in page.evaluate(SMALL_TARGETS)]


def test_a_place_told_read_and_logged_by_finger(browser: Browser, live: Live) -> None:
    context = tablet_context(browser, bypass_csp=True, color_scheme="light")
    page = context.new_page()
    complaints, tablet, found = complaints_of(page), Tablet(page, live), []
    tablet.open("/places")
    found += blemishes(page)

    tablet.follow("Pantry")
    tablet.follow("Change how warm it is")
    tablet.type("How warm it usually is", "11")
    page.locator("summary", has_text="Month by month").tap()
    page.get_by_role("button", name="Start every month").tap()
    expect(page.locator("main")).to_contain_text("Every month is now like the boxes above.")
    tablet.type("July, usual", "16")
    tablet.type("July, warmest", "21")
    found += blemishes(page)
    tablet.send("how warm it is from 20 October 2025")
    expect(page.locator("main")).to_contain_text("month by month, as told")
    found += blemishes(page)

    tablet.section("Places")
    tablet.follow("Chest freezer")
    tablet.follow("Write a reading")
    tablet.type("What the thermometer shows", "-17")
    found += blemishes(page)
    tablet.send("Chest freezer reads −17 °C.")

    tablet.follow("Read in a logger’s file")
    expect(page.locator("h1")).to_have_text("A logger’s file: Chest freezer")
    found += blemishes(page)
    sent = {"name": "chest-freezer.csv", "mimeType": "text/csv", "buffer": a_file()}
    page.locator("#file").set_input_files(sent)  # type: ignore[arg-type]
    page.locator(".actions .button.main").tap()
    expect(page.locator("main")).to_contain_text("without a usable reading")
    expect(page.locator("main")).to_contain_text("From 1 October 2025 on")
    found += blemishes(page)
    tablet.send("readings of chest-freezer.csv")
    found += blemishes(page)

    page.locator(".lot-line a[href^='/lots/']").first.tap()
    expect(page.locator(".kept")).to_contain_text("since 1 October 2025 logged")
    tablet.follow("How this was worked out")
    expect(page.locator("main")).to_contain_text("as logged from then on")
    found += blemishes(page)
    context.close()
    assert found == []
    assert complaints == []
