"""Pages of a ledger without food: each says what would fill it, and leads there."""

from collections.abc import Callable
from typing import Any

import pytest

from app.web.routes import ROUTES
from tests import builders as b
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]

# Pages that show something on the first day too: what they are for does not hang on food.
ALWAYS_FULL = {
    "/first-steps": "says itself what to do",
    "/scan": "a camera",
    "/find": "pages are found too",
    "/write": "the list of entries",
    "/write/intake": "takes the first food in",
    "/write/first-day": "takes in what is there already",
    "/places": "the places ticked on the first page",
    "/places/new": "adds a place",
    "/went-wrong": "the list of mishaps",
    "/papers": "the list of papers",
    "/papers/cautions": "the rules",
    "/papers/numbers": "the numbers",
    "/papers/guide": "the guide",
    "/papers/not-covered": "the processes that are not covered",
    "/papers/foretell": "the list of questions",
    "/household": "who writes, and what is owned",
    "/household/settings": "the settings",
    "/household/devices": "how a device is paired",
    "/household/secure": "how the lock works",
}
NO_PAGES = {
    "/first-run",
    "/pair",
    "/find.json",
    "/scan.json",
    "/labels.pdf",
    "/household/secure/stillroom.crt",
}
VERBS = (
    "thaw", "trim", "grind", "blend", "portion", "cook", "chill", "skim", "drain", "blanch",
    "move", "open", "measure", "eat", "give", "discard",
)  # fmt: skip


def addresses() -> list[str]:
    """Every page that can be opened without knowing of any food."""
    plain = [rule for rule, _, methods in ROUTES if "GET" in methods and "<" not in rule]
    verbs = [f"/write/{verb}" for verb in VERBS]
    return [
        rule
        for rule in (*plain, *verbs, "/places/4", "/places/4/stocktake")
        if rule not in NO_PAGES
    ]


def ways_out(page: Page) -> list[str]:
    """Where the empty sentences of a page lead, through links or buttons inside them."""
    html, found = page.html, []
    for part in html.split('<div class="empty">')[1:]:
        inside = part.split("</div>")[0]
        found += [piece.split('"')[0] for piece in inside.split('href="')[1:]]
    return found


@pytest.mark.parametrize("address", addresses())
def test_a_page_without_food_says_what_to_do_and_leads_there(tablet: Tablet, address: str) -> None:
    """An element of the class "empty": a sentence, and a link to a page that is there."""
    page = tablet.get(address)
    assert page.status == 200
    ways = ways_out(page)
    assert ways or address in ALWAYS_FULL, page.words[:400]
    for way in ways:
        assert tablet.get(way).status == 200, way


def test_no_page_is_excused_that_is_not_there() -> None:
    rules = {rule for rule, _, _ in ROUTES}
    assert set(ALWAYS_FULL) | NO_PAGES <= rules


def test_with_food_no_step_says_that_there_is_none(tablet: Tablet, given: Given) -> None:
    given(b.take_in)
    for verb in ("grind", "cook", "move", "eat", "measure"):
        assert ways_out(tablet.get(f"/write/{verb}")) == [], verb
    assert ways_out(tablet.get("/write/thaw"))  # nothing is frozen


def test_the_empty_first_page_leads_to_the_guided_intake(tablet: Tablet) -> None:
    assert ways_out(tablet.get("/"))[:1] == ["/write/intake?first=1"]
    page = tablet.get("/write/intake?first=1")
    assert "5. Where it goes, and since when" in page.words
    answer = tablet.send(
        page.form(),
        "/write/intake?first=1",
        name="Apples",
        food="Apples, raw, with skin (09003)",
        bowls__0__gross="2500",
        source_kind="plot",
    )
    assert answer.status == 303, answer.summary
    assert "Apples" in tablet.get("/").words


def test_a_refused_guided_intake_stays_guided(tablet: Tablet) -> None:
    page = tablet.fill("/write/intake?first=1", name="")
    assert page.status == 422
    assert "1. What it is" in page.words


def test_the_first_steps_say_what_is_done(tablet: Tablet, given: Given) -> None:
    """The household of the builders has a bowl and no device."""
    assert tablet.get("/first-steps").words.count("Done.") == 1
    given(b.take_in)
    assert tablet.get("/first-steps").words.count("Done.") == 2
