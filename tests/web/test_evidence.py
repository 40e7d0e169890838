"""The page of evidence: one sheet for a lot, with what was proven and what was not."""

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

from sqlalchemy.orm import Session

from app.ledger.codes import code_of, spoken
from app.ledger.game import GameIn
from app.ledger.operations.check import Looked, check
from app.ledger.operations.climate import ReadingIn
from app.ledger.operations.cook import cook
from app.ledger.operations.hold import PutOnHold, hold
from app.ledger.operations.intake import SourceIn
from app.ledger.operations.pack import pack
from app.ledger.stock import StockRef
from app.ledger.words import Ammunition, CheckKind, Finding, HoldCause, SourceKind
from app.science.safety.game import CwdStatus
from app.science.safety.rule import DEFERENCE
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Tablet

Given = Callable[..., Any]


def of(ref: StockRef) -> str:
    """The address of the evidence of a lot."""
    return f"/lots/{code_of(ref.lot_id)}/evidence"


def pouch(session: Session) -> StockRef:
    """Meat cooked, chilled, freeze-dried, packed: the fifth of its line."""
    pot = b.a_pot(session, 1000, 0)
    dry = b.dried(session, 1000, 260, food=pot)
    return b.units(b.do(session, pack, b.a_pack(dry, 130, 130)), b.PANTRY)[0]


def test_the_sheet_of_a_pouch_lists_the_cook_of_its_grandmother(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    ref = given(pouch)
    clock.forward(days=3)
    page = tablet.get(of(ref))
    assert page.status == 200
    assert "Read: centre: 85 °C." in page.words
    assert "cooling, 1.5 h: 20 °C (“20”)" in page.words
    assert "(2 packed)" in page.words
    assert re.search(
        r"Water left [\d.]+ % \([\d.]+ % to [\d.]+ %\), measured or weighed", page.words
    )
    assert "Met" in page.words
    assert "rule COOK-" in page.words
    assert "version" in page.words
    assert "Moose share, tag A-117" in page.words
    assert "No reading of the centre" not in page.words
    assert "No look at the seals after packing." in page.words
    assert DEFERENCE in page.words
    lot = tablet.get(f"/lots/{code_of(ref.lot_id)}")
    assert of(ref) in {a.get("href") for tag, a in lot.tags if tag == "a"}


def test_what_was_not_read_is_said(tablet: Tablet, given: Given) -> None:
    def uncertain(session: Session) -> StockRef:
        meat = b.take_in(session)
        request = b.a_cook(meat, 1000, 1000, centre=None, reason="no thermometer at hand")
        return b.made(b.do(session, cook, request), b.BENCH)

    words = tablet.get(of(given(uncertain))).words
    assert "No reading of the centre when it was cooked on 20 October 2025." in words
    assert "No reading of the cooling after it was cooked on 20 October 2025." in words
    assert "Raw: no cooking is shown that met its target." in words
    assert "No reading of a thermometer in Fridge" in words


def test_the_thermometer_of_its_place_is_told_in_the_household_s_own_time(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    ref = given(b.take_in, place=b.FREEZER)

    def look(session: Session) -> None:
        at = b.evening(b.TODAY) - timedelta(hours=2)
        reading = ReadingIn(at, -17.0, typed="-17")
        request = Looked(
            CheckKind.THERMOMETER, Finding.FINE, b.TODAY, place_id=b.FREEZER, reading=reading
        )
        b.do(session, check, request)

    given(look)
    clock.forward(days=5)
    words = tablet.get(of(ref)).words
    assert "Chest freezer since 20 October 2025 1 −17 °C −17 °C 20 October 2025, 17:00" in words
    assert "5 days" in words


def test_a_bought_dish_nobody_looked_at_for_allergens_says_so_as_its_page_does(
    tablet: Tablet, given: Given
) -> None:
    untold = given(b.take_in, "22905", source=SourceIn(SourceKind.SHOP, "Village shop"))
    for address in (of(untold), f"/lots/{code_of(untold.lot_id)}"):
        words = tablet.get(address).words
        assert "none recorded; not everything that went in was looked at for them" in words
    assert "not everything" not in tablet.get(of(given(b.take_in))).words


def test_a_held_lot_says_so_on_its_evidence(tablet: Tablet, given: Given) -> None:
    ref = given(b.take_in)
    put = PutOnHold((ref.lot_id,), HoldCause.TEST_AWAITED, b.TODAY, "wasting disease")
    given(b.do, hold, put)
    page = tablet.get(of(ref))
    assert "ON HOLD" in page.words
    assert "Held: Moose trim" in page.words
    assert "a test result is awaited (wasting disease)" in page.words


def test_the_story_of_a_wild_animal_stands_on_the_sheet(tablet: Tablet, given: Given) -> None:
    story = GameIn(Ammunition.LEAD, cwd_status=CwdStatus.NOT_DETECTED, taken_at="Härjedalen")
    words = tablet.get(of(given(b.take_in, game=story, reason="trimmed wide"))).words
    assert "taken in Härjedalen; taken with lead; chronic wasting disease: not detected" in words
    assert "not for children under 6 or anyone pregnant" in words


def test_the_evidence_is_found_by_a_code_however_typed(tablet: Tablet, given: Given) -> None:
    ref = given(b.take_in)
    answer = tablet.get(f"/lots/{spoken(code_of(ref.lot_id)).lower()}/evidence")
    assert (answer.status, answer.location) == (303, of(ref))
    assert tablet.get("/lots/nothing/evidence").status == 404
