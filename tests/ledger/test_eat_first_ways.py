"""What can be done about food, and the time it buys: the entry, once written, is the check."""

from datetime import date, timedelta

import pytest
from sqlalchemy.orm import Session

from app.ledger.errors import Refused
from app.ledger.operations.hold import PutOnHold, hold
from app.ledger.operations.load import Load, TrayLoaded, looked_over
from app.ledger.operations.move import Move, move
from app.ledger.operations.pack import Pack, pack
from app.ledger.operations.thaw import Thaw, thaw
from app.ledger.queries.stock import StockLine, WindowDates, stock_lines
from app.ledger.queries.ways import Way, ways
from app.ledger.stock import StockRef
from app.ledger.words import HoldCause, OperationKind
from app.science.safety.thawing import ThawWay
from app.science.window import Limit
from tests.builders import (
    APPLES,
    BACK_FAT,
    DEHYDRATOR,
    FREEZE_DRYER,
    FREEZER,
    FRIDGE,
    OLD,
    PANTRY,
    SWEETCORN,
    TODAY,
    TROUT,
    VACUUM_BAG,
    G,
    a_pack,
    a_pot,
    a_tray,
    cooked,
    do,
    dried,
    loaded,
    made,
    pouches,
    take_in,
    units,
)

MONTH = timedelta(days=30)


def line_of(session: Session, ref: StockRef) -> StockLine:
    return next(x for x in stock_lines(session, lot_id=ref.lot_id) if ref in x.refs)


def asked(session: Session, ref: StockRef, on: date = TODAY) -> dict[OperationKind, list[Way]]:
    found: dict[OperationKind, list[Way]] = {}
    for way in ways(session, line_of(session, ref), on):
        found.setdefault(way.step, []).append(way)
    return found


def ends(window: WindowDates | None) -> tuple[date, date, date]:
    assert window is not None
    return window.early, window.central, window.late


def promised(way: Way, on: date) -> tuple[date, ...]:
    """The three ends that a way tells of, as dates."""
    days = (way.window.early_days, way.window.central_days, way.window.late_days)
    return tuple(on + timedelta(days=int(day)) for day in days)


def within_a_day(told: tuple[date, ...], written: tuple[date, ...]) -> bool:
    return all(abs((a - b).days) <= 1 for a, b in zip(told, written, strict=True))


# -- the entry that is written gives what was promised -------------------------------------------


@pytest.mark.parametrize("place", [FREEZER, FRIDGE])
def test_pouches_that_are_moved_keep_as_long_as_was_promised(session: Session, place: int) -> None:
    first, *_ = pouches(session)
    on = TODAY + MONTH
    before = line_of(session, first)
    (way,) = (w for w in asked(session, first, on)[OperationKind.MOVE] if w.place.id == place)
    do(session, move, Move(before.refs, place, on))
    after = line_of(session, StockRef(first.lot_id, place, first.package_id))
    assert within_a_day(promised(way, on), ends(after.window))
    gained = [(b - a).days for a, b in zip(ends(before.window), ends(after.window), strict=True)]
    told = (way.gain.early, way.gain.central, way.gain.late)
    assert gained == pytest.approx(list(told), abs=1.01)
    assert way.gain.central > 0


def test_meat_put_from_the_fridge_into_the_freezer_keeps_as_promised(session: Session) -> None:
    meat = take_in(session, place=FRIDGE)
    (way,) = asked(session, meat)[OperationKind.MOVE]
    do(session, move, Move((meat,), FREEZER, TODAY))
    after = line_of(session, StockRef(meat.lot_id, FREEZER))
    assert way.place.id == FREEZER
    assert way.window.limit is Limit.FREEZER_QUALITY
    assert within_a_day(promised(way, TODAY), ends(after.window))


def test_dry_food_that_is_packed_keeps_as_promised(session: Session) -> None:
    dry = dried(session)
    on = TODAY + timedelta(days=1)
    do(session, move, Move((dry,), PANTRY, on))
    dry = StockRef(dry.lot_id, PANTRY)
    (way,) = asked(session, dry, on)[OperationKind.PACK]
    assert way.packaging is not None
    request = a_pack(
        dry,
        *[260.0 / way.count] * way.count,
        packaging_id=way.packaging.id,
        absorber_id=way.absorber.id if way.absorber else None,
        seal_checked=False,
        done_on=on,
    )
    packed = do(session, pack, request)
    after = line_of(session, units(packed, PANTRY)[0])
    assert within_a_day(promised(way, on), ends(after.window))


def test_fat_in_the_freezer_is_better_off_in_a_vacuum_bag(session: Session) -> None:
    fat = take_in(session, BACK_FAT, place=FREEZER)
    (way,) = asked(session, fat, TODAY + MONTH)[OperationKind.PACK]
    assert way.packaging is not None
    assert way.packaging.id == VACUUM_BAG
    assert way.absorber is None
    assert way.gain.early > 0


