"""Packing: compare what the household owns, weigh each unit, and never seal what is wet."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import select

from app.ledger.book import Book
from app.ledger.codes import code_of
from app.ledger.models import Checkpoint, Package
from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.stock import StockRef
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]
Unchanged = Callable[[], AbstractContextManager[None]]
CHECKED = {"seal_checked": "y"}


def pack_page(ref: StockRef, more: str = "") -> str:
    """The pack page of a row of stock."""
    return f"/write/pack?from={ref}{more}"


def nets(*grams: object) -> dict[str, object]:
    """The boxes of the net weights, filled."""
    return {f"net_mg__{i}__net": g for i, g in enumerate(grams)}


@pytest.fixture
def dry(given: Given, clock: HandClock) -> StockRef:
    """260 g of freeze-dried cooked moose, two days on."""
    found: StockRef = given(b.dried)
    clock.forward(days=2)
    return found


@pytest.fixture
def wet(given: Given, clock: HandClock) -> StockRef:
    """Corn out of the dryer far too early: 1 kg became 600 g."""

    def early(session: Any) -> StockRef:
        corn = b.take_in(session, b.SWEETCORN)
        run_id = b.loaded(session, b.a_tray(corn, 1000), place=b.DEHYDRATOR)
        made = (DryMade(corn.lot_id, 600 * b.G),)
        request = Unload(run_id, made, b.BENCH, b.TODAY + timedelta(days=1))
        return b.made(b.do(session, unload, request), b.BENCH)

    found: StockRef = given(early)
    clock.forward(days=2)
    return found


def foil(absorber: int = b.CC_300) -> dict[str, object]:
    """A foil-laminate pouch with an absorber."""
    return {"packaging_id": b.FOIL_POUCH, "absorber_id": absorber, "place_id": b.PANTRY}


def packed(tablet: Tablet, ref: StockRef, *grams: object, **changes: object) -> Page:
    """What comes of packing a lot; a rule that only asks is given its reason."""
    page = tablet.fill(pack_page(ref), **(foil() | nets(*grams) | CHECKED | changes))
    if page.status == 422 and page.beside("reason"):
        page = tablet.send(page.form(), pack_page(ref), reason="eaten within the year")
    return page


def test_without_a_lot_the_page_asks_which_and_offers_what_is_loose(
    tablet: Tablet, dry: StockRef, given: Given
) -> None:
    page = tablet.get("/write/pack")
    assert page.status == 200
    assert {a["href"] for tag, a in page.tags if tag == "a"} >= {pack_page(dry)}


def test_every_package_owned_is_compared_with_how_long_it_keeps_there_and_what_limits_it(
    tablet: Tablet, dry: StockRef
) -> None:
    page = tablet.get(pack_page(dry))
    for name in ("Vacuum bag, 1.5 l", "Foil-laminate pouch, 3 l", "Glass jar, 1 l"):
        assert name in page.words
    assert "Limited by" in page.words
    assert "years" in page.words
    assert "absorber of" in page.words or "Needs" in page.words


def test_moist_food_is_never_advised_an_absorber(tablet: Tablet, given: Given) -> None:
    raw = given(lambda session: b.take_in(session, place=b.FRIDGE))
    words = tablet.get(pack_page(raw)).words
    assert "Vacuum bag, 1.5 l" in words
    assert "an absorber of" not in words
    assert "Needs" not in words


def test_equal_shares_are_proposed_and_there_is_a_box_for_each(
    tablet: Tablet, dry: StockRef
) -> None:
    page = tablet.get(pack_page(dry, "&count=5"))
    assert "5 packages of about 52" in page.words  # 260 g in five
    assert [name for name in page.form().values if name.startswith("net_mg-")] == [
        f"net_mg-{i}-net" for i in range(5)
    ]


@pytest.mark.parametrize("count", ["0", "-1", "x", "9" * 5000, "1e3", "²", ""])
def test_a_count_that_is_none_is_left_to_the_page(
    tablet: Tablet, dry: StockRef, count: str
) -> None:
    assert tablet.get(pack_page(dry, f"&count={count}&choice=zz&place=zz")).status == 200


def test_packing_gives_each_unit_its_own_weight_and_leads_to_the_labels(
    tablet: Tablet, book: Book, dry: StockRef
) -> None:
    page = packed(tablet, dry, 52, "51.5 g", 53)
    assert page.status == 303, page.summary
    assert page.location.startswith("/labels?lot=")
    with book.reading() as session:
        columns = select(Package.number, Package.net_mg, Package.of_count)
        units = session.execute(columns.order_by(Package.number)).all()
        assert b.on_hand(session, dry) == 103_500  # 260 − 156.5 g stays loose
    assert units == [(1, 52_000, 3), (2, 51_500, 3), (3, 53_000, 3)]
    assert "Packed: 3 packages" in tablet.get(page.location).words


def test_one_more_package_adds_a_box_and_writes_nothing(
    tablet: Tablet, dry: StockRef, unchanged: Unchanged
) -> None:
    with unchanged():
        page = tablet.fill(pack_page(dry, "&count=2"), **nets(50), add_row="1")
    assert page.status == 200
    assert page.typed("net_mg-0-net") == ["50"]
    assert page.typed("net_mg-2-net") == [""]


@pytest.mark.parametrize(
    ("field", "words", "changes"),
    [
        ("net_mg", "The packages hold 300 g, but only 260 g is there", nets(150, 150)),
        ("net_mg", "The packages hold 265 g", nets(255) | {"spilled_mg": "10"}),
        ("net_mg", "needed", {}),
        ("net_mg-0-net", "more than nothing", nets("0")),
        ("net_mg-1-net", "more than nothing", nets("50", "0 g")),
        ("net_mg-0-net", "“-50” is below nothing", nets("-50")),
        ("net_mg-0-net", "is no amount", nets("nan")),
        ("net_mg-0-net", "“handfuls” is no unit", nets("2 handfuls")),
        ("net_mg-0-net", "more than a kitchen can hold", nets("9" * 30)),
        ("packaging_id", ".", nets(50) | {"packaging_id": "77"}),
        ("absorber_id", ".", nets(50) | {"absorber_id": "77"}),
        ("done_on", "is still to come", nets(50) | {"done_on": "2025-12-24"}),
        (
            "done_on",
            "this cannot have been on 1 October 2025",
            nets(50) | {"done_on": "2025-10-01"},
        ),
    ],
)
def test_what_cannot_be_packed_is_said_beside_its_box_and_nothing_is_written(
    tablet: Tablet,
    dry: StockRef,
    unchanged: Unchanged,
    field: str,
    words: str,
    changes: dict[str, object],
) -> None:
    reason = {"note": "for the hut"}
    with unchanged():
        page = packed(tablet, dry, **(changes | reason))
    assert page.status == 422
    assert words in page.beside(field)
    assert page.summary
    assert page.typed("note") == ["for the hut"]
    for name, value in changes.items():
        if name.startswith("net_mg"):
            assert page.typed(name.replace("__", "-")) == [str(value)]


def test_a_package_too_small_for_the_food_is_refused_with_what_it_holds(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    meat = given(b.take_in, mass_g=5000)
    jar = {"packaging_id": b.JAR, "absorber_id": 0, "place_id": b.FRIDGE}
    with unchanged():
        page = tablet.fill(pack_page(meat), **jar, **nets("5 kg"))
    assert page.status == 422
    assert "5.00 kg of this does not fit: one such package holds 1.0" in page.beside("net_mg-0-net")
    assert page.typed("net_mg-0-net") == ["5 kg"]


def test_a_wet_lot_is_not_sealed_with_an_absorber_whatever_is_said(
    tablet: Tablet, wet: StockRef, unchanged: Unchanged
) -> None:
    with unchanged():
        page = tablet.fill(pack_page(wet), **foil(), **nets(200), **CHECKED)
    assert page.status == 422
    stops = [a["id"] for _, a in page.tags if a.get("class") == "caution stop"]
    assert "caution-ROP-WET" in stops
    assert "Stop" in page.inside("caution-ROP-WET")
    assert page.summary
    assert page.typed("net_mg-0-net") == ["200"]
    with unchanged():  # no reason opens a stop
        again = tablet.send(page.form(), pack_page(wet), reason="I know what I am doing")
    assert again.status == 422
    assert "caution-ROP-WET" in {a.get("id") for _, a in again.tags}


def test_a_wet_lot_may_go_into_the_freezer_without_an_absorber(
    tablet: Tablet, wet: StockRef
) -> None:
    plain = {"packaging_id": b.FOIL_POUCH, "absorber_id": 0, "place_id": b.FREEZER}
    page = tablet.fill(pack_page(wet), **plain, is_pumped_down=None, **nets(200))
    assert page.status == 303


def test_the_page_says_before_packing_whether_the_lot_is_dry_enough(
    tablet: Tablet, wet: StockRef, given: Given
) -> None:
    assert "Not dry enough to seal without air." in tablet.get(pack_page(wet)).words


def test_an_absorber_that_needs_moisture_asks_for_a_reason_beside_dry_food(
    tablet: Tablet, book: Book, dry: StockRef, unchanged: Unchanged
) -> None:
    with unchanged():
        page = tablet.fill(pack_page(dry), **foil(b.MOIST_300), **nets(52), **CHECKED)
    assert page.status == 422
    assert page.beside("reason") == "Give a reason to go on."
    assert [a for _, a in page.tags if a.get("class") == "caution confirm"]
    done = tablet.send(page.form(), pack_page(dry), reason="a damp cloth goes in with it")
    assert done.status == 303
    with book.reading() as session:
        reasons = set(session.scalars(select(Checkpoint.reason)))
    assert "a damp cloth goes in with it" in reasons


def test_a_lot_that_is_all_packed_is_no_longer_offered(tablet: Tablet, dry: StockRef) -> None:
    assert packed(tablet, dry, 130, 130).status == 303
    assert "Pack which lot?" in tablet.get(pack_page(dry)).words


def test_packing_all_of_it_twice_with_one_form_packs_it_once(
    tablet: Tablet, book: Book, dry: StockRef
) -> None:
    form = tablet.get(pack_page(dry, "&count=2")).form()
    typed = foil() | nets(130, 130) | CHECKED | {"reason": "eaten within the year"}
    answers = [tablet.send(form, pack_page(dry), **typed) for _ in range(2)]
    assert [answer.status for answer in answers] == [303, 303], answers[0].summary
    assert answers[0].location == answers[1].location
    with book.reading() as session:
        assert len(session.scalars(select(Package.id)).all()) == 2


def test_the_answer_to_a_second_sending_ends_the_draft_too(tablet: Tablet, dry: StockRef) -> None:
    """The first answer may have been lost on the way: then nobody told the browser."""
    form = tablet.get(pack_page(dry, "&count=2")).form()
    typed = foil() | nets(130, 130) | CHECKED | {"reason": "eaten within the year"}
    for said in ("Packed", "written already"):
        page = tablet.get(tablet.send(form, pack_page(dry), **typed).location)
        assert said in page.words
        assert [a["data-saved"] for _, a in page.tags if "data-saved" in a] == [f"pack-{dry}"]


def test_packages_lead_back_to_their_lot(tablet: Tablet, book: Book, dry: StockRef) -> None:
    page = packed(tablet, dry, 52, 52)
    code = page.location.rsplit("=", 1)[1]
    shown = tablet.get(f"/lots/{code}")
    assert "no. 1 of 2" in shown.words
    assert code_of(dry.lot_id) in {
        a["href"].rsplit("/", 1)[1] for tag, a in shown.tags if tag == "a" and "/lots/" in a["href"]
    }
