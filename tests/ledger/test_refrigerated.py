"""Working with refrigerated food makes it no fresher.

The days are those that the FDA prints (Food Storage Q&A, CFSAN, 2004): whole cuts 3 to 5, ground
meat 1 to 2, in the refrigerator.
"""

from datetime import date, timedelta

import pytest
from sqlalchemy.orm import Session

from app.ledger.operations.blend import Blend, blend
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.mix import Mix, MixPart, mix_lots
from app.ledger.operations.move import Move, move
from app.ledger.operations.thaw import Thaw, thaw
from app.ledger.operations.trim import Trim, trim
from app.ledger.stock import StockRef
from app.science.classes import Form
from app.science.safety.thawing import ThawWay
from tests.builders import (
    BACK_FAT,
    FREEZER,
    FRIDGE,
    PANTRY,
    TODAY,
    G,
    do,
    estimate_of,
    lot_of,
    made,
    take_in,
)

CUT, GROUND = (3, 5), (1, 2)  # days, as printed
FIRST = TODAY - timedelta(days=6)


def on_day(number: int) -> date:
    return FIRST + timedelta(days=number)


def a_cut(session: Session, day: int = 0, place: int = FRIDGE) -> StockRef:
    return take_in(session, place=place, done_on=on_day(day), form=Form.WHOLE)


def minced(session: Session, day: int, *parts: StockRef, place: int = FRIDGE) -> StockRef:
    request = Grind(
        tuple(Part(ref, 200 * G) for ref in parts),
        "Mince",
        200 * G * len(parts),
        place,
        on_day(day),
    )
    return made(do(session, grind, request), place)


def days(session: Session, ref: StockRef) -> tuple[int, int]:
    """The first and last day of its window, counted from the first of all."""
    window = estimate_of(session, ref)
    assert window is not None
    assert window.early is not None
    assert window.late is not None
    return (window.early - FIRST).days, (window.late - FIRST).days


@pytest.mark.parametrize("day", [0, 1, 2])
def test_meat_that_is_ground_early_has_the_days_of_ground_meat(session: Session, day: int) -> None:
    cut = a_cut(session)
    assert days(session, cut) == CUT
    assert days(session, minced(session, day, cut)) == (day + GROUND[0], day + GROUND[1])


@pytest.mark.parametrize("day", [3, 4, 5, 6])
def test_meat_that_is_ground_late_has_no_day_more_than_the_cut_had(
    session: Session, day: int
) -> None:
    early, late = days(session, minced(session, day, a_cut(session)))
    assert early == CUT[0]
    assert late <= CUT[1]


def test_an_hour_on_a_shelf_makes_a_cut_no_fresher(session: Session) -> None:
    cut = a_cut(session)
    do(session, move, Move((cut,), PANTRY, on_day(4)))
    do(session, move, Move((StockRef(cut.lot_id, PANTRY),), FRIDGE, on_day(4)))
    assert days(session, cut) == CUT
    assert days(session, minced(session, 5, cut))[0] == CUT[0]
    request = Trim(cut, 100 * G, 100 * G, 0, FRIDGE, on_day(5))
    assert days(session, made(do(session, trim, request), FRIDGE)) == CUT


def test_of_several_pieces_the_oldest_counts(session: Session) -> None:
    old, new = a_cut(session), a_cut(session, day=4)
    assert days(session, minced(session, 4, new, old)) == days(session, minced(session, 4, old))


def test_ground_meat_that_is_blended_with_fat_keeps_its_days(session: Session) -> None:
    meat = minced(session, 0, a_cut(session))
    fat = take_in(session, BACK_FAT, place=FRIDGE, done_on=on_day(2))
    request = Blend(meat, 100 * G, fat, 20 * G, "Sausage meat", 120 * G, FRIDGE, on_day(2))
    blended = made(do(session, blend, request), FRIDGE)
    assert days(session, blended) == GROUND
    assert lot_of(session, blended).kept_since == FIRST


def test_a_mixture_is_as_old_as_its_oldest_part(session: Session) -> None:
    old = minced(session, 0, a_cut(session))
    new = minced(session, 2, a_cut(session, day=2))
    parts = (MixPart(old, 100 * G), MixPart(new, 100 * G))
    request = Mix(parts, "Both", 200 * G, FRIDGE, on_day(2))
    assert days(session, made(do(session, mix_lots, request), FRIDGE)) == GROUND


def test_thawed_meat_counts_from_its_thawing(session: Session) -> None:
    frozen = a_cut(session, place=FREEZER)
    request = Thaw(frozen, 500 * G, ThawWay.REFRIGERATOR, FRIDGE, on_day(5))
    thawed = made(do(session, thaw, request), FRIDGE)
    assert days(session, minced(session, 5, thawed)) == (5 + GROUND[0], 5 + GROUND[1])


def test_what_goes_into_the_freezer_begins_its_time_there(session: Session) -> None:
    frozen = minced(session, 5, a_cut(session), place=FREEZER)
    assert lot_of(session, frozen).kept_since == on_day(5)


def test_mince_that_is_made_of_mince_gains_nothing_by_many_steps(session: Session) -> None:
    meat = minced(session, 0, a_cut(session))
    for day in (1, 2, 3):
        meat = minced(session, day, meat)
    assert days(session, meat) == GROUND


def test_what_was_taken_back_gives_the_cut_its_own_days_again(session: Session) -> None:
    cut = a_cut(session)
    request = Grind((Part(cut, 1000 * G),), "Mince", 1000 * G, FRIDGE, on_day(4))
    posted = do(session, grind, request)
    do(session, correct, Correct(posted.operation_id, on_day(4)))
    assert days(session, cut) == CUT


def test_a_cut_that_was_frozen_and_came_back_sets_no_end(session: Session) -> None:
    """It thawed by an entry of its own, and its days count from there."""
    cut = a_cut(session)
    do(session, move, Move((cut,), FREEZER, on_day(1)))
    request = Thaw(StockRef(cut.lot_id, FREEZER), 500 * G, ThawWay.REFRIGERATOR, FRIDGE, on_day(5))
    thawed = made(do(session, thaw, request), FRIDGE)
    assert days(session, minced(session, 5, thawed)) == (5 + GROUND[0], 5 + GROUND[1])
