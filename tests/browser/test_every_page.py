"""Every page of a full ledger, looked at by machine: barriers, targets, width, calm, complaints.

The pages come from the routes, so a page added later is looked at too. Each is opened twice: in the
size of a phone and in that of a tablet held sideways; what needs no page of its own is asked there.
"""

import shutil
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, ViewportSize
from playwright.sync_api import TimeoutError as PlaywrightTimeoutError

from tests.browser.every_page import NOWHERE, every_page, no_longer_there, without_an_example
from tests.browser.live import Live, serving
from tests.browser.populated import NOW
from tests.browser.tablet import complaints_of
from tests.browser.test_gallery import SMALL_TARGETS

pytestmark = pytest.mark.browser

PHONE: ViewportSize = {"width": 390, "height": 844}
TABLET: ViewportSize = {"width": 1280, "height": 800}
NARROWEST = 320  # WCAG 2.2, 1.4.10: 1280 px at a zoom of 400 %
MOST_SHIFT = 0.01  # of the view; a tenth of what is called good on the web

# every rule of axe-core, also the one for the size of targets, which sleeps unless it is asked for
AXE = """(only) => axe.run(document, {
    resultTypes: ["violations"],
    rules: {"target-size": {enabled: true}},
    ...(only ? {runOnly: {type: "rule", values: only}} : {}),
  }).then((found) => found.violations.map((v) =>
    [v.id, ...v.nodes.slice(0, 3).map((n) => n.html.slice(0, 160))].join(" ")))"""

WIDE = "document.documentElement.scrollWidth"
FITS = f"(width) => {WIDE} <= width"
SETTLED_MS = 2_000
WIDEST = """() => [...document.querySelectorAll("body *")]
  .map((e) => { const r = document.createRange(); r.selectNodeContents(e); return [e, r]; })
  .filter(([e, r]) => e.getBoundingClientRect().right > innerWidth + 0.5
    || r.getBoundingClientRect().right > innerWidth + 0.5)
  .slice(-3).map(([e]) => e.outerHTML.slice(0, 160))"""

# what has moved by itself since the page began to show
SHIFTS = """() => new Promise((done) => {
  let sum = 0; const moved = [];
  new PerformanceObserver((list) => { for (const entry of list.getEntries()) {
    sum += entry.value;
    for (const s of entry.sources) moved.push(s.node?.parentElement?.outerHTML.slice(0, 120));
  } }).observe({type: "layout-shift", buffered: true});
  requestAnimationFrame(() => requestAnimationFrame(() => done([sum, moved]))); })"""

RESTLESS = """() => [...document.querySelectorAll("*")].filter((e) => {
    const s = getComputedStyle(e);
    return s.animationName !== "none"
      || s.transitionDuration.split(",").some((d) => parseFloat(d) > 0.001)
      || s.scrollBehavior === "smooth";
  }).map((e) => e.outerHTML.slice(0, 120))
  .concat(document.getAnimations().map((a) => `moves: ${a.effect.target?.outerHTML}`))"""


# text in the colour of the ground, behind which a browser lays a plate of that same colour
HIDDEN = """() => {
  const ground = getComputedStyle(document.documentElement).backgroundColor;
  return [...document.querySelectorAll("body *")].filter((e) =>
    [...e.childNodes].some((n) => n.nodeType === Node.TEXT_NODE && n.data.trim())
    && e.checkVisibility() && !e.closest("svg")
    && getComputedStyle(e).color === ground && getComputedStyle(e).forcedColorAdjust !== "none"
  ).map((e) => e.outerHTML.slice(0, 120)); }"""


@pytest.fixture(scope="module")
def demo(populated: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Live]:
    """The populated ledger, served for reading."""
    folder = tmp_path_factory.mktemp("every-page")
    shutil.copy(populated, folder / "stillroom.db")
    with serving(folder, NOW) as running:
        yield running


