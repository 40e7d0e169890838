"""Taking stock of a place: every answer, what is refused, and what was found though gone."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy.orm import Session

from app.ledger.book import Book
from app.ledger.checks import check_all
from app.ledger.codes import code_of, spoken
from app.ledger.operations.cook import cook
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.hold import PutOnHold, hold
from app.ledger.operations.intake import intake
from app.ledger.operations.leave import Leave, eat
from app.ledger.operations.open import Open, open_package
from app.ledger.operations.thaw import Thaw, thaw
from app.ledger.stock import StockRef
from app.ledger.words import HoldCause
from app.science.safety.thawing import ThawWay
from app.web.security import MAX_FORM_FIELDS
from tests import builders as b
from tests.browser.live import serving
from tests.databases import Shelf
from tests.web.conftest import HandClock
from tests.web.pages import Page, Tablet
from tests.web.wire import WireTablet, at_once, filled

Given = Callable[..., Any]
Unchanged = Callable[[], AbstractContextManager[None]]
WHY = "eaten and not written down"


@pytest.fixture(autouse=True)
def _days_later(clock: HandClock) -> None:
    clock.forward(days=2)


def address(place: int) -> str:
    return f"/places/{place}/stocktake"


def walk(tablet: Tablet, place: int, **answers: Any) -> Page:
    """Open the page, answer, and compare. In names two underscores stand for a hyphen."""
    return tablet.fill(address(place), **answers)


def write_down(tablet: Tablet, compared: Page, place: int, **more: Any) -> Page:
    """Send the compared page once more."""
    return tablet.send(compared.form(), address(place), **more)


def row(ref: StockRef, part: str = "row") -> str:
    return f"{part}-{ref}".replace("-", "__")


def stock(book: Book) -> dict[StockRef, int]:
    with book.reading() as session:
        assert check_all(session) == []
        return b.all_stock(session)


# -- each answer ---------------------------------------------------------------------------------


def test_nothing_is_chosen_at_first_and_held_food_says_so(tablet: Tablet, given: Given) -> None:
    meat = given(b.take_in)
    given(lambda s: b.do(s, hold, PutOnHold((meat.lot_id,), HoldCause.RECALL, b.TODAY, "")))
    page = tablet.get(address(b.FRIDGE))
    assert page.form().values.getlist(f"row-{meat}") == []
    assert "ON HOLD" in page.inside(f"row-{meat}")


def test_what_agrees_is_written_without_a_reason(tablet: Tablet, given: Given, book: Book) -> None:
    meat = given(b.take_in)
    compared = walk(tablet, b.FRIDGE, **{row(meat): "there"})
    assert compared.status == 200
    assert "agrees" in compared.inside("differences")
    done = write_down(tablet, compared, b.FRIDGE)
    assert (done.status, done.location[:12]) == (303, "/stocktakes/")
    result = tablet.get(done.location)
    assert "Nothing differed" in result.words
    assert spoken(code_of(meat.lot_id)) in result.words
    assert stock(book) == {meat: 1000 * b.G}


def test_what_is_not_there_is_shown_with_its_mass_before_anything_is_written(
    tablet: Tablet, given: Given, book: Book, unchanged: Unchanged
) -> None:
    first, second, _ = given(b.pouches)
    with unchanged():
        compared = walk(tablet, b.PANTRY, **{row(first): "gone", row(second): "there"})
        assert "80 g" in compared.inside("differences")
        refused = write_down(tablet, compared, b.PANTRY)
    assert refused.status == 422
    assert refused.beside("reason")
    assert refused.typed(f"row-{first}") == ["gone"]
    done = write_down(tablet, refused, b.PANTRY, reason=WHY)
    assert done.status == 303
    assert first not in stock(book)
    assert second in stock(book)
    words = tablet.get(done.location).words
    assert "Missing" in words
    assert WHY in words
    assert "2 rows looked at, 1 agreed. 1 not looked at." in words


def test_a_loose_lot_is_weighed_in_any_unit(tablet: Tablet, given: Given, book: Book) -> None:
    meat = given(b.take_in)
    compared = walk(tablet, b.FRIDGE, **{row(meat): "weighed", row(meat, "mass"): "0.9 kg"})
    assert "less than the ledger has −100 g" in compared.inside("differences")
    assert write_down(tablet, compared, b.FRIDGE, reason=WHY).status == 303
    assert stock(book) == {meat: 900 * b.G}


def test_a_mass_alone_says_that_it_was_weighed(tablet: Tablet, given: Given, book: Book) -> None:
    meat = given(b.take_in)
    compared = walk(tablet, b.FRIDGE, **{row(meat, "mass"): "1100"})
    assert write_down(tablet, compared, b.FRIDGE, reason="a bowl too light").status == 303
    assert stock(book) == {meat: 1100 * b.G}


def test_an_opened_pouch_is_weighed_and_a_sealed_one_is_not(
    tablet: Tablet, given: Given, book: Book
) -> None:
    opened, sealed, _ = given(b.pouches)
    on = b.TODAY.replace(day=b.TODAY.day + 1)
    given(lambda s: b.do(s, open_package, Open((opened,), on)))
    form = tablet.get(address(b.PANTRY)).form()
    assert f"mass-{opened}" in form.values
    assert f"mass-{sealed}" not in form.values
    compared = walk(tablet, b.PANTRY, **{row(opened): "weighed", row(opened, "mass"): "30"})
    assert write_down(tablet, compared, b.PANTRY, reason=WHY).status == 303
    assert stock(book)[opened] == 30 * b.G


def test_all_that_is_left_unanswered_is_there_at_one_tick(
    tablet: Tablet, given: Given, book: Book
) -> None:
    first, *_ = given(b.pouches)
    compared = walk(tablet, b.PANTRY, **{row(first): "gone"}, rest_is_there="y")
    assert "2 rows agree" in compared.inside("differences")
    done = write_down(tablet, compared, b.PANTRY, reason=WHY)
    assert "3 rows looked at, 2 agreed." in tablet.get(done.location).words
    assert len(stock(book)) == 2


@pytest.mark.parametrize("typed", ["a handful", "-5", "1,234.5"])
def test_a_mass_that_cannot_be_read_is_said_beside_it(
    tablet: Tablet, given: Given, unchanged: Unchanged, typed: str
) -> None:
    meat = given(b.take_in)
    with unchanged():
        page = walk(tablet, b.FRIDGE, **{row(meat): "weighed", row(meat, "mass"): typed})
    assert page.status == 422
    assert page.inside(f"mass-{meat}-error")
    assert page.typed(f"mass-{meat}") == [typed]


def test_a_walk_without_an_answer_is_refused(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    given(b.take_in)
    with unchanged():
        page = walk(tablet, b.FRIDGE)
    assert page.status == 422
    assert "Nothing is answered yet" in page.summary


def test_a_changed_answer_is_compared_again(tablet: Tablet, given: Given, book: Book) -> None:
    meat = given(b.take_in)
    compared = walk(tablet, b.FRIDGE, **{row(meat): "gone"})
    again = write_down(tablet, compared, b.FRIDGE, reason=WHY, **{row(meat): "there"})
    assert again.status == 200
    assert stock(book) == {meat: 1000 * b.G}
    assert write_down(tablet, again, b.FRIDGE).status == 303
    assert stock(book) == {meat: 1000 * b.G}


def test_a_dryer_has_no_stocktake_and_an_unknown_place_neither(
    tablet: Tablet, given: Given
) -> None:
    given(b.take_in)
    assert tablet.get(address(b.FREEZE_DRYER)).location == f"/places/{b.FREEZE_DRYER}"
    assert tablet.get(address(999)).status == 404
    assert tablet.get("/stocktakes/1").location == "/operations/1"  # an intake
    assert tablet.get("/stocktakes/99").status == 404


# -- what is here though the ledger has it elsewhere, or nowhere -----------------------------------


def look_up(tablet: Tablet, place: int, words: str, **answers: Any) -> Page:
    return tablet.fill(address(place), look_up="1", look_for=words, **answers)


def test_a_code_with_a_slip_is_refused_and_what_was_answered_stays(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    meat = given(b.take_in)
    code = code_of(meat.lot_id)
    slip = code[:4] + ("0" if code[4] != "0" else "1")
    with unchanged():
        page = look_up(tablet, b.FRIDGE, slip, **{row(meat): "gone"})
    assert page.status == 422
    assert "checks the others" in page.beside("look_for")
    assert page.typed(f"row-{meat}") == ["gone"]


@pytest.mark.parametrize("by", ["code", "name"])
def test_a_pouch_of_another_place_is_moved_here(
    tablet: Tablet, given: Given, book: Book, by: str
) -> None:
    pouch, *_ = given(b.pouches)
    words = code_of(pouch.lot_id).lower() if by == "code" else "moose"
    page = look_up(tablet, b.FREEZER, words)
    assert page.status == 200
    assert "by the ledger in Pantry" in page.inside(f"extra-{pouch}")
    compared = tablet.send(page.form(), address(b.FREEZER), **{row(pouch, "here"): "y"})
    assert "moved here" in compared.inside("differences")
    done = write_down(tablet, compared, b.FREEZER, reason="the other shelf")
    assert done.status == 303
    here = StockRef(pouch.lot_id, b.FREEZER, pouch.package_id)
    assert stock(book)[here] == 80 * b.G
    assert "Moved here" in tablet.get(done.location).words


def test_a_pouch_that_was_eaten_by_the_ledger_is_found(
    tablet: Tablet, given: Given, book: Book
) -> None:
    pouch, *_ = given(b.pouches)
    on = b.TODAY.replace(day=b.TODAY.day + 1)
    given(lambda s: b.do(s, eat, Leave((pouch,), on)))
    page = look_up(tablet, b.PANTRY, code_of(pouch.lot_id))
    assert "by the ledger eaten" in page.inside(f"extra-{pouch}")
    compared = tablet.send(page.form(), address(b.PANTRY), **{row(pouch, "here"): "y"})
    done = write_down(tablet, compared, b.PANTRY, reason="another one was eaten")
    assert done.status == 303
    assert stock(book)[pouch] == 80 * b.G
    assert "More than the ledger had" in tablet.get(done.location).words


def test_a_lot_whose_intake_was_taken_back_cannot_be_found(tablet: Tablet, given: Given) -> None:
    meat = given(b.take_in)
    given(lambda s: b.do(s, correct, Correct(b.lot_of(s, meat).operation_id, b.TODAY, "no")))
    page = look_up(tablet, b.FRIDGE, code_of(meat.lot_id))
    assert page.status == 200
    assert not page.inside(f"extra-{meat}")
    assert "nothing of it is elsewhere" in page.words


def test_a_loose_lot_that_was_gone_is_found_with_its_weight(
    tablet: Tablet, given: Given, book: Book
) -> None:
    meat = given(b.take_in)
    given(lambda s: b.do(s, eat, Leave((meat,), b.TODAY)))
    page = look_up(tablet, b.FRIDGE, code_of(meat.lot_id))
    unweighed = tablet.send(page.form(), address(b.FRIDGE), **{row(meat, "here"): "y"})
    assert unweighed.status == 422
    assert unweighed.inside(f"mass-{meat}-error")
    weighed = {row(meat, "here"): "y", row(meat, "mass"): "250 g"}
    compared = tablet.send(unweighed.form(), address(b.FRIDGE), **weighed)
    assert write_down(tablet, compared, b.FRIDGE, reason="half was put back").status == 303
    assert stock(book) == {meat: 250 * b.G}


def test_frozen_food_found_in_the_fridge_is_to_be_thawed_by_its_own_step(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    meat = given(b.take_in, place=b.FREEZER)
    page = look_up(tablet, b.FRIDGE, code_of(meat.lot_id))
    with unchanged():
        refused = tablet.send(page.form(), address(b.FRIDGE), **{row(meat, "here"): "y"})
    assert refused.status == 422
    assert "use “Thaw”" in refused.summary


def half_cooked(session: Session) -> StockRef:
    """Moose of which the centre was read at 50 °C, on the bench."""
    meat = b.take_in(session)
    request = b.a_cook(meat, 1000, 1000, centre=b.centre(50.0), reason="to be cooked further")
    return b.made(b.do(session, cook, request), b.BENCH)


def test_half_cooked_food_is_found_in_the_freezer_only_with_a_reason(
    tablet: Tablet, given: Given, book: Book, unchanged: Unchanged
) -> None:
    pot = given(half_cooked)
    page = look_up(tablet, b.FREEZER, code_of(pot.lot_id))
    with unchanged():
        asked = tablet.send(page.form(), address(b.FREEZER), **{row(pot, "here"): "y"})
    assert asked.status == 422
    assert "Give a reason to go on." in asked.beside("reason")
    compared = tablet.send(asked.form(), address(b.FREEZER), reason="put back within the day")
    assert compared.status == 200, compared.summary
    assert write_down(tablet, compared, b.FREEZER).status == 303
    assert list(stock(book)) == [StockRef(pot.lot_id, b.FREEZER)]


def test_food_that_may_not_be_refrozen_is_not_moved_into_the_freezer(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    meat = given(b.take_in, place=b.FREEZER)
    request = Thaw(meat, 1000 * b.G, ThawWay.COLD_WATER, b.FRIDGE, b.TODAY, reason="tight bag")
    thawed = given(lambda s: b.made(b.do(s, thaw, request), b.FRIDGE))
    page = look_up(tablet, b.FREEZER, code_of(thawed.lot_id))
    with unchanged():
        refused = tablet.send(page.form(), address(b.FREEZER), **{row(thawed, "here"): "y"})
    assert refused.status == 422
    assert "Not written yet" in refused.summary


# -- two tablets, two taps, and the way back -------------------------------------------------------


def test_what_somebody_ate_meanwhile_is_said_and_no_answer_is_lost(
    app: Any, tablet: Tablet, given: Given, book: Book
) -> None:
    first, second, third = given(b.pouches)
    opened = tablet.get(address(b.PANTRY)).form()
    assert Tablet(app).fill(f"/write/eat?from={first}", refs=str(first)).status == 303
    answers = {row(first): "there", row(second): "gone", row(third): "there"}
    page = tablet.send(opened, address(b.PANTRY), **answers)
    assert page.status == 422
    assert "no longer here" in page.summary
    assert spoken(code_of(first.lot_id)) in page.summary
    assert page.typed(f"row-{second}") == ["gone"]
    assert page.typed(f"row-{third}") == ["there"]
    compared = tablet.send(page.form(), address(b.PANTRY))
    assert write_down(tablet, compared, b.PANTRY, reason=WHY).status == 303
    assert stock(book) == {third: 80 * b.G}


@pytest.mark.parametrize("is_compared", [False, True])
def test_what_was_taken_of_a_lot_meanwhile_is_looked_at_again(
    app: Any, tablet: Tablet, given: Given, book: Book, is_compared: bool
) -> None:
    meat = given(b.take_in)
    page = tablet.get(address(b.FRIDGE))
    if is_compared:
        page = tablet.send(page.form(), address(b.FRIDGE), **{row(meat, "mass"): "900"})
    eaten = Tablet(app).fill(f"/write/eat?from={meat}", refs=str(meat), mass_mg="150 g")
    assert eaten.status == 303
    more = {"reason": WHY} if is_compared else {row(meat, "mass"): "900"}
    refused = tablet.send(page.form(), address(b.FRIDGE), **more)
    assert refused.status == 422
    assert "850 g of it is here" in refused.summary
    assert refused.typed(f"mass-{meat}") == ["900"]
    assert stock(book) == {meat: 850 * b.G}
    compared = tablet.send(refused.form(), address(b.FRIDGE), **{row(meat, "mass"): "840"})
    assert write_down(tablet, compared, b.FRIDGE, reason=WHY).status == 303
    assert stock(book) == {meat: 840 * b.G}


def test_two_tablets_take_the_same_stock_and_it_is_missing_once(
    app: Any, tablet: Tablet, given: Given, book: Book
) -> None:
    meat = given(b.take_in)
    other = Tablet(app)
    mine = walk(tablet, b.FRIDGE, **{row(meat, "mass"): "900"})
    theirs = walk(other, b.FRIDGE, **{row(meat, "mass"): "900"})
    assert write_down(tablet, mine, b.FRIDGE, reason=WHY).status == 303
    assert write_down(other, theirs, b.FRIDGE, reason=WHY).status == 422
    assert stock(book) == {meat: 900 * b.G}


def test_a_double_tap_writes_once(tablet: Tablet, given: Given, book: Book) -> None:
    first, *rest = given(b.pouches)
    compared = walk(tablet, b.PANTRY, **{row(first): "gone"})
    once = write_down(tablet, compared, b.PANTRY, reason=WHY)
    twice = write_down(tablet, compared, b.PANTRY, reason=WHY)
    assert (once.status, twice.status) == (303, 303)
    assert once.location == twice.location
    assert set(stock(book)) == set(rest)


def test_one_undo_takes_losses_finds_and_moves_back(
    tablet: Tablet, given: Given, book: Book
) -> None:
    meat = given(b.take_in)
    pouch, *_ = given(b.pouches)
    before = stock(book)
    page = look_up(tablet, b.FRIDGE, code_of(pouch.lot_id))
    answers = {row(pouch, "here"): "y", row(meat, "mass"): "900"}
    compared = tablet.send(page.form(), address(b.FRIDGE), **answers)
    done = write_down(tablet, compared, b.FRIDGE, reason=WHY)
    assert stock(book) != before
    page = tablet.get(done.location)
    undo = next(form for form in page.forms if form.action.endswith("/undo"))
    assert tablet.send(undo, undo.action).status == 303
    assert stock(book) == before
    assert "Taken back" in tablet.get(done.location).words


# -- a long walk -----------------------------------------------------------------------------------


def many(session: Session, count: int) -> list[StockRef]:
    """So many loose lots in the freezer."""
    refs = []
    for number in range(count):
        request = b.an_intake(mass_g=500, place=b.FREEZER, name=f"Moose {number:03}")
        refs.append(b.made(b.do(session, intake, request), b.FREEZER))
    return refs


def test_two_hundred_rows_are_walked_on_one_page(tablet: Tablet, given: Given, book: Book) -> None:
    refs = given(many, 200)
    answers: dict[str, Any] = {row(ref): "there" for ref in refs}
    answers |= {row(ref): "gone" for ref in refs[::50]}
    form = tablet.get(address(b.FREEZER)).form()
    compared = tablet.send(form, address(b.FREEZER), **answers)
    assert compared.status == 200
    assert len(list(compared.form().values.items(multi=True))) < MAX_FORM_FIELDS
    assert "196 rows agree" in compared.inside("differences")
    done = write_down(tablet, compared, b.FREEZER, reason=WHY)
    assert done.status == 303
    assert set(stock(book)) == set(refs) - set(refs[::50])


# -- at the same instant, over real sockets --------------------------------------------------------


@pytest.mark.parametrize("count", [2, 6])
def test_walks_and_meals_at_the_same_instant_agree_or_are_refused(
    furnished_file: Path, shelf: Shelf, count: int
) -> None:
    with serving(shelf.settings(furnished_file), b.evening(b.TODAY)) as live:
        live.clock.forward(days=2)
        with live.book.writing() as session:
            first, second, third = b.pouches(session)
        jobs = []
        for i in range(count):
            tablet = WireTablet(live.address)
            if i % 2:
                meal = f"/write/eat?from={first}"
                jobs.append(ready(tablet, meal, tablet.get(meal), refs=str(first)))
            else:
                page = tablet.get(address(b.PANTRY))
                answers = {row(first): "there", row(second): "gone", row(third): "there"}
                values = filled(page.form(), **answers)
                compared = tablet.post(address(b.PANTRY), values)
                jobs.append(ready(tablet, address(b.PANTRY), compared, reason=WHY))
        pages = at_once(jobs)
        assert {page.status for page in pages} <= {303, 422}
        assert all(page.summary for page in pages if page.status == 422)
        walked = sum(page.status == 303 for page in pages[::2])
        eaten = sum(page.status == 303 for page in pages[1::2])
        assert eaten <= 1
        assert walked <= 1
        assert walked + eaten >= 1
        with live.book.reading() as session:
            assert check_all(session) == []
            left = set(b.all_stock(session))
        gone = ({second} if walked else set()) | ({first} if eaten else set())
        assert left == {first, second, third} - gone


def ready(tablet: WireTablet, path: str, page: Page, **typed: Any) -> Callable[[], Page]:
    """A tablet whose form is filled; calling it sends the form."""
    values = filled(page.form(), **typed)
    return lambda: tablet.post(path, values)
