"""Every page of a full ledger: reached by finger, eye and keyboard, without and with scripts."""

import http.client
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Literal
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, Route, ViewportSize, expect
from sqlalchemy import func, select

from app.ledger.models import Operation, Run
from app.ledger.queries.stock import stock_lines
from tests.browser.live import Live, serving
from tests.browser.populated import NOW
from tests.browser.stored import keeps
from tests.browser.tablet import Tablet, complaints_of, tablet_context
from tests.browser.test_gallery import SMALL_TARGETS
from tests.databases import Shelf

pytestmark = pytest.mark.browser

PORTRAIT: ViewportSize = {"width": 800, "height": 1280}


@pytest.fixture(scope="module")
def demo(populated: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Live]:
    """The populated ledger, served for reading."""
    folder = tmp_path_factory.mktemp("demo")
    shutil.copy(populated, folder / "stillroom.db")
    with serving(folder, NOW) as running:
        yield running


@pytest.fixture
def live(populated: Path, shelf: Shelf) -> Iterator[Live]:
    """The populated ledger, served for writing in."""
    with serving(shelf.settings(populated), NOW) as running:
        yield running


def pages_of(live: Live) -> list[str]:
    """An address for every kind of page, filled with something of this ledger."""
    with live.book.reading() as session:
        lines = stock_lines(session, one_by_one=True)
        raw = next(x for x in lines if x.is_raw and not x.package_count)
        packed = next(x for x in lines if x.package_count and x.is_dried)
        run = session.scalar(select(func.max(Run.id)))
    steps = ("thaw", "trim", "grind", "blend", "portion", "cook", "chill", "skim", "drain",
             "blanch", "load")  # fmt: skip
    leaving = ("move", "open", "eat", "give", "discard")
    return [
        "/", "/bench", "/lots", "/lots?q=nothing+like+it", "/write", "/write/intake", "/labels",
        f"/lots/{raw.code}", f"/lots/{packed.code}", f"/lots/{packed.code}/worked-out",
        f"/labels?lot={packed.code}", f"/runs/{run}", "/write/pack", f"/write/pack?from={raw.ref}",
        *(f"/write/{word}?from={raw.ref}" for word in steps),
        *(f"/write/{word}?from={packed.ref}" for word in leaving),
        "/places", f"/places/{raw.place_id}", "/places/new", "/places/1/warm",
        "/places/1/readings", "/places/1/logger", "/places/1/edit",
        "/due", "/holds", f"/holds/new?lot={raw.code}", f"/lots/{packed.code}/evidence",
        "/went-wrong", "/went-wrong/power_out?place=1",
        f"/went-wrong/seal_failed?lot={packed.code}",
        "/papers/not-covered",
        "/papers", "/papers/cautions", "/papers/numbers", "/papers/guide",
        "/papers/foretell", "/papers/foretell/cooling", f"/papers/foretell/freezing?lot={raw.code}",
        "/papers/foretell/dryer?price=0.3", "/papers/foretell/heat", "/papers/foretell/oxygen",
        "/papers/foretell/water",
        "/household", "/household/devices", "/household/settings", "/household/person/new",
        "/household/bowl/new", "/household/package/new", "/household/absorber/new",
        "/history", "/operations/1", "/nowhere",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("scheme", "rules"),
    [("light", None), ("dark", ["color-contrast"])],  # only the colours differ in the dark
    ids=["light", "dark"],
)
def test_axe_finds_nothing_on_any_page(
    browser: Browser, demo: Live, scheme: Literal["light", "dark"], rules: list[str] | None
) -> None:
    context = browser.new_context(viewport=PORTRAIT, color_scheme=scheme, bypass_csp=True)
    page, axe = context.new_page(), Axe()
    options = {"runOnly": rules} if rules else {}
    found = []
    paths = pages_of(demo)
    for path in paths if rules is None else paths[:16] + paths[-18:]:  # one step looks as another
        answer = page.goto(demo.address + path)
        assert answer is not None
        assert answer.status == (404 if path == "/nowhere" else 200), path
        violations = axe.run(page, options=options).response["violations"]
        found += [(path, v["id"], [n["html"][:120] for n in v["nodes"][:3]]) for v in violations]
    context.close()
    assert found == []