def test_every_address_of_the_application_is_looked_at() -> None:
    assert without_an_example() == []
    assert no_longer_there() == []


@cache
def axe_script() -> str:
    return Axe().axe_script


def barriers(page: Page, *only: str) -> list[str]:
    """What axe-core finds, all of its rules or some."""
    if not page.evaluate("typeof axe === 'object'"):
        page.evaluate(axe_script())
    tall = page.evaluate("document.documentElement.scrollHeight")  # so that the dock covers nothing
    size = page.viewport_size or PHONE
    page.set_viewport_size({"width": size["width"], "height": max(tall, size["height"])})
    found: list[str] = page.evaluate(AXE, list(only) or None)
    return found


def too_wide(page: Page, width: int) -> list[str]:
    page.set_viewport_size({"width": width, "height": 800})
    try:  # what is laid out anew may take a frame or two
        page.wait_for_function(FITS, arg=width, timeout=SETTLED_MS)
    except PlaywrightTimeoutError:
        widest = page.evaluate(WIDEST)
        return [f"at {width} px it is {page.evaluate(WIDE)} px wide: {widest}"]
    return []


def small(page: Page) -> list[str]:
    return [f"small: {target}" for target in page.evaluate(SMALL_TARGETS)]


def opened(context: BrowserContext, live: Live) -> Iterator[tuple[str, Page, list[str]]]:
    """Each page with what was found wrong so far: its status, the console, what moved."""
    page = context.new_page()
    complaints = complaints_of(page)
    for path in every_page(live):
        answer = page.goto(live.address + path)
        assert answer is not None
        expected = 404 if path == NOWHERE else 200
        found = [] if answer.status == expected else [f"status {answer.status}"]
        if path == NOWHERE:
            complaints.clear()  # the console says rightly that it is not there
        sum_of_shifts, moved = page.evaluate(SHIFTS)
        found += [f"moved by {sum_of_shifts:.3f}: {moved}"] if sum_of_shifts > MOST_SHIFT else []
        yield path, page, found + complaints
        complaints.clear()
    page.close()


def told(found: dict[str, list[str]]) -> str:
    lines = [f"{path}: {fault}" for path, faults in found.items() for fault in faults]
    return "\n".join(lines)


def on_a_phone(page: Page) -> list[str]:
    """In light: every rule of axe, targets, and how narrow it can be."""
    found = barriers(page) + small(page) + too_wide(page, PHONE["width"])
    found += too_wide(page, NARROWEST) + small(page)
    page.set_viewport_size(PHONE)
    return found


def on_a_tablet(page: Page) -> list[str]:
    """In the dark only colours differ; in between only where things stand does."""
    found = barriers(page, "color-contrast") + small(page)
    found += [f"restless: {x}" for x in page.evaluate(RESTLESS)]
    page.emulate_media(forced_colors="active")
    found += [f"hidden in forced colours: {x}" for x in page.evaluate(HIDDEN)]
    page.emulate_media(forced_colors="none")
    found += too_wide(page, TABLET["width"]) + too_wide(page, 800) + small(page)
    page.set_viewport_size(TABLET)
    return found


@pytest.mark.parametrize(
    ("how", "looked_at"),
    [
        ({"viewport": PHONE, "color_scheme": "light"}, on_a_phone),
        ({"viewport": TABLET, "color_scheme": "dark", "reduced_motion": "reduce"}, on_a_tablet),
    ],
    ids=["phone, light", "tablet, dark"],
)
def test_no_page_has_a_barrier_moves_or_complains(
    browser: Browser, demo: Live, how: dict[str, Any], looked_at: Any
) -> None:
    context = browser.new_context(has_touch=True, **how)
    found = {path: before + looked_at(page) for path, page, before in opened(context, demo)}
    context.close()
    assert len(found) > 90
    if told(found):
        pytest.fail(told(found), pytrace=False)  # every line of it; pytest would shorten it
