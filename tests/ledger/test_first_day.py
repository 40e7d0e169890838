"""The first day: all or none, packets as loose lots, and an age that nobody knows exactly."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.checks import check_all
from app.ledger.errors import ProblemKind, Refused
from app.ledger.models import Addition, Estimate, Lot, Operation, Weighing
from app.ledger.operations.first_day import (
    MOST_ROWS,
    AlreadyThere,
    FirstDay,
    Since,
    first_day,
    not_older,
)
from app.ledger.operations.intake import SourceIn
from app.ledger.operations.portion import Portion, portion
from app.ledger.operations.thaw import Thaw, thaw
from app.ledger.queries.first_day import lots_of_day
from app.ledger.windows import start_span
from app.ledger.words import SourceKind
from app.science.safety.thawing import ThawWay
from tests.builders import (
    APPLES,
    FREEZER,
    FRIDGE,
    MOOSE,
    TODAY,
    G,
    do,
    entry_count,
    estimate_of,
    lot_of,
    made,
    refusal,
    take_in,
)

IN_2024 = Since(date(2024, 1, 1), date(2024, 12, 31))


def row(**changes: Any) -> AlreadyThere:
    """Five packets of moose of 2024, 400 g each."""
    known = AlreadyThere("Moose mince", MOOSE, IN_2024, 5, 400 * G, "400 g", True, True)
    return replace(known, **changes)


def day(*rows: AlreadyThere) -> FirstDay:
    return FirstDay(rows, FREEZER, SourceIn(SourceKind.UNKNOWN, ""), TODAY)


def test_each_row_is_one_loose_lot_with_its_packets_in_the_note(session: Session) -> None:
    posted = do(session, first_day, day(row(), row(packets=1, is_each=False)))
    many, one = (session.get_one(Operation, p.operation_id) for p in posted)
    assert (many.note, one.note) == ("5 packets of 400 g", "")
    masses = session.scalars(select(Addition.mass_mg).order_by(Addition.operation_id)).all()
    assert masses == [2000 * G, 400 * G]
    typed = session.scalars(select(Weighing.gross_typed).order_by(Weighing.operation_id)).all()
    assert typed == ["5 × 400 g", "400 g"]
    assert check_all(session) == []


def test_a_fault_in_one_row_names_it_and_those_beside_it(session: Session) -> None:
    rows = (row(), row(food_ndb="99999"), row(), row(mass_mg=0), row(packets=0))
    with pytest.raises(Refused) as caught, session.begin_nested():
        do(session, first_day, day(*rows))
    assert [(p.field, p.kind) for p in caught.value.problems] == [
        ("rows[1].food", ProblemKind.UNKNOWN_CHOICE),
        ("rows[3].weight", ProblemKind.TARE_ABOVE_GROSS),
        ("rows[4].packets", ProblemKind.NOT_POSITIVE),
    ]
    assert entry_count(session) == 0


def test_an_empty_day_and_an_endless_one_are_refused(session: Session) -> None:
    assert refusal(session, first_day, day()).field == "rows"
    assert refusal(session, first_day, day(*[row()] * (MOST_ROWS + 1))).field == "rows"


def window_if_put_there(session: Session, on: date) -> Estimate:
    """The window of the same moose, had its day been known."""
    found = estimate_of(session, take_in(session, place=FREEZER, kept_since=on, on=TODAY))
    assert found is not None
    return found


@pytest.mark.parametrize(
    "span",
    [IN_2024, Since(date(2025, 3, 1), date(2025, 3, 31)), not_older(TODAY, 3)],
    ids=["a year", "a month", "not known"],
)
def test_the_window_holds_that_of_every_day_it_may_have_been(session: Session, span: Since) -> None:
    posted = do(session, first_day, day(row(since=span)))
    counted = estimate_of(session, made(posted[0], FREEZER))
    assert counted is not None
    first, last = (window_if_put_there(session, on) for on in (span.first, span.last))
    assert (counted.early, counted.central) == (first.early, first.central)  # careful
    assert counted.late == last.late
    for share in (0.2, 0.5, 0.8):
        on = span.first + (span.last - span.first) * share
        known = window_if_put_there(session, on)
        assert counted.early <= known.early < known.late <= counted.late


def test_a_day_that_is_known_widens_nothing(session: Session) -> None:
    on = date(2025, 3, 4)
    (posted,) = do(session, first_day, day(row(since=Since(on, on))))
    counted = estimate_of(session, made(posted, FREEZER))
    assert counted is not None
    assert counted.late == window_if_put_there(session, on).late


def test_a_part_of_it_is_as_uncertain_and_what_is_made_of_it_is_not(session: Session) -> None:
    (posted,) = do(session, first_day, day(row()))
    whole = made(posted, FREEZER)
    part = made(do(session, portion, Portion(whole, 500 * G, "A part", FREEZER, TODAY)), FREEZER)
    of_whole, of_part = estimate_of(session, whole), estimate_of(session, part)
    assert of_whole is not None
    assert of_part is not None
    assert (of_part.early, of_part.late) == (of_whole.early, of_whole.late)
    thawed = do(session, thaw, Thaw(part, 500 * G, ThawWay.REFRIGERATOR, FRIDGE, TODAY))
    lot = session.get_one(Lot, thawed.lot_ids[0])
    assert start_span(session, lot) == (TODAY, TODAY)


def test_harvests_that_differ_are_no_doubt_about_the_day(session: Session) -> None:
    old = take_in(session, place=FREEZER, harvest=(date(2024, 10, 1), date(2024, 10, 31)))
    young = take_in(session, place=FREEZER, harvest=(TODAY, TODAY))
    assert start_span(session, lot_of(session, old)) == (TODAY, TODAY)
    assert start_span(session, lot_of(session, young)) == (TODAY, TODAY)


def test_a_month_of_harvest_that_was_brought_in_on_its_first_day_is_no_doubt(
    session: Session,
) -> None:
    on = date(2025, 10, 1)
    ref = take_in(session, on=on, harvest=(on, date(2025, 10, 31)))
    assert start_span(session, lot_of(session, ref)) == (on, on)


def test_a_published_limit_in_days_is_not_moved_by_what_nobody_knows(session: Session) -> None:
    since = Since(date(2025, 10, 18), TODAY)
    request = replace(day(row(since=since)), place_id=FRIDGE)
    (posted,) = do(session, first_day, request)
    counted = estimate_of(session, made(posted, FRIDGE))
    exact = estimate_of(session, take_in(session, place=FRIDGE, kept_since=since.first, on=TODAY))
    assert counted is not None
    assert exact is not None
    assert (counted.early, counted.late) == (exact.early, exact.late)


def test_what_nobody_knows_is_as_old_as_it_may_be(session: Session) -> None:
    (posted,) = do(session, first_day, day(row(since=not_older(TODAY, 3))))
    lot = session.get_one(Lot, posted.lot_ids[0])
    assert lot.kept_since == date(2022, 10, 20)
    assert (lot.harvest_from, lot.harvest_to) == (date(2022, 10, 20), TODAY)
    note = session.get_one(Operation, posted.operation_id).note
    assert "Age not known: taken as not older than 2022-10-20." in note


def test_the_list_holds_what_was_taken_in_and_nothing_else(session: Session) -> None:
    take_in(session)
    posted = do(session, first_day, day(row(), row(name="Apples", food_ndb=APPLES)))
    take_in(session)
    found = lots_of_day(session, posted[0].operation_id, posted[-1].operation_id)
    assert [lot.name for lot in found] == ["Moose mince", "Apples"]
    assert found[0].food == "Game meat, moose, raw"
