"""Long lists come in parts: the first is shown, all are counted, every part is reached."""

import re
from collections.abc import Callable
from typing import Any

import pytest

from app.ledger.codes import code_of
from app.ledger.operations.leave import Leave, eat
from app.ledger.operations.portion import Portion, portion
from app.ledger.stock import StockRef
from app.web import paging
from app.web.paging import Part
from tests import builders as b
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]


@pytest.fixture(autouse=True)
def _short_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(paging, "ROWS", 3)


@pytest.fixture
def parent(given: Given) -> StockRef:
    """A lot that eight others were split off from; four meals of it were eaten."""

    def work(session: Any) -> StockRef:
        ref = b.take_in(session, mass_g=2000, place=b.FRIDGE, name="Goulash")
        for n in range(8):
            b.do(session, portion, Portion(ref, 100 * b.G, f"portion {n}", b.FRIDGE, b.TODAY))
        for _ in range(4):
            b.do(session, eat, Leave((ref,), b.TODAY, mass_mg=50 * b.G))
        return ref

    found: StockRef = given(work)
    return found


def further(page: Page, href: str) -> str | None:
    """Where the link to the next part leads, from the page at an address."""
    links = [a["href"] for tag, a in page.tags if tag == "a" and a.get("rel") == "next"]
    return f"{href.partition('?')[0]}{links[0].partition('#')[0]}" if links else None


def all_parts(tablet: Tablet, href: str | None) -> list[str]:
    """The words of each part of the first list of a page, as a person would go through them."""
    seen: list[str] = []
    while href is not None and len(seen) < 20:
        page = tablet.get(href)
        seen.append(page.words)
        href = further(page, href)
    return seen


def test_every_lot_made_of_one_is_reached_part_by_part(tablet: Tablet, parent: StockRef) -> None:
    parts = all_parts(tablet, f"/lots/{code_of(parent.lot_id)}")
    named = [re.findall(r"portion (\d), ", words.partition("History")[0]) for words in parts]
    assert [len(names) for names in named[:3]] == [3, 3, 2]
    assert [n for names in named[:3] for n in names] == list("01234567")
    assert "1 to 3 of 8 lots made of it" in parts[0]


def test_every_meal_of_a_lot_is_reached_beside_the_lots_made_of_it(
    tablet: Tablet, parent: StockRef
) -> None:
    href = f"/lots/{code_of(parent.lot_id)}"
    first, second = tablet.get(href), tablet.get(f"{href}?left=2&made=3")
    assert "1 to 3 of 4 times some of it left" in first.words
    assert "4 to 4 of 4 times some of it left" in second.words
    assert "7 to 8 of 8 lots made of it" in second.words
    kept = [a["href"] for tag, a in second.tags if tag == "a" and a.get("rel") == "prev"]
    assert kept == ["?left=2&made=2#made", "?made=3&left=1#left"]


def test_all_lots_on_hand_are_reached_and_a_search_is_kept_on_the_way(
    tablet: Tablet, parent: StockRef
) -> None:
    words = " ".join(all_parts(tablet, "/lots"))
    assert all(f"portion {n}" in words for n in range(8))
    found = all_parts(tablet, "/lots?q=portion")
    assert len(found) == 3
    assert not any("Goulash" in words for words in found)


@pytest.mark.parametrize("text", ["0", "-1", "x", "９", "", "9999999999999999999999"])
def test_what_is_no_part_gives_the_first(tablet: Tablet, parent: StockRef, text: str) -> None:
    assert "1 to 3 of" in tablet.get(f"/lots?part={text}").words


def test_a_part_beyond_the_end_says_so_and_leads_back(tablet: Tablet, parent: StockRef) -> None:
    page = tablet.get("/lots?part=77")
    assert "There are only 9 lines on hand" in page.words
    assert [a["href"] for tag, a in page.tags if tag == "a" and a.get("rel") == "prev"] == [
        "?part=3#part"
    ]


@pytest.mark.parametrize(("count", "parts"), [(0, 1), (1, 1), (3, 1), (4, 2), (6, 2), (7, 3)])
def test_the_parts_are_as_many_as_the_rows_need(count: int, parts: int) -> None:
    assert Part("part", 1, count, 3).of == parts
