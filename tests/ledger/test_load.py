"""Load: food onto the trays of a dryer; a run begins."""

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.makeup import composition_of
from app.ledger.models import Checkpoint, Run, Tray
from app.ledger.operations.load import Load, TrayLoaded, load
from app.ledger.operations.measure import Measure, Value, measure
from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.stock import StockRef
from app.ledger.words import MeasuredBy, ReadingKind
from tests.builders import (
    APPLES,
    BENCH,
    DEHYDRATOR,
    FREEZE_DRYER,
    FRIDGE,
    SWEETCORN,
    TODAY,
    G,
    a_pot,
    a_tray,
    cooked,
    do,
    estimate_of,
    evening,
    loaded,
    lot_of,
    made,
    on_hand,
    refusal,
    refused_kinds,
    take_in,
)


def a_load(*trays: TrayLoaded, place: int = FREEZE_DRYER, reason: str = "") -> Load:
    return Load(place, trays, TODAY, reason=reason)


def test_trays_are_numbered_in_order_and_keep_what_was_typed(session: Session) -> None:
    ref = cooked(session)
    _, run_id = do(session, load, a_load(a_tray(ref, 400), a_tray(ref, 350), a_tray(ref, 250)))
    trays = session.scalars(select(Tray).where(Tray.run_id == run_id).order_by(Tray.number))
    assert [(t.number, t.gross_mg - t.tare_mg, t.gross_typed) for t in trays] == [
        (1, 400 * G, "1000"),
        (2, 350 * G, "950"),
        (3, 250 * G, "850"),
    ]
    run = session.get_one(Run, run_id)
    assert (run.place_id, run.started_at) == (FREEZE_DRYER, evening(TODAY))


def test_the_food_is_the_same_lot_in_another_place_and_has_no_window_there(
    session: Session,
) -> None:
    ref = cooked(session)
    loaded(session, a_tray(ref, 700))
    there = StockRef(ref.lot_id, FREEZE_DRYER)
    assert (on_hand(session, ref), on_hand(session, there)) == (300 * G, 700 * G)
    assert estimate_of(session, there) is None
    assert estimate_of(session, ref) is not None


def test_freeze_drying_cooked_meat_asks_nothing(session: Session) -> None:
    posted, _ = do(session, load, a_load(a_tray(cooked(session), 1000)))
    query = select(Checkpoint).where(Checkpoint.operation_id == posted.operation_id)
    assert session.scalars(query).all() == []


def test_freeze_drying_raw_meat_is_noted_and_it_stays_raw(session: Session) -> None:
    ref = take_in(session)
    posted, _ = do(session, load, a_load(a_tray(ref, 1000)))
    query = select(Checkpoint.rule).where(Checkpoint.operation_id == posted.operation_id)
    assert session.scalars(query).all() == ["FD-RAW"]
    assert lot_of(session, ref).is_raw


def test_raw_meat_in_warm_air_needs_a_reason_or_is_stopped(session: Session) -> None:
    request = a_load(a_tray(take_in(session), 1000), place=DEHYDRATOR)
    assert refused_kinds(session, load, request) & {"gate", "needs_reason"}


def test_raw_and_ready_food_share_a_dryer_only_with_a_reason(session: Session) -> None:
    meat, corn = take_in(session), take_in(session, SWEETCORN)
    trays = (a_tray(meat, 1000), a_tray(corn, 500))
    assert refusal(session, load, a_load(*trays)).kind == "needs_reason"
    do(session, load, a_load(*trays, reason="all of it will be cooked"))


def test_no_tray_is_refused(session: Session) -> None:
    assert refusal(session, load, a_load()).field == "trays"


def test_a_tray_heavier_empty_than_full_is_refused_at_its_number(session: Session) -> None:
    ref = cooked(session)
    request = a_load(a_tray(ref, 500), a_tray(ref, 0))
    problem = refusal(session, load, request)
    assert (problem.field, problem.kind) == ("trays[1].tare", "tare_above_gross")


def test_more_on_the_trays_than_there_is_is_refused_at_the_last_of_them(session: Session) -> None:
    ref = cooked(session)
    problem = refusal(session, load, a_load(a_tray(ref, 600), a_tray(ref, 401)))
    assert (problem.field, problem.kind) == ("trays[1].gross", "not_on_hand")
    assert problem.numbers["taken_mg"] == 1001 * G


def test_only_a_dryer_can_be_loaded(session: Session) -> None:
    for place in (FRIDGE, BENCH):
        problem = refusal(session, load, a_load(a_tray(cooked(session), 100), place=place))
        assert (problem.field, problem.kind) == ("place_id", "wrong_place")


def test_a_dryer_that_runs_cannot_be_loaded_but_the_other_can(session: Session) -> None:
    apples = take_in(session, APPLES)
    loaded(session, a_tray(apples, 300))
    second = a_load(a_tray(apples, 300))
    assert refusal(session, load, second).kind == "wrong_state"
    loaded(session, a_tray(apples, 300), place=DEHYDRATOR)


def test_the_thinnest_broth_can_be_dried(session: Session) -> None:
    """The balance of the solids holds for it as for any food."""
    thin = a_pot(session, meat_g=2, water_g=2000)
    assert composition_of(session, lot_of(session, thin)).water > 0.99
    run_id = loaded(session, a_tray(thin, 1000))
    out = do(session, unload, Unload(run_id, (DryMade(thin.lot_id, 1 * G),), BENCH, TODAY))
    solids = 1000 * (1 - composition_of(session, lot_of(session, thin)).water)  # of 1000 g
    dry = lot_of(session, made(out, BENCH))
    assert dry.water_low is not None
    assert dry.water_high is not None
    assert dry.water_low < 1 - solids / 1 < dry.water_high


def test_nothing_but_water_on_a_tray_is_refused_where_it_is_typed(session: Session) -> None:
    pot = a_pot(session)
    water = Value(ReadingKind.WATER, 1.0, MeasuredBy.OVEN, "100")
    do(session, measure, Measure(pot, (water,), TODAY))
    assert refusal(session, load, a_load(a_tray(pot, 1000))).field == "trays[0].gross"
