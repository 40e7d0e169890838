"""Food on hold: put, shown wherever it lies, refused where it must be, and how a hold ends."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.book import Book
from app.ledger.codes import code_of, spoken
from app.ledger.holds import holds_on
from app.ledger.models import Hold, Operation
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.hold import PutOnHold, hold
from app.ledger.operations.intake import SourceIn
from app.ledger.queries.history import operations
from app.ledger.stock import StockRef
from app.ledger.words import HoldCause, OperationKind, SourceKind
from app.science.safety.rule import DEFERENCE
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]
Unchanged = Callable[[], AbstractContextManager[None]]


def lot_page(ref: StockRef) -> str:
    """The address of a lot."""
    return f"/lots/{code_of(ref.lot_id)}"


def new_hold(ref: StockRef) -> str:
    """The address where a lot is put on hold."""
    return f"/holds/new?lot={code_of(ref.lot_id)}"


def targets(page: Page) -> set[str]:
    """Where the page leads."""
    return {a["href"] for tag, a in page.tags if tag == "a"}


def held(session: Session, cause: HoldCause = HoldCause.TEST_AWAITED, **changes: Any) -> StockRef:
    """A kilogram of moose, held for a test."""
    ref = b.take_in(session, **changes)
    b.do(session, hold, PutOnHold((ref.lot_id,), cause, b.TODAY, "wasting disease"))
    return ref


def mince(session: Session, *refs: StockRef, place: int = b.FRIDGE) -> StockRef:
    """All of these, ground together."""
    parts = tuple(Part(ref, b.on_hand(session, ref)) for ref in refs)
    total_mg = sum(part.mass_mg for part in parts)
    request = Grind(parts, "Moose, ground", total_mg, place, b.TODAY)
    return b.made(b.do(session, grind, request), place)


def ground_and_held(session: Session) -> tuple[StockRef, StockRef]:
    """A held moose of which mince was made, and a free one beside it."""
    return mince(session, held(session)), b.take_in(session, name="Farm lamb", mass_g=500)


def the_hold(book: Book) -> int:
    """The number of the newest hold."""
    with book.reading() as session:
        return max(session.scalars(select(Hold.id)))


def has_holds(book: Book, ref: StockRef) -> bool:
    """Is a lot on hold?"""
    with book.reading() as session:
        return bool(holds_on(session, ref.lot_id))


# -- what a held animal's descendants may not do -------------------------------------------------


@pytest.mark.parametrize("step", ["eat", "give"])
def test_what_was_made_of_a_held_animal_is_not_eaten_or_given(
    tablet: Tablet, given: Given, unchanged: Unchanged, step: str
) -> None:
    meat, _ = given(ground_and_held)
    address = f"/write/{step}?from={meat}"
    typed = {"mass_mg": "321 g", "words": "Henning", "note": "for the stew"}
    with unchanged():
        page = tablet.fill(address, **typed)
    assert page.status == 422
    assert "is on hold: a test result is awaited (wasting disease)" in page.words
    assert "Keep it apart until it is released" in page.beside("mass_mg")
    assert page.typed("mass_mg") == ["321 g"]
    assert page.typed("note") == ["for the stew"]


def test_held_food_is_not_blended_with_other_food(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    meat, lamb = given(ground_and_held)
    with unchanged():
        page = tablet.fill(
            f"/write/blend?from={lamb}", other_ref=str(meat), mass_mg="500", other_mass_mg="500",
            made_mg="1000", name="Burgers", place_id=str(b.FRIDGE),
        )  # fmt: skip
    assert page.status == 422
    assert "is on hold" in page.summary
    assert "Burgers" in page.typed("name")


def test_held_food_may_be_thrown_away(tablet: Tablet, given: Given, book: Book) -> None:
    meat, _ = given(ground_and_held)
    page = tablet.fill(f"/write/discard?from={meat}", words="not waiting any longer")
    assert page.status == 303
    with book.reading() as session:
        assert b.on_hand(session, meat) == 0


# -- how a hold ends -----------------------------------------------------------------------------


def test_once_nothing_was_detected_it_may_be_eaten(
    tablet: Tablet, given: Given, book: Book
) -> None:
    meat, _ = given(ground_and_held)
    answer = tablet.fill(f"/holds/{the_hold(book)}/result", hold_id="not_detected", note="lab 7")
    assert (answer.status, answer.location) == (303, "/holds")
    assert not has_holds(book, meat)
    assert tablet.fill(f"/write/eat?from={meat}").status == 303


def test_the_page_of_a_result_says_what_each_means_and_defers(
    tablet: Tablet, given: Given, book: Book
) -> None:
    given(held)
    words = tablet.get(f"/holds/{the_hold(book)}/result").words
    assert "That makes it much less likely; it is no guarantee" in words
    assert "do not eat it, nor anything it was mixed with" in words
    assert DEFERENCE in words


def test_what_was_detected_is_never_released(tablet: Tablet, given: Given, book: Book) -> None:
    meat, _ = given(ground_and_held)
    awaited = the_hold(book)
    tablet.fill(f"/holds/{awaited}/result", hold_id="detected")
    found = the_hold(book)
    assert found != awaited
    page = tablet.get("/holds")
    assert "A disease was found" in page.words
    assert not {h for h in targets(page) if h.endswith(("/release", "/result"))}
    refused = tablet.fill(f"/holds/{found}/release", hold_ids="looked_fine")
    assert refused.status == 422
    assert "This hold is not lifted: a disease was found" in refused.beside("hold_ids")
    tablet.fill(f"/holds/{awaited}/result", hold_id="not_detected")
    assert has_holds(book, meat)


def animal_in_two_lots(session: Session) -> tuple[StockRef, StockRef, StockRef]:
    """Shoulder and ribs held by one entry, and a neck of the same animal that nobody held."""
    cuts = [b.take_in(session, name=name) for name in ("Shoulder", "Ribs", "Neck")]
    request = PutOnHold((cuts[0].lot_id, cuts[1].lot_id), HoldCause.TEST_AWAITED, b.TODAY)
    b.do(session, hold, request)
    return cuts[0], cuts[1], cuts[2]


@pytest.mark.parametrize(("result", "stays"), [("not_detected", False), ("detected", True)])
def test_one_result_counts_for_every_lot_of_the_animal_and_is_one_entry(
    tablet: Tablet, given: Given, book: Book, result: str, stays: bool
) -> None:
    shoulder, ribs, _ = given(animal_in_two_lots)
    page = tablet.get("/holds/1/result")
    assert "Of the same source and not on hold: Neck" in page.words
    assert page.form().values.getlist("also") == ["2"]
    answer = tablet.send(page.form(), "/holds/1/result", hold_id=result)
    assert "and 1 more" in tablet.get(answer.location).words
    assert [has_holds(book, ref) for ref in (shoulder, ribs)] == [stays, stays]
    with book.reading() as session:
        assert operations(session, limit=1)[0].kind is (
            OperationKind.HOLD if stays else OperationKind.RELEASE
        )


def test_a_lot_left_unticked_stays_as_it_was(tablet: Tablet, given: Given, book: Book) -> None:
    shoulder, ribs, _ = given(animal_in_two_lots)
    tablet.fill("/holds/1/result", hold_id="not_detected", also=[])
    assert [has_holds(book, ref) for ref in (shoulder, ribs)] == [False, True]


def test_several_are_released_together(tablet: Tablet, given: Given, book: Book) -> None:
    shoulder, ribs, _ = given(animal_in_two_lots)
    page = tablet.fill("/holds/1/release", hold_ids="looked_fine", also=["2", "77"])
    assert page.beside("also") == "Choose among these lots."
    assert tablet.fill("/holds/1/release", hold_ids="looked_fine", note="lab rang").status == 303
    assert not has_holds(book, shoulder)
    assert not has_holds(book, ribs)


def test_a_hold_to_look_at_is_released_with_a_reason_and_undone_again(
    tablet: Tablet, given: Given, book: Book
) -> None:
    ref = given(held, HoldCause.LOOK_FIRST)
    answer = tablet.fill(f"/holds/{the_hold(book)}/release", hold_ids="looked_fine")
    assert answer.status == 303
    page = tablet.get("/holds")
    assert "Released: Moose trim" in page.words
    assert "Nothing is on hold." in page.words
    undo = next(form for form in page.forms if form.action.endswith("/undo"))
    assert tablet.send(undo, undo.action).status == 303
    assert has_holds(book, ref)


def test_another_reason_needs_words(tablet: Tablet, given: Given, book: Book) -> None:
    given(held, HoldCause.LOOK_FIRST)
    page = tablet.fill(f"/holds/{the_hold(book)}/release", hold_ids="other")
    assert page.status == 422
    assert page.beside("note") == "Something is needed here."


def test_an_awaited_test_is_not_passed_over_without_a_note(
    tablet: Tablet, given: Given, book: Book
) -> None:
    ref = given(held)
    page = tablet.fill(f"/holds/{the_hold(book)}/release", hold_ids="looked_fine")
    assert page.beside("note") == "Something is needed here."
    assert "write the result instead" in page.words
    assert has_holds(book, ref)


@pytest.mark.parametrize("end", ["result", "release"])
def test_a_second_tap_on_an_ended_hold_finds_the_first(
    tablet: Tablet, given: Given, book: Book, end: str
) -> None:
    given(held)
    address = f"/holds/{the_hold(book)}/{end}"
    form = tablet.get(address).form()
    changes = {"hold_id": "not_detected", "hold_ids": "looked_fine", "note": "looked at it"}
    answers = [tablet.send(form, address, **changes) for _ in range(2)]
    assert [(a.status, a.location) for a in answers] == [(303, "/holds")] * 2
    with book.reading() as session:
        released = select(Operation.id).where(Operation.kind == OperationKind.RELEASE)
        assert len(session.scalars(released).all()) == 1
    assert tablet.get(address).location == "/holds"
    assert "lifted already" in tablet.get("/holds").words


def test_two_tablets_that_end_one_hold_end_it_once(
    app: Flask, tablet: Tablet, given: Given, book: Book
) -> None:
    given(held)
    other = Tablet(app)
    form = other.get("/holds/1/result").form()
    tablet.fill("/holds/1/result", hold_id="not_detected")
    answer = other.send(form, "/holds/1/result", hold_id="detected")
    assert (answer.status, answer.location) == (303, "/holds")
    assert "lifted already, or taken back" in other.get("/holds").words
    assert tablet.get("/holds/99/result").status == 404


# -- putting a hold ------------------------------------------------------------------------------


def test_a_hold_says_before_it_is_written_what_it_will_keep(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    def work(session: Session) -> tuple[StockRef, StockRef]:
        meat = b.take_in(session, mass_g=900)
        return meat, mince(session, meat, place=b.BENCH)

    meat, ground = given(work)
    with unchanged():
        page = tablet.get(new_hold(meat))
    assert "Moose, ground made of it" in page.words
    assert spoken(code_of(ground.lot_id)) in page.words
    assert "Kitchen" in page.words
    assert "900 g" in page.words


def test_a_hold_reaches_what_was_made_before_it_was_put(
    tablet: Tablet, given: Given, book: Book
) -> None:
    meat = given(b.take_in)
    ground = given(mince, meat)
    answer = tablet.fill(new_hold(meat), cause="recall", words="butcher rang")
    assert (answer.status, answer.location) == (303, "/holds")
    page = tablet.get("/holds")
    assert "and 1 lot made of it" in page.words
    assert "It was recalled (butcher rang)" in page.words
    assert has_holds(book, ground)


def test_all_lots_of_one_animal_can_be_held_at_once(
    tablet: Tablet, given: Given, book: Book
) -> None:
    first = given(b.take_in, name="Shoulder")
    second = given(b.take_in, name="Ribs")
    other = given(b.take_in, source=SourceIn(SourceKind.ANIMAL, "Moose share", tag="B-9"))
    page = tablet.get(new_hold(first))
    assert page.form().values.getlist("lot_ids") == [str(first.lot_id)]
    assert "Ribs" in page.words
    assert spoken(code_of(other.lot_id)) not in page.words
    both = tablet.get(new_hold(first) + "&all=1").form()
    assert both.values.getlist("lot_ids") == [str(first.lot_id), str(second.lot_id)]
    tablet.send(both, new_hold(first) + "&all=1", cause="looked_sick")
    assert [has_holds(book, ref) for ref in (first, second, other)] == [True, True, False]


def test_a_hold_tapped_twice_is_put_once(tablet: Tablet, given: Given, book: Book) -> None:
    meat = given(b.take_in)
    form = tablet.get(new_hold(meat)).form()
    answers = [tablet.send(form, new_hold(meat), cause="recall") for _ in range(2)]
    assert [a.status for a in answers] == [303, 303]
    with book.reading() as session:
        assert len(session.scalars(select(Hold.id)).all()) == 1


@pytest.mark.parametrize(
    ("changes", "field", "said"),
    [
        ({}, "cause", "Say why it is held."),
        ({"cause": "other"}, "words", "Something is needed here."),
        ({"cause": "recall", "lot_ids": []}, "lot_ids", "Something is needed here."),
        ({"cause": "recall", "lot_ids": "999"}, "lot_ids", "Choose among these lots."),
        ({"cause": "recall", "done_on": "2031-01-01"}, "done_on", "is still to come"),
    ],
)
def test_an_incomplete_hold_says_what_is_missing_and_keeps_the_note(
    tablet: Tablet,
    given: Given,
    unchanged: Unchanged,
    changes: dict[str, Any],
    field: str,
    said: str,
) -> None:
    meat = given(b.take_in)
    with unchanged():
        page = tablet.fill(new_hold(meat), note="ask Ewan", **changes)
    assert page.status == 422
    assert said in page.beside(field)
    assert page.typed("note") == ["ask Ewan"]


def test_without_a_lot_the_page_offers_what_is_on_hand(tablet: Tablet, given: Given) -> None:
    meat = given(b.take_in)
    assert new_hold(meat) in targets(tablet.get("/holds/new"))
    assert "/holds/new" in targets(tablet.get("/write"))
    assert "/holds" in targets(tablet.get("/papers"))


# -- wherever it is shown ------------------------------------------------------------------------


def test_every_page_that_lists_held_food_says_so_in_words(tablet: Tablet, given: Given) -> None:
    meat, _ = given(ground_and_held)
    said = "On hold since 20 October 2025: a test result is awaited (wasting disease)"
    for address in ("/", "/lots", "/bench", f"/places/{b.FRIDGE}", "/labels"):
        page = tablet.get(address)
        if "Moose, ground" in page.words:
            assert said in page.words, address
    assert said in tablet.get("/").words
    assert said in tablet.get("/bench").words
    assert "through Moose trim" in tablet.get(lot_page(meat)).words


def test_the_page_of_a_step_says_before_it_is_refused_that_the_food_is_held(
    tablet: Tablet, given: Given
) -> None:
    meat, lamb = given(ground_and_held)
    for step in ("eat", "cook", "pack", "load", "discard"):
        assert "ON HOLD" in tablet.get(f"/write/{step}?from={meat}").words, step
        assert "ON HOLD" not in tablet.get(f"/write/{step}?from={lamb}").words, step
    assert "Moose, ground, raw, on hold" in tablet.get(f"/write/blend?from={lamb}").words


def test_a_dryer_with_held_food_in_it_says_so_on_the_bench(tablet: Tablet, given: Given) -> None:
    def drying(session: Session) -> None:
        meat = b.cooked(session)
        b.loaded(session, b.a_tray(meat, 1000))
        b.do(session, hold, PutOnHold((meat.lot_id,), HoldCause.RECALL, b.TODAY))

    given(drying)
    assert "Food on hold is in it." in tablet.get("/bench").words


def test_a_hold_put_by_mistake_is_taken_back_and_both_entries_say_what_they_were(
    tablet: Tablet, given: Given, book: Book
) -> None:
    ref = given(held)
    newest = tablet.get("/history")
    undo = next(form for form in newest.forms if form.action.endswith("/undo"))
    number = undo.action.split("/")[2]
    assert (
        "put on hold on 20 October 2025"
        in tablet.get(tablet.send(undo, undo.action).location).words
    )
    assert not has_holds(book, ref)
    words = tablet.get("/history").words
    assert f"This takes back no. {number} (put on hold)." in words
    assert "Held: Moose trim" in words
    assert "gram for gram" not in words
    assert f"Taken back no. {int(number) + 1}" in tablet.get(lot_page(ref)).words


def test_held_food_is_never_for_the_table_this_week(tablet: Tablet, given: Given) -> None:
    given(held)
    page = tablet.get("/")
    assert "Moose trim" in page.inside("on_hold")
    assert "On hold, not to be eaten" in page.inside("on_hold")
    assert "this week" not in page.words


def test_a_held_lot_offers_no_step_that_would_be_refused(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    def pouches_and_hold(session: Session) -> list[StockRef]:
        packed = b.pouches(session)
        request = PutOnHold((packed[0].lot_id,), HoldCause.LOOK_FIRST, b.TODAY)
        b.do(session, hold, request)
        return packed

    packed = given(pouches_and_hold)
    meat, _ = given(ground_and_held)
    clock.forward(days=2)
    for ref in (packed[0], meat):
        steps = {h for h in targets(tablet.get(lot_page(ref))) if h.startswith("/write/")}
        assert any(h.startswith("/write/discard") for h in steps)
        assert not {h for h in steps if h.startswith(("/write/eat", "/write/give", "/write/blend"))}
    for address in ("/", "/lots", f"/places/{b.PANTRY}"):
        assert f"/write/eat?from={packed[0]}" not in targets(tablet.get(address))


def test_a_lot_that_is_gone_still_says_that_it_was_held(tablet: Tablet, given: Given) -> None:
    def work(session: Session) -> StockRef:
        ref = held(session)
        mince(session, ref)
        return ref

    page = tablet.get(lot_page(given(work)))
    assert "Nothing of this lot is left" in page.words
    assert "Not to be eaten, given away or mixed" in page.words


def test_the_sheet_of_holds_says_where_everything_lies(tablet: Tablet, given: Given) -> None:
    given(ground_and_held)
    page = tablet.get("/holds")
    assert "Moose share, tag A-117" in page.words
    assert "Moose, ground made of it" in page.words
    assert "Fridge" in page.words
    assert "1.00 kg" in page.words


def test_with_nothing_held_the_sheet_says_so(tablet: Tablet) -> None:
    page = tablet.get("/holds")
    assert "Nothing is on hold." in page.words
    assert "/holds/new" in targets(page)


def test_marks_stand_on_the_line_and_on_the_page_with_their_source(
    tablet: Tablet, given: Given
) -> None:
    def leaded(session: Session) -> StockRef:
        source = SourceIn(SourceKind.ANIMAL, "Moose share", taken_with_lead=True)
        return b.take_in(session, source=source)

    ref = given(leaded)
    assert "may hold lead" in tablet.get("/lots").words
    words = tablet.get(lot_page(ref)).words
    assert "not for children under 6 or anyone pregnant" in words
    assert "Minnesota" in words
