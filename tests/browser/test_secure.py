"""Https as a browser meets it that has learned to trust the household, and as one that has not."""

import os
import shutil
import subprocess
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from socket import create_server
from typing import Any

import pytest
from playwright.sync_api import Browser, ViewportSize, expect
from playwright.sync_api import Error as BrowserError
from waitress.server import create_server as create_plain

from app.https.authority import certify
from app.https.public import FOLDER, authority_file
from app.https.tls import locked_door, tls_context
from app.settings import EVERY_INTERFACE
from tests import builders as b
from tests.browser.conftest import ARGUMENTS
from tests.browser.live import Live, as_if_from, serving, stop
from tests.browser.tablet import complaints_of, tablet_context
from tests.browser.test_every_page import barriers, small, too_wide
from tests.browser.test_pairing import code_from, type_code
from tests.databases import Shelf
from tests.ledger.kitchen import write_evening
from tests.test_https import Served, end, start

pytestmark = pytest.mark.browser

PHONE: ViewportSize = {"width": 390, "height": 844}
SECURE = "() => [window.isSecureContext, 'wakeLock' in navigator, !!navigator.mediaDevices]"


@contextmanager
def trusting(browser: Browser, authority: Path, home: Path) -> Iterator[Browser]:
    """The same chromium, started by a user whose store of certificates holds this one besides."""
    certutil = shutil.which("certutil")
    if certutil is None and os.environ.get("STILLROOM_REQUIRE_BROWSER"):
        pytest.fail("STILLROOM_REQUIRE_BROWSER is set, and there is no certutil (libnss3-tools)")
    if certutil is None:
        pytest.skip("no certutil (libnss3-tools) on this machine")
    store = home / ".pki" / "nssdb"
    store.mkdir(parents=True)
    subprocess.run([certutil, "-d", f"sql:{store}", "-N", "--empty-password"], check=True)
    subprocess.run(
        [certutil, "-d", f"sql:{store}", "-A", "-t", "C,,", "-n", "household", "-i", authority],
        check=True,
    )
    chromium = shutil.which("chromium")
    found = browser.browser_type.launch(
        executable_path=chromium, args=ARGUMENTS, env={**os.environ, "HOME": str(home)}
    )
    yield found
    found.close()


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """A server of its own, as a household starts it."""
    folder = tmp_path / "locked"
    folder.mkdir()
    write_evening(folder / "stillroom.db")
    served = start(folder)
    yield served
    if served.process.poll() is None:
        end(served)


def test_who_trusts_the_household_has_a_secure_page_and_others_are_warned(
    browser: Browser, served: Served, tmp_path: Path
) -> None:
    locked = f"https://127.0.0.1:{served.https_port}"
    stranger = tablet_context(browser).new_page()
    with pytest.raises(BrowserError, match="ERR_CERT_AUTHORITY_INVALID"):
        stranger.goto(locked)
    stranger.context.close()
    with trusting(browser, authority_file(tmp_path / "locked"), tmp_path / "home") as friend:
        context = tablet_context(friend, viewport=PHONE)
        page = context.new_page()
        complaints = complaints_of(page)
        for name in ("127.0.0.1", "localhost"):
            answer = page.goto(f"https://{name}:{served.https_port}/")
            assert answer is not None
            assert answer.status == 200
            assert answer.headers["content-encoding"] == "gzip"
            assert page.evaluate(SECURE) == [True, True, True]
        for scheme in ("light", "dark"):
            page.goto(f"{locked}/household/secure")
            page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            assert barriers(page) + small(page) == []
            assert too_wide(page, 320) == []
            page.set_viewport_size(PHONE)
        assert complaints == []
        context.close()


@contextmanager
def locked_from_elsewhere(live: Live, folder: Path, remote: str) -> Iterator[Live]:
    """The application behind the household's lock, as a device of the home network reaches it."""
    certified = certify(folder / FOLDER, ("localhost",), (), at=datetime.now(UTC))
    told = as_if_from(live.app, remote)
    sockets: dict[int, Any] = {}
    plain = create_plain(told, map=sockets, host="127.0.0.1", port=0)
    with closing(create_server(("127.0.0.1", 0))) as listener:
        port = listener.getsockname()[1]
        context = tls_context(certified.server_file)
        with locked_door(told, listener, context, sockets):
            thread = threading.Thread(target=plain.run, daemon=True)
            thread.start()
            try:
                yield replace(live, address=f"https://localhost:{port}")
            finally:
                stop(plain, thread)


def test_a_phone_is_paired_over_https_and_writes(
    browser: Browser, shelf: Shelf, tmp_path: Path
) -> None:
    settings = replace(shelf.settings(folder=shelf.folder / "data"), host=EVERY_INTERFACE)
    with (
        serving(settings, b.evening(b.TODAY)) as live,
        locked_from_elsewhere(live, tmp_path, "192.168.1.23") as network,
        trusting(browser, authority_file(tmp_path), tmp_path / "home") as friend,
    ):
        with live.book.writing() as session:
            b.a_household(session)
            moose = b.take_in(session, mass_g=2000, place=b.FREEZER, name="Moose shoulder")
        server = tablet_context(browser).new_page()
        away = tablet_context(friend, viewport=PHONE)
        phone = away.new_page()
        complaints = complaints_of(phone)
        phone.goto(f"{network.address}/")
        expect(phone).to_have_url(f"{network.address}/pair")
        assert phone.evaluate("window.isSecureContext") is True
        assert barriers(phone) + small(phone) == []
        phone.set_viewport_size(PHONE)
        type_code(phone, code_from(server, live))
        expect(phone.get_by_text("Phone of Ailsa is paired.")).to_be_visible()
        cookie = next(c for c in away.cookies() if c["name"] == "__Host-stillroom_device")
        assert (cookie["httpOnly"], cookie["secure"], cookie["sameSite"]) == (True, True, "Lax")
        phone.goto(f"{network.address}/write/eat?from={moose}")
        phone.get_by_label("How much").first.fill("500")
        phone.locator("button.main").tap()
        expect(phone.locator(".flash")).to_contain_text("Eaten")
        assert complaints == []
        away.close()
        server.context.close()
