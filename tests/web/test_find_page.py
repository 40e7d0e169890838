"""The page that finds anything, and the list below its field."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from flask import Flask

from app.ledger.codes import ALPHABET, code_of, lot_id_of, spoken
from app.ledger.errors import NotFound
from app.ledger.models import Lot
from app.ledger.stock import StockRef
from app.web.find.pages import _PAGES
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]
TROUT = "/write/intake?food=Fish%2C+trout%2C+mixed+species%2C+raw+%2815114%29"


@pytest.fixture
def moose(given: Given) -> StockRef:
    """Moose in the freezer."""
    found: StockRef = given(b.take_in, name="Moose trim", place=b.FREEZER)
    return found


def find(tablet: Tablet, text: str) -> Page:
    return Page(tablet.client.get("/find", query_string={"q": text}))


def ahead(tablet: Tablet, text: str) -> dict[str, Any]:
    found: dict[str, Any] = tablet.client.get("/find.json", query_string={"q": text}).get_json()
    return found


def links(page: Page) -> list[str]:
    return [a["href"] for tag, a in page.tags if tag == "a" and "href" in a]


def hrefs(answer: dict[str, Any]) -> list[str]:
    return [link["href"] for group in answer["groups"] for link in group["links"]]


def wrong_codes(code: str) -> list[str]:
    """Every code that is this one with one character wrong, and is the code of no lot."""
    found = []
    for at in range(5):
        for other in ALPHABET:
            wrong = code[:at] + other + code[at + 1 :]
            try:
                lot_id_of(wrong)
            except NotFound:
                found.append(wrong)
    return found


def test_every_page_leads_to_finding_and_scanning_in_one_tap(tablet: Tablet) -> None:
    for address in ("/", "/lots", "/bench", "/write", "/write/intake", "/papers", "/nowhere"):
        assert {"/find", "/scan"} <= set(links(tablet.get(address))), address


def test_the_field_stands_on_the_page_of_lots_and_keeps_what_was_typed(
    tablet: Tablet, moose: StockRef
) -> None:
    assert tablet.get("/lots").typed("q") == [""]
    page = find(tablet, "moose “x”")
    assert page.typed("q") == ["moose “x”"]


def test_a_code_opens_its_lot_however_it_is_typed(tablet: Tablet, moose: StockRef) -> None:
    code = code_of(moose.lot_id)
    for typed in (
        code,
        f" {spoken(code).lower()} ",
        spoken(code).replace("-", " "),
        f"http://kitchen.local:8080/l/{code}",
        f"HTTP://192.168.1.20:8765/L/{code}",
        f"https://kitchen.local/l/{code.lower()}/",
        f"/kitchen.local/L/{code}",  # the first character woke the field
        f"kitchen.local/l/{code}",
        f"/l/{code}",
        f"L/{code}",
    ):
        answer = find(tablet, typed)
        assert (answer.status, answer.location) == (303, f"/lots/{code}"), typed


def test_no_wrong_code_ever_opens_a_lot(tablet: Tablet, given: Given) -> None:
    refs = [given(b.take_in, name=f"Trim no. {n}") for n in range(3)]
    code = code_of(refs[1].lot_id)
    for wrong in wrong_codes(code)[::11]:
        for text in (wrong, f"http://kitchen.local/l/{wrong}"):
            page = find(tablet, text)
            assert page.status == 200, text
            assert f"/lots/{code}" in links(page), text
            assert "Did you mean Trim no. 1" in page.words, text


def test_a_code_that_was_cut_short_is_said_and_proposed(tablet: Tablet, moose: StockRef) -> None:
    code = code_of(moose.lot_id)
    cut = f"{code[:2]}-{code[2:4]}"
    page = find(tablet, cut)
    assert f"There is no lot {cut}. Did you mean Moose trim, {spoken(code)}?" in page.words
    assert hrefs(ahead(tablet, cut)) == [f"/lots/{code}"]


def test_a_code_near_no_lot_is_only_said_to_be_none(tablet: Tablet, moose: StockRef) -> None:
    far = next(code for code in map(code_of, range(70_000, 70_100)) if not code.isalpha())
    page = find(tablet, far)
    assert page.status == 200
    assert "There is no lot" in page.words
    assert "Did you mean" not in page.words


def test_a_word_that_is_a_code_as_well_is_shown_and_not_opened(
    tablet: Tablet, given: Given, app: Flask
) -> None:
    """The first lot whose code is letters alone, and another lot of that name."""
    number = next(n for n in range(9, 500) if code_of(n).isalpha())
    word = code_of(number)
    other = given(b.take_in, name=f"Mixed {word.lower()} bits")
    with app.extensions["stillroom.book"].writing() as session:
        first = session.get_one(Lot, other.lot_id)
        columns = {c.name: getattr(first, c.name) for c in Lot.__table__.columns}
        session.add(Lot(**(columns | {"id": number, "name": "Of that code"})))
    page = find(tablet, word)
    assert page.status == 200
    assert f"{spoken(word)} is also the code of a lot." in page.words
    assert {f"/lots/{word}", f"/lots/{code_of(other.lot_id)}"} <= set(links(page))
    assert find(tablet, spoken(word)).location == f"/lots/{word}"


def test_another_address_is_never_followed(tablet: Tablet, moose: StockRef) -> None:
    for text in ("https://elsewhere.example/pay?to=me", "javascript:alert(1)", "www.x.example"):
        page = find(tablet, text)
        assert page.status == 200
        assert "It is not opened." in page.words
        assert not any("elsewhere" in href or "javascript" in href for href in links(page))


@pytest.mark.parametrize(
    ("typed", "heading", "href"),
    [
        ("freezer", "Places", "/places/1"),
        ("A-117", "Sources", "/sources/1"),
        ("moose share", "Sources", "/sources/1"),
        ("trout", "Foods of the table, to take in", TROUT),
        ("pack", "Pages", "/write/pack"),
        ("stocktake", "Pages", "/places"),
        ("stoktake", "Pages", "/places"),
        ("scan", "Pages", "/scan"),
        ("guide", "Pages", "/papers/guide"),
    ],
)
def test_places_sources_foods_and_pages_are_found(
    tablet: Tablet, moose: StockRef, typed: str, heading: str, href: str
) -> None:
    page = find(tablet, typed)
    assert heading in page.words
    assert href in links(page)
    assert href in hrefs(ahead(tablet, typed))


def test_lots_are_found_with_their_windows_by_name_tag_place_person_and_day(
    tablet: Tablet, moose: StockRef
) -> None:
    for typed in ("moose", "trim freezer", "A-117", "Ailsa", "2025-10-20", "october moose", "mose"):
        page = find(tablet, typed)
        assert f"/lots/{code_of(moose.lot_id)}" in links(page), typed
        assert [a for tag, a in page.tags if tag == "svg" and "window-svg" in a.get("class", "")]
    assert (
        "Nothing here is called “mose”. This is what “Moose” finds." in find(tablet, "mose").words
    )
    assert "from 1 October 2025 to 31 October 2025" in find(tablet, "october").words
    assert "on 20 October 2025" in find(tablet, "today").words
    assert "Nothing answers to" in find(tablet, "moose zzzzqq").words


def test_packages_are_found_by_number_alone_and_with_a_code(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    code = code_of(given(b.pouches)[0].lot_id)
    clock.forward(days=2)
    for typed in ("no. 2", "2 of 3", "2/3", f"{code} 2", f"{spoken(code)} no. 2", "package 2"):
        page = find(tablet, typed)
        assert "no. 2 of 3, 80 g. Pantry." in page.words, typed
    assert "Nothing answers to" in find(tablet, "no. 9 of 12").words


def test_what_is_eaten_is_found_as_gone(tablet: Tablet, moose: StockRef) -> None:
    tablet.fill(f"/write/eat?from={moose}")
    page = find(tablet, "moose trim")
    assert "Lots of which nothing is left" in page.words
    assert f"/lots/{code_of(moose.lot_id)}" in links(page)


def test_the_list_ahead_is_short_and_empty_for_nothing(tablet: Tablet, given: Given) -> None:
    for number in range(9):
        given(b.take_in, name=f"Moose {number}")
    answer = ahead(tablet, "moose")
    lots = next(g for g in answer["groups"] if g["title"] == "Lots")
    assert len(lots["links"]) == 5
    assert lots["links"][0]["words"] == "1.00 kg. Fridge."
    assert ahead(tablet, " ") == ahead(tablet, "") == {"said": "", "groups": []}
    assert ahead(tablet, "xyzzyx") == {"said": "", "groups": []}


@pytest.mark.parametrize(
    "text", ["%", "_", "\\", "'; DROP TABLE lot; --", "\x00", "☃", "x" * 3000, "a " * 200, "<b>"]
)
def test_odd_texts_are_answered_and_stay_text(tablet: Tablet, moose: StockRef, text: str) -> None:
    page = find(tablet, text)
    assert page.status == 200
    assert not [a for tag, a in page.tags if tag == "b"]
    assert isinstance(ahead(tablet, text)["groups"], list)


def test_long_results_come_in_parts(tablet: Tablet, given: Given, monkeypatch: Any) -> None:
    monkeypatch.setattr("app.web.paging.ROWS", 3)
    for number in range(7):
        given(b.take_in, name=f"Moose {number}", on=b.TODAY - timedelta(days=number))
    first, last = tablet.get("/find?q=moose"), tablet.get("/find?q=moose&part=3")
    assert "1 to 3 of 7 lines on hand" in first.words
    assert "7 to 7 of 7 lines on hand" in last.words


def test_every_page_that_is_proposed_opens(tablet: Tablet) -> None:
    for page in _PAGES:
        assert tablet.get(page.href).status == 200, page.href


def test_a_food_of_the_table_is_taken_in_with_one_more_tap(tablet: Tablet) -> None:
    assert tablet.get(TROUT).typed("food") == ["Fish, trout, mixed species, raw (15114)"]
    assert tablet.get("/write/intake").typed("food") == [""]
    assert tablet.get("/write/intake?food=%3Cb%3E" + "x" * 900).status == 200


def test_an_entry_finds_its_lot_and_goes_on_with_it(
    tablet: Tablet, given: Given, moose: StockRef, clock: HandClock
) -> None:
    packed = given(b.pouches)
    clock.forward(days=2)
    code, frozen = code_of(packed[0].lot_id), code_of(moose.lot_id)
    assert {"q", "for"} <= set(tablet.get("/write/eat").forms[0].values)
    answer = tablet.client.get("/find.json", query_string={"q": "moose", "for": "eat"}).get_json()
    assert [group["title"] for group in answer["groups"]] == ["Lots"]
    assert f"/write/eat?from={packed[0]}" in hrefs(answer)
    assert tablet.get(f"/find?q={code}&for=eat").location == f"/write/eat?from={packed[0]}"
    assert tablet.get(f"/find?q={code}+2&for=eat").status == 200
    assert f"/write/eat?from={packed[1]}" in links(tablet.get(f"/find?q={code}+2&for=eat"))
    assert f"/write/thaw?from={moose}" in links(tablet.get("/find?q=moose+freezer&for=thaw"))
    assert tablet.get(f"/find?q={frozen}&for=chill").location == f"/lots/{frozen}"


def test_a_lot_that_lies_in_two_ways_is_asked_about(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    packed = given(b.pouches)
    clock.forward(days=2)
    tablet.fill(f"/write/open?from={packed[0]}")
    code = code_of(packed[0].lot_id)
    page = tablet.get(f"/find?q={code}&for=eat")
    assert page.status == 200
    assert {f"/write/eat?from={ref}" for ref in packed[:2]} <= set(links(page))
    answer = tablet.client.get("/find.json", query_string={"q": code, "for": "eat"}).get_json()
    assert hrefs(answer) == [f"/find?q={code}&for=eat"]
    scanned = tablet.client.get("/scan.json", query_string={"text": code, "for": "eat"}).get_json()
    assert scanned["href"] == f"/find?q={code}&for=eat"


@pytest.mark.parametrize("word", ["", "intake", "hold", "nonsense", "<b>"])
def test_what_is_no_entry_with_a_lot_finds_as_ever(
    tablet: Tablet, moose: StockRef, word: str
) -> None:
    answer = tablet.client.get("/find", query_string={"q": code_of(moose.lot_id), "for": word})
    assert answer.location == f"/lots/{code_of(moose.lot_id)}"
