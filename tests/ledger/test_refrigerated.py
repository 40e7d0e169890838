"""Working with refrigerated food makes it no fresher.

The days are those that the FDA prints (Food Storage Q&A, CFSAN, 2004): whole cuts 3 to 5, ground
meat 1 to 2, in the refrigerator.
"""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.errors import Refused
from app.ledger.models import Checkpoint
from app.ledger.operations.blend import Blend, blend
from app.ledger.operations.cook import cook
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.load import Load, load
from app.ledger.operations.mix import Mix, MixPart, mix_lots
from app.ledger.operations.move import Move, move
from app.ledger.operations.pack import pack
from app.ledger.operations.portion import Portion, portion
from app.ledger.operations.thaw import Thaw, thaw
from app.ledger.operations.trim import Trim, trim
from app.ledger.stock import StockRef
from app.ledger.windows import places_of
from app.ledger.words import PlaceKind
from app.science.classes import Form
from app.science.safety.thawing import ThawWay
from tests.builders import (
    BACK_FAT,
    BENCH,
    FREEZE_DRYER,
    FREEZER,
    FRIDGE,
    PANTRY,
    SWEETCORN,
    TODAY,
    VACUUM_BAG,
    G,
    a_cook,
    a_pack,
    a_tray,
    centre,
    do,
    dried,
    estimate_of,
    lot_of,
    made,
    take_in,
    units,
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
        reason="smelt and looked at",
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


def test_what_is_made_on_the_bench_and_goes_into_the_refrigerator_gains_nothing(
    session: Session,
) -> None:
    mince = minced(session, 4, a_cut(session), place=BENCH)
    packed = a_pack(mince, 100, packaging_id=VACUUM_BAG, absorber_id=None, done_on=on_day(4),
                    place_id=BENCH)  # fmt: skip
    (package,) = units(do(session, pack, packed), BENCH)
    request = Trim(mince, 50 * G, 50 * G, 0, BENCH, on_day(4))
    trimmed = made(do(session, trim, request), BENCH)
    do(session, move, Move((mince, package, trimmed), FRIDGE, on_day(4)))
    for ref in (mince, package, trimmed):
        early, late = days(session, replace(ref, place_id=FRIDGE))
        assert early == CUT[0]
        assert late <= CUT[1]


def test_what_lay_on_the_bench_all_along_is_never_said_to_have_been_cold(session: Session) -> None:
    corn = take_in(session, SWEETCORN, place=BENCH, done_on=on_day(0))
    split = Portion(corn, 200 * G, "Some", BENCH, on_day(1))
    some = made(do(session, portion, split), BENCH)
    places = [
        PlaceKind(stay.place.kind) for stay in places_of(session, lot_of(session, some), some)
    ]
    assert places == [PlaceKind.BENCH]


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


# -- after its days ------------------------------------------------------------------------------


def work_on(session: Session, name: str, ref: StockRef, day: int) -> tuple[Any, Any]:
    """A use-case that makes something of raw meat, and a request without a reason."""
    on = on_day(day)
    fat = take_in(session, BACK_FAT, place=FRIDGE, done_on=on)
    return {
        "grind": lambda: (grind, Grind((Part(ref, 400 * G),), "Mince", 400 * G, FRIDGE, on)),
        "blend": lambda: (blend, Blend(ref, 300 * G, fat, 50 * G, "Both", 350 * G, FRIDGE, on)),
        "mix": lambda: (
            mix_lots,
            Mix((MixPart(ref, 300 * G), MixPart(fat, 50 * G)), "Both", 350 * G, FRIDGE, on),
        ),
        "cook": lambda: (cook, a_cook(ref, 400, 380, done_on=on, place_id=FRIDGE)),
        "load": lambda: (load, Load(FREEZE_DRYER, (a_tray(ref, 400),), on)),
    }[name]()


@pytest.mark.parametrize("name", ["grind", "blend", "mix", "cook", "load"])
def test_work_on_the_last_day_is_asked_nothing_and_on_the_next_for_a_reason(
    session: Session, name: str
) -> None:
    """3 to 5 days for whole cuts (FDA, 2004)."""
    cooked_through = made(do(session, cook, a_cook(a_cut(session), 900, 850, done_on=on_day(0),
                                                   place_id=FRIDGE)), FRIDGE)  # fmt: skip
    ref, most = (cooked_through, 4) if name == "load" else (a_cut(session), CUT[1])
    use_case, request = work_on(session, name, ref, most)
    assert not refused_for(session, use_case, request)
    use_case, request = work_on(session, name, ref, most + 1)
    assert refused_for(session, use_case, request) == "FRIDGE-OVER"
    posted = do(session, use_case, replace(request, reason="smelt and looked at"))
    posted = posted[0] if isinstance(posted, tuple) else posted
    spoken = select(Checkpoint.rule, Checkpoint.reason, Checkpoint.lot_id)
    rows = session.execute(spoken.where(Checkpoint.operation_id == posted.operation_id)).all()
    assert ("FRIDGE-OVER", "smelt and looked at", ref.lot_id) in rows


def refused_for(session: Session, use_case: Any, request: Any) -> str:
    """The rule that asks for a reason, or ""; nothing is written."""
    with session.begin_nested() as nested:
        try:
            do(session, use_case, request)
        except Refused as refused:
            return str(refused.problems[0].numbers["rule"])
        finally:
            nested.rollback()
    return ""


def test_all_that_one_reason_would_answer_is_asked_at_once(session: Session) -> None:
    """A reason for late meat must not vouch for a reading of 160 °C that nobody was asked about."""
    pot = a_cook(a_cut(session), 400, 380, done_on=on_day(6), place_id=FRIDGE, centre=centre(160.0))
    with pytest.raises(Refused) as refused:
        do(session, cook, pot)
    asked = {str(problem.numbers["rule"]) for problem in refused.value.problems}
    assert asked == {"FRIDGE-OVER", "UNIT-ASK"}


def test_a_reason_is_asked_for_once_a_day(session: Session) -> None:
    mince = minced(session, 6, a_cut(session))
    pot = a_cook(mince, 100, 95, done_on=on_day(6), place_id=FRIDGE)
    assert not refused_for(session, cook, pot)
    assert refused_for(session, cook, replace(pot, done_on=on_day(7))) == "FRIDGE-OVER"


def test_frozen_and_dry_food_has_no_days_to_be_over(session: Session) -> None:
    frozen = a_cut(session, place=FREEZER)
    do(session, grind, Grind((Part(frozen, 400 * G),), "Mince", 400 * G, FREEZER, on_day(6)))
    later = TODAY + timedelta(days=30)
    do(session, grind, Grind((Part(dried(session), 50 * G),), "Powder", 50 * G, PANTRY, later))
