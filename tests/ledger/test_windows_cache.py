"""Kept windows are a cache: their loss loses nothing, and their key follows their inputs."""

import dataclasses
from datetime import date, timedelta

import pytest
from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from app.ledger import windows
from app.ledger.errors import Refused
from app.ledger.household import Settings, change_settings
from app.ledger.models import Base, Estimate, Place
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.leave import Leave, eat
from app.ledger.operations.move import Move, move
from app.ledger.operations.thaw import Thaw, thaw
from app.ledger.queries.stock import find_line
from app.ledger.stock import StockRef, find_stock, rebuild
from app.ledger.words import UnitSystem
from app.science.safety.thawing import ThawWay
from app.science.window import NoWindow, estimate
from tests.builders import (
    CELERY,
    FREEZER,
    FRIDGE,
    OLD,
    PANTRY,
    TODAY,
    G,
    do,
    estimate_of,
    lot_of,
    made,
    on_hand,
    pouches,
    take_in,
)

COLUMNS = [
    column.name for column in Base.metadata.tables["estimate"].columns if column.name != "stock_id"
]


def kept(session: Session) -> dict[StockRef, tuple[object, ...]]:
    """Every window by the stock it belongs to."""
    session.expire_all()
    return {
        ref: tuple(getattr(row, column) for column in COLUMNS)
        for row in session.scalars(select(Estimate))
        if (stock := session.get(windows.Stock, row.stock_id)) is not None
        for ref in [windows.ref_of(stock)]
    }


def a_larder(session: Session) -> list[StockRef]:
    """Food under several limits."""
    return [
        *pouches(session),
        take_in(session, place=FREEZER, kept_since=OLD),
        take_in(session, CELERY, place=FRIDGE),
    ]


def test_everything_on_hand_has_a_window_or_a_reason(session: Session) -> None:
    refs = a_larder(session)
    assert set(refs) <= set(kept(session))
    assert all(row[COLUMNS.index("limit_word")] for row in kept(session).values())


def test_deleting_every_window_loses_nothing(session: Session) -> None:
    a_larder(session)
    before = kept(session)
    session.execute(delete(Estimate))
    assert kept(session) == {}
    assert windows.refresh_all(session) == len(before)
    assert kept(session) == before


def test_history_does_not_depend_on_the_cache(session: Session) -> None:
    """What is thawed is as old whether or not its window was kept at that moment."""
    shares = []
    for clear in (False, True):
        ref = take_in(session, place=FREEZER, kept_since=OLD)
        if clear:
            session.execute(delete(Estimate))
            session.expire_all()
        request = Thaw(ref, 1000 * G, ThawWay.REFRIGERATOR, FRIDGE, TODAY)
        shares.append(lot_of(session, made(do(session, thaw, request), FRIDGE)).share_used)
    assert shares[0] == shares[1] > 0.5


def test_rebuilding_the_stock_from_the_entries_changes_nothing(session: Session) -> None:
    refs = a_larder(session)
    do(session, eat, Leave((refs[0],), TODAY + timedelta(days=1)))
    masses, dates = {ref: on_hand(session, ref) for ref in refs}, kept(session)
    rebuild(session)
    session.expire_all()
    windows.refresh_all(session)
    assert {ref: on_hand(session, ref) for ref in refs} == masses
    assert kept(session) == dates


def test_a_window_is_what_the_science_says_of_these_inputs(session: Session) -> None:
    for ref in a_larder(session):
        row, cached = find_stock(session, ref), estimate_of(session, ref)
        assert row is not None
        assert cached is not None
        inputs = windows.keeping_of(session, row)
        assert inputs is not None
        start, keeping = inputs
        answer = estimate(keeping)
        if isinstance(answer, NoWindow):
            assert cached.early is None
            continue
        assert cached.early == start + timedelta(days=int(answer.early_days))
        assert cached.central == start + timedelta(days=int(answer.central_days))
        assert cached.late == start + timedelta(days=int(answer.late_days))


