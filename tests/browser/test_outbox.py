"""The server is away while somebody writes: nothing is lost, nothing is written twice."""

import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Route, ViewportSize, expect
from sqlalchemy import func, select

from app.ledger.models import Operation, PostingKey
from app.ledger.queries.stock import StockLine, stock_lines
from tests.browser.elsewhere import PLAIN, by_name, in_another_room
from tests.browser.live import Live, serving
from tests.browser.populated import NOW
from tests.browser.stored import keeps
from tests.browser.tablet import LANDSCAPE, complaints_of, tablet_context
from tests.databases import Shelf, on_both
from tests.server import Line, Server

pytestmark = pytest.mark.browser
PHONE: ViewportSize = {"width": 390, "height": 844}
KEPT = "Not saved yet: kept on this tablet, sent when the kitchen's server answers."
AWAY = "The kitchen's server does not answer; what you type is kept here."
REJECTED = "An entry was not taken: open it to see why."


@pytest.fixture
def live(populated: Path, shelf: Shelf) -> Iterator[Live]:
    """The populated ledger, served for writing in."""
    with serving(shelf.settings(populated), NOW) as running:
        yield running


@pytest.fixture(params=[LANDSCAPE, PHONE], ids=["tablet", "phone"])
def context(browser: Browser, request: pytest.FixtureRequest) -> Iterator[BrowserContext]:
    """A touch tablet held sideways, or a phone."""
    context = tablet_context(browser, viewport=request.param)
    yield context
    context.close()


@pytest.fixture
def page(context: BrowserContext) -> Page:
    return context.new_page()


def tally(live: Live) -> tuple[int, int]:
    """How many entries the ledger has, and how many forms were carried out."""
    with live.book.reading() as session:
        counts = [select(func.count()).select_from(table) for table in (Operation, PostingKey)]
        entries, forms = (session.scalar(count) or 0 for count in counts)
        return entries, forms


def one_more(before: tuple[int, int]) -> tuple[int, int]:
    return before[0] + 1, before[1] + 1


def loose(live: Live) -> StockLine:
    """Food of which some grams can be eaten."""
    with live.book.reading() as session:
        return next(x for x in stock_lines(session, one_by_one=True) if not x.package_count)


def begin(page: Page, live: Live, grams: str = "10 g") -> StockLine:
    """Open the form of eating and fill it."""
    line = loose(live)
    page.goto(f"{live.address}/write/eat?from={line.ref}")
    page.get_by_label("How much", exact=False).first.fill(grams)
    return line


def send(page: Page) -> None:
    page.locator(".actions .button.main").tap()


def kept(page: Page) -> None:
    """The page says that the entry waits."""
    expect(page.locator("[data-outbox-line]")).to_have_text(KEPT)


def send_now(page: Page) -> None:
    page.locator("[data-outbox] summary").tap()
    page.get_by_role("button", name="Send now").tap()


def no_posts(route: Route) -> None:
    """Let pages through, and no form."""
    if route.request.method == "POST":
        route.abort()
    else:
        route.continue_()


def said(page: Page) -> Any:
    return page.locator("[data-outbox-answers] .flash")


def test_an_entry_written_offline_is_sent_once_when_the_network_is_back(
    page: Page, context: BrowserContext, live: Live
) -> None:
    before = tally(live)
    begin(page, live)
    context.set_offline(True)
    send(page)
    kept(page)
    expect(page.locator(".outbox-note")).to_be_focused()
    assert tally(live) == before
    context.set_offline(False)
    expect(said(page)).to_contain_text("Eaten")
    expect(page.locator("[data-outbox-line]")).to_be_hidden()
    assert tally(live) == one_more(before)


@pytest.fixture
def plain(populated: Path, shelf: Shelf) -> Iterator[Live]:
    """Served over plain http under a name, as to a tablet in another room: not secure."""
    with serving(replace(shelf.settings(populated), names=(PLAIN,)), NOW) as running:
        yield replace(running, address=by_name(running.address))


@pytest.fixture
def away(browser: Browser) -> Iterator[BrowserContext]:
    """A tablet for which that name is this machine."""
    with in_another_room(browser) as other:
        yield tablet_context(other)


