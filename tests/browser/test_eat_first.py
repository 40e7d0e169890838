"""What to eat first, at a tablet held either way: narrowed, unfolded and acted upon, tap by tap."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, ViewportSize, expect

from app.ledger.stock import StockRef
from tests import builders as b
from tests.browser.live import Live, serving
from tests.browser.tablet import LANDSCAPE, Tablet, complaints_of, tablet_context
from tests.browser.test_due import audited
from tests.databases import Shelf

pytestmark = pytest.mark.browser
PORTRAIT: ViewportSize = {"width": 800, "height": 1280}
PHONE: ViewportSize = {"width": 390, "height": 844}
LEAST = 44  # px that a finger needs


class Larder:
    """What lies there, a month after it was put up."""

    def __init__(self, live: Live) -> None:
        with live.book.writing() as session:
            self.pouches = b.pouches(session)
            self.corn = b.take_in(session, b.SWEETCORN, name="Sweetcorn", place=b.FREEZER)
            self.trout = b.take_in(session, b.TROUT, name="Trout", place=b.FREEZER)

    def on_hand_mg(self, live: Live, *refs: StockRef) -> int:
        with live.book.reading() as session:
            return b.mass_of(session, refs)


@pytest.fixture
def live(shelf: Shelf, furnished_file: Path) -> Iterator[Live]:
    month_on = b.evening(b.TODAY) + timedelta(days=30)
    with serving(shelf.settings(furnished_file), month_on) as running:
        yield running


@pytest.fixture
def larder(live: Live) -> Larder:
    return Larder(live)


class Finger:
    """Taps, counted."""

    def __init__(self, page: Page) -> None:
        self.page, self.taps = page, 0

    def tap(self, target: Locator) -> None:
        target.tap()
        self.taps += 1


def row(page: Page, name: str) -> Locator:
    return page.locator(".lot-line", has_text=name)


def why(page: Page, name: str) -> Locator:
    """The words of a row, which unfold."""
    return row(page, name).locator("summary", has_text="Why here")


@pytest.mark.parametrize("size", [LANDSCAPE, PORTRAIT, PHONE], ids=["wide", "high", "phone"])
def test_a_pouch_is_eaten_in_two_taps(
    browser: Browser, live: Live, larder: Larder, size: ViewportSize
) -> None:
    context = tablet_context(browser, viewport=size)
    page = context.new_page()
    heard = complaints_of(page)
    page.goto(live.address)
    finger = Finger(page)
    finger.tap(row(page, "Moose trim").get_by_role("link", name="Eat"))
    finger.tap(page.locator(".actions .button.main"))
    expect(page.locator(".flash")).to_contain_text("Eaten.")
    assert finger.taps <= 3
    assert larder.on_hand_mg(live, *larder.pouches) == 2 * 80 * b.G
    assert heard == []
    context.close()


def test_part_of_a_pouch_is_eaten_in_three_taps_and_the_number(
    browser: Browser, live: Live, larder: Larder
) -> None:
    context = tablet_context(browser)
    page = context.new_page()
    page.goto(live.address)
    finger = Finger(page)
    finger.tap(row(page, "Moose trim").get_by_role("link", name="Eat"))
    finger.tap(page.get_by_label("How much", exact=True))
    Tablet(page, live).press("30")
    finger.tap(page.locator(".actions .button.main"))
    expect(page.locator(".flash")).to_contain_text("Eaten.")
    assert finger.taps <= 3
    assert larder.on_hand_mg(live, *larder.pouches) == (3 * 80 - 30) * b.G
    context.close()


@pytest.mark.parametrize("size", [LANDSCAPE, PORTRAIT], ids=["landscape", "portrait"])
def test_the_list_is_narrowed_and_acted_upon_by_finger(
    browser: Browser, live: Live, larder: Larder, size: ViewportSize
) -> None:
    context = tablet_context(browser, viewport=size, bypass_csp=True, color_scheme="light")
    page = context.new_page()
    heard = complaints_of(page)
    page.goto(live.address)
    page.get_by_text("Narrow the list").tap()
    assert audited(page) == []
    page.get_by_label("Place").select_option(label="Chest freezer")
    page.get_by_label("Fish", exact=True).tap()
    show = page.get_by_role("button", name="Show these")
    box = show.bounding_box()
    assert box is not None
    assert box["height"] >= LEAST
    show.tap()
    expect(page.get_by_role("status")).to_contain_text("Chest freezer, without fish.")
    expect(row(page, "Sweetcorn")).to_be_visible()
    expect(row(page, "Trout")).to_have_count(0)
    expect(row(page, "Moose trim")).to_have_count(0)
    assert audited(page) == []
    finger = Finger(page)
    finger.tap(why(page, "Sweetcorn"))
    way = row(page, "Sweetcorn").locator(".way", has_text="Dried in Freeze-dryer")
    expect(way).to_contain_text("it gains ")
    assert audited(page) == []
    finger.tap(way.get_by_role("link", name="Load the dryer"))
    expect(page.get_by_role("heading", level=1)).to_contain_text("Load")
    assert finger.taps == 2
    assert f"from={larder.corn}" in page.url
    page.go_back()
    page.get_by_role("link", name="Show everything").tap()
    expect(row(page, "Trout")).to_be_visible()
    assert heard == []
    context.close()


def test_moving_to_a_colder_place_takes_three_taps(
    browser: Browser, live: Live, larder: Larder
) -> None:
    """The fold, the way, and the form, which has the lot and the place."""
    context = tablet_context(browser)
    page = context.new_page()
    page.goto(live.address)
    finger = Finger(page)
    finger.tap(why(page, "Moose trim"))
    way = row(page, "Moose trim").locator(".way", has_text="Moved to Fridge")
    finger.tap(way.get_by_role("link", name="Move"))
    expect(page.get_by_label("Where to")).to_have_value(str(b.FRIDGE))
    finger.tap(page.locator(".actions .button.main"))
    expect(page.locator(".flash")).to_contain_text("Moved.")
    assert finger.taps <= 3
    moved = [StockRef(ref.lot_id, b.FRIDGE, ref.package_id) for ref in larder.pouches]
    assert larder.on_hand_mg(live, *moved) == 3 * 80 * b.G
    context.close()


def test_without_scripts_the_fold_leads_to_a_page_that_says_the_same(
    browser: Browser, live: Live, larder: Larder
) -> None:
    context = tablet_context(browser, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{live.address}/?food=vegetables&state=ready&serves=four")
    fold = row(page, "Sweetcorn")
    why(page, "Sweetcorn").tap()
    expect(fold.get_by_text("of its window is used")).to_be_visible()
    fold.get_by_role("link", name="What to do about it").tap()
    expect(page.locator(".way", has_text="Dried in Freeze-dryer")).to_be_visible()
    assert page.url.endswith(f"/eat-first/{larder.corn}")
    context.close()


def test_a_server_that_is_away_leaves_the_link_in_the_fold(
    browser: Browser, live: Live, larder: Larder
) -> None:
    context = tablet_context(browser)
    page = context.new_page()
    page.goto(live.address)
    context.set_offline(True)
    fold = row(page, "Sweetcorn")
    why(page, "Sweetcorn").tap()
    expect(fold.get_by_role("link", name="What to do about it")).to_be_visible()
    why(page, "Sweetcorn").tap()
    context.set_offline(False)
    why(page, "Sweetcorn").tap()
    expect(fold.locator(".way").first).to_be_visible()
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_what_to_do_has_no_barriers_and_fits_a_narrow_phone(
    browser: Browser, live: Live, larder: Larder, scheme: str
) -> None:
    narrow: ViewportSize = {"width": 320, "height": 700}
    context = tablet_context(browser, viewport=narrow, bypass_csp=True, color_scheme=scheme)
    page = context.new_page()
    for path in ("/", f"/eat-first/{larder.corn}", f"/eat-first/{larder.pouches[0]}"):
        page.goto(live.address + path)
        assert audited(page) == []
        assert page.evaluate("document.documentElement.scrollWidth") == narrow["width"]
    page.goto(live.address)
    page.get_by_text("Why here").first.tap()
    page.locator(".ways").first.wait_for()
    assert page.evaluate("document.documentElement.scrollWidth") == narrow["width"]
    context.close()
