"""A power cut in October, told on a tablet: looked at, decided, written, and taken back."""

from collections.abc import Iterator
from datetime import timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect
from sqlalchemy import select

from app.ledger.checks import check_all
from app.ledger.models import Incident, Stock
from tests import builders as b
from tests.browser.live import Live, serving
from tests.browser.tablet import Tablet, complaints_of, tablet_context
from tests.browser.test_gallery import SMALL_TARGETS
from tests.databases import Shelf, on_both

pytestmark = pytest.mark.browser
NOW = b.evening(b.TODAY) + timedelta(days=2)


@pytest.fixture
def live(shelf: Shelf) -> Iterator[Live]:
    with serving(shelf.settings(folder=shelf.folder / "data"), NOW) as running:
        with running.book.writing() as session:
            b.a_household(session)
            b.take_in(session, place=b.FREEZER, name="Moose, shoulder")
            b.take_in(session, b.SWEETCORN, place=b.FREEZER, name="Sweetcorn")
            b.take_in(session, b.APPLES, place=b.FREEZER, name="Apples, sliced")
            b.take_in(session, b.TROUT, place=b.FREEZER, name="Pond trout")
            b.pouches(session)
        yield running


@on_both
def test_a_power_cut_is_told_judged_written_and_taken_back(browser: Browser, live: Live) -> None:
    context = tablet_context(browser)
    page = context.new_page()
    complaints = complaints_of(page)
    tablet = Tablet(page, live)
    tablet.open("/write")
    tablet.follow("Something went wrong")
    expect(page.get_by_role("heading", name="Something went wrong")).to_be_visible()
    nothing_is_wrong_with(page)
    tablet.follow("The power was out")
    expect(page.get_by_role("heading", name="The power was out")).to_be_visible()
    tablet.tick("Chest freezer")
    page.get_by_label("From", exact=True).fill("2025-10-22T09:00")
    tablet.type("How warm the food became, at most", "12 °C")
    tablet.tick("No: thawed")
    nothing_is_wrong_with(page)
    page.get_by_role("button", name="What does it mean").tap()
    expect(page.get_by_role("heading", name="To be discarded: 3")).to_be_visible()
    moose = page.get_by_role("group", name="Moose, shoulder")
    expect(moose.get_by_label("Discard it")).to_be_checked()
    trout = page.get_by_role("group", name="Pond trout")
    trout.get_by_label("Ice in this one").select_option("yes")
    page.get_by_role("button", name="Work it out again").tap()
    expect(page.get_by_role("heading", name="To be discarded: 2")).to_be_visible()
    nothing_is_wrong_with(page)
    tablet.send("2 discarded")
    expect(page.locator("table.incident")).to_contain_text("Moose, shoulder")
    nothing_is_wrong_with(page)
    with live.book.reading() as session:
        assert session.scalar(select(Incident.kind)) == "power_out"
        assert check_all(session) == []
        assert len(session.scalars(select(Stock).where(Stock.place_id == b.FREEZER)).all()) == 2
    page.get_by_role("button", name="Undo").tap()
    expect(page.locator(".flash")).to_contain_text("Taken back")
    with live.book.reading() as session:
        assert len(session.scalars(select(Stock).where(Stock.place_id == b.FREEZER)).all()) == 4
        assert check_all(session) == []
    context.close()
    assert complaints == []


def nothing_is_wrong_with(page: Page) -> None:
    """By axe, by finger, and by width."""
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    assert page.evaluate(SMALL_TARGETS) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