def test_nothing_of_it_needs_a_page_that_browsers_call_secure(
    away: BrowserContext, plain: Live
) -> None:
    page, before = away.new_page(), tally(plain)
    complaints = complaints_of(page)
    begin(page, plain)
    assert page.evaluate("isSecureContext") is False
    away.set_offline(True)
    send(page)
    kept(page)
    away.set_offline(False)
    expect(said(page)).to_contain_text("Eaten")
    assert tally(plain) == one_more(before)

    line = begin(page, plain, "11 g")
    page.get_by_label("Note").fill("for the pie")
    keeps(page, "drafts", 1)
    page.close()
    again = away.new_page()
    again.goto(f"{plain.address}/write/eat?from={line.ref}")
    expect(again.get_by_label("Note")).to_have_value("for the pie")
    again.locator(".actions .button.main").dblclick()
    expect(again.locator(".page .flash")).to_contain_text("Eaten")
    assert tally(plain) == one_more(one_more(before))
    assert [c for c in complaints if "ERR_INTERNET_DISCONNECTED" not in c] == []


def test_what_the_ledger_said_stays_on_every_page_until_it_is_seen(
    page: Page, context: BrowserContext, live: Live
) -> None:
    begin(page, live)
    context.set_offline(True)
    send(page)
    kept(page)
    context.set_offline(False)
    expect(said(page)).to_contain_text("Eaten")
    page.goto(live.address + "/bench")
    expect(said(page)).to_contain_text("Eaten")
    expect(page.locator(".page .flash")).to_have_count(0)  # said once, not twice
    page.get_by_role("button", name="Seen").tap()
    expect(said(page)).to_have_count(0)
    page.reload()
    expect(page.locator("[data-outbox]")).to_be_hidden()


def test_what_was_sent_later_can_be_undone(page: Page, context: BrowserContext, live: Live) -> None:
    line = begin(page, live)
    context.set_offline(True)
    send(page)
    kept(page)
    context.set_offline(False)
    said(page).get_by_role("button", name="Undo").tap()
    expect(page.locator(".page .flash")).to_contain_text("Taken back")
    expect(said(page)).to_have_count(0)
    assert loose(live).mass_mg == line.mass_mg


@on_both
def test_an_answer_that_is_lost_on_the_way_leaves_one_entry(page: Page, live: Live) -> None:
    before = tally(live)
    with Line(live.address) as line:
        begin(page, replace(live, address=line.address))
        line.is_cut = True
        send(page)
        kept(page)
        assert tally(live) == one_more(before)
        line.is_cut = False
        send_now(page)
        expect(said(page)).to_contain_text(
            "That was written already; it stands in the ledger once."
        )
    assert tally(live) == one_more(before)


def test_a_button_that_needs_no_typing_is_kept_too(
    page: Page, context: BrowserContext, live: Live
) -> None:
    before = tally(live)
    page.goto(f"{live.address}/due")
    form = page.locator("form[data-keep]:has([data-pad])").first
    form.locator("[data-pad]").fill("4 °C")
    name = form.get_attribute("data-keep")
    context.set_offline(True)
    form.locator("button").tap()
    kept(page)
    expect(form.locator("[data-pad]")).to_have_value("")
    page.locator("[data-outbox] summary").tap()
    expect(page.locator("[data-outbox-list] > li")).to_contain_text(f"{name}")
    expect(page.locator("[data-outbox-list] > li")).to_contain_text("4 °C")
    context.set_offline(False)
    expect(said(page)).to_contain_text(f"{name}")
    assert tally(live)[1] == before[1] + 1


def test_a_move_at_one_tap_is_kept_with_its_place(
    page: Page, context: BrowserContext, live: Live
) -> None:
    before = tally(live)
    with live.book.reading() as session:
        lines = stock_lines(session, one_by_one=True)
        line = next(x for x in lines if x.package_count and x.is_dried)
    page.goto(f"{live.address}/write/move?from={line.ref}")
    button = page.locator("button[name=place_to]:not(.chosen)", has_text="Pantry").first
    place, name = button.get_attribute("value"), button.inner_text().splitlines()[0]
    context.set_offline(True)
    button.tap()
    kept(page)
    expect(page.locator("[data-outbox-list]")).to_contain_text(name)
    context.set_offline(False)
    expect(said(page)).to_contain_text("Moved")
    with live.book.reading() as session:
        there = [x for x in stock_lines(session, one_by_one=True) if x.lot_id == line.lot_id]
    assert [x.place_id for x in there].count(int(place or 0)) == 1
    assert tally(live) == one_more(before)


