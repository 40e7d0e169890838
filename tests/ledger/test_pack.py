"""Pack: sealed units with their own weights; no pack without oxygen unless it is dry enough."""

from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.models import Checkpoint, Package
from app.ledger.operations.pack import pack
from app.ledger.operations.trim import Trim, trim
from app.ledger.stock import StockRef
from tests.builders import (
    BACK_FAT,
    BENCH,
    CC_300,
    FOIL_POUCH,
    FREEZER,
    FRIDGE,
    JAR,
    PANTRY,
    TODAY,
    VACUUM_BAG,
    G,
    a_pack,
    allergens,
    cooked,
    do,
    dried,
    estimate_of,
    lost,
    lot_of,
    made,
    on_hand,
    refusal,
    refused_kinds,
    take_in,
    units,
)

TOMORROW = TODAY + timedelta(days=1)


def test_each_unit_has_its_number_and_its_own_weight(session: Session) -> None:
    dry = dried(session, 2000, 520)
    posted = do(session, pack, a_pack(dry, 101, 99, 100.5))
    rows = [session.get_one(Package, package) for package in posted.package_ids]
    assert [(r.number, r.of_count, r.net_mg) for r in rows] == [
        (1, 3, 101 * G),
        (2, 3, 99 * G),
        (3, 3, 100_500),
    ]
    assert [on_hand(session, ref) for ref in units(posted, PANTRY)] == [101 * G, 99 * G, 100_500]
    assert {row.packaging_id for row in rows} == {FOIL_POUCH}


def test_what_is_not_packed_stays_and_spills_are_a_loss(session: Session) -> None:
    dry = dried(session)
    posted = do(session, pack, a_pack(dry, 100, 100, spilled_mg=4 * G))
    assert on_hand(session, dry) == 56 * G
    assert lost(session, posted) == {"spilled": 4 * G}


def test_the_packed_lot_inherits_and_knows_its_package(session: Session) -> None:
    dry = dried(session, food=cooked(session, allergens=frozenset({"milk"})))
    (pouch,) = units(do(session, pack, a_pack(dry, 200)), PANTRY)
    assert allergens(session, pouch) == {"milk"}
    assert lot_of(session, pouch).wrap == "foil_pouch"
    assert lot_of(session, pouch).water == lot_of(session, dry).water


def test_a_pouch_with_an_absorber_keeps_longer_than_an_open_jar(session: Session) -> None:
    dry = dried(session)
    (pouch,) = units(do(session, pack, a_pack(dry, 120)), PANTRY)
    jar = a_pack(dry, 120, packaging_id=JAR, absorber_id=None)
    (jarred,) = units(do(session, pack, jar), PANTRY)
    kept, kept_in_jar = estimate_of(session, pouch), estimate_of(session, jarred)
    assert kept is not None
    assert kept.central is not None
    assert kept_in_jar is not None
    assert kept_in_jar.central is not None
    assert kept.central >= kept_in_jar.central


def test_food_that_is_not_dry_enough_gets_no_absorber_on_the_shelf(session: Session) -> None:
    wet = dried(session, 1000, 420)
    assert "gate" in refused_kinds(session, pack, a_pack(wet, 200))
    assert "gate" in refused_kinds(session, pack, a_pack(wet, 200, reason="we eat it soon"))


def test_fresh_food_gets_no_absorber_on_the_shelf(session: Session) -> None:
    for ref in (take_in(session), cooked(session), take_in(session, BACK_FAT)):
        assert "gate" in refused_kinds(session, pack, a_pack(ref, 200))


def test_the_same_food_may_be_packed_in_vacuum_for_the_freezer(session: Session) -> None:
    request = a_pack(
        take_in(session),
        500,
        500,
        packaging_id=VACUUM_BAG,
        absorber_id=None,
        pressure_fraction=0.05,
        place_id=FREEZER,
        reason="",
    )
    bags = units(do(session, pack, request), FREEZER)
    assert [on_hand(session, ref) for ref in bags] == [500 * G, 500 * G]
    assert lot_of(session, bags[0]).is_raw


