"""Finding by finger, by keyboard and by a scanner that types; the list below the field."""

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, Route, expect

from app.ledger.codes import spoken
from app.ledger.queries.stock import StockLine, stock_lines
from tests.browser.live import Live, serving
from tests.browser.populated import NOW
from tests.browser.tablet import complaints_of, tablet_context
from tests.browser.test_gallery import SMALL_TARGETS

pytestmark = pytest.mark.browser

PAGES = ("/find", "/find?q=moose", "/find?q=mose+freezer", "/find?q=nothing+like+it", "/scan")
FIELD = "form[data-find] input"
BEFORE_IT_ASKS_MS = 1_000  # longer than the list waits for the next key


@pytest.fixture(scope="module")
def demo(populated: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Live]:
    """The populated ledger, served for reading."""
    folder = tmp_path_factory.mktemp("find")
    shutil.copy(populated, folder / "stillroom.db")
    with serving(folder, NOW) as running:
        yield running


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A tablet that must not complain."""
    context = tablet_context(browser)
    page = context.new_page()
    complaints = complaints_of(page)
    yield page
    context.close()
    assert complaints == []


@pytest.fixture(scope="module")
def lot(demo: Live) -> StockLine:
    """Moose in the freezer."""
    with demo.book.reading() as session:
        return next(line for line in stock_lines(session) if "Moose" in line.name)


def test_a_slash_leads_to_the_field_from_every_page_and_is_a_letter_inside_one(
    page: Page, demo: Live
) -> None:
    page.goto(f"{demo.address}/bench")
    page.keyboard.press("/")
    page.wait_for_url("**/find")
    expect(page.locator(FIELD)).to_be_focused()
    page.keyboard.type("2/3")
    expect(page.locator(FIELD)).to_have_value("2/3")
    page.goto(f"{demo.address}/lots")
    page.keyboard.press("/")
    expect(page.locator(FIELD)).to_be_focused()
    expect(page.locator(FIELD)).to_have_value("")


def test_the_list_is_walked_by_keyboard_and_opens_what_is_chosen(page: Page, demo: Live) -> None:
    page.goto(f"{demo.address}/find")
    field = page.get_by_role("combobox", name="Code, name, tag")
    expect(field).to_be_focused()
    page.keyboard.type("mose")
    options = page.get_by_role("option")
    expect(options.first).to_be_visible()
    expect(field).to_have_attribute("aria-expanded", "true")
    expect(page.locator(".find-below p")).to_contain_text("Nothing here is called “mose”")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    chosen = options.nth(1)
    expect(chosen).to_have_attribute("aria-selected", "true")
    expect(field).to_have_attribute("aria-activedescendant", chosen.get_attribute("id") or "?")
    page.keyboard.press("Escape")
    expect(page.get_by_role("listbox")).to_be_hidden()
    expect(field).to_have_value("mose")
    page.keyboard.press("Enter")  # nothing chosen: the page with everything
    page.wait_for_url("**/find?q=mose")
    expect(page.locator(".said")).to_contain_text("Nothing here is called “mose”")


def test_a_finger_chooses_from_the_list_and_the_number_pad_stays_away(
    page: Page, demo: Live
) -> None:
    page.goto(f"{demo.address}/lots")
    page.locator(FIELD).tap()
    page.keyboard.type("aple")
    option = page.get_by_role("option", name="Apple").first
    option.wait_for()
    expect(page.locator(".pad")).to_be_hidden()
    href = option.get_attribute("data-href") or "?"
    option.tap()
    page.wait_for_url(f"**{href}")


def test_leaving_the_field_closes_the_list(page: Page, demo: Live) -> None:
    page.goto(f"{demo.address}/lots")
    page.locator(FIELD).tap()
    page.keyboard.type("apple")
    page.get_by_role("option").first.wait_for()
    page.keyboard.press("Tab")
    expect(page.get_by_role("listbox")).to_be_hidden()


def test_one_question_is_under_way_at_a_time_and_the_last_text_is_answered(
    page: Page, demo: Live
) -> None:
    """The first answer waits until all is typed, and the browser's clock is moved."""
    page.clock.install()
    asked: list[str] = []
    asked_before_an_answer: list[str] = []
    page.on("request", lambda request: asked.extend(request.url.split(".json?q=")[1:]))

    def answer_late(route: Route) -> None:
        for letter in "bbit":
            page.keyboard.type(letter)
            page.clock.fast_forward(BEFORE_IT_ASKS_MS)
        asked_before_an_answer.extend(asked)
        route.continue_()

    page.route("**/find.json?q=ra", answer_late)
    page.goto(f"{demo.address}/find")
    with page.expect_request("**/find.json?q=rabbit"):
        page.keyboard.type("ra")
        page.clock.fast_forward(BEFORE_IT_ASKS_MS)
    expect(page.get_by_role("option", name="Rabbit").first).to_be_visible()
    assert asked_before_an_answer == ["ra"]
    assert asked == ["ra", "rabbit"]