def test_taking_back_waits_for_the_person_and_is_not_kept(
    page: Page, context: BrowserContext, live: Live
) -> None:
    line = begin(page, live)
    send(page)
    undo = page.locator(".page .flash").get_by_role("button", name="Undo")
    undo.wait_for()
    page.wait_for_load_state()  # its scripts too
    context.set_offline(True)
    expect(page.locator("[data-outbox-away]")).to_be_visible()
    undo.tap()
    expect(page.locator("[data-outbox-told]")).to_have_text(AWAY)
    expect(undo).to_be_enabled()
    context.set_offline(False)
    expect(page.locator("[data-outbox]")).to_be_hidden()
    undo.tap()
    expect(page.locator(".page .flash")).to_contain_text("Taken back")
    assert loose(live).mass_mg == line.mass_mg


def test_a_reload_does_not_offer_again_what_is_kept(page: Page, live: Live) -> None:
    before = tally(live)
    begin(page, live)
    page.route("**/*", no_posts)
    send(page)
    kept(page)
    page.reload()
    kept(page)
    expect(page.locator(".draft-note")).to_be_hidden()
    page.goto(live.address + "/lots")
    kept(page)
    page.unroute("**/*")
    page.evaluate("document.dispatchEvent(new Event('outbox:send'))")  # it may be sent by now
    expect(said(page)).to_contain_text("Eaten")
    assert tally(live) == one_more(before)


def test_a_second_tap_in_doubt_is_no_second_entry(
    page: Page, context: BrowserContext, live: Live
) -> None:
    """The form is empty then, and an empty amount would mean all that is left."""
    before = tally(live)
    line = begin(page, live)
    context.set_offline(True)
    send(page)
    kept(page)
    page.locator("main").focus()
    send(page)
    expect(page.locator(".outbox-note")).to_be_focused()
    context.set_offline(False)
    expect(said(page)).to_contain_text("Eaten")
    send(page)
    expect(page.locator(".actions .button.main")).to_be_enabled()
    expect(page.locator("[data-outbox-list] > li")).to_have_count(0)
    assert tally(live) == one_more(before)
    assert loose(live).mass_mg == line.mass_mg - 10_000


def test_two_entries_of_one_page_are_two_entries(
    page: Page, context: BrowserContext, live: Live
) -> None:
    before = tally(live)
    begin(page, live, "10 g")
    context.set_offline(True)
    send(page)
    kept(page)
    page.get_by_label("How much", exact=False).first.fill("20 g")
    send(page)
    expect(page.locator("[data-outbox-list] > li")).to_have_count(2)
    context.set_offline(False)
    expect(said(page)).to_have_count(2)
    assert tally(live) == (before[0] + 2, before[1] + 2)


def test_two_tabs_send_a_kept_entry_once(page: Page, context: BrowserContext, live: Live) -> None:
    before = tally(live)
    other = context.new_page()
    other.goto(live.address + "/bench")
    begin(page, live)
    context.set_offline(True)
    send(page)
    kept(page)
    kept(other)  # the other page knows at once
    context.set_offline(False)  # both wake in the same instant
    for one in (page, other):
        expect(said(one)).to_have_count(1)
        expect(said(one)).to_contain_text("Eaten")
    assert tally(live) == one_more(before)


def test_an_entry_the_ledger_does_not_take_is_opened_with_its_messages(
    page: Page, context: BrowserContext, live: Live
) -> None:
    before = tally(live)
    begin(page, live, "900 kg")
    page.get_by_label("Note").fill("for the whole parish")
    context.set_offline(True)
    send(page)
    kept(page)
    context.set_offline(False)
    expect(page.locator("[data-outbox-line]")).to_have_text(REJECTED)
    page.locator("[data-outbox] summary").tap()
    page.get_by_role("button", name="Open it").tap()
    expect(page.locator("#errors")).to_be_visible()
    expect(page.get_by_label("How much", exact=False).first).to_have_value("900 kg")
    expect(page.get_by_label("Note")).to_have_value("for the whole parish")
    expect(page.locator("[data-outbox]")).to_be_hidden()
    assert tally(live) == before