def test_no_page_complains_or_breaks_the_content_policy(browser: Browser, demo: Live) -> None:
    context = tablet_context(browser)
    page = context.new_page()
    complaints = complaints_of(page)
    for path in pages_of(demo)[:-1]:  # the last is not there, which the console says rightly
        answer = page.goto(demo.address + path)
        assert answer is not None
        assert answer.status == 200, path
        assert "default-src 'self'" in answer.headers["content-security-policy"]
    context.close()
    assert complaints == []


def test_targets_are_big_and_nothing_scrolls_sideways(browser: Browser, demo: Live) -> None:
    context = browser.new_context(viewport=PORTRAIT, has_touch=True)
    page = context.new_page()
    found = []
    for path in pages_of(demo):
        page.goto(demo.address + path)
        for width in (320, 390, 800, 1280):
            page.set_viewport_size({"width": width, "height": 800})
            wide = page.evaluate("document.documentElement.scrollWidth")
            found += [(path, width, f"is {wide} wide")] if wide > width else []
            found += [(path, width, small) for small in page.evaluate(SMALL_TARGETS)]
    context.close()
    assert found == []


def operations(live: Live) -> int:
    with live.book.reading() as session:
        return session.scalar(select(func.count(Operation.id))) or 0


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    context = tablet_context(browser)
    yield context.new_page()
    context.close()


def fill_an_intake(page: Page) -> None:
    page.get_by_label("What is it", exact=True).fill("Rabbit")
    page.get_by_label("Nearest food in the table").fill("Game meat, rabbit, wild, raw (17180)")
    page.get_by_label("Bowl 1, gross").fill("1240 g")


def test_two_quick_taps_write_once(page: Page, live: Live) -> None:
    before = operations(live)
    page.goto(f"{live.address}/write/intake")
    fill_an_intake(page)
    box = page.locator(".actions .button.main").bounding_box()
    assert box is not None
    at = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.touchscreen.tap(*at)
    page.touchscreen.tap(*at)
    expect(page.locator(".flash")).to_contain_text("Taken in: Rabbit")
    assert operations(live) == before + 1


