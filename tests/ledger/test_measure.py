"""Measure: what the household measured overrides what was computed, and both are kept."""

from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.checks import check_all
from app.ledger.codes import code_of
from app.ledger.makeup import makeup_of
from app.ledger.models import Reading
from app.ledger.operations._post import Posted
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.measure import Measure, Value, measure
from app.ledger.operations.pack import pack, pack_verdicts
from app.ledger.queries.history import operations
from app.ledger.queries.lot import lot_page
from app.ledger.stock import StockRef, find_stock
from app.ledger.windows import keeping_of, key_of
from app.ledger.words import MeasuredBy, ReadingKind
from tests.builders import (
    FRIDGE,
    PANTRY,
    TODAY,
    G,
    a_pack,
    all_stock,
    do,
    dried,
    estimate_of,
    lot_of,
    made,
    pouches,
    refusal,
    take_in,
    units,
)

TOMORROW = TODAY + timedelta(days=1)
WATER, FAT, PROTEIN, SALT = (
    ReadingKind.WATER,
    ReadingKind.FAT,
    ReadingKind.PROTEIN,
    ReadingKind.SALT,
)


def value(kind: ReadingKind, fraction: float, spread: float | None = None) -> Value:
    by = MeasuredBy.METER if kind is WATER else MeasuredBy.FAT_TEST
    return Value(kind, fraction, by, f"{100 * fraction:g} %", spread)


def measured(session: Session, ref: StockRef, *values: Value) -> Posted:
    posted: Posted = do(session, measure, Measure(ref, values, TOMORROW))
    return posted


def test_a_fat_test_overrides_and_the_rest_makes_room(session: Session) -> None:
    ref = take_in(session)
    lot = lot_of(session, ref)
    measured(session, ref, value(FAT, 0.10))
    makeup = makeup_of(session, lot)
    assert makeup.composition.fat == 0.10
    assert makeup.computed.fat == lot.fat
    scale = (1 - 0.10) / (1 - lot.fat)  # conservation: the rest shares what fat leaves
    assert makeup.composition.protein == pytest.approx(lot.protein * scale)
    assert makeup.basis == "measured"
    assert check_all(session) == []


def test_no_mass_moves(session: Session) -> None:
    ref = take_in(session)
    before = all_stock(session)
    measured(session, ref, value(FAT, 0.10))
    assert all_stock(session) == before


def test_the_newest_reading_counts_and_older_ones_of_other_kinds_stay(session: Session) -> None:
    ref = take_in(session)
    measured(session, ref, value(FAT, 0.10), value(PROTEIN, 0.20))
    measured(session, ref, value(FAT, 0.12))
    composition = makeup_of(session, lot_of(session, ref)).composition
    assert (composition.fat, composition.protein) == (0.12, 0.20)


def test_an_older_reading_that_no_longer_fits_is_left_out(session: Session) -> None:
    ref = take_in(session)
    measured(session, ref, value(WATER, 0.75))
    measured(session, ref, value(FAT, 0.40))
    composition = makeup_of(session, lot_of(session, ref)).composition
    assert composition.fat == 0.40
    assert composition.water < 0.60


def test_a_meter_gives_the_range_of_the_water_one_point_unless_said(session: Session) -> None:
    ref = dried(session, weighed_back=False)
    measured(session, ref, value(WATER, 0.04))
    makeup = makeup_of(session, lot_of(session, ref))
    assert makeup.water_is_measured
    assert (makeup.water_low, makeup.water_high) == pytest.approx((0.03, 0.05))
    measured(session, ref, value(WATER, 0.04, 0.005))
    makeup = makeup_of(session, lot_of(session, ref))
    assert (makeup.water_low, makeup.water_high) == pytest.approx((0.035, 0.045))


def test_salt_raises_the_ash_but_never_lowers_it(session: Session) -> None:
    ref = take_in(session)
    ash = lot_of(session, ref).ash
    measured(session, ref, value(SALT, ash / 2))
    assert makeup_of(session, lot_of(session, ref)).composition.ash == pytest.approx(ash)
    measured(session, ref, value(SALT, 0.03))
    assert makeup_of(session, lot_of(session, ref)).composition.ash == 0.03