def test_a_kept_entry_is_thrown_away_only_after_a_question(
    page: Page, context: BrowserContext, live: Live
) -> None:
    before = tally(live)
    begin(page, live)
    context.set_offline(True)
    send(page)
    kept(page)
    page.locator("[data-outbox] summary").tap()
    row = page.locator("[data-outbox-list] > li")
    expect(row).to_contain_text("10 g")
    row.get_by_role("button", name="Throw it away", exact=True).tap()
    row.get_by_role("button", name="Keep it").tap()
    kept(page)
    row.get_by_role("button", name="Throw it away", exact=True).tap()
    row.get_by_role("button", name="Yes, throw it away").tap()
    expect(row).to_have_count(0)
    context.set_offline(False)
    expect(page.locator("[data-outbox]")).to_be_hidden()
    assert tally(live) == before


def test_a_tap_on_a_link_does_not_lose_the_page_while_the_server_is_away(
    page: Page, context: BrowserContext, live: Live
) -> None:
    begin(page, live)
    address = page.url
    context.set_offline(True)
    expect(page.locator("[data-outbox-away]")).to_have_text(AWAY)
    find = page.locator(".seek").get_by_role("link", name="Find")
    find.tap()
    expect(page.locator("[data-outbox-told]")).to_have_text(AWAY)
    assert page.url == address
    expect(page.get_by_label("How much", exact=False).first).to_have_value("10 g")
    context.set_offline(False)
    expect(page.locator("[data-outbox]")).to_be_hidden()
    find.tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Find")


def test_a_form_that_is_sent_and_taken_shows_its_answer_as_ever(page: Page, live: Live) -> None:
    before, complaints = tally(live), complaints_of(page)
    begin(page, live)
    send(page)
    expect(page.locator(".page .flash")).to_contain_text("Eaten")
    expect(page.locator("[data-outbox]")).to_be_hidden()
    assert tally(live) == one_more(before)
    assert complaints == []


def test_a_form_that_is_refused_comes_back_as_ever(page: Page, live: Live) -> None:
    before = tally(live)
    begin(page, live, "900 kg")
    send(page)
    expect(page.locator("#errors")).to_be_visible()
    expect(page.get_by_label("How much", exact=False).first).to_have_value("900 kg")
    expect(page.locator("[data-outbox]")).to_be_hidden()
    assert tally(live) == before


# A clock moved while an entry is on its way would use up the page's patience with the server,
# and the page would rightly send the entry once more.
NOTE_WAITS = """() => {
  const wait = window.setTimeout;
  window.waits = [];
  window.setTimeout = (act, span, ...rest) => {
    window.waits.push(span);
    return wait(act, span, ...rest);
  };
}"""


def wait_out(page: Page, span_ms: int) -> None:
    """Move the browser's clock past a wait, once the page has begun it."""
    page.wait_for_function("(span) => window.waits.includes(span)", arg=span_ms)
    page.clock.fast_forward(span_ms + 1)


def test_waiting_entries_are_tried_again_by_themselves(page: Page, live: Live) -> None:
    """The browser's clock is moved: ten seconds, then fifteen."""
    before = tally(live)
    page.clock.install()
    begin(page, live)
    page.evaluate(NOTE_WAITS)
    tried: list[str] = []

    def hinder(route: Route) -> None:
        if route.request.method == "POST":
            tried.append(route.request.url)
            if len(tried) <= 2:
                return route.abort()
        return route.continue_()

    page.route("**/*", hinder)
    send(page)
    kept(page)
    with page.expect_event("requestfailed"):
        wait_out(page, 10_000)
    assert (len(tried), tally(live)) == (2, before)
    kept(page)
    wait_out(page, 15_000)
    expect(said(page)).to_contain_text("Eaten")
    assert (len(tried), tally(live)) == (3, one_more(before))


def test_a_server_that_was_killed_and_came_back_gets_the_entry_once(
    browser: Browser, populated: Path, tmp_path: Path
) -> None:
    shutil.copy(populated, tmp_path / "stillroom.db")
    context = tablet_context(browser)
    page = context.new_page()
    with Server(tmp_path) as server:
        page.goto(f"{server.address}/write/intake")
        page.get_by_label("What is it", exact=True).fill("Killed rabbit")
        page.get_by_label("Nearest food in the table").fill("Game meat, rabbit, wild, raw (17180)")
        page.get_by_label("Bowl 1, gross").fill("1240 g")
        server.kill()
        send(page)
        kept(page)
    with Server(tmp_path, server.port):
        send_now(page)
        expect(said(page)).to_contain_text("Taken in: Killed rabbit")
        page.goto(f"{server.address}/lots?q=Killed+rabbit")
        expect(page.locator("main").get_by_role("link", name="Killed rabbit")).to_have_count(1)
    context.close()
