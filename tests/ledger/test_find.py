"""Finding by anything that is known: on every engine."""

from datetime import date, timedelta

import pytest
from sqlalchemy.orm import Session

from app.ledger.codes import code_of
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.intake import SourceIn, intake
from app.ledger.operations.leave import Leave, eat
from app.ledger.queries.search import (
    Term,
    Wanted,
    lines_found,
    lots_gone,
    lots_in_short,
    meant_by,
    packages_found,
    places_found,
    sources_found,
    terms_of,
)
from app.ledger.stock import StockRef
from app.ledger.words import SourceKind
from tests import builders as b


def wanted(session: Session, *words: str) -> Wanted:
    return Wanted(terms_of(session, words))


def found(session: Session, *words: str) -> set[int]:
    return {line.lot_id for line in lines_found(session, wanted(session, *words))}


@pytest.fixture
def moose(session: Session) -> StockRef:
    told = SourceIn(SourceKind.ANIMAL, "Moose share", "A-117", "Hunting team")
    return b.take_in(session, name="Moose trim", source=told, place=b.FREEZER)


@pytest.fixture
def apples(session: Session) -> StockRef:
    orchard = SourceIn(SourceKind.PLOT, "Orchard")
    on = b.TODAY - timedelta(days=30)
    return b.take_in(
        session, b.APPLES, name="Blackcurrants and Äpfel", place=b.PANTRY, source=orchard, on=on
    )


def test_all_words_must_hold_each_in_any_way(
    session: Session, moose: StockRef, apples: StockRef
) -> None:
    assert found(session, "moose", "FREEZER") == {moose.lot_id}
    assert found(session, "moose", "pantry") == set()
    assert found(session, "hunting") == found(session, "a-117") == {moose.lot_id}
    assert found(session, "ailsa") == {moose.lot_id, apples.lot_id}
    assert found(session, "orchard", "ailsa") == {apples.lot_id}


@pytest.mark.parametrize("typed", ["mose", "moos", "Moosse"])
def test_a_misspelt_word_finds_what_is_nearest_and_says_so(
    session: Session, moose: StockRef, typed: str
) -> None:
    assert found(session, typed) == {moose.lot_id}
    (term,) = terms_of(session, [typed])
    assert term.is_guess == (typed != "moos")


def test_words_with_marks_are_found_in_any_case_and_without_them(
    session: Session, apples: StockRef
) -> None:
    for typed in ("äpfel", "ÄPFEL", "apfel"):
        assert found(session, typed) == {apples.lot_id}, typed
        assert not terms_of(session, [typed])[0].is_guess


def test_a_word_that_was_parted_is_put_together(session: Session, apples: StockRef) -> None:
    assert found(session, "blak", "curant") == {apples.lot_id}
    assert terms_of(session, ["blak", "curant"]) == (
        Term("blak curant", ("Blackcurrants",), is_guess=True),
    )


def test_what_was_made_of_a_sources_food_is_found_by_the_source(session: Session) -> None:
    packed = b.pouches(session)
    assert {ref.lot_id for ref in packed} <= found(session, "A-117")


def test_days_hold_for_harvest_making_and_packing(session: Session, apples: StockRef) -> None:
    pouches = b.pouches(session)
    made = {line.lot_id for line in lines_found(session, Wanted(days=(b.TODAY, b.TODAY)))}
    assert apples.lot_id not in made
    packed_on = b.TODAY + timedelta(days=1)
    packed = lines_found(session, Wanted(days=(packed_on, packed_on)))
    assert {line.lot_id for line in packed} == {pouches[0].lot_id}
    september = Wanted(days=(date(2025, 9, 1), date(2025, 9, 30)))
    assert [line.lot_id for line in lines_found(session, september)] == [apples.lot_id]


def test_packages_are_found_by_number(session: Session) -> None:
    packed = b.pouches(session)
    second = packages_found(session, Wanted(number=2))
    assert [line.ref for line in second] == [packed[1]]
    assert packages_found(session, Wanted(number=2, of_count=3)) == second
    assert packages_found(session, Wanted(number=2, lot_id=packed[0].lot_id)) == second
    assert packages_found(session, Wanted(number=2, of_count=4)) == []
    assert packages_found(session, Wanted(number=4)) == []


def test_a_lot_that_was_eaten_is_found_in_short_and_one_taken_back_is_not(
    session: Session, moose: StockRef, apples: StockRef
) -> None:
    b.do(session, eat, Leave((moose,), b.TODAY))
    undone = b.do(session, intake, b.an_intake(name="Moose by mistake"))
    b.do(session, correct, Correct(undone.operation_id, b.TODAY, "typed wrong"))
    assert found(session, "moose") == set()
    (gone,) = lots_in_short(session, wanted(session, "moose"), 5)
    assert (gone.id, gone.is_on_hand) == (moose.lot_id, False)
    assert lots_gone(session, wanted(session, "moose"), 5) == [gone]


def test_lots_in_short_are_those_on_hand_first(session: Session) -> None:
    refs = [b.take_in(session, name=f"Moose {n}") for n in range(3)]
    b.do(session, eat, Leave((refs[2],), b.TODAY))
    short = lots_in_short(session, wanted(session, "moose"), 2)
    assert [lot.id for lot in short] == [refs[1].lot_id, refs[0].lot_id]


def test_a_code_that_is_none_proposes_lots_that_exist(session: Session, moose: StockRef) -> None:
    code = code_of(moose.lot_id)
    for wrong in (code[1] + code[0] + code[2:], code[:4], code + "7", code[:4] + "?"):
        ids = [lot.id for lot in meant_by(session, wrong)]
        assert ids == ([] if "?" in wrong else [moose.lot_id]), wrong


def test_places_and_sources_are_found_by_their_words(
    session: Session, moose: StockRef, apples: StockRef
) -> None:
    b.take_in(session, source=SourceIn(SourceKind.ANIMAL, "Moose", "a-117"))
    places = places_found(session, wanted(session, "moose", "freezer"))
    assert [line.place.name for line in places] == ["Chest freezer"]
    (animal,) = sources_found(session, wanted(session, "A-117"), 5)
    assert animal.name == "Moose"  # the newest of what is one animal
    assert sources_found(session, wanted(session, "hunting", "orchard"), 5) == []
    assert sources_found(session, Wanted(), 5) == []


def test_odd_texts_find_nothing(session: Session, moose: StockRef) -> None:
    for text in ("%", "_", "\\", "'; DROP TABLE lot; --", "☃"):
        assert found(session, *text.split()) == set(), text