def test_the_windows_of_everything_of_the_lot_follow_at_once(session: Session) -> None:
    one, two, _ = pouches(session)
    before = [estimate_of(session, ref) for ref in (one, two)]
    keys = [kept.key for kept in before if kept]
    centrals = [kept.central for kept in before if kept]
    posted = measured(session, one, value(FAT, 0.25))
    after = [estimate_of(session, ref) for ref in (one, two)]
    for ref, kept, key, central in zip((one, two), after, keys, centrals, strict=True):
        assert kept is not None
        assert kept.key != key
        assert kept.central is not None
        assert central is not None
        assert kept.central <= central  # more fat never keeps longer
        row = find_stock(session, ref)
        assert row is not None
        inputs = keeping_of(session, row)
        assert inputs is not None
        assert kept.key == key_of(*inputs)
    do(session, correct, Correct(posted.operation_id, TOMORROW, "wrong lot"))
    assert [kept.key for ref in (one, two) if (kept := estimate_of(session, ref))] == keys


def test_taking_a_measure_back_brings_the_computed_composition_back(session: Session) -> None:
    ref = take_in(session)
    posted = measured(session, ref, value(FAT, 0.10))
    do(session, correct, Correct(posted.operation_id, TOMORROW))
    makeup = makeup_of(session, lot_of(session, ref))
    assert makeup.composition == makeup.computed
    assert makeup.measured == ()
    assert check_all(session) == []


def test_a_measure_is_not_taken_back_under_food_made_since(session: Session) -> None:
    ref = take_in(session)
    posted = measured(session, ref, value(FAT, 0.10))
    ground = do(session, grind, Grind((Part(ref, 500 * G),), "Mince", 500 * G, FRIDGE, TOMORROW))
    problem = refusal(session, correct, Correct(posted.operation_id, TOMORROW))
    assert problem.kind == "depended_on"
    assert problem.numbers["operations"] == [ground.operation_id]


def test_what_is_made_of_a_measured_lot_starts_from_what_was_measured(session: Session) -> None:
    lean, fatty = take_in(session), take_in(session)
    measured(session, fatty, value(FAT, 0.30))
    parts = (Part(lean, 500 * G), Part(fatty, 500 * G))
    mince = made(do(session, grind, Grind(parts, "Mince", 1000 * G, FRIDGE, TOMORROW)), FRIDGE)
    expected = (lot_of(session, lean).fat + 0.30) / 2
    assert lot_of(session, mince).fat == pytest.approx(expected)


def test_a_wet_reading_closes_the_gate_that_a_dry_estimate_opened(session: Session) -> None:
    ref = dried(session)
    lot = lot_of(session, ref)

    def stops() -> set[str]:
        return {v.id for v in pack_verdicts(session, lot) if v.outcome == "stop"}

    assert "ROP-WET" not in stops()
    measured(session, ref, value(WATER, 0.14))
    assert "ROP-WET" in stops()
    problem = refusal(session, pack, a_pack(ref, 100))
    assert problem.kind == "gate"


def test_a_packed_lot_keeps_the_measured_water_and_its_range(session: Session) -> None:
    ref = dried(session)
    measured(session, ref, value(WATER, 0.03, 0.005))
    (unit,) = units(do(session, pack, a_pack(ref, 100)), PANTRY)
    lot = lot_of(session, unit)
    assert lot.water == pytest.approx(0.03)
    assert (lot.water_low, lot.water_high) == pytest.approx((0.025, 0.035))
    assert lot.water_is_measured


def test_the_lot_page_and_its_history_know_the_measure(session: Session) -> None:
    ref = take_in(session)
    posted = measured(session, ref, value(FAT, 0.10))
    assert posted.operation_id in {op.id for op in operations(session, lot_id=ref.lot_id)}
    page = lot_page(session, code_of(ref.lot_id))
    assert [(v.kind, v.value, v.on) for v in page.measured] == [("fat", 0.10, TOMORROW)]
    assert page.computed.fat == lot_of(session, ref).fat
    row = session.scalars(select(Reading).where(Reading.operation_id == posted.operation_id)).one()
    assert (row.lot_id, row.measured_by, row.typed) == (ref.lot_id, "fat_test", "10 %")


def test_more_than_the_whole_is_refused(session: Session) -> None:
    ref = take_in(session)
    request = Measure(ref, (value(WATER, 0.80), value(FAT, 0.30)), TOMORROW)
    problem = refusal(session, measure, request)
    assert (problem.field, problem.kind) == ("fat", "impossible")


def test_a_fraction_above_one_and_a_measure_of_nothing_are_refused(session: Session) -> None:
    ref = take_in(session)
    assert refusal(session, measure, Measure(ref, (value(FAT, 1.2),), TOMORROW)).field == "fat"
    assert refusal(session, measure, Measure(ref, (), TOMORROW)).kind == "missing"


def test_a_lot_is_not_measured_before_it_was_made(session: Session) -> None:
    ref = take_in(session)
    request = Measure(ref, (value(FAT, 0.1),), TODAY - timedelta(days=1))
    assert refusal(session, measure, request).kind == "before_made"
