"""The history, and taking an entry back: at a tap while it is the newest, with a reason later."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.book import Book
from app.ledger.checks import check_all
from app.ledger.codes import code_of
from app.ledger.errors import ProblemKind, refuse
from app.ledger.models import Operation
from app.ledger.operations import correct as correct_module
from app.ledger.operations.correct import Correct
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.leave import Leave, eat
from app.ledger.operations.portion import Portion, portion
from app.ledger.stock import StockRef
from app.web.history.views import PAGE_LENGTH
from tests import builders
from tests.web.pages import Page, Tablet

Unchanged = Callable[[], AbstractContextManager[None]]


def take_in(book: Book, mass_g: float = 1000, **changes: Any) -> StockRef:
    with book.writing() as session:
        return builders.take_in(session, mass_g=mass_g, **changes)


def a_grind(book: Book) -> StockRef:
    """1,000 g taken in, and all of it ground but 12 g that stays in the machine."""
    meat = take_in(book)
    with book.writing() as session:
        request = Grind(
            parts=(Part(meat, 1000 * builders.G),),
            name="Ground moose",
            made_mg=988 * builders.G,
            stuck_mg=12 * builders.G,
            place_id=builders.FRIDGE,
            done_on=builders.TODAY,
        )
        return builders.made(builders.do(session, grind, request), builders.FRIDGE)


def on_hand(book: Book, ref: StockRef) -> int:
    with book.reading() as session:
        return builders.on_hand(session, ref)


def operation_count(book: Book) -> int:
    with book.reading() as session:
        return session.scalar(select(func.count(Operation.id))) or 0


def press_undo(tablet: Tablet, number: int) -> Page:
    """Press the button of an entry on its own page."""
    address = f"/operations/{number}"
    form = next(f for f in tablet.get(address).forms if f.action == f"{address}/undo")
    return tablet.send(form, address)


def test_an_empty_history_says_what_to_do(tablet: Tablet) -> None:
    assert "Nothing has been written yet" in tablet.get("/history").words


def test_an_entry_shows_what_went_in_and_what_came_out_and_that_both_agree(
    tablet: Tablet, book: Book
) -> None:
    a_grind(book)
    words = tablet.get("/operations/2").words
    assert "taken: Moose trim" in words
    assert "lost: stuck in the machine 12 g" in words
    assert "In all 1000 g 1000 g" in words
    assert "20 October 2025, by Ailsa" in words


def test_the_history_is_newest_first_and_says_what_was_weighed_and_checked(
    tablet: Tablet, book: Book
) -> None:
    a_grind(book)
    words = tablet.get("/history").words
    assert words.index("Ground no. 2") < words.index("Taken in no. 1")
    assert "Weighed: 1300 g less 300 g (Blue bowl)." in words
    assert "rule BRUC, version 1" in words


def test_the_history_turns_its_pages_and_loses_no_entry(tablet: Tablet, book: Book) -> None:
    with book.writing() as session:
        for _ in range(PAGE_LENGTH + 3):
            builders.take_in(session, mass_g=100)
    first = tablet.get("/history")
    older = next(a["href"] for tag, a in first.tags if a.get("rel") == "next")
    second = tablet.get(older)
    ids = [a["id"] for page in (first, second) for tag, a in page.tags if tag == "article"]
    assert ids == [f"operation-{n}" for n in range(PAGE_LENGTH + 3, 0, -1)]
    assert not any(a.get("rel") == "next" for _, a in second.tags)


def test_masses_are_in_pounds_and_ounces_where_units_are_american(
    tablet: Tablet, book: Book
) -> None:
    take_in(book)
    tablet.fill("/household/settings", units="us")
    assert "In all 2 lb 3.3 oz 2 lb 3.3 oz" in tablet.get("/history").words


def test_the_newest_entry_is_taken_back_at_one_tap(tablet: Tablet, book: Book) -> None:
    ground = a_grind(book)
    answer = press_undo(tablet, 2)
    assert answer.location == f"/lots/{code_of(1)}"
    assert (
        "1.00 kg of Moose trim is back in its place, Fridge." in tablet.get(answer.location).words
    )
    assert on_hand(book, ground) == 0
    assert on_hand(book, StockRef(1, builders.FRIDGE)) == 1000 * builders.G
    assert "Taken back by no. 3" in tablet.get("/operations/2").words


def test_the_undo_beside_what_was_just_written_takes_it_back(tablet: Tablet, book: Book) -> None:
    food = take_in(book)
    written = tablet.fill(f"/write/eat?from={food}", refs=[str(food)], mass_mg="400 g")
    page = tablet.get(written.location)
    (undo,) = [form for form in page.forms if form.action.endswith("/undo")]
    assert tablet.send(undo, "/").status == 303
    assert on_hand(book, food) == 1000 * builders.G


def test_a_tap_repeated_takes_back_once(tablet: Tablet, book: Book) -> None:
    a_grind(book)
    form = next(f for f in tablet.get("/operations/2").forms if f.action.endswith("/undo"))
    tablet.send(form, "/")
    again = tablet.send(form, "/")
    assert "This entry has been taken back already." in tablet.get(again.location).words
    assert operation_count(book) == 3


def test_an_intake_taken_back_leads_to_the_history(tablet: Tablet, book: Book) -> None:
    food = take_in(book)
    answer = press_undo(tablet, 1)
    assert answer.location == "/history"
    assert "Taken back: no. 1, taken in on 20 October 2025." in tablet.get("/history").words
    assert on_hand(book, food) == 0


def test_an_undo_pressed_after_something_else_was_written_asks_for_a_reason(
    tablet: Tablet, book: Book, unchanged: Unchanged
) -> None:
    a_grind(book)
    form = next(f for f in tablet.get("/operations/2").forms if f.action.endswith("/undo"))
    take_in(book)
    with unchanged():
        answer = tablet.send(form, "/")
    assert answer.location == "/operations/2/correct"


def test_an_undo_that_is_not_ours_changes_nothing(
    tablet: Tablet, book: Book, unchanged: Unchanged
) -> None:
    take_in(book)
    with unchanged():
        assert tablet.post("/operations/1/undo", {}).status == 400
        assert tablet.post("/operations/1/undo", {"csrf_token": "forged"}).status == 400


def test_an_older_entry_is_taken_back_with_a_reason(tablet: Tablet, book: Book) -> None:
    wrong = take_in(book, 500)
    take_in(book, 700)
    answer = tablet.fill("/operations/1/correct", reason="Weighed the wrong bowl")
    assert answer.status == 303
    assert on_hand(book, wrong) == 0
    words = tablet.get("/operations/3").words
    assert "Weighed the wrong bowl" in words
    assert "This takes back no. 1 , gram for gram." in words
    assert "In all 500 g 500 g" in words


def test_without_a_reason_an_older_entry_stays(
    tablet: Tablet, book: Book, unchanged: Unchanged
) -> None:
    take_in(book)
    with unchanged():
        answer = tablet.fill("/operations/1/correct", reason=" ")
    assert answer.status == 422
    assert answer.beside("reason") == "Give a reason; it stays in the ledger."


def a_chain(book: Book) -> StockRef:
    """Taken in (1), ground (2), part of the mince split off (3), and some of that eaten (4)."""
    mince = a_grind(book)
    with book.writing() as session:
        request = Portion(mince, 300 * builders.G, "For burgers", builders.FRIDGE, builders.TODAY)
        part = builders.made(builders.do(session, portion, request), builders.FRIDGE)
        leave = Leave((part,), builders.TODAY, mass_mg=100 * builders.G)
        builders.do(session, eat, leave)
    return part


def test_what_rests_on_an_entry_is_shown_first_newest_first_with_who_when_and_what(
    tablet: Tablet, book: Book
) -> None:
    a_chain(book)
    words = tablet.get("/operations/1/correct").words
    assert "Later entries rest on this one, the newest first" in words
    rows = ["Eaten, no. 4 20 October 2025, by Ailsa taken: 100 g For burgers",
            "Split off, no. 3 20 October 2025, by Ailsa made: 300 g For burgers",
            "Ground, no. 2 20 October 2025, by Ailsa made: 988 g Ground moose"]  # fmt: skip
    assert [words.index(row) for row in rows] == sorted(words.index(row) for row in rows)
    assert words.index(rows[-1]) < words.index("Why is it taken back")
    assert "Take these 3 back, then this one" in words


def test_an_entry_and_all_that_rests_on_it_are_taken_back_together(
    tablet: Tablet, book: Book
) -> None:
    a_chain(book)
    answer = tablet.fill("/operations/2/correct", reason="It was the other bag")
    assert answer.location == f"/lots/{code_of(1)}"
    words = tablet.get(answer.location).words
    assert "Taken back: no. 4, no. 3, then no. 2, ground on 20 October 2025." in words
    with book.reading() as session:
        assert builders.all_stock(session) == {StockRef(1, builders.FRIDGE): 1000 * builders.G}
        assert check_all(session) == []
        reversals = select(Operation).where(Operation.reverses_id.is_not(None))
        rows = session.scalars(reversals.order_by(Operation.id))
        told = [(row.reverses_id, row.note) for row in rows]
    assert told == [(number, "It was the other bag") for number in (4, 3, 2)]


def test_a_list_that_has_changed_since_it_was_shown_takes_nothing_back(
    tablet: Tablet, book: Book, unchanged: Unchanged
) -> None:
    part = a_chain(book)
    form = tablet.get("/operations/2/correct").form()
    with book.writing() as session:
        leave = Leave((part,), builders.TODAY, mass_mg=50 * builders.G)
        builders.do(session, eat, leave)
    with unchanged():
        answer = tablet.send(form, "/operations/2/correct", reason="Wrong bag")
    assert answer.status == 422
    assert "has changed since this page was opened" in answer.summary
    assert "Take these 3 back, then this one" in answer.words
    assert tablet.send(answer.form(), "/operations/2/correct").status == 303


def test_if_one_of_them_cannot_be_taken_back_none_is(
    tablet: Tablet, book: Book, unchanged: Unchanged, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The last correction fails, after three were written in the same transaction."""
    a_chain(book)
    form = tablet.get("/operations/1/correct").form()

    def failing(session: Session, request: Correct, **more: Any) -> Any:
        if request.operation_id == 1:
            raise refuse("operation_id", ProblemKind.NOTHING_TO_DO)
        return module_correct(session, request, **more)

    module_correct = correct_module.correct
    monkeypatch.setattr(correct_module, "correct", failing)
    with unchanged():
        assert tablet.send(form, "/operations/1/correct", reason="Twice").status == 422


def test_an_entry_that_others_came_to_rest_on_is_refused_with_their_numbers(
    tablet: Tablet, book: Book, unchanged: Unchanged
) -> None:
    food = take_in(book)
    form = tablet.get("/operations/1/correct").form()
    with book.writing() as session:
        builders.do(session, builders.cook, builders.a_cook(food, 1000, 1000))
    with unchanged():
        answer = tablet.send(form, "/operations/1/correct", reason="Twice")
    assert answer.status == 422
    assert "take those back first, newest first: no. 2." in answer.words


def test_a_correction_is_not_corrected(tablet: Tablet, book: Book) -> None:
    take_in(book)
    press_undo(tablet, 1)
    assert "This is a correction. It stays" in tablet.get("/operations/2/correct").words
    assert "taken back by no. 2" in tablet.get("/operations/1/correct").words


def test_there_is_no_page_and_no_undo_for_an_entry_that_is_not(tablet: Tablet, book: Book) -> None:
    take_in(book)
    form = next(f for f in tablet.get("/operations/1").forms if f.action.endswith("/undo"))
    assert tablet.get("/operations/99").status == 404
    assert tablet.get("/operations/99/correct").status == 404
    assert tablet.post("/operations/99/undo", form.values).status == 404
