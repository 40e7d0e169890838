"""Two browsers: one at the server, and a phone of the home network that has to be paired first."""

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, ViewportSize, expect
from sqlalchemy import select

from app.ledger.checks import check_all
from app.ledger.codes import code_of
from app.ledger.models import Operation
from app.ledger.words import OperationKind
from app.settings import EVERY_INTERFACE
from tests import builders as b
from tests.browser.elsewhere import PLAIN, by_name, in_another_room
from tests.browser.live import Live, from_elsewhere, serving
from tests.browser.tablet import complaints_of, tablet_context
from tests.browser.test_gallery import SMALL_TARGETS
from tests.databases import Shelf, on_both

pytestmark = pytest.mark.browser

PHONE: ViewportSize = {"width": 390, "height": 844}
SIDEWAYS = "document.documentElement.scrollWidth > document.documentElement.clientWidth"


@pytest.fixture
def live(shelf: Shelf) -> Iterator[Live]:
    """Opened to the home network."""
    folder = shelf.folder / "data"
    settings = replace(shelf.settings(folder=folder), host=EVERY_INTERFACE, names=(PLAIN,))
    with serving(settings, b.evening(b.TODAY)) as running:
        yield running


def looks_well(page: Page) -> None:
    """No finding of axe, no target too small, nothing to be scrolled sideways."""
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    assert page.evaluate(SMALL_TARGETS) == []
    assert not page.evaluate(SIDEWAYS)


def code_from(server: Page, live: Live) -> str:
    """A code, shown on the server's own screen."""
    server.goto(f"{live.address}/household/devices")
    server.get_by_role("button", name="Pair a device").tap()
    return server.locator("strong.code").inner_text()


def type_code(phone: Page, code: str) -> None:
    phone.get_by_label("Code").fill(code)
    phone.get_by_label("What to call this device").fill("Phone of Ailsa")
    phone.get_by_role("button", name="Pair", exact=True).tap()


@on_both
def test_a_phone_is_paired_writes_and_is_shut_out(browser: Browser, live: Live) -> None:
    with live.book.writing() as session:
        b.a_household(session)
        moose = b.take_in(session, mass_g=2000, place=b.FREEZER, name="Moose shoulder")
        pouch = code_of(b.pouches(session, 262)[0].lot_id)
    home = tablet_context(browser)
    server = home.new_page()
    with from_elsewhere(live, "192.168.1.23") as network:
        away = tablet_context(browser, viewport=PHONE, bypass_csp=True)  # axe is injected
        phone = away.new_page()
        complaints = complaints_of(phone)

        for address in ("/", f"/lots/{pouch}", "/history", "/find?q=moose", "/lots.json"):
            phone.goto(network.address + address)
            expect(phone).to_have_url(f"{network.address}/pair")
            expect(phone.get_by_text("Moose")).to_have_count(0)
        looks_well(phone)

        phone.goto(f"{network.address}/l/{pouch}")
        expect(phone.get_by_role("heading", level=1)).to_contain_text("Moose")
        inward = phone.locator("a[href]").evaluate_all("all => all.map((a) => a.pathname)")
        assert set(inward) <= {"/pair", f"/l/{pouch}"}
        looks_well(phone)

        phone.goto(f"{network.address}/pair")
        code = code_from(server, live)
        wrong = str((int(code.replace(" ", "")) + 1) % 10**8).zfill(8)
        type_code(phone, wrong)
        expect(phone.locator(".error")).to_have_text(
            "That code is wrong or too old. Ask for a new one."
        )
        expect(phone.get_by_label("What to call this device")).to_have_value("Phone of Ailsa")
        looks_well(phone)

        type_code(phone, code)
        expect(phone).to_have_url(f"{network.address}/")
        expect(phone.get_by_text("Phone of Ailsa is paired.")).to_be_visible()
        cookie = next(c for c in away.cookies() if c["name"] == "stillroom_device")
        assert (cookie["httpOnly"], cookie["sameSite"]) == (True, "Lax")

        phone.goto(f"{network.address}/write/eat?from={moose}")
        phone.get_by_label(re.compile("How much")).first.fill("500")
        phone.locator("button.main").tap()
        expect(phone.locator(".flash")).to_contain_text("Eaten")

        phone.goto(f"{network.address}/write/eat?from={moose}")
        phone.get_by_label(re.compile("How much")).first.fill("700")
        server.goto(f"{live.address}/household/devices")
        server.get_by_role("button", name="Remove Phone of Ailsa").tap()
        expect(server.get_by_text("Phone of Ailsa is shut out.")).to_be_visible()
        phone.locator("button.main").tap()
        expect(phone.get_by_role("heading", level=1)).to_have_text("This device is not paired")
        expect(phone.get_by_text("Nothing was written.")).to_be_visible()
        looks_well(phone)

        phone.get_by_role("link", name="Pair this device").tap()
        type_code(phone, code_from(server, live))
        expect(phone.get_by_text("Phone of Ailsa is paired.")).to_be_visible()
        phone.goto(f"{network.address}/write/eat?from={moose}")
        expect(phone.get_by_label(re.compile("How much")).first).to_have_value("700")
        assert [words for words in complaints if "status of 403" not in words] == []
        away.close()
    home.close()
    assert eaten(live) == 1
    with live.book.reading() as session:
        assert check_all(session) == []


