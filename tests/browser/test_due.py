"""A morning's looks: a seal, a thermometer, a phone that subscribes; by finger and eye."""

from collections.abc import Iterator
from datetime import timedelta
from io import BytesIO
from pathlib import Path

import pytest
import zxingcpp
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from tests import builders as b
from tests.browser.live import NAME, Live, serving
from tests.browser.tablet import Tablet, complaints_of, tablet_context
from tests.browser.test_gallery import SMALL_TARGETS
from tests.databases import Shelf

pytestmark = pytest.mark.browser


@pytest.fixture
def live(shelf: Shelf, furnished_file: Path) -> Iterator[Live]:
    """Pouches packed yesterday, a freezer that nobody has read, a month later."""
    month_on = b.evening(b.TODAY) + timedelta(days=30)
    with serving(shelf.settings(furnished_file), month_on) as running:
        with running.book.writing() as session:
            b.take_in(session, place=b.FREEZER)
            b.pouches(session)
        yield running


def audited(page: Page) -> list[str]:
    """What the eye for barriers finds on the page, and targets too small for a finger."""
    found = Axe().run(page).response["violations"]
    faults = [f"{page.url}: {v['id']} {v['nodes'][0]['html']}" for v in found]
    return faults + [f"{page.url}: small {x}" for x in page.evaluate(SMALL_TARGETS)]


def test_a_mornings_looks(browser: Browser, live: Live) -> None:
    context = tablet_context(browser, bypass_csp=True, color_scheme="light")
    page = context.new_page()
    heard = complaints_of(page)
    tablet = Tablet(page, live)
    tablet.open("/")
    assert audited(page) == []
    seal = page.locator(".due-line", has_text="is each drawn tight")
    seal.get_by_role("button", name="All tight").tap()
    expect(page.locator(".flash")).to_contain_text("All tight: Moose trim")
    page.get_by_role("button", name="Undo").tap()
    expect(page.locator(".flash")).to_be_visible()
    tablet.open("/")
    page.locator(".due-line", has_text="is each drawn tight").get_by_role("button").tap()
    expect(page.locator(".flash")).to_contain_text("All tight")
    read(tablet, "2")  # a slip: no freezer is as warm as that
    expect(page.locator("#errors")).to_be_visible()
    assert audited(page) == []
    tablet.type("It reads", "-18.5")
    tablet.send("Chest freezer reads −18.5 °C")
    tablet.open("/due")
    expect(page.locator("main")).to_contain_text("Last read 19 November 2025: −18.5 °C")
    assert audited(page) == []
    assert heard == []
    context.close()


def read(tablet: Tablet, keys: str) -> None:
    """Press the number pad into the box of the chest freezer, and write it down."""
    line = tablet.page.locator(".due-line", has_text="Chest freezer")
    line.get_by_role("textbox").tap()
    tablet.press(keys)
    line.get_by_role("button", name="Write it down").tap()


def test_a_phone_fetches_the_address_that_the_household_made(browser: Browser, live: Live) -> None:
    context = tablet_context(browser, bypass_csp=True, color_scheme="light")
    page = context.new_page()
    tablet = Tablet(page, live)
    tablet.open("/household")
    page.get_by_role("button", name="Make a calendar address").tap()
    address = page.get_by_label("Address to subscribe to").input_value()
    assert address.startswith(live.address)
    assert audited(page) == []
    answer = browser.new_context().request.get(address)
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    assert answer.text().startswith("BEGIN:VCALENDAR")
    assert page.locator(".calendar-code").count() == 0  # of no use to a phone
    named = address.replace("127.0.0.1", NAME)
    page.goto(f"{live.address.replace('127.0.0.1', NAME)}/household")
    picture = Image.open(BytesIO(page.locator(".calendar-code").screenshot()))
    assert [code.text for code in zxingcpp.read_barcodes(picture)] == [named]
    assert audited(page) == []
    page.get_by_role("button", name="Switch it off").tap()
    expect(page.get_by_role("button", name="Make a calendar address")).to_be_visible()
    assert browser.new_context().request.get(address).status == 404
    context.close()
