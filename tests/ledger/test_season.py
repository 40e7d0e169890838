"""The year by month: what the statements sum is what the entries say, one by one."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session, aliased

from app.ledger.book import Book
from app.ledger.food_kinds import kind_of
from app.ledger.models import Entry, Lot, Operation, Stock
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.leave import Leave, discard, eat, give
from app.ledger.operations.move import Move, move
from app.ledger.pace import closings_kg, month_end, month_of, months_on
from app.ledger.queries.season import (
    MONTHS,
    FoodYear,
    first_month,
    food_years,
    kinds_on_hand,
    place_foods,
    together,
)
from tests import builders
from tests.benchmarks import big_ledger
from tests.builders import APPLES, FREEZER, FRIDGE, KG, PANTRY, do, take_in
from tests.ledger import kitchen
from tests.ledger.test_query_plans import scans, statements

TODAY = date(2026, 3, 20)


def of(session: Session, kind: str, today: date = TODAY) -> FoodYear:
    """The year of one food."""
    return next(year for year in food_years(session, today) if year.kind == kind)


def test_a_hand_written_winter_is_told_month_by_month(session: Session) -> None:
    ref = take_in(session, APPLES, 10_000, place=PANTRY, on=date(2025, 10, 20))
    do(session, eat, Leave((ref,), date(2025, 11, 5), mass_mg=1 * KG))
    do(session, eat, Leave((ref,), date(2025, 11, 25), mass_mg=2 * KG))
    do(session, give, Leave((ref,), date(2026, 1, 2), mass_mg=3 * KG, words="a neighbour"))
    do(session, discard, Leave((ref,), date(2026, 2, 1), mass_mg=1 * KG, words="soft"))
    year = of(session, "Apples")
    assert [round(m.end_mg / KG) for m in year.months] == [0] * 7 + [10, 7, 7, 4, 3, 3]
    october, november, january, february = (year.months[i] for i in (7, 8, 10, 11))
    assert october.came_in_mg == 10 * KG
    assert november.eaten_mg == 3 * KG
    assert january.given_mg == 3 * KG
    assert february.discarded_mg == 1 * KG
    assert year.now_mg == 3 * KG


def test_what_was_taken_back_never_was(session: Session) -> None:
    ref = take_in(session, APPLES, 10_000, place=PANTRY, on=date(2025, 10, 20))
    eaten = do(session, eat, Leave((ref,), date(2025, 11, 5), mass_mg=4 * KG))
    do(session, correct, Correct(eaten.operation_id, date(2026, 1, 15)))
    year = of(session, "Apples")
    assert [round(m.end_mg / KG) for m in year.months[7:]] == [10] * 6
    assert not any(m.eaten_mg or m.other_mg for m in year.months)
    (food,) = [x for x in place_foods(session, TODAY) if x.place_id == PANTRY]
    assert sum(m.takings for m in food.months) == 0


def test_packages_are_counted_as_they_come_and_go(session: Session) -> None:
    first, second, _third = builders.pouches(session, 80, 80, 80)  # on 21 October
    do(session, eat, Leave((first,), date(2025, 12, 3)))
    do(session, eat, Leave((second,), date(2026, 1, 3), mass_mg=20 * builders.G))  # opened
    year = of(session, "Moose")
    assert [m.packages for m in year.months[6:]] == [0, 3, 3, 2, 2, 2, 2]


def test_food_older_than_the_ledger_is_no_harvest(session: Session) -> None:
    old = date(2025, 2, 1)
    take_in(
        session, APPLES, 5_000, place=FREEZER, on=date(2025, 10, 20), kept_since=old,
        harvest=(old, old),
    )  # fmt: skip
    october = of(session, "Apples").months[7]
    assert (october.came_in_mg, october.was_there_mg) == (0, 5 * KG)


def test_work_on_food_is_neither_harvest_nor_meal(session: Session) -> None:
    builders.dried(session, 1000, 260)
    october = of(session, "Moose").months[7]
    assert october.came_in_mg == 1 * KG
    assert october.other_mg == -740 * builders.G
    assert october.eaten_mg == 0


def test_what_is_laid_elsewhere_is_taken_out_of_its_place_once(session: Session) -> None:
    ref = take_in(session, APPLES, 10_000, place=PANTRY, on=date(2025, 10, 20))
    do(session, move, Move((ref,), FRIDGE, date(2025, 12, 1), mass_mg=2 * KG))
    foods = {food.place_id: food for food in place_foods(session, TODAY) if food.kind == "Apples"}
    december = foods[PANTRY].months[9]
    assert (december.taken_kg, december.squares_kg2, december.takings) == (2.0, 4.0, 1)
    assert (foods[FRIDGE].months[9].put_kg, foods[FRIDGE].months[9].takings) == (2.0, 0)
    assert foods.keys() == {PANTRY, FRIDGE}


def test_two_takings_of_a_month_are_two(session: Session) -> None:
    ref = take_in(session, APPLES, 10_000, place=FREEZER, on=date(2025, 10, 20))
    for day, mass_kg in ((4, 1), (18, 3)):
        do(session, eat, Leave((ref,), date(2025, 12, day), mass_mg=mass_kg * KG))
    (food,) = [x for x in place_foods(session, TODAY) if x.place_id == FREEZER]
    december = food.months[9]
    assert (december.taken_kg, december.squares_kg2, december.takings) == (4.0, 10.0, 2)
    assert (december.first_day, december.last_day) == (date(2025, 12, 4), date(2025, 12, 18))


def test_foods_of_one_kind_at_one_place_are_one(session: Session) -> None:
    for number in ("10070", "10219"):  # shoulder and mince
        take_in(session, number, 1_000, place=FREEZER, on=date(2025, 10, 20), name="Pork")
    (food,) = [x for x in place_foods(session, TODAY) if x.place_id == FREEZER]
    assert food.kind == "Pork"
    assert food.months[7].put_kg == 2.0


def test_an_empty_ledger_has_no_year(session: Session) -> None:
    assert food_years(session, TODAY) == []
    assert place_foods(session, TODAY) == []
    assert kinds_on_hand(session) == {}


# -- against the entries, one by one ---------------------------------------------------------------


@pytest.fixture(scope="module")
def ledger(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    """A thousand lots of ten years, with meals, moves and things that were taken back."""
    path: Path = tmp_path_factory.mktemp("season") / "ledger.db"
    big_ledger.build(path, 0.01)
    book = Book(path)
    yield book
    book.close()


def one_by_one(session: Session) -> list[tuple[date, str, int, int]]:
    """Day, kind, place and mass of every entry that was not taken back, in a loop of its own."""
    undoing = aliased(Operation)
    undone = set(session.scalars(select(undoing.reverses_id)))
    rows = session.execute(
        select(Operation, Entry, Lot)
        .join(Entry, Entry.operation_id == Operation.id)
        .join(Lot, Lot.id == Entry.lot_id)
    )
    return [
        (operation.done_on, kind_of(lot.food_ndb, lot.food_class), entry.place_id, entry.mass_mg)
        for operation, entry, lot in rows
        if operation.id not in undone and operation.reverses_id is None
    ]


def test_each_month_ends_with_what_all_entries_until_then_sum_to(ledger: Book) -> None:
    today = big_ledger.TODAY
    with ledger.reading() as session:
        years = food_years(session, today)
        entries = one_by_one(session)
    assert sum(m.eaten_mg for year in years for m in year.months) > 0
    for i in range(MONTHS):
        last = min(month_end(months_on(first_month(today), i)), today)
        sums: dict[str, int] = defaultdict(int)
        for on, kind, _place, mass_mg in entries:
            sums[kind] += mass_mg if on <= last else 0
        told = {year.kind: year.months[i].end_mg for year in years}
        assert {k: mg for k, mg in told.items() if mg} == {k: mg for k, mg in sums.items() if mg}


def test_what_came_and_went_is_what_changed(ledger: Book) -> None:
    with ledger.reading() as session:
        years = food_years(session, big_ledger.TODAY)
        on_hand = sum(session.scalars(select(Stock.mass_mg)))
    assert sum(year.now_mg for year in years) == on_hand
    for year in years:
        for before, month in zip(year.months, year.months[1:], strict=False):
            assert month.end_mg == before.end_mg + month.change_mg
            assert min(month.end_mg, month.packages, month.came_in_mg, month.eaten_mg) >= 0


def test_each_place_ends_its_months_with_what_its_entries_sum_to(ledger: Book) -> None:
    today = big_ledger.TODAY
    with ledger.reading() as session:
        foods = [f for f in place_foods(session, today) if f.place_id == big_ledger.FREEZER]
        entries = one_by_one(session)
    ends = closings_kg(sum(f.on_hand_mg for f in foods) / 1e6, together(foods))
    for i, told in enumerate(ends):
        last = min(month_end(months_on(month_of(today), i + 1 - MONTHS)), today)
        there = sum(
            mg for on, _k, place, mg in entries if place == big_ledger.FREEZER and on <= last
        )
        assert told == pytest.approx(there / 1e6, abs=1e-5)


def test_the_year_is_read_through_indexes(tmp_path: Path) -> None:
    path = tmp_path / "ledger.db"
    kitchen.write_evening(path, with_troubles=True)
    book = Book(path)

    def work() -> None:
        with book.reading() as session:
            today = builders.TODAY + timedelta(days=30)
            food_years(session, today)
            place_foods(session, today)
            kinds_on_hand(session)

    asked = statements(book.engine, work)
    found = scans(book, asked)
    by_day = [_plan(book, *one) for one in asked if "standing" in one[0]]
    book.close()
    assert len(asked) <= 8
    assert found == []
    assert len(by_day) == 4
    assert all("ix_operation_done_on (done_on>?)" in plan for plan in by_day)


def _plan(book: Book, text: str, parameters: Any) -> str:
    with book.engine.connect() as connection:
        rows = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {text}", parameters)
        return "; ".join(row.detail for row in rows)