def test_a_phone_in_another_room_is_paired_and_bears_a_server_that_goes_away(
    browser: Browser, live: Live
) -> None:
    """Over plain http under a name, which no browser calls secure; the port is shut meanwhile."""
    with live.book.writing() as session:
        b.a_household(session)
        moose = b.take_in(session, mass_g=2000, place=b.FREEZER, name="Moose shoulder")
    home = tablet_context(browser)
    with in_another_room(browser) as room:
        phone = tablet_context(room, viewport=PHONE).new_page()
        with from_elsewhere(live, "192.168.1.23") as network:
            phone.goto(f"{by_name(network.address)}/pair")
            assert phone.evaluate("isSecureContext") is False
            type_code(phone, code_from(home.new_page(), live))
            expect(phone.get_by_text("Phone of Ailsa is paired.")).to_be_visible()
            phone.goto(f"{by_name(network.address)}/write/eat?from={moose}")
            phone.get_by_label(re.compile("How much")).first.fill("500")
        phone.locator("button.main").tap()
        expect(phone.locator("[data-outbox-line]")).to_contain_text("kept on this tablet")
        assert eaten(live) == 0
        with from_elsewhere(live, "192.168.1.23", int(network.address.rsplit(":", 1)[1])):
            phone.locator("[data-outbox] summary").tap()
            phone.get_by_role("button", name="Send now").tap()
            expect(phone.locator("[data-outbox-answers] .flash")).to_contain_text("Eaten")
    home.close()
    assert eaten(live) == 1


def eaten(live: Live) -> int:
    """How many entries of eating there are."""
    with live.book.reading() as session:
        found = select(Operation.id).where(Operation.kind == OperationKind.EAT)
        return len(session.scalars(found).all())


def test_codes_cannot_be_guessed_and_the_page_says_so(browser: Browser, live: Live) -> None:
    with live.book.writing() as session:
        b.a_household(session)
    home = tablet_context(browser)
    server = home.new_page()
    code = code_from(server, live)
    with from_elsewhere(live, "192.168.1.23") as network:
        away = tablet_context(browser, viewport=PHONE)
        phone = away.new_page()
        phone.goto(f"{network.address}/")
        for guess in range(5):
            type_code(phone, f"{guess:08}")
            expect(phone.locator(".error")).to_be_visible()
        type_code(phone, code)  # right, but too late
        expect(phone.locator(".error")).to_have_text(
            "That code is wrong or too old. Ask for a new one."
        )
        phone.goto(f"{network.address}/")
        expect(phone).to_have_url(f"{network.address}/pair")
        away.close()
    home.close()
