"""The first day: many rows at once, dates known roughly or not at all, all or none."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import date
from typing import Any

import pytest
from sqlalchemy import select

from app.ledger.book import Book
from app.ledger.checks import check_all
from app.ledger.holds import held_lots
from app.ledger.models import GameStory, Lot, LotMark, LotTreatment, Operation, Stock
from app.ledger.operations.first_day import MOST_ROWS
from app.ledger.words import HoldCause, Mark
from app.science.safety.game import CwdStatus
from app.web.security import MAX_FORM_FIELDS
from tests import builders as b
from tests.web.pages import Page, Tablet

Unchanged = Callable[[], AbstractContextManager[None]]
ADDRESS = "/write/first-day"


def typed(*rows: tuple[str, str, str], **more: Any) -> dict[str, Any]:
    """What is typed into the first rows: food, weight and since."""
    boxes: dict[str, Any] = {}
    for i, parts in enumerate(rows):
        for name, text in zip(("food", "weight", "since"), parts, strict=True):
            boxes[f"rows__{i}__{name}"] = text
    return boxes | more


def take_in(tablet: Tablet, *rows: tuple[str, str, str], **more: Any) -> Page:
    return tablet.fill(ADDRESS, **typed(*rows, **more))


def lots(book: Book) -> list[Lot]:
    with book.reading() as session:
        assert check_all(session) == []
        found = list(session.scalars(select(Lot).order_by(Lot.id)))
        session.expunge_all()
        return found


def test_a_freezer_is_written_down_in_one_sending(tablet: Tablet, book: Book) -> None:
    answer = take_in(
        tablet,
        ("Game meat, moose, raw (17172)", "2 kg", "2024-10"),
        ("sweet corn", "300", "2025-08-14"),
        ("pork shoulder", "1.4 kg", "2024"),
        rows__0__packets="5",
        rows__0__of="each",
        rows__1__state="blanched",
    )
    assert answer.status == 303
    moose, corn, pork = lots(book)
    assert (moose.name, moose.is_raw, moose.food_ndb) == ("Game meat, moose, raw", True, b.MOOSE)
    assert corn.name == "sweet corn"
    assert [lot.kept_since for lot in (moose, corn, pork)] == [
        date(2024, 10, 1),
        date(2025, 8, 14),
        date(2024, 1, 1),
    ]
    assert (pork.harvest_from, pork.harvest_to) == (date(2024, 1, 1), date(2024, 12, 31))
    with book.reading() as session:
        masses = session.execute(select(Stock.mass_mg, Stock.place_id).order_by(Stock.lot_id)).all()
        notes = session.scalars(select(Operation.note).order_by(Operation.id)).all()
        treated = session.scalars(
            select(LotTreatment.treatment).where(LotTreatment.lot_id == corn.id)
        ).all()
    assert masses == [(10_000 * b.G, b.FREEZER), (300 * b.G, b.FREEZER), (1400 * b.G, b.FREEZER)]
    assert notes[0] == "5 packets of 2 kg"
    assert treated == ["blanched"]


def test_the_answer_lists_codes_and_what_each_was_taken_for(tablet: Tablet) -> None:
    answer = take_in(tablet, ("moose", "2 kg", "2024"), ("apples", "500", "2025-09"))
    words = tablet.get(answer.location).words
    assert "Game meat, moose, raw" in words
    assert "some time in 2024: counted from 1 January 2024, the careful end" in words
    assert "some time in September 2025: counted from 1 September 2025" in words


def test_the_lot_says_from_when_on_it_is_counted(tablet: Tablet) -> None:
    answer = take_in(tablet, ("moose", "2 kg", "2024"))
    page = tablet.get(answer.location)
    lot = next(a["href"] for tag, a in page.tags if tag == "a" and "/lots/" in a.get("href", ""))
    words = tablet.get(lot).words
    assert "some time in 2024: counted from 1 January 2024, the careful end." in words
    assert "Only the late end of its window is counted from 31 December 2024" in words
    working = tablet.get(f"{lot}/worked-out").words
    assert "it may have been put there as late as 31 December 2024" in working


@pytest.mark.parametrize("years", ["3", "5"])
def test_an_unknown_age_is_the_oldest_it_may_be_and_says_so(
    tablet: Tablet, book: Book, years: str
) -> None:
    answer = take_in(tablet, ("moose", "2 kg", "?"), years=years)
    assert answer.status == 303
    (lot,) = lots(book)
    oldest = b.TODAY.replace(year=b.TODAY.year - int(years))
    assert lot.kept_since == oldest
    assert (lot.harvest_from, lot.harvest_to) == (oldest, b.TODAY)
    assert "Age not known: taken as not older than" in tablet.get(answer.location).words


def test_a_year_that_is_not_over_ends_today(tablet: Tablet, book: Book) -> None:
    take_in(tablet, ("moose", "2 kg", str(b.TODAY.year)))
    (lot,) = lots(book)
    assert (lot.harvest_from, lot.harvest_to) == (date(b.TODAY.year, 1, 1), b.TODAY)


def test_three_years_stand_there_as_our_judgement(tablet: Tablet) -> None:
    page = tablet.get(ADDRESS)
    assert page.typed("years") == ["3"]
    assert "our judgement" in page.inside("years-hint")


@pytest.mark.parametrize(
    ("box", "text", "said"),
    [
        ("food", "", "Say what it is."),
        ("food", "xyzzyqq", "No such food in the table."),
        ("weight", "", "Something is needed here."),
        ("weight", "a lot", "is no amount"),
        ("weight", "0", "cannot weigh"),
        ("since", "", "Something is needed here."),
        ("since", "autumn", "or ? when not known"),
        ("since", "2031", "still to come"),
        ("packets", "0", "between 1 and 200"),
        ("packets", "2.5", "whole number"),
    ],
)
def test_one_faulty_row_refuses_all_and_keeps_what_was_typed(
    tablet: Tablet, unchanged: Unchanged, box: str, text: str, said: str
) -> None:
    with unchanged():
        page = take_in(
            tablet,
            ("moose", "2 kg", "2024"),
            ("apples", "500", "2025-09"),
            **{f"rows__1__{box}": text},
        )
    assert page.status == 422
    assert said in page.beside(f"rows-1-{box}")
    assert page.typed("rows-0-weight") == ["2 kg"]
    assert page.typed(f"rows-1-{box}") == [text]


def test_a_fault_that_only_the_ledger_sees_stands_beside_its_row(
    tablet: Tablet, unchanged: Unchanged
) -> None:
    rows = [("moose", "2 kg", "2024"), ("", "", ""), ("apples", "0 g", "2025-09")]
    with unchanged():
        page = take_in(tablet, *rows)
    assert page.status == 422
    assert page.beside("rows-2-weight")
    assert not page.beside("rows-0-weight")


def test_an_empty_sending_is_refused(tablet: Tablet, unchanged: Unchanged) -> None:
    with unchanged():
        page = tablet.fill(ADDRESS)
    assert page.status == 422
    assert "Something is needed here" in page.words


def test_rows_beyond_the_first_ten_are_folded_away_until_they_are_filled(
    tablet: Tablet, book: Book
) -> None:
    def unfolded(page: Page) -> list[bool]:
        folds = [a for tag, a in page.tags if tag == "details" and a.get("class") == "more"]
        folds = [a for a in folds if a.get("id") != "game"]
        return ["open" in a for a in folds]

    page = tablet.get(ADDRESS)
    assert unfolded(page) == [False] * 5
    rows = {"rows__23__food": "moose", "rows__23__weight": "2 kg"}
    refused = tablet.send(page.form(), ADDRESS, **rows)
    assert unfolded(refused) == [False, True, False, False, False]
    assert refused.beside("rows-23-since")
    assert tablet.send(refused.form(), ADDRESS, rows__23__since="2024").status == 303
    assert len(lots(book)) == 1


def test_sixty_rows_are_taken_in_at_once(tablet: Tablet, book: Book) -> None:
    form = tablet.get(ADDRESS).form()
    assert len(list(form.values.items(multi=True))) < MAX_FORM_FIELDS
    rows = typed(*[("moose", "2 kg", "2024")] * MOST_ROWS)
    answer = tablet.send(form, ADDRESS, **rows)
    assert answer.status == 303
    assert len(lots(book)) == MOST_ROWS
    assert "60 lots" in tablet.get(answer.location).words


def test_a_double_tap_takes_in_once(tablet: Tablet, book: Book) -> None:
    form = tablet.get(ADDRESS).form()
    rows = typed(("moose", "2 kg", "2024"), ("apples", "500", "2025-09"))
    once, twice = (tablet.send(form, ADDRESS, **rows) for _ in range(2))
    assert (once.status, twice.status) == (303, 303)
    assert once.location == twice.location
    assert len(lots(book)) == 2


def test_a_list_of_nothing_is_not_found(tablet: Tablet) -> None:
    assert tablet.get(f"{ADDRESS}/1-9").status == 404
    assert tablet.get(f"{ADDRESS}/all").status == 404


# -- wild game, and all taken back -------------------------------------------------------------


def test_game_whose_test_is_awaited_is_on_hold_from_the_first_day(
    tablet: Tablet, book: Book
) -> None:
    answer = take_in(
        tablet,
        ("Game meat, moose, raw (17172)", "2 kg", "2024-10"),
        ("sweet corn", "300", "2025-08"),
        cwd_status=CwdStatus.PENDING.value,
        reason="the sample lies at the laboratory",
    )
    assert answer.status == 303
    assert tablet.get(answer.location).words.count("ON HOLD") == 1
    moose, corn = lots(book)
    with book.reading() as session:
        assert {lot: holds[0].cause for lot, holds in held_lots(session).items()} == {
            moose.id: HoldCause.TEST_AWAITED
        }
    page = tablet.fill(f"/write/eat?from={moose.id}-{place_of(book, moose.id)}", mass_mg="1 g")
    assert page.status == 422
    free = tablet.fill(f"/write/eat?from={corn.id}-{place_of(book, corn.id)}", mass_mg="1 g")
    assert free.status == 303


def place_of(book: Book, lot_id: int) -> int:
    with book.reading() as session:
        return session.scalars(select(Stock.place_id).where(Stock.lot_id == lot_id)).one()


@pytest.mark.parametrize(("ammunition", "marks"), [("lead", [Mark.LEAD]), ("lead_free", [])])
def test_what_is_told_of_the_ammunition_goes_with_the_food(
    tablet: Tablet, book: Book, ammunition: str, marks: list[Mark]
) -> None:
    row = ("Game meat, moose, raw (17172)", "2 kg", "2024")
    why = "eaten by the family since 2024"
    assert take_in(tablet, row, ammunition=ammunition, reason=why).status == 303
    with book.reading() as session:
        assert session.scalars(select(LotMark.mark)).all() == marks
        assert session.scalars(select(GameStory.ammunition)).all() == [ammunition]


def test_a_caution_about_game_asks_once_for_a_reason_and_keeps_what_was_typed(
    tablet: Tablet, unchanged: Unchanged
) -> None:
    rows = [("Game meat, moose, raw (17172)", f"{n} kg", "2024") for n in (1, 2)]
    with unchanged():
        page = take_in(tablet, *rows, ammunition="lead_free")
    assert page.status == 422
    assert page.summary.count("Give a reason to go on.") == 1
    assert page.typed("rows-1-weight") == ["2 kg"]
    assert tablet.send(page.form(), ADDRESS, reason="of a region without it").status == 303


def test_the_questions_of_game_are_folded_away_until_they_are_answered(tablet: Tablet) -> None:
    assert '<details class="more" id="game">' in tablet.get(ADDRESS).html
    page = take_in(tablet, ("sweet corn", "", "2024"), ammunition="lead")
    assert page.status == 422
    assert '<details class="more" id="game" open>' in page.html


def test_a_whole_list_is_taken_back_in_one_tap(tablet: Tablet, book: Book) -> None:
    rows = [("sweet corn", f"{n}00", "2025") for n in range(1, 6)]
    there = take_in(tablet, *rows).location
    kept = take_in(tablet, ("pork shoulder", "1 kg", "2025")).location
    page = tablet.get(there)
    assert "Take all back" in page.words
    form = page.form("take-back")
    assert tablet.send(form, there).status == 303
    with book.reading() as session:
        assert check_all(session) == []
        assert session.scalars(select(Stock.mass_mg)).all() == [1_000_000]
    again = tablet.send(form, there)
    assert again.status == 303  # a second tap finds the first answer
    assert "Take all back" not in tablet.get(there).words
    assert tablet.get(there).html.count("<strong>taken back</strong>") == 5
    assert "Take all back" not in tablet.get(kept).words  # one row has its undo already


def test_a_list_on_which_later_work_rests_is_left_whole(
    tablet: Tablet, book: Book, unchanged: Unchanged
) -> None:
    there = take_in(
        tablet, ("sweet corn", "100", "2025"), ("pork shoulder", "1 kg", "2025")
    ).location
    first = lots(book)[0]
    eaten = f"/write/eat?from={first.id}-{place_of(book, first.id)}"
    assert tablet.fill(eaten, mass_mg="10 g").status == 303
    form = tablet.get(there).form("take-back")
    with unchanged():
        page = tablet.send(form, there)
    assert page.status == 422
    assert page.summary
