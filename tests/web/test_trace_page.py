"""The whole way of a lot as a picture and as tables, and the recall list of a source."""

import re
from collections.abc import Callable
from datetime import timedelta
from itertools import pairwise
from typing import Any

import pytest
from flask import Flask
from sqlalchemy.orm import Session

from app.ledger.book import Book
from app.ledger.codes import code_of
from app.ledger.models import Source
from app.ledger.operations.blend import Blend, blend
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.hold import PutOnHold, hold
from app.ledger.operations.intake import SourceIn, intake
from app.ledger.operations.leave import Leave, eat, give
from app.ledger.stock import StockRef
from app.ledger.words import HoldCause, SourceKind
from app.web.trace.drawing import HEAD, MOST, WHOLE, flow_drawing, gathered
from app.web.trace.words import Share
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]


def burgers(session: Session) -> StockRef:
    """800 g of lean moose, 200 g of fat and 100 g of salt; 300 g eaten, 200 g given."""
    lean = b.take_in(session, mass_g=800, source=moose())
    fat = b.take_in(session, b.BACK_FAT, 200, source=SourceIn(SourceKind.SHOP, "the butcher"))
    request = Blend(
        lean, 800 * b.G, fat, 200 * b.G, "Burgers", 1100 * b.G, b.FRIDGE, b.TODAY,
        seasoning_mg=100 * b.G,
    )  # fmt: skip
    mix = b.made(b.do(session, blend, request), b.FRIDGE)
    b.do(session, eat, Leave((mix,), b.TODAY, mass_mg=300 * b.G))
    b.do(session, give, Leave((mix,), b.TODAY, mass_mg=200 * b.G, words="Morag"))
    return mix


def moose() -> SourceIn:
    return SourceIn(SourceKind.ANIMAL, "moose", tag="M-7", from_whom="the hunting team")


def way_of(tablet: Tablet, ref: StockRef, query: str = "") -> Page:
    page = tablet.get(f"/lots/{code_of(ref.lot_id)}/trace{query}")
    assert page.status == 200
    return page


def test_the_picture_is_said_in_words_with_masses_and_shares(tablet: Tablet, given: Given) -> None:
    words = way_of(tablet, given(burgers)).words
    assert (
        "1.10 kg of Burgers. It came from: moose, tag M-7, from the hunting team, 800 g (73 %)"
        in words
    )
    assert "the butcher, 200 g (18 %); seasoning added, 100 g (9.1 %)" in words
    assert "What became of it: Burgers, " in words
    assert (
        "on hand, Fridge, 600 g (55 %); eaten, 300 g (27 %); given to Morag, 200 g (18 %)." in words
    )


def test_the_balance_stands_before_the_readers_eyes(tablet: Tablet, given: Given) -> None:
    words = way_of(tablet, given(burgers)).words
    assert "600 g on hand + 300 g eaten + 200 g given away = 1100 g" in words


def test_a_balance_of_parts_of_a_gram_adds_up_to_the_milligram(
    tablet: Tablet, given: Given
) -> None:
    def thirds(session: Session) -> StockRef:
        refs = [b.take_in(session, mass_g=1, source=moose()) for _ in range(3)]
        parts = tuple(Part(ref, 1 * b.G) for ref in refs)
        request = Grind(parts, "Mince", 2 * b.G, b.FRIDGE, b.TODAY, stuck_mg=1 * b.G)
        b.do(session, grind, request)
        return refs[0]

    words = way_of(tablet, given(thirds)).words
    balance = re.search(r"word: ([\d.]+) g on hand \+ ([\d.]+) g stuck in the machine = 1 g", words)
    assert balance is not None
    assert sum(round(float(part) * 1000) for part in balance.groups()) == 1000


def test_the_tables_lead_to_every_lot_source_and_entry(tablet: Tablet, given: Given) -> None:
    mix = given(burgers)
    page = way_of(tablet, mix)
    links = {a["href"] for tag, a in page.tags if tag == "a"}
    assert {"/sources/1", "/sources/2", f"/lots/{code_of(1)}", f"/lots/{code_of(2)}"} <= links
    assert {"/operations/4", "/operations/5"} <= links
    up = way_of(tablet, StockRef(1, b.FRIDGE)).words
    assert "Lots made of it" in up
    assert "Burgers, " in up
    assert "given to Morag" in up


