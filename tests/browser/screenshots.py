"""Screenshots of the demo household for the documentation.

`python -m tests.browser.screenshots [FOLDER]` builds the demo, serves it on this machine, and
writes docs/screenshots afresh.
"""

import io
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Literal

from PIL import Image
from playwright.sync_api import Browser, Page, ViewportSize, sync_playwright
from sqlalchemy.orm import Session

from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.operations.weigh_back import WeighBack, weigh_back
from app.ledger.queries.bench import bench
from app.ledger.queries.places import places
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.stock import StockRef
from app.ledger.words import PlaceKind
from app.settings import DEFAULT_PORT
from tests.browser.conftest import ARGUMENTS
from tests.browser.live import Live, serving
from tests.browser.populated import NOW, populate

FOLDER = Path(__file__).parents[2] / "docs" / "screenshots"
LANDSCAPE, PORTRAIT, PHONE = (1280, 800), (800, 1280), (390, 844)
COLOURS = 64  # a page is paper, ink, one green and their blends

Act = Callable[[Page], None]


@dataclass(frozen=True)
class Shot:
    """One picture: its name, what it shows, how the screen is held, and what is done first."""

    name: str
    path: str
    size: tuple[int, int] = LANDSCAPE
    is_dark: bool = False
    act: Act | None = None


def shots(live: Live) -> list[Shot]:
    """Every picture of the documentation."""
    with live.book.reading() as session:
        run = bench(session).runs[0].run.id
    pouches = _moose(live)
    return [
        Shot("eat-first-1280x800", "/"),
        Shot("eat-first-1280x800-dark", "/", is_dark=True),
        Shot("eat-first-800x1280", "/", PORTRAIT),
        Shot("eat-first-390x844", "/", PHONE),
        Shot("lot-1280x800", f"/lots/{pouches.code}"),
        Shot("lot-390x844", f"/lots/{pouches.code}", PHONE),
        Shot("intake-800x1280", "/write/intake", PORTRAIT, act=_weigh_three_bowls),
        Shot("intake-1280x800", "/write/intake", act=_weigh_three_bowls),
        Shot("run-1280x800", f"/runs/{run}"),
        Shot("labels-1280x800", f"/labels?lot={pouches.code}"),
        Shot("places-1280x800", "/places"),
        Shot("place-800x1280", "/places/3", PORTRAIT, act=_to_the_drawing),
        Shot("holds-1280x800", "/holds"),
        Shot("trace-1280x800", f"/lots/{pouches.code}/trace"),
        Shot("stocktake-800x1280", "/places/3/stocktake", PORTRAIT),
        Shot("evidence-800x1280", f"/lots/{pouches.code}/evidence", PORTRAIT),
        Shot("went-wrong-1280x800", "/went-wrong/power_out?place=1", act=_what_it_means),
        Shot("write-1280x800", "/write"),
        Shot("bench-800x1280", "/bench", PORTRAIT),
        Shot("season-800x1280", "/season", PORTRAIT),
        Shot("season-390x844", "/season", PHONE),
        Shot("season-six-months-1280x800", "/season", act=_to_six_months),
        Shot("guide-800x1280", "/papers/guide", PORTRAIT),
    ]


def _to_six_months(page: Page) -> None:
    page.get_by_role("link", name="Six months ahead").tap()


def _to_the_drawing(page: Page) -> None:
    page.get_by_role("heading", name="How warm it was").evaluate("e => e.scrollIntoView()")


def _what_it_means(page: Page) -> None:
    """A freezer that stood without power from two in the morning, and was found thawed."""
    until = page.get_by_label("To", exact=True).input_value()
    page.get_by_label("From", exact=True).fill(f"{until[:10]}T02:00")
    page.locator("label", has_text="No: thawed").first.tap()
    page.get_by_label("Hours above 4.4").fill("3")
    with page.expect_navigation():
        page.get_by_role("button", name="What does it mean").tap()


