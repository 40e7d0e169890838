"""Open: a package's seal is broken, and its short window runs."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy import select, update
from sqlalchemy.orm import Session

from app.ledger.checks import check_all
from app.ledger.models import Stock
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.leave import Leave, discard, eat, give
from app.ledger.operations.load import Load, load
from app.ledger.operations.move import Move, move
from app.ledger.operations.open import Open, open_package
from app.ledger.operations.stocktake import Counted, Stocktake, stocktake
from app.ledger.stock import StockRef, find_stock
from app.ledger.windows import refresh_all
from tests.builders import (
    BENCH,
    FREEZE_DRYER,
    FREEZER,
    PANTRY,
    TODAY,
    G,
    a_tray,
    do,
    estimate_of,
    on_hand,
    pouches,
    refusal,
    take_in,
)

OPENED = TODAY + timedelta(days=10)


def test_an_opened_pouch_stays_where_it_is_with_all_its_mass(session: Session) -> None:
    one, two, _ = pouches(session, 80, 81, 82)
    do(session, open_package, Open((two,), OPENED))
    assert [on_hand(session, ref) for ref in (one, two)] == [80 * G, 81 * G]
    rows = [find_stock(session, ref) for ref in (one, two)]
    assert [row.opened_on for row in rows if row] == [None, OPENED]


def test_an_opened_pouch_keeps_less_long(session: Session) -> None:
    one, two, _ = pouches(session)
    do(session, open_package, Open((two,), OPENED))
    sealed, opened = estimate_of(session, one), estimate_of(session, two)
    assert sealed is not None
    assert opened is not None
    assert sealed.central is not None
    assert opened.central is not None
    assert opened.central < sealed.central


def test_it_is_opened_once(session: Session) -> None:
    one, *_ = pouches(session)
    do(session, open_package, Open((one,), OPENED))
    assert refusal(session, open_package, Open((one,), OPENED)).kind == "nothing_to_do"


def test_only_packages_are_opened(session: Session) -> None:
    problem = refusal(session, open_package, Open((take_in(session),), TODAY))
    assert (problem.field, problem.kind) == ("refs", "wrong_state")


def test_an_opening_that_is_taken_back_never_was(session: Session) -> None:
    one, *_ = pouches(session)
    before = estimate_of(session, one)
    assert before is not None
    key = before.key
    posted = do(session, open_package, Open((one,), OPENED))
    do(session, correct, Correct(posted.operation_id, OPENED, "it was another one"))
    row, after = find_stock(session, one), estimate_of(session, one)
    assert row is not None
    assert row.opened_on is None
    assert after is not None
    assert after.key == key


def test_several_are_opened_in_one_entry_or_none_is(session: Session) -> None:
    one, two, three = pouches(session)
    do(session, open_package, Open((three,), OPENED))
    assert refusal(session, open_package, Open((one, three), OPENED)).kind == "nothing_to_do"
    assert refusal(session, open_package, Open((), OPENED)).kind == "missing"
    do(session, open_package, Open((one, two), OPENED))
    rows = [find_stock(session, ref) for ref in (one, two, three)]
    assert [row.opened_on for row in rows if row] == [OPENED] * 3


# -- a part cannot leave through a seal ----------------------------------------------------------


def opened(session: Session, ref: StockRef) -> date | None:
    row = find_stock(session, ref)
    assert row is not None
    return row.opened_on


TAKES_A_PART: dict[str, Callable[[StockRef], tuple[Any, Any]]] = {
    "eaten": lambda ref: (eat, Leave((ref,), OPENED, mass_mg=30 * G)),
    "given": lambda ref: (give, Leave((ref,), OPENED, mass_mg=30 * G, words="Morag")),
    "discarded": lambda ref: (discard, Leave((ref,), OPENED, mass_mg=30 * G, words="crumbs")),
    "ground": lambda ref: (grind, Grind((Part(ref, 30 * G),), "Powder", 30 * G, BENCH, OPENED)),
}


@pytest.mark.parametrize("how", TAKES_A_PART)
def test_a_pouch_of_which_a_part_was_taken_is_open(session: Session, how: str) -> None:
    one, two, _ = pouches(session)
    posted = do(session, *TAKES_A_PART[how](one))
    assert [opened(session, ref) for ref in (one, two)] == [OPENED, None]
    kept, sealed = estimate_of(session, one), estimate_of(session, two)
    assert kept is not None
    assert sealed is not None
    assert kept.central is not None
    assert sealed.central is not None
    assert kept.central < sealed.central
    do(session, correct, Correct(posted.operation_id, OPENED, "another pouch"))
    assert opened(session, one) is None


def test_what_is_left_of_a_pouch_can_be_counted_as_it_is(session: Session) -> None:
    one, *_ = pouches(session)
    do(session, eat, Leave((one,), OPENED, mass_mg=30 * G))
    do(session, stocktake, Stocktake(PANTRY, (Counted(one, 50 * G),), OPENED))
    assert on_hand(session, one) == 50 * G


def test_a_pouch_that_is_moved_whole_is_still_sealed(session: Session) -> None:
    one, *_ = pouches(session)
    do(session, move, Move((one,), FREEZER, OPENED))
    assert opened(session, StockRef(one.lot_id, FREEZER, one.package_id)) is None


def test_a_pouch_of_which_some_lies_on_a_tray_is_open(session: Session) -> None:
    one, *_ = pouches(session)
    request = Load(FREEZE_DRYER, (a_tray(one, 30),), OPENED, reason="it was not quite dry")
    do(session, load, request)
    rows = session.scalars(select(Stock).where(Stock.package_id == one.package_id)).all()
    assert {row.place_id: row.opened_on for row in rows} == {PANTRY: OPENED, FREEZE_DRYER: OPENED}


def test_the_first_of_several_openings_counts(session: Session) -> None:
    one, *_ = pouches(session)
    later = OPENED + timedelta(days=5)
    first = do(session, eat, Leave((one,), OPENED, mass_mg=30 * G))
    do(session, eat, Leave((one,), later, mass_mg=30 * G))
    assert opened(session, one) == OPENED
    do(session, correct, Correct(first.operation_id, later, "another pouch"))
    assert opened(session, one) == later


def test_working_all_windows_out_anew_also_finds_what_counts_as_open(session: Session) -> None:
    """As after an older version, which took no notice of a part that was eaten."""
    one, *_ = pouches(session)
    do(session, eat, Leave((one,), OPENED, mass_mg=30 * G))
    session.execute(update(Stock).values(opened_on=None))
    assert check_all(session) == []  # so that its copies can be restored
    refresh_all(session)
    assert opened(session, one) == OPENED
    assert check_all(session) == []