def test_bands_and_words_come_from_the_same_numbers(tablet: Tablet, given: Given) -> None:
    """Bars on either side are as thick as the middle, in all."""
    page = way_of(tablet, given(burgers))
    bars = [a for tag, a in page.tags if tag == "rect" and "flow-bar" in a.get("class", "")]
    thick = {"source": 0.0, "added": 0.0, "on-hand": 0.0, "eaten": 0.0, "given": 0.0}
    for bar in bars:
        thick[bar["class"].split()[1]] += float(bar["height"])
    assert thick["source"] + thick["added"] == pytest.approx(WHOLE, abs=0.01)
    assert thick["on-hand"] + thick["eaten"] + thick["given"] == pytest.approx(WHOLE, abs=0.01)
    assert thick["on-hand"] == pytest.approx(WHOLE * 600 / 1100, abs=0.01)


def test_what_is_on_hold_says_so_on_the_whole_way(tablet: Tablet, given: Given) -> None:
    mix = given(burgers)
    given(lambda s: b.do(s, hold, PutOnHold((1,), HoldCause.RECALL, b.TODAY)))
    page = way_of(tablet, mix)
    assert "ON HOLD" in page.words
    assert "on hold, Fridge, 600 g" in page.words
    assert "on hold" in way_of(tablet, StockRef(1, b.FRIDGE)).words


def test_a_package_has_a_way_of_its_own(tablet: Tablet, given: Given, clock: HandClock) -> None:
    one, two, _ = given(b.pouches)
    clock.forward(days=2)
    day = b.TODAY + timedelta(days=2)
    given(lambda s: b.do(s, give, Leave((two,), day, mass_mg=30 * b.G, words="Morag")))
    whole = way_of(tablet, one)
    links = [a["href"] for tag, a in whole.tags if tag == "a" and "package=" in a.get("href", "")]
    assert links == [f"/lots/{code_of(one.lot_id)}/trace?package={n}" for n in (1, 2, 3)]
    assert "given to Morag, 30 g (38 %)" in way_of(tablet, two, "?package=2").words
    assert "Morag" not in way_of(tablet, one, "?package=1").words


@pytest.mark.parametrize(
    "query", ["?package=9", "?package=x", "?package=-1", "?package=" + "9" * 30]
)
def test_a_package_that_is_not_there_has_no_way(tablet: Tablet, given: Given, query: str) -> None:
    one, *_ = given(b.pouches)
    assert tablet.get(f"/lots/{code_of(one.lot_id)}/trace{query}").status == 404


def test_a_lot_that_was_taken_back_has_nothing_to_draw(tablet: Tablet, given: Given) -> None:
    posted = given(lambda s: b.do(s, intake, b.an_intake()))
    given(lambda s: b.do(s, correct, Correct(posted.operation_id, b.TODAY)))
    page = way_of(tablet, b.made(posted, b.FRIDGE))
    assert "the entry that made it was taken back" in page.words
    assert tablet.get("/sources").words.count("Nothing has been taken in yet.") == 1


def test_the_lot_page_leads_to_the_picture(tablet: Tablet, given: Given) -> None:
    code = code_of(given(b.take_in).lot_id)
    page = tablet.get(f"/lots/{code}")
    assert "The whole way as a picture" in page.words
    assert f"/lots/{code}/trace" in [a.get("href") for _, a in page.tags]
    assert tablet.get(f"/lots/{code.lower()}/trace").location == f"/lots/{code}/trace"
    assert tablet.get("/lots/ZZZZZ/trace").status == 404


# -- the picture is bounded ------------------------------------------------------------------------


def parts(count: int) -> list[Share]:
    return [Share(f"part {n}", 1000 + n, "source") for n in range(count)]


def test_forty_parts_are_drawn_and_the_rest_is_one_of_them() -> None:
    assert gathered(parts(MOST)) == parts(MOST)
    drawn = gathered(parts(52))
    assert len(drawn) == MOST
    assert drawn[:-1] == parts(52)[13:]  # the largest, in their order
    assert drawn[-1] == Share("and 13 others", sum(1000 + n for n in range(13)), "rest")
    assert sum(part.mass_mg for part in drawn) == sum(part.mass_mg for part in parts(52))


