"""The bench on a tablet: its clocks go on by the server's time, and nothing moves meanwhile."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser, Locator, Page, ViewportSize, expect

from tests import builders as b
from tests.browser.live import Live, serving
from tests.browser.tablet import LANDSCAPE, complaints_of, tablet_context
from tests.browser.test_due import audited
from tests.databases import Shelf

pytestmark = pytest.mark.browser
PORTRAIT: ViewportSize = {"width": 800, "height": 1280}
PHONE: ViewportSize = {"width": 390, "height": 844}
NARROW: ViewportSize = {"width": 320, "height": 640}
SIZES = pytest.mark.parametrize(
    "size", [LANDSCAPE, PORTRAIT, PHONE, NARROW], ids=["landscape", "portrait", "phone", "narrow"]
)


@pytest.fixture
def live(shelf: Shelf, furnished_file: Path) -> Iterator[Live]:
    with serving(shelf.settings(furnished_file), b.evening(b.TODAY)) as running:
        with running.book.writing() as session:
            b.cooked(session)
            meat = b.cooked(session, 600, name="Stew meat")
            b.loaded(session, b.a_tray(meat, 600))
        running.clock.forward(minutes=74, seconds=30)
        yield running


def open_bench(browser: Browser, live: Live, size: ViewportSize) -> Page:
    """On a tablet whose own clock is wrong by a quarter of a century."""
    page = tablet_context(browser, viewport=size, bypass_csp=True).new_page()
    page.clock.install(time=datetime(2001, 1, 1, tzinfo=UTC))
    page.goto(live.address + "/bench")
    return page


def figures(page: Page) -> Locator:
    """The figures of the hot pot: since when, to 21 °C, to 5 °C."""
    return page.locator(".card", has_text="21 °C").locator(".figure")


@SIZES
def test_clocks_go_on_by_the_time_of_the_server_and_nothing_moves(
    browser: Browser, live: Live, size: ViewportSize
) -> None:
    page = open_bench(browser, live, size)
    heard = complaints_of(page)
    expect(figures(page)).to_have_text(["1 h 14 min", "in 45 min", "in 4 h 45 min"])
    buttons = page.locator(".card .button.main")
    before = [button.bounding_box() for button in buttons.all()]
    page.clock.fast_forward("01:00:00")
    expect(figures(page)).to_have_text(["2 h 14 min", "14 min ago", "in 3 h 45 min"])
    over = page.locator(".clock.over")
    expect(over).to_have_count(1)
    expect(over).to_contain_text("21 °C or colder")
    assert [button.bounding_box() for button in buttons.all()] == before
    assert heard == []
    page.context.close()


def test_after_two_days_a_clock_counts_days(browser: Browser, live: Live) -> None:
    page = open_bench(browser, live, LANDSCAPE)
    page.clock.fast_forward(60 * 3_600_000)
    expect(figures(page).first).to_have_text("2 d 13 h")
    page.context.close()


@SIZES
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_bench_is_reached_by_eye_and_finger(
    browser: Browser, live: Live, size: ViewportSize, scheme: Literal["light", "dark"]
) -> None:
    page = tablet_context(browser, viewport=size, bypass_csp=True, color_scheme=scheme).new_page()
    page.goto(live.address + "/bench")
    assert audited(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") == size["width"]
    page.context.close()


def test_without_scripts_the_clocks_stand_as_the_server_wrote_them(
    browser: Browser, live: Live
) -> None:
    context = tablet_context(browser, java_script_enabled=False)
    page = context.new_page()
    page.goto(live.address + "/bench")
    assert figures(page).all_inner_texts() == ["1 h 14 min", "in 45 min", "in 4 h 45 min"]
    context.close()


@pytest.mark.parametrize("path", ["move", "intake", "steps"])
def test_the_pages_of_the_first_minutes_are_reached_by_eye_and_finger(
    browser: Browser, live: Live, path: str
) -> None:
    with live.book.writing() as session:
        ref = b.take_in(session)
    address = {
        "move": f"/write/move?from={ref}",
        "intake": "/write/intake?first=1",
        "steps": "/first-steps",
    }[path]
    page = tablet_context(browser, viewport=PORTRAIT, bypass_csp=True).new_page()
    page.goto(live.address + address)
    assert audited(page) == []
    page.context.close()


def test_enter_in_a_box_of_moving_does_not_tap_a_place(browser: Browser, live: Live) -> None:
    """The first button of a form is what Enter means: here the main one, not the first place."""
    with live.book.writing() as session:
        ref = b.take_in(session, place=b.FRIDGE)
    page = tablet_context(browser).new_page()
    page.goto(f"{live.address}/write/move?from={ref}")
    page.get_by_label("Where to").select_option(str(b.PANTRY))
    day = page.get_by_label("Day", exact=True)
    day.focus()
    day.press("Enter")
    expect(page.locator(".flash")).to_contain_text("Moved.")
    with live.book.reading() as session:
        assert b.all_stock(session)[type(ref)(ref.lot_id, b.PANTRY)] == 1000 * b.G
    page.context.close()


def test_the_button_that_pairs_a_device_is_as_wide_as_every_main_button(
    browser: Browser, live: Live
) -> None:
    page = tablet_context(browser, viewport=PORTRAIT).new_page()
    widths = []
    for address in ("/household", "/household/devices"):
        page.goto(live.address + address)
        box = page.locator(".actions .button.main").bounding_box()
        assert box is not None
        widths.append(box["width"])
    assert widths[0] == widths[1]
    page.context.close()