def test_a_move_changes_the_key_and_the_dates(session: Session) -> None:
    one, two, _ = pouches(session)
    before = estimate_of(session, two)
    assert before is not None
    key = before.key
    do(session, move, Move((two,), FREEZER, TODAY + timedelta(days=1)))
    moved = estimate_of(session, StockRef(two.lot_id, FREEZER, two.package_id))
    still = estimate_of(session, one)
    assert moved is not None
    assert still is not None
    assert moved.key != key == still.key


def test_a_warmer_place_changes_the_key_when_it_is_refreshed(session: Session) -> None:
    one, *_ = pouches(session)
    before = kept(session)[one]
    pantry = session.get_one(Place, PANTRY)
    pantry.temp_low_c, pantry.temp_c, pantry.temp_high_c = 24.0, 28.0, 32.0
    session.flush()
    windows.refresh_all(session)
    after = kept(session)[one]
    assert after[COLUMNS.index("key")] != before[COLUMNS.index("key")]
    assert after[COLUMNS.index("central")] < before[COLUMNS.index("central")]  # type: ignore[operator]


def test_a_higher_household_changes_the_key_when_it_is_refreshed(session: Session) -> None:
    one, *_ = pouches(session)
    before = kept(session)[one]
    change_settings(session, Settings("Birkbrae", UnitSystem.METRIC, 2400.0, "Europe/London"))
    windows.refresh_all(session)
    assert kept(session)[one][0] != before[0]


def test_a_new_model_changes_every_key(session: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    a_larder(session)
    before = kept(session)
    monkeypatch.setattr(windows, "MODEL_VERSION", "another")
    windows.refresh_all(session)
    after = kept(session)
    assert after.keys() == before.keys()
    assert all(after[ref][0] != before[ref][0] for ref in before)


def test_the_same_inputs_have_the_same_key_and_any_other_input_another(session: Session) -> None:
    one, *_ = pouches(session)
    row = find_stock(session, one)
    assert row is not None
    inputs = windows.keeping_of(session, row)
    assert inputs is not None
    start, keeping = inputs
    key = windows.key_of(start, keeping)
    assert windows.key_of(start, dataclasses.replace(keeping)) == key
    changes = {
        "net_mass_kg": 0.081,
        "altitude_m": 0.0,
        "opened_day": 3.0,
        "share_used": 0.1,
        "absorber_ml": 100.0,
        "sealed_pressure_fraction": 0.5,
        "seal_checked": False,
        "water_high": 0.09,
    }
    others = {
        windows.key_of(start, dataclasses.replace(keeping, **{name: value}))
        for name, value in changes.items()
    }
    others.add(windows.key_of(start + timedelta(days=1), keeping))
    assert len(others | {key}) == len(changes) + 2


def test_a_refresh_with_nothing_new_writes_nothing(session: Session) -> None:
    a_larder(session)
    session.expire_all()
    windows.refresh_all(session)
    assert not session.dirty
    assert not session.new


def test_food_outside_the_model_gets_a_reason_instead_of_dates(session: Session) -> None:
    """A crumb of a milligram is still on hand and still on the lists."""
    ref = take_in(session, mass_g=1)
    do(session, eat, Leave((ref,), TODAY, mass_mg=1 * G - 1))
    line = find_line(session, ref)
    assert line is not None
    assert line.mass_mg == 1
    assert line.limit_word is not None


def test_a_refused_posting_leaves_the_windows_as_they_were(session: Session) -> None:
    ref = take_in(session)
    before = kept(session)
    request = Grind((Part(ref, 1000 * G),), "Mince", 999 * G, FRIDGE, TODAY)
    with pytest.raises(Refused), session.begin_nested():
        do(session, grind, request)
    assert kept(session) == before


def test_share_used_grows_with_the_days_and_ends_at_one_after_the_central_date(
    session: Session,
) -> None:
    ref = take_in(session, place=FREEZER, on=date(2025, 1, 1), kept_since=date(2025, 1, 1))
    cached = estimate_of(session, ref)
    assert cached is not None
    assert cached.central is not None
    halfway = cached.start + (cached.central - cached.start) / 2
    shares = [
        windows.share_used(session, ref, on=day)
        for day in (cached.start, halfway, cached.central + timedelta(days=2))
    ]
    assert shares[0] == 0.0
    assert shares[1] == pytest.approx(0.5, abs=0.02)
    assert shares[2] == 1.0
