"""Forms open as last time and say so; what is measured or asked by a rule starts empty."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from app.ledger.book import Book
from app.ledger.codes import code_of, lot_id_of
from app.ledger.models import Stock
from app.ledger.operations.chill import Chill, chill
from app.ledger.operations.cook import CookMethod, cook
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.intake import SourceIn
from app.ledger.operations.move import Move, move
from app.ledger.operations.pack import pack
from app.ledger.stock import StockRef
from app.ledger.words import SourceKind
from app.science.classes import Form
from app.science.packaging import PackagingKind
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]


def chosen(page: Page, name: str) -> str | None:
    """What a form would send for a field if nothing were changed."""
    return page.form().values.get(name)


def a_grind(session: Any, place: int = b.FRIDGE) -> None:
    meat = b.take_in(session)
    parts = (Part(meat, 1000 * b.G),)
    b.do(session, grind, Grind(parts, "Moose, ground", 1000 * b.G, place, b.TODAY))


def links(page: Page) -> list[str]:
    return [a.get("href", "") for tag, a in page.tags if tag == "a"]


def test_a_form_opens_with_the_place_of_last_time_and_says_where_it_is_from(
    tablet: Tablet, given: Given
) -> None:
    fresh = given(b.take_in)
    before = tablet.get(f"/write/grind?from={fresh}")
    assert chosen(before, "place_id") == str(b.BENCH)
    assert "As last time" not in before.words
    given(a_grind)
    page = tablet.get(f"/write/grind?from={fresh}")
    assert chosen(page, "place_id") == str(b.FRIDGE)
    assert "As last time, 20 October 2025." in page.inside("place_id-hint")


def test_what_is_weighed_or_asked_by_a_rule_is_never_filled_in(
    tablet: Tablet, given: Given
) -> None:
    def work(session: Any) -> StockRef:
        meat = b.take_in(session)
        b.do(session, cook, b.a_cook(meat, 1000, 900, method=CookMethod.ROAST, rest_minutes=3.0))
        a_grind(session)
        return b.take_in(session)

    ref = given(work)
    cooking = tablet.get(f"/write/cook?from={ref}")
    assert chosen(cooking, "method") == CookMethod.ROAST
    for name in ("made_mg", "water_mg", "centre", "rest_minutes", "history"):
        assert not chosen(cooking, name), name
    grinding = tablet.get(f"/write/grind?from={ref}")
    for name in ("made_mg", "trimmed_mg", "stuck_mg", "spilled_mg", "unexplained_mg", "cleaned"):
        assert not chosen(grinding, name), name


def test_what_belongs_into_the_cold_is_not_proposed_for_the_bench(
    tablet: Tablet, given: Given
) -> None:
    def work(session: Any) -> StockRef:
        pot = b.cooked(session)
        cold = Chill(pot, 1000 * b.G, 1000 * b.G, b.BENCH, b.TODAY, b.COOLED_IN_TIME)
        b.do(session, chill, cold)
        meat = b.take_in(session)
        b.do(session, move, Move((meat,), b.PANTRY, b.TODAY))
        return b.cooked(session)

    pot = given(work)
    page = tablet.get(f"/write/chill?from={pot}")
    assert chosen(page, "place_id") == str(b.FRIDGE)
    assert "As last time" not in page.inside("place_id-hint")
    moving = tablet.get(f"/write/move?from={given(b.take_in)}")
    assert chosen(moving, "place_id") != str(b.PANTRY)


def test_one_tap_on_a_place_moves_all_of_it(tablet: Tablet, given: Given, book: Book) -> None:
    ref = given(b.take_in)
    address = f"/write/move?from={ref}"
    page = tablet.get(address)
    places = [a["value"] for t, a in page.tags if t == "button" and a.get("name") == "place_to"]
    assert str(b.FREEZER) in places
    assert str(b.FRIDGE) not in places  # it lies there
    assert str(b.FREEZE_DRYER) not in places
    answer = tablet.send(page.form(), address, place_to=b.FREEZER, place_id=b.PANTRY)
    assert answer.status == 303, answer.summary
    with book.reading() as session:
        (row,) = session.query(Stock).filter_by(lot_id=ref.lot_id).all()
        assert (row.place_id, row.mass_mg) == (b.FREEZER, 1000 * b.G)


@pytest.mark.parametrize("place", ["", "99", "x", str(b.FREEZE_DRYER), "9" * 500])
def test_a_tapped_place_that_is_none_leaves_the_place_chosen_below(
    tablet: Tablet, given: Given, book: Book, place: str
) -> None:
    ref = given(b.take_in)
    answer = tablet.fill(f"/write/move?from={ref}", place_to=place, place_id=b.PANTRY)
    assert answer.status == 303, answer.summary
    with book.reading() as session:
        assert session.query(Stock).filter_by(lot_id=ref.lot_id).one().place_id == b.PANTRY


def test_the_page_of_a_lot_puts_what_people_mostly_do_first(tablet: Tablet, given: Given) -> None:
    ref = given(b.take_in)
    address = f"/lots/{code_of(ref.lot_id)}"
    steps = [href for href in links(tablet.get(address)) if f"from={ref}" in href]
    assert steps[0] == f"/write/grind?from={ref}"

    def work(session: Any) -> None:
        for _ in range(2):
            b.do(session, cook, b.a_cook(b.take_in(session), 1000, 1000))

    given(work)
    page = tablet.get(address)
    now = [href for href in links(page) if f"from={ref}" in href]
    assert now[0] == f"/write/cook?from={ref}"
    assert sorted(now[:-1]) == sorted(steps[:-1])  # the last is the main button again
    assert now[-1] == now[0]
    assert "what you mostly did with such food lately" in page.words


def test_a_habit_does_not_outvote_the_end_of_a_use_by_date(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    def work(session: Any) -> StockRef:
        for _ in range(2):
            b.do(session, cook, b.a_cook(b.take_in(session), 1000, 1000))
        return b.take_in(session)

    ref = given(work)
    clock.forward(days=30)
    steps = links(tablet.get(f"/lots/{code_of(ref.lot_id)}"))
    assert next(x for x in steps if f"from={ref}" in x) == f"/write/discard?from={ref}"


def test_packing_starts_from_the_package_of_last_time_and_its_weight(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    clock.forward(days=2)
    in_jars = {"packaging_id": b.JAR, "absorber_id": b.CC_300}
    given(lambda s: b.do(s, pack, b.a_pack(b.dried(s, 1200, 300), 80, 80, 80, **in_jars)))
    dry = given(b.dried, 1000, 250)
    page = tablet.get(f"/write/pack?from={dry}")
    assert chosen(page, "packaging_id") == str(b.JAR)
    assert chosen(page, "absorber_id") == str(b.CC_300)
    assert "As last time, 21 October 2025: this package, about 80 g in each." in page.words
    assert "3 packages of about" in page.words
    weights = page.typed("net_mg-0-net") + page.typed("net_mg-1-net")
    assert weights == ["", ""]
    assert chosen(page, "seal_checked") is None
    assert chosen(page, "absorber_is_spent") is None
    other = tablet.get(f"/write/pack?from={dry}&count=5")
    assert "As last time" not in other.words


def test_a_package_whose_absorber_was_too_small_is_not_proposed_again(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    """A 3 litre pouch holds some 600 cc of oxygen; the packet of 300 cc takes half of it."""
    clock.forward(days=2)
    given(lambda s: b.do(s, pack, b.a_pack(b.dried(s, 1200, 300), 80, 80, 80)))
    page = tablet.get(f"/write/pack?from={given(b.dried, 1000, 250)}")
    assert "As last time" not in page.words


def test_a_dryer_is_that_of_last_time(tablet: Tablet, given: Given, clock: HandClock) -> None:
    corn = given(b.take_in, b.SWEETCORN)
    assert chosen(tablet.get(f"/write/load?from={corn}"), "place_id") == str(b.DEHYDRATOR)

    def work(session: Any) -> None:
        other = b.take_in(session, b.SWEETCORN)
        b.loaded(session, b.a_tray(other, 500))

    given(work)
    page = tablet.get(f"/write/load?from={corn}")
    assert chosen(page, "place_id") == str(b.FREEZE_DRYER)
    assert "As last time" in page.inside("place_id-hint")
    assert chosen(page, "cleaned") is None
    assert page.typed("trays-0-gross") == [""]


def test_more_of_the_same_opens_as_it_came_in_last_time(
    tablet: Tablet, given: Given, book: Book
) -> None:
    source = SourceIn(SourceKind.SHOP, "Flour", from_whom="The mill")
    ref = given(
        b.take_in,
        b.SWEETCORN,
        name="Corn, cut",
        place=b.FREEZER,
        source=source,
        form=Form.PIECES,
        wrap=PackagingKind.ZIP_BAG,
        allergens=frozenset({"mustard"}),
    )
    code = code_of(ref.lot_id)
    assert f"/write/intake?again={code}" in links(tablet.get("/write/intake"))
    page = tablet.get(f"/write/intake?again={code}")
    assert "As last time, 20 October 2025" in page.words
    sent = page.form().values
    assert sent["name"] == "Corn, cut"
    assert f"({b.SWEETCORN})" in sent["food"]
    assert (sent["source_kind"], sent["from_whom"]) == ("shop", "The mill")
    assert (sent["wrap"], sent["place_id"]) == ("zip_bag", str(b.FREEZER))
    assert sent["allergens"] == "mustard"
    assert (sent["bowls-0-gross"], sent["harvest"], sent["kept_since"]) == ("", "", "")
    answer = tablet.send(
        page.form(), f"/write/intake?again={code}", bowls__0__gross="500", source_name="Bag"
    )
    assert answer.status == 303, answer.summary
    with book.reading() as session:
        row = session.query(Stock).filter_by(lot_id=lot_id_of(answer.location[-5:])).one()
        assert (row.mass_mg, row.place_id) == (500 * b.G, b.FREEZER)


def test_the_questions_about_game_are_asked_anew(tablet: Tablet, given: Given) -> None:
    ref = given(b.take_in)
    sent = tablet.get(f"/write/intake?again={code_of(ref.lot_id)}").form().values
    assert (sent["cwd_status"], sent["ammunition"], sent["hours_to_cold"]) == (
        "unknown",
        "unknown",
        "",
    )


@pytest.mark.parametrize("code", ["ZZZZZ", "x", "", "9" * 900])
def test_more_of_a_lot_that_is_none_is_a_plain_intake(tablet: Tablet, code: str) -> None:
    page = tablet.get(f"/write/intake?again={code}")
    assert page.status == 200
    assert page.form().values["name"] == ""


def test_the_day_a_default_is_from_is_the_day_it_was_done(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    given(a_grind)
    clock.forward(days=40)
    ref = given(b.take_in, on=b.TODAY + timedelta(days=39))
    assert "As last time, 20 October 2025." in tablet.get(f"/write/grind?from={ref}").words
