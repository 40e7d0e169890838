"""The page of one lot: what it is, where it came from, what became of it; and finding it."""

import re
from collections.abc import Callable
from typing import Any

import pytest

from app.ledger.codes import code_of, spoken
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.stock import StockRef
from app.science.version import MODEL_VERSION
from app.science.working import Part as WorkingPart
from app.web.lots.worked_out import PARTS
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]


def lot_page(ref: StockRef) -> str:
    """The address of a lot."""
    return f"/lots/{code_of(ref.lot_id)}"


def targets(page: Page) -> set[str]:
    """Where the page leads."""
    return {a["href"] for tag, a in page.tags if tag == "a"}


def has_raw_mark(page: Page) -> bool:
    """Does the page show the mark of raw food?"""
    return any(tag == "strong" and a.get("class") == "raw-mark" for tag, a in page.tags)


@pytest.fixture
def ground(given: Given) -> StockRef:
    """An old packet and this year's meat, ground together."""

    def work(session: Any) -> StockRef:
        old = b.take_in(session, mass_g=500, harvest=(b.OLD, b.OLD), name="Old packet")
        new = b.take_in(session, mass_g=1500, harvest=(b.TODAY, b.TODAY), name="New trim")
        parts = (Part(old, 500 * b.G), Part(new, 1500 * b.G))
        request = Grind(parts, "Moose, ground", 1950 * b.G, b.FRIDGE, b.TODAY, stuck_mg=50 * b.G)
        return b.made(b.do(session, grind, request), b.FRIDGE)

    found: StockRef = given(work)
    return found


def test_a_lot_of_two_sources_knows_both_with_their_shares_and_the_older_harvest(
    tablet: Tablet, ground: StockRef
) -> None:
    page = tablet.get(lot_page(ground))
    assert "Old packet" in page.words
    assert "New trim" in page.words
    assert "25 %" in page.words
    assert "75 %" in page.words
    assert "15 October 2023" in page.words
    assert "1.95 kg" in page.words
    assert "stuck in the machine" in page.words


def test_a_source_knows_what_became_of_it(tablet: Tablet, ground: StockRef) -> None:
    page = tablet.get(lot_page(StockRef(ground.lot_id - 1, b.FRIDGE)))
    assert "Nothing of this lot is left." in page.words
    assert lot_page(ground) in targets(page)


def test_a_code_is_found_however_it_is_typed(tablet: Tablet, ground: StockRef) -> None:
    code = code_of(ground.lot_id)
    for typed in (code, code.lower(), spoken(code), spoken(code).lower().replace("-", " ")):
        answer = tablet.get(f"/lots?q={typed}")
        assert (answer.status, answer.location) == (303, f"/lots/{code}")
    assert tablet.get(f"/lots/{code.lower()}").location == f"/lots/{code}"


def test_a_code_heard_wrong_is_no_lot(tablet: Tablet, ground: StockRef) -> None:
    code = code_of(ground.lot_id)
    wrong = code[:-1] + ("0" if code[-1] != "0" else "1")
    page = tablet.get(f"/lots/{wrong}")
    assert page.status == 404
    assert "Check the code: its last character tells." in page.words


@pytest.mark.parametrize("word", ["ground", "MOOSE", "fridge"])
def test_lots_are_found_by_name_and_place(tablet: Tablet, ground: StockRef, word: str) -> None:
    assert "Moose, ground" in tablet.get(f"/lots?q={word}").words


@pytest.mark.parametrize("text", ["%", "_", "\\", "'; DROP TABLE lot; --", "%00", "☃", "x" * 3000])
def test_odd_searches_find_nothing_and_keep_the_text(
    tablet: Tablet, ground: StockRef, text: str
) -> None:
    page = Page(tablet.client.get("/lots", query_string={"q": text}))
    assert page.status == 200
    assert "Nothing on hand answers" in page.words
    assert page.typed("q") == [text]


def test_raw_food_is_marked_raw_on_every_page_that_is_about_it(
    tablet: Tablet, ground: StockRef
) -> None:
    code = code_of(ground.lot_id)
    own = [f"/lots/{code}", f"/lots/{code}/worked-out", f"/labels?lot={code}"]
    steps = ["portion", "cook", "blend", "eat", "move", "give", "discard", "pack", "load", "chill"]
    for address in own + [f"/write/{step}?from={ground}" for step in steps]:
        assert has_raw_mark(tablet.get(address)), address
    for address in ("/", "/lots", "/bench", "/labels", "/write/pack"):
        page = tablet.get(address)
        rows = [a for tag, a in page.tags if tag == "li" and "lot-line" in a.get("class", "")]
        assert not rows or "raw, ground" in page.words, address


def test_cooked_food_has_no_raw_mark(tablet: Tablet, given: Given) -> None:
    meat = given(b.cooked)
    assert not has_raw_mark(tablet.get(lot_page(meat)))
    assert not has_raw_mark(tablet.get(f"/write/eat?from={meat}"))


def test_a_dried_lot_says_how_much_water_brings_it_back_in_grams_and_cups(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    dry = given(b.dried)
    clock.forward(days=2)
    words = tablet.get(lot_page(dry)).words
    assert "of water" in words
    assert "US cups" in words


def test_the_working_shows_numbers_with_their_sources(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    pouch = given(b.pouches)[0]
    clock.forward(days=30)
    page = tablet.get(f"{lot_page(pouch)}/worked-out")
    assert page.status == 200
    sources = [a for _, a in page.tags if a.get("class") == "source"]
    assert len(sources) > 5
    assert "never a promise of safety" in page.words


def test_the_working_of_a_lot_that_is_gone_says_so(tablet: Tablet, ground: StockRef) -> None:
    gone = StockRef(ground.lot_id - 1, b.FRIDGE)
    page = tablet.get(f"{lot_page(gone)}/worked-out")
    assert page.status == 200
    assert "Nothing of this lot is on hand" in page.words


def test_the_working_of_a_pouch_is_read_part_by_part_with_shares_and_places(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    pouch = given(b.pouches)[0]
    clock.forward(days=30)
    page = tablet.get(f"{lot_page(pouch)}/worked-out")
    titles = [title for title, _ in PARTS.values()]
    shown = [title for title in titles if title in page.words]
    assert shown == titles[:5]  # it was never in the cold
    percents = [int(p) for p in re.findall(r"(\d+) % of runs", page.words)]
    assert 97 <= sum(percents) <= 103  # each was rounded
    assert "15 °C (10 °C to 20 °C)" in page.words
    assert f"Model version {MODEL_VERSION}" in page.words
    assert page.words.index("Unsure.") < page.words.index("How sure this is")


def test_the_working_of_frozen_food_shows_its_table_and_temperature(
    tablet: Tablet, given: Given
) -> None:
    meat = given(b.take_in, place=b.FREEZER)
    page = tablet.get(f"{lot_page(meat)}/worked-out")
    assert PARTS[WorkingPart.COLD][0] in page.words
    assert PARTS[WorkingPart.OXIDATION][0] not in page.words
    assert "−18 °C (−20 °C to −16 °C)" in page.words
