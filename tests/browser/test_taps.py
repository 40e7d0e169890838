"""A routine entry takes three taps from the home page, and the number; each tap is counted."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, ViewportSize, expect
from sqlalchemy import func, select

from app.ledger.models import Lot, Stock, TrayWeighing, Weighing
from app.ledger.stock import StockRef
from tests import builders as b
from tests.browser.live import Live, serving
from tests.browser.tablet import LANDSCAPE, Tablet, complaints_of, tablet_context
from tests.databases import Shelf

pytestmark = pytest.mark.browser
PORTRAIT: ViewportSize = {"width": 800, "height": 1280}
PHONE: ViewportSize = {"width": 390, "height": 844}
MOST_TAPS = 3
SIZES = pytest.mark.parametrize(
    "size", [LANDSCAPE, PORTRAIT, PHONE], ids=["landscape", "portrait", "phone"]
)


class Finger:
    """Taps and keys of the number pad, counted apart."""

    def __init__(self, page: Page, live: Live) -> None:
        self.page, self.taps, self.keys = page, 0, 0
        self._tablet = Tablet(page, live)
        self._tablet.open("/")

    def tap(self, target: Locator) -> None:
        target.tap()
        self.taps += 1

    def type(self, number: str) -> None:
        self._tablet.press(number)
        self.keys += len(number)

    def said(self, words: str) -> None:
        expect(self.page.locator(".flash")).to_contain_text(words)


class Larder:
    """Pouches on the shelf, corn in the fridge, a dryer at work."""

    def __init__(self, live: Live) -> None:
        with live.book.writing() as session:
            self.pouches = b.pouches(session)
            self.corn = b.take_in(session, b.SWEETCORN, name="Sweetcorn", place=b.FRIDGE)
            meat = b.cooked(session, 1100, name="Stew meat")
            self.run = b.loaded(session, b.a_tray(meat, 600), b.a_tray(meat, 500))


@pytest.fixture
def live(shelf: Shelf, furnished_file: Path) -> Iterator[Live]:
    with serving(shelf.settings(furnished_file), b.evening(b.TODAY)) as running:
        running.clock.forward(days=1, hours=3)
        yield running


@pytest.fixture
def larder(live: Live) -> Larder:
    return Larder(live)


@pytest.fixture
def page(browser: Browser, live: Live, size: ViewportSize) -> Iterator[Page]:
    """Closed before the server goes, so that nothing it still loads is refused."""
    assert live.address
    context = tablet_context(browser, viewport=size)
    page = context.new_page()
    complaints = complaints_of(page)
    yield page
    context.close()
    assert complaints == []


def grams(live: Live, *refs: StockRef) -> float:
    with live.book.reading() as session:
        return b.mass_of(session, refs) / b.G


def row(page: Page, name: str) -> Locator:
    return page.locator(".lot-line", has_text=name).first


def main_button(page: Page) -> Locator:
    return page.locator(".actions .button.main")


@SIZES
def test_to_eat_one_pouch_takes_two_taps(page: Page, live: Live, larder: Larder) -> None:
    finger = Finger(page, live)
    finger.tap(row(page, "Moose trim").get_by_role("link", name="Eat"))
    finger.tap(main_button(page))
    finger.said("Eaten.")
    assert finger.taps == 2
    assert grams(live, *larder.pouches) == 160


@SIZES
def test_to_move_a_lot_takes_three_taps(page: Page, live: Live, larder: Larder) -> None:
    finger = Finger(page, live)
    finger.tap(row(page, "Sweetcorn").locator(".lot-code"))
    finger.tap(page.locator(".lot-part").get_by_role("link", name=re.compile("^Move")))
    finger.tap(page.locator(".at-once").get_by_role("button", name="Chest freezer"))
    finger.said("Moved.")
    assert finger.taps == MOST_TAPS
    assert grams(live, StockRef(larder.corn.lot_id, b.FREEZER)) == 1000


@SIZES
def test_to_weigh_a_tray_takes_three_taps_and_the_number(
    page: Page, live: Live, larder: Larder
) -> None:
    finger = Finger(page, live)
    finger.tap(page.get_by_role("navigation", name="Pages").get_by_text("Bench", exact=True))
    finger.tap(page.get_by_role("link", name=re.compile("^Weigh tray 1")))
    finger.type("912")  # the box is open, and so is the pad
    finger.tap(page.get_by_role("button", name="Write this weighing down"))
    finger.said("Tray 1 is written down.")
    assert (finger.taps, finger.keys) == (MOST_TAPS, 3)
    with live.book.reading() as session:
        asked = select(TrayWeighing).where(TrayWeighing.run_id == larder.run)
        (weighing,) = session.scalars(asked).all()
        assert weighing.number == 1
        assert weighing.gross_mg == 912 * b.G


@SIZES
def test_to_record_one_bowl_takes_three_taps_and_the_number(
    page: Page, live: Live, larder: Larder
) -> None:
    """The bowl stays on this tablet, tare and all, until the intake is written."""
    assert larder.run
    finger = Finger(page, live)
    finger.tap(main_button(page))
    finger.tap(page.get_by_role("link", name=re.compile("^Take in")))
    finger.tap(page.locator("[data-bowl^='Blue']"))
    finger.type("1712")
    expect(page.locator("[data-tally-net]").first).to_have_text("1\u202f412")
    assert (finger.taps, finger.keys) == (MOST_TAPS, 4)
    page.goto(live.address)
    page.goto(live.address + "/write/intake")
    expect(page.get_by_label("Bowl 1, gross", exact=True)).to_have_value("1712")
    expect(page.locator("[data-tally-net]").first).to_have_text("1\u202f412")


@SIZES
def test_more_of_the_same_is_taken_in_with_five_taps_and_the_number(
    page: Page, live: Live, larder: Larder
) -> None:
    finger = Finger(page, live)
    finger.tap(main_button(page))
    finger.tap(page.get_by_role("link", name=re.compile("^Take in")))
    finger.tap(page.get_by_role("navigation", name="More of what").get_by_text("Sweetcorn"))
    finger.tap(page.locator("[data-bowl^='Blue']"))
    finger.type("1800")
    finger.tap(main_button(page))
    finger.said("Taken in: Sweetcorn")
    assert (finger.taps, finger.keys) == (5, 4)
    with live.book.reading() as session:
        assert session.scalar(select(func.count(Lot.id)).where(Lot.name == "Sweetcorn")) == 2
        newest = session.scalar(select(func.max(Stock.lot_id)))
        assert newest is not None
        assert grams(live, StockRef(newest, b.FRIDGE)) == 1500
        tares = session.scalars(select(Weighing.tare_mg).order_by(Weighing.id)).all()
        assert tares[-1] == 300 * b.G


@SIZES
def test_something_new_is_taken_in_with_seven_taps_a_name_and_the_number(
    page: Page, live: Live, larder: Larder
) -> None:
    """One key of the household's own name leads to the food by the same word."""
    assert larder.run
    finger = Finger(page, live)
    finger.tap(main_button(page))
    finger.tap(page.get_by_role("link", name=re.compile("^Take in")))
    finger.tap(page.get_by_label("What is it"))
    page.keyboard.type("Plums")
    finger.tap(page.get_by_label("Nearest food in the table"))
    page.keyboard.type("plums")
    finger.tap(page.locator("[data-bowl^='Blue']"))
    finger.type("2300")
    finger.tap(page.get_by_text("Our own plot"))
    finger.tap(main_button(page))
    finger.said("Taken in: Plums")
    assert (finger.taps, finger.keys) == (7, 4)
