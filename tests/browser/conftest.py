"""One headless chromium for all browser tests, and the gallery to point it at."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from app.settings import Settings
from tests import databases
from tests.browser.gallery import create_gallery
from tests.browser.live import listening
from tests.browser.populated import populate

ARGUMENTS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
EVERYTHING = bool(os.environ.get("STILLROOM_BROWSER_ON_BOTH"))


@pytest.fixture(params=databases.KINDS if EVERYTHING else databases.KINDS[:1])
def shelf(
    request: pytest.FixtureRequest, tmp_path: Path, database_server: databases.Server | None
) -> Iterator[databases.Shelf]:
    """Fresh ledgers in a file; the stories ask for both databases by themselves.

    A browser cannot tell one database from the other, and tests/web asks every address on both.
    """
    shelf = databases.Shelf(request.param, tmp_path, database_server)
    yield shelf
    shelf.clear()


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium of the system; without it the tests are skipped, or fail where it is required."""
    chromium = shutil.which("chromium")
    if chromium is None and os.environ.get("STILLROOM_REQUIRE_BROWSER"):
        pytest.fail("STILLROOM_REQUIRE_BROWSER is set, and there is no chromium")
    if chromium is None:
        pytest.skip("no chromium on this machine")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def gallery() -> Iterator[str]:
    """The address of a running gallery of all macros."""
    with listening(create_gallery()) as address:
        yield address


@pytest.fixture(scope="session")
def populated(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The data file of the demo household: copy it."""
    return Settings(populate(tmp_path_factory.mktemp("populated"))).data_file