def test_no_words_lie_on_other_words_and_bands_fill_the_middle(app: Flask) -> None:
    left, right = parts(52), parts(7)
    whole = sum(part.mass_mg for part in left)
    right[0] = Share("the rest", whole - sum(p.mass_mg for p in right[1:]), "on-hand")
    with app.test_request_context():
        drawn = flow_drawing("Mince", whole, left, right)
    for side in (drawn.left, drawn.right):
        assert all(f.baseline - e.baseline >= 18 for e, f in pairwise(side))
        assert all(e.top + e.thickness < f.baseline - 8 for e, f in pairwise(side))
        ends = [band.middle + band.thickness for band in side]
        assert [band.middle for band in side[1:]] == pytest.approx(ends[:-1], abs=0.01)
        assert side[0].middle == pytest.approx(drawn.top, abs=0.01)
        assert ends[-1] == pytest.approx(drawn.top + WHOLE, abs=0.05)
        assert side[0].baseline >= HEAD
        assert side[-1].top + side[-1].thickness <= drawn.height
    assert all(len(band.short) <= 24 and len(band.words) <= 56 for band in drawn.left)


def test_a_table_of_many_rows_is_cut_and_says_so(
    tablet: Tablet, given: Given, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.web.trace.views.MOST_ROWS", 2)
    given(lambda s: [b.take_in(s, source=SourceIn(SourceKind.PLOT, f"bed {n}")) for n in range(5)])
    assert "The first 2 of 5" in tablet.get("/sources").words
    assert "bed 0" not in tablet.get("/sources").words
    assert "bed 0" in tablet.get("/sources?all=1").words


# -- sources ---------------------------------------------------------------------------------------


def test_sources_are_listed_by_kind_with_what_is_left(tablet: Tablet, given: Given) -> None:
    given(burgers)
    words = tablet.get("/sources").words
    assert words.index("Animals") < words.index("moose, tag M-7") < words.index("Shops")
    assert "20 October 2025 800 g 436 g" in words
    assert "20 October 2025 200 g 109 g" in words
    assert "/sources" in [a.get("href") for _, a in tablet.get("/papers").tags]


def test_a_recall_list_says_where_it_lies_and_to_whom_it_was_given(
    tablet: Tablet, given: Given
) -> None:
    mix = given(burgers)
    page = tablet.get("/sources/1")
    assert "All food of moose, tag M-7, from the hunting team" in page.words
    assert "436 g of it is on hand" in page.words
    assert "Some was given away: tell those people too." in page.words
    assert re.search(r"Morag 20 October 2025 , entry 5 Burgers, \S+ 145 g", page.words)
    assert "436.364 g on hand + 218.182 g eaten + 145.454 g given away = 800 g" in page.words
    href = f"/holds/new?lot={code_of(1)}&all=1"
    assert href in [a.get("href") for _, a in page.tags]
    assert "Moose trim" in tablet.get(href).words
    assert mix.lot_id == 3


def test_a_recall_list_names_the_packages(tablet: Tablet, given: Given, clock: HandClock) -> None:
    one, *_ = given(b.pouches)
    clock.forward(days=2)
    given(lambda s: b.do(s, eat, Leave((one,), b.TODAY + timedelta(days=2))))
    assert "no. 2, 3 Pantry 160 g" in tablet.get("/sources/1").words


@pytest.mark.parametrize("number", ["99", "0", "9" * 30, "x"])
def test_a_source_that_is_not_there(tablet: Tablet, number: str) -> None:
    assert tablet.get(f"/sources/{number}").status == 404


def test_a_source_of_which_nothing_was_taken_in_is_not_shown(tablet: Tablet, book: Book) -> None:
    with book.writing() as session:
        nothing = {"tag": "", "from_whom": "", "taken_with_lead": False}
        session.add(Source(kind="plot", name="fallow", **nothing))
    assert "fallow" not in tablet.get("/sources").words
    assert tablet.get("/sources/1").status == 404
