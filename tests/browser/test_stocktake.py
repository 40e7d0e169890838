"""The freezer is written down on the first day, and walked with the tablet a week later."""

from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from app.ledger.checks import check_all
from app.ledger.queries.stocktake import rows_at
from tests import builders as b
from tests.browser.live import Live, serving
from tests.browser.tablet import Tablet, complaints_of, tablet_context
from tests.browser.test_gallery import SMALL_TARGETS
from tests.databases import Shelf, on_both

pytestmark = pytest.mark.browser
SIZES = ((1280, 800), (390, 844))


@pytest.fixture
def live(shelf: Shelf) -> Iterator[Live]:
    with serving(shelf.settings(folder=shelf.folder / "data"), b.evening(b.TODAY)) as running:
        with running.book.writing() as session:
            b.a_household(session)
        yield running


@on_both
def test_a_freezer_is_written_down_and_walked_a_week_later(browser: Browser, live: Live) -> None:
    context = tablet_context(browser, bypass_csp=True)  # axe is injected
    page = context.new_page()
    complaints = complaints_of(page)
    tablet = Tablet(page, live)

    tablet.open("/")
    tablet.write_entry("What is there already")
    rows = (("moose", "2 kg", "2024-10"), ("sweet corn", "600 g", "2025"), ("apples", "1 kg", "?"))
    for i, texts in enumerate(rows):
        within = page.locator(".rows").nth(i)
        for label, text in zip(("What it is", "Weight", "Since"), texts, strict=True):
            within.get_by_label(f"{label}, row {i + 1}", exact=True).fill(text)
    page.locator("#rows-2-since").fill("autumn")
    tablet.refused("or ? when not known")
    expect(page.locator("#rows-0-weight")).to_have_value("2 kg")
    assert looked_at(page) == []
    page.locator("#rows-2-since").fill("?")
    tablet.send("Taken in: 3 lots.")
    expect(page.locator("main")).to_contain_text("some time in October 2024")
    assert looked_at(page) == []

    live.clock.forward(days=7)
    with live.book.reading() as session:
        apples, moose, _corn = rows_at(session, b.FREEZER)
    tablet.open(f"/places/{b.FREEZER}")
    tablet.follow("Take stock here")
    expect(page.locator("h1")).to_contain_text("Take stock")
    assert looked_at(page) == []
    page.locator(f"#row-{apples.ref} label", has_text="Not there").tap()
    page.locator(f"[name='mass-{moose.ref}']").fill("1900")
    page.reload()
    expect(page.locator(".draft-note")).to_be_visible()  # the tablet slept: nothing is lost
    expect(page.locator(f"[name='mass-{moose.ref}']")).to_have_value("1900")
    tablet.tick("All that is left unanswered is there")
    page.locator(".actions .button.main").tap()
    expect(page.locator("#differences")).to_contain_text("100 g")
    expect(page.locator("#differences")).to_contain_text("1 row agrees")
    assert looked_at(page) == []
    tablet.type("Why does it differ", "apples went into the stewpot")
    tablet.send("2 differences written")
    expect(page.locator("main")).to_contain_text("apples went into the stewpot")
    assert looked_at(page) == []

    page.locator(".flash button").tap()
    expect(page.locator(".flash")).to_contain_text("aken back")
    tablet.open(f"/places/{b.FREEZER}/stocktake")
    expect(page.locator(f"#row-{apples.ref}")).to_contain_text("1.00 kg")
    expect(page.locator(".draft-note")).to_be_hidden()
    context.close()
    assert complaints == []
    with live.book.reading() as session:
        assert check_all(session) == []


def test_a_row_that_was_folded_away_is_seen_again_when_its_draft_is_back(
    browser: Browser, live: Live
) -> None:
    context = tablet_context(browser)
    page = context.new_page()
    Tablet(page, live).open("/write/first-day")
    page.locator("summary", has_text="31 to 40").tap()
    page.locator("#rows-33-food").fill("moose")
    page.reload()
    expect(page.locator("#rows-33-food")).to_be_visible()
    expect(page.locator("#rows-33-food")).to_have_value("moose")
    expect(page.locator("#rows-13-food")).to_be_hidden()
    context.close()


def test_the_pages_work_without_scripts(browser: Browser, live: Live) -> None:
    with live.book.writing() as session:
        meat = b.take_in(session, place=b.FREEZER, name="Moose shoulder")
    context = tablet_context(browser, java_script_enabled=False)
    page = context.new_page()
    tablet = Tablet(page, live)
    tablet.open(f"/places/{b.FREEZER}/stocktake")
    page.locator(f"#row-{meat} label", has_text="There").first.tap()
    page.locator(".actions .button.main").tap()
    expect(page.locator("#differences")).to_contain_text("agrees")
    tablet.send("everything agrees")
    context.close()


def looked_at(page: Page) -> list[object]:
    """What axe finds, what scrolls sideways and what is too small for a finger, at both sizes."""
    axe = Axe()
    found: list[object] = []
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        found += [(width, v["id"], [n["html"][:120] for n in v["nodes"][:2]])
                  for v in axe.run(page).response["violations"]]  # fmt: skip
        wide = page.evaluate("document.documentElement.scrollWidth")
        found += [(width, f"is {wide} wide")] if wide > width else []
        found += [(width, small) for small in page.evaluate(SMALL_TARGETS)]
    page.set_viewport_size({"width": 1280, "height": 800})
    return found
