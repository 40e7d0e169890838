"""The whole way of a lot on tablet, phone and paper; an entry taken back with what rests on it."""

import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, ViewportSize, expect
from sqlalchemy import select

from app.ledger.checks import check_all
from app.ledger.codes import code_of
from app.ledger.models import Lot, Package
from app.ledger.queries.sources import sources
from app.ledger.queries.whole_way import WholeWay, whole_way
from tests.browser.live import Live, serving
from tests.browser.populated import NOW
from tests.browser.tablet import Tablet, complaints_of, tablet_context
from tests.browser.test_gallery import SMALL_TARGETS
from tests.databases import Shelf, on_both

pytestmark = pytest.mark.browser
SIZES: list[ViewportSize] = [{"width": 1280, "height": 800}, {"width": 390, "height": 844}]

# text that lies on other text, in the picture
COVERED = """() => { const shown = [...document.querySelectorAll(".flow-svg text")]
    .filter((t) => t.checkVisibility() && getComputedStyle(t).display !== "none")
    .map((t) => [t.textContent, t.getBoundingClientRect()]);
  return shown.flatMap(([a, p], i) => shown.slice(i + 1)
    .filter(([, q]) => p.left < q.right - 1 && q.left < p.right - 1
      && p.top < q.bottom - 4 && q.top < p.bottom - 4).map(([b]) => `${a} | ${b}`)); }"""
OUTSIDE = """() => [...document.querySelectorAll(".flow-svg text")]
  .filter((t) => getComputedStyle(t).display !== "none")
  .filter((t) => { const b = t.getBoundingClientRect();
    return b.left < -1 || b.right > document.documentElement.clientWidth + 1; })
  .map((t) => t.textContent)"""


@pytest.fixture
def live(populated: Path, shelf: Shelf) -> Iterator[Live]:
    with serving(shelf.settings(populated, shelf.folder / "data"), NOW) as running:
        yield running


def richest(live: Live) -> WholeWay:
    """The lot with the most to draw on both sides."""
    with live.book.reading() as session:
        ways = [whole_way(session, code_of(i)) for i in session.scalars(select(Lot.id))]
    return max(ways, key=lambda way: len(way.beginnings) * len(way.ends))


def packed(live: Live) -> str:
    with live.book.reading() as session:
        return code_of(session.scalars(select(Package.lot_id)).first() or 0)


def test_axe_finds_nothing_and_nothing_scrolls_sideways_or_is_too_small(
    browser: Browser, live: Live
) -> None:
    with live.book.reading() as session:
        largest = max(sources(session), key=lambda line: line.on_hand_mg).id
    code = richest(live).code
    paths = [f"/lots/{code}/trace", f"/lots/{packed(live)}/trace?package=1", "/sources",
             f"/sources/{largest}", "/operations/30/correct"]  # fmt: skip
    context = tablet_context(browser, bypass_csp=True)  # axe is injected
    page, found = context.new_page(), []
    for size in SIZES:
        page.set_viewport_size(size)
        for path in paths:
            page.goto(live.address + path)
            where = f"{path} at {size['width']}"
            found += [(where, v["id"], [n["html"][:90] for n in v["nodes"][:2]])
                      for v in Axe().run(page).response["violations"]]  # fmt: skip
            wide = page.evaluate("document.documentElement.scrollWidth")
            found += [(where, f"is {wide} wide")] if wide > size["width"] else []
            found += [(where, small) for small in page.evaluate(SMALL_TARGETS)]
            found += [(where, "covered", both) for both in page.evaluate(COVERED)]
            found += [(where, "outside", words) for words in page.evaluate(OUTSIDE)]
    context.close()
    assert found == []


def test_the_words_come_in_the_order_of_the_eye_and_the_policy_is_kept(
    browser: Browser, live: Live
) -> None:
    way = richest(live)
    context = tablet_context(browser)
    page = context.new_page()
    complaints = complaints_of(page)
    page.goto(f"{live.address}/lots/{way.code}/trace")
    tops = page.evaluate(
        """() => [...document.querySelectorAll("h1, figure.flow, .balance, main h2, main table")]
        .map((e) => e.getBoundingClientRect().top)"""
    )
    assert len(tops) >= 7
    assert tops == sorted(tops)
    svg = page.get_by_role("img", name="where it came from and what became of it")
    expect(svg).to_be_visible()
    expect(page.locator("figcaption")).to_contain_text("It came from: ")
    context.close()
    assert complaints == []


def test_bands_are_as_thick_as_their_mass_on_the_screen(browser: Browser, live: Live) -> None:
    way = richest(live)
    for size in SIZES:
        context = tablet_context(browser, viewport=size)
        page = context.new_page()
        page.goto(f"{live.address}/lots/{way.code}/trace")
        bars = page.evaluate(
            """() => [...document.querySelectorAll(".flow-bar.on-hand")]
            .reduce((sum, bar) => sum + bar.height.baseVal.value, 0)"""
        )
        whole = page.evaluate("document.querySelector('.flow-whole').height.baseVal.value")
        context.close()
        assert bars / whole == pytest.approx(way.sums.get(None, 0) / way.mass_mg, abs=0.002)


def test_the_picture_and_the_recall_list_are_printed_with_all_their_words(
    browser: Browser, live: Live, tmp_path: Path
) -> None:
    way = richest(live)
    with live.book.reading() as session:
        source = max(sources(session), key=lambda line: line.on_hand_mg)
    context = browser.new_context()
    page = context.new_page()
    for path, words in (
        (f"/lots/{way.code}/trace", ["came from", "became", "Nothing is lost without a word"]),
        (f"/sources/{source.id}", ["Where it lies", "Of this source in it", source.name]),
    ):
        page.goto(live.address + path)
        file = tmp_path / "page.pdf"
        page.pdf(path=str(file), format="A4")
        text = subprocess.run(
            ["pdftotext", "-layout", str(file), "-"], capture_output=True, text=True, check=True
        ).stdout
        assert all(word in text for word in words), text[:600]
        assert "Eat first" not in text  # no navigation on paper
    context.close()


@on_both
def test_an_entry_is_taken_back_with_what_rests_on_it_by_finger(
    browser: Browser, live: Live
) -> None:
    context = tablet_context(browser)
    page = context.new_page()
    complaints = complaints_of(page)
    tablet = Tablet(page, live)
    way = richest(live)
    tablet.open(f"/lots/{way.code}")
    tablet.follow("The whole way as a picture")
    expect(page.locator("h1")).to_contain_text(f"The whole way: {way.name}")
    left = next(end.operation_id for end in way.ends if end.operation_id is not None)
    tablet.open(f"/operations/{left}/correct")
    tablet.refused("Give a reason")
    tablet.type("Why is it taken back", "It was the other pouch")
    tablet.send("Taken back: ")
    context.close()
    assert complaints == []
    with live.book.reading() as session:
        assert check_all(session) == []
        assert whole_way(session, way.code).sums != way.sums
