"""Unload: packages of one lot that were dried without being opened into one."""

from dataclasses import replace
from datetime import timedelta

from sqlalchemy.orm import Session

from app.ledger.operations.pack import pack
from app.ledger.operations.unload import DryMade, Unload, unload
from tests.builders import (
    BENCH,
    FREEZE_DRYER,
    FREEZER,
    TODAY,
    G,
    a_pack,
    a_tray,
    cooked,
    do,
    loaded,
    lost,
    made,
    mass_of,
    on_hand,
    units,
)


def test_two_packages_of_a_lot_on_the_trays_dry_into_one_lot_counted_once(
    session: Session,
) -> None:
    packed = do(session, pack, a_pack(cooked(session), 400, 600, place_id=FREEZER, done_on=TODAY))
    bags = units(packed, FREEZER)
    run_id = loaded(session, a_tray(bags[0], 400), a_tray(bags[1], 600))
    request = Unload(run_id, (DryMade(bags[0].lot_id, 260 * G),), BENCH, TODAY + timedelta(days=1))
    posted = do(session, unload, request)
    assert len(posted.lot_ids) == 1
    assert on_hand(session, made(posted, BENCH)) == 260 * G
    assert lost(session, posted) == {"evaporated": 740 * G}
    in_dryer = [replace(bag, place_id=FREEZE_DRYER) for bag in bags]
    assert mass_of(session, in_dryer) == 0
