"""A moose awaits its test: held by finger, found on every list, and free once nothing was found."""

from collections.abc import Iterator
from datetime import timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect
from sqlalchemy.orm import Session

from app.ledger.checks import check_all
from app.ledger.codes import code_of
from app.ledger.operations.check import Looked, check
from app.ledger.operations.climate import ReadingIn
from app.ledger.operations.portion import Portion, portion
from app.ledger.stock import StockRef
from app.ledger.words import CheckKind, Finding
from tests import builders as b
from tests.browser.live import Live, serving
from tests.browser.tablet import Tablet, complaints_of, tablet_context
from tests.browser.test_gallery import SMALL_TARGETS
from tests.databases import Shelf, on_both

pytestmark = pytest.mark.browser


@pytest.fixture
def live(shelf: Shelf) -> Iterator[Live]:
    with serving(
        shelf.settings(folder=shelf.folder / "data"), b.evening(b.TODAY + timedelta(days=1))
    ) as running:
        yield running


def two_parts(session: Session) -> tuple[StockRef, StockRef]:
    """A moose in the fridge and part of it in the freezer, whose thermometer was read."""
    b.a_household(session)
    meat = b.take_in(session, mass_g=3000, name="Moose shoulder")
    request = Portion(meat, 1000 * b.G, "Moose for mince", b.FREEZER, b.TODAY)
    part = b.made(b.do(session, portion, request), b.FREEZER)
    reading = ReadingIn(b.evening(b.TODAY), -18.0, typed="-18")
    looked = Looked(
        CheckKind.THERMOMETER, Finding.FINE, b.TODAY, place_id=b.FREEZER, reading=reading
    )
    b.do(session, check, looked)
    return meat, part


@on_both
def test_a_held_moose_is_found_everywhere_and_free_after_its_test(
    browser: Browser, live: Live
) -> None:
    with live.book.writing() as session:
        meat, part = (code_of(ref.lot_id) for ref in two_parts(session))
    context = tablet_context(browser, bypass_csp=True)  # axe is injected
    page = context.new_page()
    complaints = complaints_of(page)
    tablet = Tablet(page, live)

    tablet.open(f"/lots/{meat}")
    tablet.follow("Put on hold")
    expect(page.locator(".held-lines")).to_contain_text("Moose for mince")
    tablet.refused("Say why it is held.")
    tablet.tick("A test result is awaited")
    tablet.type("In a few words", "wasting disease")
    tablet.send("and 1 lot made of it")

    for path in ("/", f"/lots/{part}", f"/places/{b.FREEZER}"):
        tablet.open(path)
        expect(page.locator("main")).to_contain_text("a test result is awaited (wasting disease)")
    tablet.open("/")
    expect(page.locator("#on_hold")).to_contain_text("Moose for mince")

    paths = ["/", "/holds", f"/holds/new?lot={meat}", "/holds/new", "/holds/1/result",
             "/holds/1/release", f"/lots/{part}", f"/lots/{part}/evidence", "/history"]  # fmt: skip
    assert troubles(tablet, paths) == []

    tablet.open("/holds")
    tablet.follow("Write the result")
    tablet.tick("Not detected")
    tablet.send("Moose shoulder")
    expect(page.locator("main")).to_contain_text("Nothing is on hold.")
    tablet.open(f"/lots/{part}/evidence")
    expect(page.locator("main")).to_contain_text("Not detected: the hold is lifted")
    expect(page.locator("main")).to_contain_text("Chest freezer")
    context.close()
    assert complaints == []
    with live.book.reading() as session:
        assert check_all(session) == []


def troubles(tablet: Tablet, paths: list[str]) -> list[object]:
    """What axe finds, what scrolls sideways and what is too small for a finger."""
    page, axe, found = tablet.page, Axe(), []
    for path in paths:
        page.set_viewport_size({"width": 800, "height": 1280})
        tablet.open(path)
        found += [(path, v["id"], [n["html"][:90] for n in v["nodes"][:2]])
                  for v in axe.run(page).response["violations"]]  # fmt: skip
        for width in (320, 800, 1280):
            page.set_viewport_size({"width": width, "height": 800})
            wide = page.evaluate("document.documentElement.scrollWidth")
            found += [(path, width, f"is {wide} wide")] if wide > width else []
            found += [(path, width, small) for small in page.evaluate(SMALL_TARGETS)]
    return found