def test_a_pack_with_oxygen_in_it_passes_no_gate_and_asks_nothing(session: Session) -> None:
    request = a_pack(cooked(session), 500, packaging_id=JAR, absorber_id=None, place_id=FRIDGE)
    posted = do(session, pack, request)
    query = select(Checkpoint).where(Checkpoint.operation_id == posted.operation_id)
    assert session.scalars(query).all() == []


def test_dryness_that_was_only_computed_is_asked_about(session: Session) -> None:
    guessed = dried(session, 1000, 250, weighed_back=False)
    assert "needs_reason" in refused_kinds(session, pack, a_pack(guessed, 100, reason=""))


def test_what_the_gates_said_is_recorded(session: Session) -> None:
    posted = do(session, pack, a_pack(dried(session), 200))
    query = select(Checkpoint.rule, Checkpoint.outcome).where(
        Checkpoint.operation_id == posted.operation_id
    )
    assert dict(session.execute(query).all())["ROP-WET"] == "pass"


@pytest.mark.parametrize(
    ("net_g", "changes", "field", "kind"),
    [
        ((), {}, "net_mg", "missing"),
        ((100, 0), {}, "net_mg[1]", "not_positive"),
        ((100, -5), {}, "net_mg[1]", "not_positive"),
        ((200, 61), {}, "net_mg", "package_too_large"),
        ((200, 60), {"spilled_mg": 1}, "net_mg", "package_too_large"),
        ((100,), {"packaging_id": 99}, "packaging_id", "unknown_choice"),
        ((100,), {"absorber_id": 99}, "absorber_id", "unknown_choice"),
        ((100,), {"place_id": 99}, "place_id", "unknown_place"),
        ((100,), {"done_on": TODAY}, "done_on", "before_made"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(
    session: Session, net_g: tuple[float, ...], changes: dict[str, Any], field: str, kind: str
) -> None:
    problem = refusal(session, pack, a_pack(dried(session), *net_g, **changes))
    assert (problem.field, problem.kind) == (field, kind)


def test_a_package_larger_than_the_lot_is_refused_with_the_amounts(session: Session) -> None:
    problem = refusal(session, pack, a_pack(dried(session), 300, absorber_id=CC_300))
    assert problem.numbers == {"on_hand_mg": 260 * G, "packed_mg": 300 * G}


def test_an_unknown_lot_is_refused(session: Session) -> None:
    assert refusal(session, pack, a_pack(StockRef(99, BENCH), 100)).kind == "unknown_lot"


def test_more_than_a_package_can_hold_is_refused(session: Session) -> None:
    """A litre of lean meat weighs a little more than a kilogram, so 1.2 kg cannot be in a jar."""
    request = a_pack(take_in(session, mass_g=1500), 1200, packaging_id=JAR, absorber_id=None)
    problem = refusal(session, pack, request)
    assert (problem.field, problem.kind) == ("net_mg[0]", "does_not_fit")


def test_packing_or_trimming_does_not_begin_the_days_of_the_refrigerator_anew(
    session: Session,
) -> None:
    # the days of the Cold Food Storage Chart (FoodSafety.gov, undated copy) are days in the
    # refrigerator, whatever the meat is wrapped in
    ref = take_in(session, place_id=FRIDGE)
    before = estimate_of(session, ref)
    in_a_bag = a_pack(ref, 400, packaging_id=VACUUM_BAG, absorber_id=None, place_id=FRIDGE)
    bag = units(do(session, pack, in_a_bag), FRIDGE)[0]
    cut = made(do(session, trim, Trim(ref, 500 * G, 480 * G, 20 * G, FRIDGE, TOMORROW)), FRIDGE)
    for after in (estimate_of(session, bag), estimate_of(session, cut)):
        assert before is not None
        assert after is not None
        assert (after.early, after.late) == (before.early, before.late)


def test_packing_for_another_place_begins_a_keeping_of_its_own(session: Session) -> None:
    ref = take_in(session, place_id=FRIDGE)
    for_the_freezer = a_pack(ref, 400, packaging_id=VACUUM_BAG, absorber_id=None, place_id=FREEZER)
    bag = units(do(session, pack, for_the_freezer), FREEZER)[0]
    assert lot_of(session, bag).kept_since == TOMORROW
    dry = units(do(session, pack, a_pack(dried(session), 100, place_id=FRIDGE)), FRIDGE)[0]
    assert lot_of(session, dry).kept_since == TOMORROW
