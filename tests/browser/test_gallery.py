"""The look in a browser: reachable by finger and by eye, and the scripts do what they say."""

from collections.abc import Iterator
from typing import Literal

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, ViewportSize, expect

from tests.browser.stored import keeps

pytestmark = pytest.mark.browser
PAGES = ["lists", "lot", "form"]
TABLET: ViewportSize = {"width": 800, "height": 1280}


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A page of a touch tablet held upright; what the console complains of fails the test."""
    context = browser.new_context(viewport=TABLET, has_touch=True)
    context.set_default_timeout(4_000)
    page = context.new_page()
    complaints: list[str] = []
    page.on("console", lambda m: complaints.append(m.text) if m.type == "error" else None)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    yield page
    context.close()
    assert [c for c in complaints if "422" not in c] == []


def press(page: Page, *keys: str) -> None:
    for key in keys:
        page.tap(
            f'.key[data-key="{key}"], .key[data-unit-key="{key}"], .key[data-fraction="{key}"]'
        )


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", PAGES)
def test_axe_finds_nothing(
    browser: Browser, gallery: str, name: str, scheme: Literal["light", "dark"]
) -> None:
    context = browser.new_context(viewport=TABLET, color_scheme=scheme, bypass_csp=True)
    page = context.new_page()
    page.goto(f"{gallery}/{name}")
    found = Axe().run(page).response["violations"]
    context.close()
    assert [(v["id"], [n["html"] for n in v["nodes"]]) for v in found] == []


def test_axe_finds_nothing_in_a_refused_form_with_the_pad_open(
    browser: Browser, gallery: str
) -> None:
    context = browser.new_context(viewport=TABLET, has_touch=True, bypass_csp=True)
    page = context.new_page()
    page.goto(f"{gallery}/form")
    page.tap("button.main")
    page.tap("#fat")
    expect(page.locator(".pad")).to_be_visible()
    found = Axe().run(page).response["violations"]
    context.close()
    assert [(v["id"], [n["html"] for n in v["nodes"]]) for v in found] == []


SMALL_TARGETS = """() => [...document.querySelectorAll(
    "a, button, input:not([type=hidden]), select, textarea")]
  .filter((e) => e.checkVisibility() && !e.matches(".skip, [aria-hidden=true]"))
  .map((e) => [e.closest("label.choice") ?? e, e])
  .map(([e, own]) => [own.outerHTML.slice(0, 90), e.getBoundingClientRect()])
  .filter(([, box]) => box.height < 44 || box.width < 44)
  .map(([html, box]) => `${html} ${box.width}x${box.height}`)"""


@pytest.mark.parametrize("width", [320, 390, 800, 1280])
@pytest.mark.parametrize("name", PAGES)
def test_targets_are_big_and_nothing_scrolls_sideways(
    page: Page, gallery: str, name: str, width: int
) -> None:
    page.set_viewport_size({"width": width, "height": 800})
    page.goto(f"{gallery}/{name}")
    if name == "form":
        page.locator("#fat").focus()
    assert page.evaluate(SMALL_TARGETS) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_a_fold_of_words_set_wider_still_fits(page: Page, gallery: str) -> None:
    """Text spacing of WCAG 2.2, 1.4.12, set by a style sheet object, which the policy allows."""
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(f"{gallery}/lists")
    page.evaluate("""() => { const s = new CSSStyleSheet();
      s.replaceSync(`* { line-height: 1.5 !important; letter-spacing: 0.12em !important;
        word-spacing: 0.16em !important }`);
      document.adoptedStyleSheets = [s]; }""")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


@pytest.mark.parametrize("size", [(800, 1280), (1280, 800), (390, 844)])
def test_the_focused_thing_is_never_under_the_dock(
    page: Page, gallery: str, size: tuple[int, int]
) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.goto(f"{gallery}/form")
    hidden = page.evaluate("""() => {
      const out = [];
      for (const e of document.querySelectorAll(
        "main input:not([type=hidden]), main select, main button, main textarea")) {
        if (!e.checkVisibility()) continue;
        e.focus();
        const box = e.getBoundingClientRect();
        const at = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
        if (at !== e && !e.contains(at)) out.push(e.id || e.textContent);
      }
      return out; }""")
    assert hidden == []


def test_the_today_lines_of_a_list_stand_under_one_another(page: Page, gallery: str) -> None:
    for width in (390, 800, 1280):
        page.set_viewport_size({"width": width, "height": 800})
        page.goto(f"{gallery}/lists")
        xs = page.evaluate(
            "[...document.querySelectorAll('line.today')].map((e) => e.getBoundingClientRect().x)"
        )
        assert len(xs) == 7
        assert max(xs) - min(xs) < 0.6


def test_a_weighing_by_taps_adds_up(page: Page, gallery: str) -> None:
    page.goto(f"{gallery}/form")
    page.tap('[data-bowl="Blue enamel"]')
    press(page, *"2431")
    expect(page.locator("[data-tally-net]").nth(0)).to_have_text("2\u202f019")
    page.tap('[data-bowl="Glass bowl"]')
    press(page, *"2702")
    page.tap('[data-bowl=""]')
    press(page, "4", "lb", "6", "1/2", "oz")
    expect(page.locator("[name=bowls-2-gross]")).to_have_value("4 lb 6 1/2 oz")
    # 70.5 oz of 28.349523125 g (NIST Special Publication 811, 2008) and the two bowls: 6064.64 g
    expect(page.locator("[data-tally-kg]")).to_have_text("6.065 kg")
    expect(page.locator("[data-tally-lb]")).to_have_text("13 lb 5.9 oz")
    expect(page.locator(".tally-row")).to_have_count(4)
    assert page.locator(".tally-row input").last.get_attribute("name") == "bowls-3-tare"


def test_a_tare_above_gross_is_said_and_not_added(page: Page, gallery: str) -> None:
    page.goto(f"{gallery}/form")
    page.fill("[name=bowls-0-gross]", "400")
    page.fill("[name=bowls-0-tare]", "412")
    expect(page.locator("[data-tally-net]").first).to_have_text("tare above gross")
    expect(page.locator("[data-tally-total]")).to_be_hidden()


def test_the_pad_types_takes_back_and_changes_the_unit(page: Page, gallery: str) -> None:
    page.goto(f"{gallery}/form")
    page.tap("#fat")
    press(page, "1", ".", "2", "5", "back", "kg")
    expect(page.locator("#fat")).to_have_value("1.2 kg")
    press(page, "g")
    expect(page.locator("#fat")).to_have_value("1.2 g")
    expect(page.locator("[data-pad-value]")).to_have_text("1.2 g")
    page.locator("#fat").fill("")
    page.keyboard.type("850")
    expect(page.locator("[data-pad-value]")).to_have_text("850 g")


def test_next_goes_on_to_the_next_empty_number_and_then_to_the_main_button(
    page: Page, gallery: str
) -> None:
    page.goto(f"{gallery}/form")
    page.tap("#fat")
    press(page, "5", "next")
    expect(page.locator("#centre")).to_be_focused()
    expect(page.locator('.key[data-unit-key="°C"]')).to_be_visible()
    expect(page.locator('.key[data-unit-key="oz"]')).to_be_hidden()
    press(page, "-", "1", "8", "next")
    expect(page.locator("#centre")).to_have_value("-18")
    expect(page.locator("button.main")).to_be_focused()


def test_the_pad_can_be_hidden_and_stays_hidden(page: Page, gallery: str) -> None:
    page.goto(f"{gallery}/form")
    page.tap("#fat")
    assert page.locator("#fat").get_attribute("inputmode") == "none"
    page.tap("[data-pad-hide]")
    expect(page.locator(".pad")).to_be_hidden()
    page.reload()
    page.tap("#fat")
    expect(page.locator(".pad")).to_be_hidden()
    assert page.locator("#fat").get_attribute("inputmode") == "decimal"
    page.tap("[data-pad-show]")
    expect(page.locator(".pad")).to_be_visible()


def test_a_draft_comes_back_after_a_reload_with_its_added_rows(page: Page, gallery: str) -> None:
    page.goto(f"{gallery}/form")
    page.fill("#food", "Moose trim")
    page.check("#origin-2")
    for row in range(4):
        page.fill(f"[name=bowls-{row}-gross]", f"{row + 1}00")
    page.reload()
    expect(page.locator("#food")).to_have_value("Moose trim")
    expect(page.locator("#origin-2")).to_be_checked()
    expect(page.locator("[name=bowls-3-gross]")).to_have_value("400")
    expect(page.locator("[data-tally-kg]")).to_have_text("1.000 kg")
    expect(page.locator(".draft-note")).to_be_visible()


def test_a_draft_goes_once_the_ledger_has_it_or_the_person_starts_afresh(
    page: Page, gallery: str
) -> None:
    page.goto(f"{gallery}/form")
    page.fill("#food", "Moose trim")
    keeps(page, "drafts", 1)
    page.reload()
    page.tap("[data-draft-clear]")
    expect(page.locator("#food")).to_have_value("")
    page.fill("#food", "Moose trim")
    page.check("#origin-0")
    page.tap("button.main")
    expect(page.locator(".flash")).to_contain_text("Taken in")
    keeps(page, "drafts", 0)
    page.goto(f"{gallery}/form")
    expect(page.locator("#food")).to_have_value("")
    expect(page.locator(".draft-note")).to_be_hidden()


def test_a_second_tap_sends_nothing_and_coming_back_wakes_the_button(
    page: Page, gallery: str
) -> None:
    page.goto(f"{gallery}/form")
    states = page.evaluate("""async () => {
      const form = document.querySelector("form.entry");
      const button = document.querySelector("button.main");
      form.addEventListener("submit", (e) => { e.preventDefault(); });
      const stopped = new Promise((done) => setTimeout(done, 20));
      button.click();
      await stopped;
      const afterRefusal = button.disabled;
      document.dispatchEvent(Object.assign(new SubmitEvent("submit", { submitter: button })));
      const during = button.disabled;
      await new Promise((done) => setTimeout(done, 20));
      const after = button.disabled;
      window.dispatchEvent(new PageTransitionEvent("pageshow"));
      return [afterRefusal, during, after, button.disabled]; }""")
    assert states == [False, False, True, False]


def test_forced_colours_and_print_keep_the_window_and_drop_the_dock(
    browser: Browser, gallery: str
) -> None:
    context = browser.new_context(viewport=TABLET, forced_colors="active")
    page = context.new_page()
    page.goto(f"{gallery}/lists")
    line = page.evaluate("getComputedStyle(document.querySelector('line.today')).stroke")
    ground = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    assert line != ground
    page.emulate_media(media="print")
    expect(page.locator(".dock")).to_be_hidden()
    expect(page.locator(".window-svg").first).to_be_visible()
    context.close()