def test_a_double_click_writes_once_without_scripts(browser: Browser, live: Live) -> None:
    before = operations(live)
    context = tablet_context(browser, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{live.address}/write/intake")
    fill_an_intake(page)
    page.locator(".actions .button.main").dblclick()
    expect(page.get_by_role("heading", level=1)).to_have_text("Rabbit")
    context.close()
    assert operations(live) == before + 1


def test_back_and_reload_keep_what_was_typed(page: Page, live: Live) -> None:
    page.goto(f"{live.address}/write/intake")
    fill_an_intake(page)
    page.reload()
    expect(page.get_by_label("What is it", exact=True)).to_have_value("Rabbit")
    expect(page.locator("[data-tally-kg]")).to_have_text("1.240 kg")
    page.get_by_role("navigation", name="Pages").get_by_text("Bench").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Bench")
    page.go_back()
    expect(page.get_by_label("What is it", exact=True)).to_have_value("Rabbit")
    expect(page.get_by_label("Bowl 1, gross")).to_have_value("1240 g")


def leave_before_scripts_run(page: Page) -> None:
    """Send the form; its answer is left before the answer's own scripts could run."""
    page.route("**/js/draft.js*", lambda route: route.abort())
    page.locator(".actions .button.main").tap()
    expect(page.locator(".flash")).to_contain_text("Taken in: Rabbit")
    page.unroute("**/js/draft.js*")


def lose_the_answer(page: Page) -> None:
    """Send the form; the ledger writes it, and its answer never comes."""

    def swallow(route: Route) -> None:
        sent = route.request
        if sent.method == "POST":  # not by the browser, which would keep the answer's cookie
            to = http.client.HTTPConnection(urlsplit(sent.url).netloc)
            to.request("POST", urlsplit(sent.url).path, sent.post_data, sent.all_headers())
            with to.getresponse() as answer:
                assert answer.status == 303
            to.close()
            route.abort()
        else:
            route.continue_()

    page.route("**/write/intake", swallow)
    with page.expect_event("requestfailed"):
        page.locator(".actions .button.main").tap()
    page.unroute("**/write/intake")


@pytest.mark.parametrize("send", [leave_before_scripts_run, lose_the_answer])
def test_what_was_written_does_not_come_back_as_a_draft(
    page: Page, live: Live, send: Callable[[Page], None]
) -> None:
    """Of a form that the browser itself sends; tests/browser/test_drafts.py has the others."""
    before = operations(live)
    page.route("**/js/outbox.js*", lambda route: route.abort())
    page.goto(f"{live.address}/write/intake")
    fill_an_intake(page)
    keeps(page, "drafts", 1)
    send(page)
    assert operations(live) == before + 1
    with page.expect_response("**/written/*"):
        page.goto(f"{live.address}/write/intake")
    keeps(page, "drafts", 0)
    expect(page.get_by_label("What is it", exact=True)).to_have_value("")


def test_what_was_not_written_comes_back_under_a_new_key(page: Page, live: Live) -> None:
    page.goto(f"{live.address}/write/intake")
    fill_an_intake(page)
    keeps(page, "drafts", 1)
    with page.expect_response("**/written/*") as asked:
        page.goto(f"{live.address}/write/intake")
    assert asked.value.json() == {"written": False}
    expect(page.get_by_label("What is it", exact=True)).to_have_value("Rabbit")


def test_intake_and_eating_work_without_scripts(browser: Browser, live: Live) -> None:
    context = tablet_context(browser, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{live.address}/write/intake")
    fill_an_intake(page)
    page.get_by_role("button", name="Add a row").click()
    expect(page.get_by_label("Bowl 1, gross")).to_have_value("1240 g")
    page.locator(".actions .button.main").click()
    expect(page.locator(".flash")).to_contain_text("Taken in: Rabbit")
    page.get_by_role("link", name="Eat", exact=False).first.click()
    page.locator(".actions .button.main").click()
    expect(page.locator(".flash")).to_contain_text("Eaten")
    context.close()


def test_an_entry_is_written_by_keyboard_alone(page: Page, live: Live) -> None:
    before = operations(live)
    page.goto(f"{live.address}/")
    reach(page, "Write an entry")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Write an entry")
    reach(page, "Take in")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Take in")
    reach(page, "What is it")
    page.keyboard.type("Rabbit")
    page.keyboard.press("Tab")
    page.keyboard.type("Game meat, rabbit, wild, raw (17180)")
    reach(page, "Bowl 1, gross")
    page.keyboard.type("1240")
    page.keyboard.press("Enter")  # goes on to the next number, and does not send half an entry
    assert operations(live) == before
    reach(page, "Take in")
    page.keyboard.press("Enter")
    expect(page.locator(".flash")).to_contain_text("Taken in: Rabbit")
    assert operations(live) == before + 1


NAME_OF_FOCUS = """() => { const e = document.activeElement;
  return e.getAttribute("aria-label") ?? e.labels?.[0]?.textContent.trim()
    ?? e.querySelector("strong")?.textContent ?? e.textContent.trim(); }"""


def reach(page: Page, name: str) -> None:
    """Press Tab until something of that name has the focus, and can be seen to have it."""
    for _ in range(250):  # a row of a list has three stops
        page.keyboard.press("Tab")
        if page.evaluate(NAME_OF_FOCUS) == name:
            outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
            assert outline != "none"
            return
    pytest.fail(f"Tab does not lead to {name}")


def test_a_refused_entry_says_why_and_keeps_what_was_typed(page: Page, live: Live) -> None:
    before = operations(live)
    tablet = Tablet(page, live)
    tablet.open("/write/intake")
    fill_an_intake(page)
    page.get_by_label("Bowl 1, tare").fill("2 kg")
    tablet.refused("cannot weigh as much as the full one")
    expect(page.get_by_label("Bowl 1, tare")).to_have_value("2 kg")
    assert operations(live) == before