# All keys in one turn of the page: a scanner is known by its quickness, and keys that are sent to
# the browser one by one are as slow as the machine is busy.
SCANNED = """(keys) => {
  for (const key of keys) {
    document.activeElement.dispatchEvent(
      new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true })
    );
  }
}"""


def test_a_scanner_that_types_opens_the_lot_from_any_page(
    page: Page, demo: Live, lot: StockLine
) -> None:
    for start, text in (
        ("/bench", f"HTTP://KITCHEN.LOCAL:8080/L/{lot.code}"),
        ("/", spoken(lot.code)),
        ("/lots", lot.code),
    ):
        page.goto(demo.address + start)
        page.evaluate(SCANNED, [*text, "Enter"])
        page.wait_for_url(f"**/lots/{lot.code}")
    page.goto(f"{demo.address}/find")
    page.keyboard.type(f"http://kitchen.local/l/{lot.code}")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/lots/{lot.code}")


def test_a_misheard_code_is_proposed_and_not_opened(page: Page, demo: Live, lot: StockLine) -> None:
    wrong = lot.code[1] + lot.code[0] + lot.code[2:]
    page.goto(f"{demo.address}/find")
    page.keyboard.type(wrong)
    proposal = page.get_by_role("option", name=spoken(lot.code))
    proposal.wait_for()
    expect(page.get_by_role("group").first).to_contain_text("There is no lot")
    page.keyboard.press("Enter")
    page.wait_for_url("**/find?q=*")
    expect(page.locator(".meant")).to_contain_text("Did you mean")
    page.locator(".meant .lot-code").first.tap()
    page.wait_for_url(f"**/lots/{lot.code}")


def test_finding_works_without_scripts(browser: Browser, demo: Live, lot: StockLine) -> None:
    context = tablet_context(browser, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{demo.address}/")
    page.get_by_role("link", name="Find", exact=True).tap()
    page.get_by_label("Code, name, tag").fill("moose")
    page.get_by_role("button", name="Find").tap()
    expect(page.locator(".lot-line").first).to_contain_text("Moose")
    page.get_by_label("Code, name, tag").fill(lot.code)
    page.get_by_role("button", name="Find").tap()
    page.wait_for_url(f"**/lots/{lot.code}")
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_also_with_the_list_open(
    browser: Browser, demo: Live, scheme: Literal["light", "dark"]
) -> None:
    context = tablet_context(browser, color_scheme=scheme, bypass_csp=True)
    page, axe = context.new_page(), Axe()
    found = []
    for path in PAGES:
        page.goto(demo.address + path)
        if path == "/find":
            page.keyboard.type("mose")
            page.get_by_role("option").first.wait_for()
        violations = axe.run(page).response["violations"]
        found += [(path, v["id"], [n["html"][:120] for n in v["nodes"][:3]]) for v in violations]
    context.close()
    assert found == []


def test_everything_fits_and_can_be_touched_at_every_width(browser: Browser, demo: Live) -> None:
    context = tablet_context(browser)
    page = context.new_page()
    found = []
    for path in PAGES:
        page.goto(demo.address + path)
        if path == "/find":
            page.keyboard.type("moose")
            page.get_by_role("option").first.wait_for()
        for width in (320, 390, 800, 1280):
            page.set_viewport_size({"width": width, "height": 800})
            wide = page.evaluate("document.documentElement.scrollWidth")
            found += [(path, width, f"is {wide} wide")] if wide > width else []
            found += [(path, width, small) for small in page.evaluate(SMALL_TARGETS)]
    context.close()
    assert found == []
