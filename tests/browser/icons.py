"""The icons of the home screen, drawn from the mark: `python -m tests.browser.icons`."""

from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from app.web.factory import STATIC
from tests.browser.conftest import ARGUMENTS

ICONS = {"180": (180, 0.86), "192": (192, 1.0), "512": (512, 1.0), "512-maskable": (512, 0.6)}
"""Name: width in pixels, and how much of it the mark takes. A launcher may cut a maskable icon down
to the circle of 80 % of its width (W3C Web Application Manifest, "Icon masks"): a square mark has
to fit into that circle with its corners, so 0.8 / sqrt(2) = 0.57 of the width, a little more here
because the corners of the mark are empty. The other two edges are those of home screens."""
PAPER = "#f7f3ea"


def draw(page: Page, name: str, folder: Path) -> Path:
    """Draw one icon into a folder."""
    width, share = ICONS[name]
    mark = (STATIC / "mark.svg").read_text()
    page.set_viewport_size({"width": width, "height": width})
    page.set_content(
        f"<style>body{{margin:0;height:100vh;background:{PAPER};display:grid;place-items:center}}"
        f"svg{{width:{share * 100}vw}}</style>{mark}"
    )
    file = folder / f"{name}.png"
    page.screenshot(path=file)
    return file


def main() -> None:
    """Draw them all."""
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=ARGUMENTS)
        page = chromium.new_page()
        for name in ICONS:
            print(draw(page, name, STATIC / "icons"))
        chromium.close()


if __name__ == "__main__":
    main()