# -- dried ---------------------------------------------------------------------------------------


def test_dried_and_sealed_it_keeps_for_years_and_not_for_months(session: Session) -> None:
    corn = take_in(session, SWEETCORN, place=FREEZER)
    ways_to_dry = asked(session, corn)[OperationKind.LOAD]
    (way,) = (w for w in ways_to_dry if w.dryer and w.dryer.id == FREEZE_DRYER)
    assert way.place.id == PANTRY
    assert way.gain.early > 365
    assert not way.is_busy


def test_a_dryer_that_runs_is_named_as_busy(session: Session) -> None:
    pot = a_pot(session)
    other = cooked(session)
    loaded(session, a_tray(other, 1000))
    found = asked(session, pot)[OperationKind.LOAD]
    assert {way.dryer.id: way.is_busy for way in found if way.dryer} == {FREEZE_DRYER: True}


def test_raw_meat_is_not_proposed_for_warm_air_where_the_rules_stop_it(session: Session) -> None:
    meat = take_in(session, place=FREEZER)
    tray = TrayLoaded(meat, 1600 * G, "1600", 600 * G, "600")
    with pytest.raises(Refused):
        looked_over(session, Load(DEHYDRATOR, (tray,), TODAY))
    dryers = {way.dryer.id for way in asked(session, meat).get(OperationKind.LOAD, []) if way.dryer}
    assert DEHYDRATOR not in dryers


def test_dry_food_is_not_dried_again(session: Session) -> None:
    assert OperationKind.LOAD not in asked(session, pouches(session)[0], TODAY + MONTH)


# -- gates ---------------------------------------------------------------------------------------


def test_frozen_food_is_not_moved_anywhere_warmer(session: Session) -> None:
    assert OperationKind.MOVE not in asked(session, take_in(session, place=FREEZER))


def test_no_package_moves_the_days_of_the_refrigerator(session: Session) -> None:
    for food in (take_in(session, place=FRIDGE), take_in(session, TROUT, place=FRIDGE)):
        assert OperationKind.PACK not in asked(session, food)


def test_meat_thawed_in_water_is_not_proposed_for_the_freezer(session: Session) -> None:
    meat = take_in(session, place=FREEZER)
    request = Thaw(meat, 400 * G, ThawWay.COLD_WATER, FRIDGE, TODAY, reason="in a tight bag")
    thawed = made(do(session, thaw, request), FRIDGE)
    with pytest.raises(Refused), session.begin_nested():
        do(session, move, Move((thawed,), FREEZER, TODAY))
    assert OperationKind.MOVE not in asked(session, thawed)


def test_food_that_perishes_in_the_warmth_has_no_way_to_gain_time(session: Session) -> None:
    assert ways(session, line_of(session, cooked(session)), TODAY) == ()


def test_food_past_its_window_on_hold_or_without_one_has_none(session: Session) -> None:
    meat, apples = take_in(session, place=FRIDGE), take_in(session, APPLES, place=PANTRY)
    held = take_in(session, place=FREEZER)
    do(session, hold, PutOnHold((held.lot_id,), HoldCause.RECALL, TODAY, words="the bags"))
    assert asked(session, meat, TODAY + 2 * MONTH) == {}
    assert asked(session, apples) == {}
    assert asked(session, held) == {}


def test_every_way_that_is_told_of_can_be_written(session: Session) -> None:
    """Of many sorts of food: what is proposed is never refused, nor asked a reason for."""
    food = [
        take_in(session, place=FRIDGE),
        take_in(session, place=FREEZER, kept_since=OLD + 18 * MONTH),
        take_in(session, TROUT, place=FREEZER),
        take_in(session, BACK_FAT, place=FREEZER),
        take_in(session, SWEETCORN, place=FREEZER),
        a_pot(session),
        dried(session),
        *pouches(session)[:1],
    ]
    on = TODAY + timedelta(days=1)
    done = 0
    for ref in food:
        for way in ways(session, line_of(session, ref), on):
            with session.begin_nested() as attempt:
                carry_out(session, line_of(session, ref), way, on)
                attempt.rollback()
            done += 1
    assert done >= 10


def carry_out(session: Session, line: StockLine, way: Way, on: date) -> None:
    if way.step is OperationKind.MOVE:
        do(session, move, Move(line.refs, way.place.id, on))
    elif way.step is OperationKind.LOAD:
        assert way.dryer is not None
        tray = TrayLoaded(line.ref, line.mass_mg + 600 * G, "", 600 * G, "")
        looked_over(session, Load(way.dryer.id, (tray,), on))
    elif way.step is OperationKind.PACK:
        assert way.packaging is not None
        do(
            session,
            pack,
            Pack(
                line.ref,
                way.packaging.id,
                (line.mass_mg // 4,) * 4,
                way.place.id,
                on,
                way.absorber.id if way.absorber else None,
                minutes_open=0.0,
            ),
        )