def shots_of_packing(live: Live) -> list[Shot]:
    """The comparison of packages, for what comes out of the dryer now."""
    pack = f"/write/pack?from={come_out_dry(live)}"
    return [Shot("pack-1280x800", pack), Shot("pack-800x1280", pack, PORTRAIT)]


def come_out_dry(live: Live) -> StockRef:
    """Weigh the trays of the running dryer until they are dry, and unload them."""
    with live.book.writing() as session:
        line = bench(session).runs[0]
        dry_mg = 0
        for state in line.trays:
            end_mg = state.weighings[-1].gross_mg - 2_000
            dry_mg += end_mg - state.tray.tare_mg
            for hours in (30, 27, 24):
                request = WeighBack(line.run.id, state.tray.number, end_mg, f"{end_mg // 1000} g")
                weigh_back(session, request, at=NOW - timedelta(hours=hours - 23.5))
        lot, place = line.trays[0].lot, _place(session)
        made = (DryMade(lot.id, dry_mg),)
        posted = unload(session, Unload(line.run.id, made, place, NOW.date()), at=NOW, by=None)
        return StockRef(posted.lot_ids[0], place)


def _place(session: Session) -> int:
    return next(p.id for p in places(session) if p.kind == PlaceKind.BENCH)


def _moose(live: Live) -> StockLine:
    with live.book.reading() as session:
        lines = stock_lines(session)
    return next(x for x in lines if x.name == "Moose mince" and x.package_count > 1)


def _weigh_three_bowls(page: Page) -> None:
    page.get_by_label("What is it", exact=True).fill("Moose trim")
    page.get_by_label("Nearest food in the table").fill("Game meat, moose, raw (17172)")
    for bowl, gross in (
        ("blue enamel bowl", 2267),
        ("glass bowl", 2546),
        ("blue enamel bowl", 2304),
    ):
        page.locator(f"[data-bowl='{bowl}']").tap()
        for digit in str(gross):
            page.locator(f".key[data-key='{digit}']").tap()
    page.locator("[data-tally]").evaluate("(e) => e.scrollIntoView({block: 'start'})")


def take(browser: Browser, live: Live, shot: Shot) -> bytes:
    """The picture as the browser gives it."""
    width, height = shot.size
    viewport: ViewportSize = {"width": width, "height": height}
    scheme: Literal["dark", "light"] = "dark" if shot.is_dark else "light"
    context = browser.new_context(viewport=viewport, has_touch=True, color_scheme=scheme)
    page = context.new_page()
    page.goto(live.address + shot.path)
    page.evaluate("document.fonts.ready")
    if shot.act:
        shot.act(page)
    picture = page.screenshot()
    context.close()
    return picture


def label(browser: Browser, live: Live, code: str) -> bytes:
    """The first label of a lot as a printer of 203 dots an inch prints it."""
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"{live.address}/labels?lot={code}")
    query = page.evaluate("new URLSearchParams(new FormData(document.forms.labels)).toString()")
    pdf = context.request.get(f"{live.address}/labels.pdf?{query}").body()
    context.close()
    command = ["pdftoppm", "-r", "203", "-png", "-singlefile", "-"]
    return subprocess.run(command, input=pdf, check=True, capture_output=True).stdout


def save(picture: bytes, file: Path) -> None:
    """Write a picture in few colours."""
    image = Image.open(io.BytesIO(picture)).convert("RGB")
    few = image.quantize(COLOURS, dither=Image.Dither.NONE)
    few.save(file, optimize=True)
    print(f"{file.name} {file.stat().st_size / 1000:.0f} kB")


def main(folder: Path) -> None:
    """Take them all."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=ARGUMENTS)
        with serving(populate(Path(scratch)), NOW, DEFAULT_PORT) as live:
            for some in (shots, shots_of_packing):
                for shot in some(live):
                    save(take(browser, live, shot), folder / f"{shot.name}.png")
            code = _moose(live).code
            save(label(browser, live, code), folder / "label.png")
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER)
