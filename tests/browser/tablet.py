"""A tablet in somebody's hands: taps, the number pad, and words to look for."""

import pytest
from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Locator,
    Page,
    ViewportSize,
    expect,
)

from tests.browser.live import Live

LANDSCAPE: ViewportSize = {"width": 1280, "height": 800}
PATIENCE_MS = 8_000


def tablet_context(browser: Browser, **more: object) -> BrowserContext:
    """A touch tablet of 10 inches held sideways, unless told otherwise."""
    how = {"viewport": LANDSCAPE, "has_touch": True, "device_scale_factor": 2} | more
    context = browser.new_context(**how)  # type: ignore[arg-type]
    context.set_default_timeout(PATIENCE_MS)
    return context


def complaints_of(page: Page) -> list[str]:
    """Everything the console complains of from now on.

    A refused form is no complaint, nor that a PDF, which names no icon, has none.
    """
    found: list[str] = []

    def listen(message: ConsoleMessage) -> None:
        words = f"{page.url}: {message.text} {message.location.get('url', '')}"
        if message.type == "error" and "status of 422" not in words and "/favicon.ico" not in words:
            found.append(words)

    page.on("console", listen)
    page.on("pageerror", lambda error: found.append(str(error)))
    return found


# where the keys are; a key that something covers is not pressed
KEYS = """(signs) => signs.map((sign) => {
  const key = document.querySelector(`.key[data-key="${sign}"]`);
  const box = key.getBoundingClientRect();
  const at = [box.x + box.width / 2, box.y + box.height / 2];
  if (!key.contains(document.elementFromPoint(...at))) throw new Error(`${sign} is covered`);
  return at; })"""


class Tablet:
    """One page of the application, used by finger."""

    def __init__(self, page: Page, live: Live) -> None:
        self.page, self.live = page, live

    def open(self, path: str) -> None:
        self.page.goto(self.live.address + path)

    def section(self, name: str) -> None:
        """Go somewhere by the words along the bottom edge."""
        self.page.get_by_role("navigation", name="Pages").get_by_text(name, exact=True).tap()

    def follow(self, words: str, within: Locator | None = None) -> None:
        """Tap a link by its words, or by how they begin."""
        (within or self.page.locator("main")).get_by_role("link", name=words).first.tap()

    def write_entry(self, verb: str) -> None:
        self.section("Eat first")
        self.page.get_by_role("link", name="Write an entry").first.tap()
        self.page.get_by_role("link", name=verb, exact=False).first.tap()

    def step(self, verb: str) -> None:
        """On the page of a lot: the step with this name."""
        self.page.locator(".lot-part").first.get_by_role("link", name=verb).first.tap()

    def type(self, label: str, text: str, within: Locator | None = None) -> None:
        """Tap a box, empty it, and type with the tablet's own keyboard."""
        box = (within or self.page.locator("main")).get_by_label(label, exact=True)
        box.tap()
        box.fill("")
        self.page.keyboard.insert_text(text)
        expect(box).to_have_value(text)

    def press(self, text: str) -> None:
        """Press keys of the number pad, one for each character."""
        self.page.locator(".pad").wait_for()
        places = self.page.evaluate(KEYS, list(text))
        for x, y in places:
            self.page.touchscreen.tap(x, y)

    def weigh(self, label: str, grams: str, within: Locator | None = None) -> None:
        """Tap a box for a mass, empty it, and press the number pad."""
        box = (within or self.page.locator("main")).get_by_label(label, exact=True)
        box.tap()
        box.fill("")
        self.press(grams)
        expect(box).to_have_value(grams)

    def choose(self, label: str, words: str, within: Locator | None = None) -> None:
        """Choose the first entry of a list that has these words."""
        box = (within or self.page.locator("main")).get_by_label(label, exact=True)
        value = box.locator("option", has_text=words).first.get_attribute("value")
        box.select_option(value)

    def tick(self, words: str) -> None:
        """Tap a choice, so that it is ticked."""
        choice = self.page.locator("main label", has_text=words).first
        if not choice.locator("input").is_checked():
            choice.tap()
        expect(choice.locator("input")).to_be_checked()

    def rows(self, name: str) -> list[Locator]:
        """The rows of questions of that name."""
        found = self.page.locator(f".row-of-fields[aria-label^='{name}']")
        found.first.wait_for()
        return found.all()

    def send(self, said: str) -> None:
        """Tap the main button; the next page must say so."""
        with self.page.expect_navigation():
            self.page.locator(".actions .button.main").tap()
        done = self.page.locator(".flash, #errors").first
        done.wait_for()
        if "Not written" in done.inner_text():
            pytest.fail(" / ".join(self.page.locator("form .caution").all_inner_texts()))
        expect(self.page.locator(".flash")).to_contain_text(said)

    def refused(self, said: str) -> None:
        """Tap the main button; the page must come back and say why."""
        with self.page.expect_navigation():
            self.page.locator(".actions .button.main").tap()
        expect(self.page.locator("#errors")).to_contain_text(said)

    @property
    def code(self) -> str:
        """The code of the lot whose page is open."""
        return self.page.url.rsplit("/", 1)[1].split("=")[-1]
