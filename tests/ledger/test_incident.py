"""Something went wrong: its evidence, what it discards and holds, and one correction for all."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger import windows
from app.ledger.checks import check_all
from app.ledger.holds import active_holds, holds_on
from app.ledger.models import Checkpoint, Hold, Incident, IncidentLot, Operation, Stock
from app.ledger.operations._post import Posted
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.hold import LiftHold, release
from app.ledger.operations.incident import LotFate, WentWrong, went_wrong
from app.ledger.operations.leave import Leave, eat
from app.ledger.operations.open import Open, open_package
from app.ledger.stock import StockRef, find_stock, rebuild
from app.ledger.words import IncidentFate, IncidentKind, ReleaseCause
from app.science.safety.catalogue import BY_ID
from app.science.safety.rule import Outcome, Verdict
from tests.builders import (
    FREEZER,
    FRIDGE,
    PANTRY,
    PORK,
    TODAY,
    TROUT,
    G,
    all_stock,
    do,
    estimate_of,
    evening,
    lost,
    on_hand,
    pouches,
    refusal,
    refused_kinds,
    take_in,
)

LATER = TODAY + timedelta(days=30)
FATE = IncidentFate
ADVICE = {"advice": "Thawed and warm for over two hours: discard it."}
STOP = Verdict(BY_ID["OUT-FREEZER"], Outcome.STOP, ADVICE)
PASS = Verdict(BY_ID["OUT-FREEZER"], Outcome.PASS, {"advice": "Still hard: refreeze it."})
FROM = datetime(2025, 11, 18, 6, tzinfo=UTC)
TO = datetime(2025, 11, 19, 9, tzinfo=UTC)


def fate(ref: StockRef, what: IncidentFate, *verdicts: Verdict, **changes: Any) -> LotFate:
    return LotFate(ref, what, verdicts, **changes)


def happened(*lots: LotFate, **changes: Any) -> WentWrong:
    """A request: the freezer was off from FROM to TO, unless told otherwise."""
    told = {"place_id": FREEZER, "from_at": FROM, "to_at": TO, "temp_c": 9.0, "warm_hours": 5.0}
    return WentWrong(IncidentKind.POWER_OUT, LATER, lots, **(told | changes))


def post(session: Session, *lots: LotFate, **changes: Any) -> Posted:
    posted: Posted = do(session, went_wrong, happened(*lots, **changes))
    return posted


def take_back(session: Session, posted: Posted) -> Posted:
    result: Posted = do(session, correct, Correct(posted.operation_id, LATER, "wrong freezer"))
    return result


def counts(session: Session) -> list[int]:
    tables = (Operation, Incident, IncidentLot, Hold)
    return [session.scalar(select(func.count()).select_from(table)) or 0 for table in tables]


def a_freezer(session: Session) -> tuple[StockRef, StockRef, StockRef]:
    return (
        take_in(session, place=FREEZER),
        take_in(session, PORK, 800, place=FREEZER),
        take_in(session, TROUT, 600, place=FREEZER),
    )


def test_what_was_told_of_each_food_is_kept_with_its_rule(session: Session) -> None:
    moose, pork, _ = a_freezer(session)
    posted = post(
        session,
        fate(moose, FATE.REFREEZE, PASS, is_icy=True, warm_hours=0.0, temp_c=1.0),
        fate(pork, FATE.DISCARD, STOP, is_icy=False, warm_hours=5.0, temp_c=9.0),
        note="the plug",
    )
    told = session.get_one(Incident, posted.operation_id)
    assert (told.kind, told.place_id, told.from_at, told.to_at) == ("power_out", FREEZER, FROM, TO)
    assert (told.temp_c, told.warm_hours) == (9.0, 5.0)
    rows = session.scalars(select(IncidentLot).order_by(IncidentLot.lot_id)).all()
    assert [(row.lot_id, row.fate, row.is_icy, row.temp_c) for row in rows] == [
        (moose.lot_id, "refreeze", True, 1.0),
        (pork.lot_id, "discard", False, 9.0),
    ]
    spoken = session.scalars(
        select(Checkpoint)
        .where(Checkpoint.operation_id == posted.operation_id)
        .order_by(Checkpoint.lot_id)
    ).all()
    assert [(c.lot_id, c.rule, c.outcome) for c in spoken] == [
        (moose.lot_id, "OUT-FREEZER", "pass"),
        (pork.lot_id, "OUT-FREEZER", "stop"),
    ]
    assert spoken[1].sentence.startswith(ADVICE["advice"])
    assert check_all(session) == []


def test_a_whole_freezer_is_settled_at_once_and_taken_back_at_once(session: Session) -> None:
    moose, pork, trout = a_freezer(session)
    before = all_stock(session)
    lines = (
        fate(moose, FATE.REFREEZE, PASS, temp_c=1.0),
        fate(pork, FATE.DISCARD, STOP),
        fate(trout, FATE.LOOK),
    )
    posted = post(session, *lines)
    incident = session.get_one(Incident, posted.operation_id)
    assert on_hand(session, pork) == 0
    assert [str(each.cause) for each in holds_on(session, trout.lot_id)] == ["look_first"]
    assert refused_kinds(session, eat, Leave((trout,), LATER)) == {"on_hold"}
    assert incident.discard_id is not None
    assert incident.held_id is not None
    assert max(incident.discard_id, incident.held_id) < posted.operation_id  # so undo finds it last
    assert lost(session, Posted(incident.discard_id)) == {"discarded": 800 * G}
    take_back(session, posted)
    assert all_stock(session) == before
    assert active_holds(session) == []
    assert check_all(session) == []
    post(session, *lines)  # and told again
    assert on_hand(session, pork) == 0
    assert len(active_holds(session)) == 1
    assert check_all(session) == []


def test_what_was_taken_back_singly_is_left_when_the_rest_is(session: Session) -> None:
    moose, pork, trout = a_freezer(session)
    before = all_stock(session)
    lines = (fate(moose, FATE.DISCARD), fate(pork, FATE.LOOK), fate(trout, FATE.KEEP))
    posted = post(session, *lines)
    incident = session.get_one(Incident, posted.operation_id)
    assert incident.discard_id is not None
    take_back(session, Posted(incident.discard_id))
    assert all_stock(session) == before
    take_back(session, posted)
    assert all_stock(session) == before
    assert active_holds(session) == []
    again = refusal(session, correct, Correct(posted.operation_id, LATER))
    assert again.kind == "already_reversed"
    assert check_all(session) == []


def test_taking_back_after_somebody_looked_leaves_no_hold(session: Session) -> None:
    moose, *_ = a_freezer(session)
    posted = post(session, fate(moose, FATE.LOOK))
    (held,) = active_holds(session)
    lift = LiftHold((held.id,), ReleaseCause.LOOKED_FINE, LATER)
    lifting = do(session, release, lift)
    take_back(session, posted)
    assert active_holds(session) == []
    take_back(session, lifting)  # lifting what no longer stands changes nothing
    assert active_holds(session) == []
    assert check_all(session) == []


def test_one_lot_to_look_at_in_three_packages_has_one_hold(session: Session) -> None:
    refs = pouches(session, 80, 80, 80)
    post(session, *(fate(ref, FATE.LOOK) for ref in refs), place_id=PANTRY)
    assert len(active_holds(session)) == 1


# -- opened and worn ---------------------------------------------------------------------------


def kept(session: Session, ref: StockRef) -> tuple[object, ...]:
    session.expire_all()
    row, window = find_stock(session, ref), estimate_of(session, ref)
    assert row is not None
    assert window is not None
    return row.opened_on, window.early, window.central, window.late, window.limit_word


def leaking(ref: StockRef, since: date | None) -> WentWrong:
    return WentWrong(IncidentKind.SEAL_FAILED, LATER, (fate(ref, FATE.OPENED, since=since),))


def test_a_package_whose_seal_failed_counts_as_opened_from_that_day(session: Session) -> None:
    leaky, tight = pouches(session, 80, 80)
    before = kept(session, leaky), kept(session, tight)
    since = TODAY + timedelta(days=10)
    posted = do(session, went_wrong, leaking(leaky, since))
    opened_on, _, central, _, _ = kept(session, leaky)
    assert opened_on == since
    assert isinstance(central, date)
    assert isinstance(before[0][2], date)
    assert central < before[0][2]
    assert kept(session, tight) == before[1]
    assert check_all(session) == []
    rebuild(session)
    windows.refresh_all(session)
    assert kept(session, leaky)[:3] == (since, kept(session, leaky)[1], central)
    take_back(session, posted)
    assert kept(session, leaky) == before[0]
    do(session, went_wrong, leaking(leaky, since))
    assert kept(session, leaky)[0] == since


@pytest.mark.parametrize("opened_after", [5, 20])
def test_of_two_openings_the_earlier_counts(session: Session, opened_after: int) -> None:
    (pouch,) = pouches(session, 80)
    opening = TODAY + timedelta(days=opened_after)
    opened = do(session, open_package, Open((pouch,), opening))
    failed = TODAY + timedelta(days=10)
    incident = do(session, went_wrong, leaking(pouch, failed))
    assert kept(session, pouch)[0] == min(opening, failed)
    take_back(session, opened)
    assert kept(session, pouch)[0] == failed
    take_back(session, incident)
    assert kept(session, pouch)[0] is None


@pytest.mark.parametrize("what", [FATE.OPENED, FATE.WORN])
def test_without_a_day_it_counts_from_the_day_it_was_seen(
    session: Session, what: IncidentFate
) -> None:
    (pouch,) = pouches(session, 80)
    do(session, went_wrong, WentWrong(IncidentKind.WORN, LATER, (fate(pouch, what),)))
    assert session.scalars(select(IncidentLot.since)).all() == [LATER]
    assert check_all(session) == []


def test_a_seal_that_failed_before_it_was_packed_leaves_a_window(session: Session) -> None:
    (pouch,) = pouches(session, 80)
    do(session, went_wrong, leaking(pouch, TODAY - timedelta(days=400)))
    assert kept(session, pouch)[4] != windows.OUTSIDE_MODEL


def test_what_was_seen_to_be_past_its_best_ends_its_window_that_day(session: Session) -> None:
    worn, fine = pouches(session, 80, 80)
    before = kept(session, worn), kept(session, fine)
    since = TODAY + timedelta(days=20)
    request = WentWrong(IncidentKind.WORN, LATER, (fate(worn, FATE.WORN, since=since),))
    posted = do(session, went_wrong, request)
    _, early, central, late, limit = kept(session, worn)
    assert (central, late, limit) == (since, since, windows.SEEN_WORN)
    assert early == min(since, before[0][1])  # type: ignore[type-var]
    assert kept(session, fine) == before[1]
    windows.refresh(session, session.scalars(select(Stock)).all())
    assert kept(session, worn)[2] == since  # also after the cache was looked at again
    take_back(session, posted)
    assert kept(session, worn) == before[0]


def test_of_two_days_on_which_it_was_seen_the_first_counts(session: Session) -> None:
    (pouch,) = pouches(session, 80)
    days = [TODAY + timedelta(days=n) for n in (25, 20)]
    for since in days:
        request = WentWrong(IncidentKind.WORN, LATER, (fate(pouch, FATE.WORN, since=since),))
        do(session, went_wrong, request)
    assert kept(session, pouch)[2] == days[1]


# -- what is refused ---------------------------------------------------------------------------


def test_an_incident_of_no_food_is_refused(session: Session) -> None:
    assert refusal(session, went_wrong, happened()).kind == "missing"


def test_an_end_before_its_beginning_is_refused(session: Session) -> None:
    """As when a clock was set back while the power was off."""
    moose, *_ = a_freezer(session)
    request = happened(fate(moose, FATE.KEEP), from_at=TO, to_at=FROM)
    problem = refusal(session, went_wrong, request)
    assert (problem.field, problem.kind) == ("to_at", "before_begin")
    post(session, fate(moose, FATE.KEEP), from_at=TO, to_at=TO)  # an instant is no spell, but true
    assert check_all(session) == []


@pytest.mark.parametrize("field", ["from_at", "to_at"])
def test_what_has_not_happened_yet_is_refused(session: Session, field: str) -> None:
    moose, *_ = a_freezer(session)
    soon = evening(LATER) + timedelta(minutes=1)
    request = happened(fate(moose, FATE.KEEP), **({"from_at": None, "to_at": None} | {field: soon}))
    problem = refusal(session, went_wrong, request)
    assert (problem.field, problem.kind) == (field, "in_future")
    line = fate(moose, FATE.WORN, since=LATER + timedelta(days=1))
    assert refused_kinds(session, went_wrong, happened(line)) == {"in_future"}


def test_food_that_is_not_there_is_refused_and_nothing_is_written(session: Session) -> None:
    moose, pork, _ = a_freezer(session)
    before = counts(session), all_stock(session)
    gone = StockRef(pork.lot_id, FRIDGE)
    lines = (fate(moose, FATE.DISCARD), fate(gone, FATE.DISCARD))
    assert refusal(session, went_wrong, happened(*lines)).kind == "not_on_hand"
    nobody = fate(StockRef(999, FREEZER), FATE.KEEP)
    assert refusal(session, went_wrong, happened(nobody)).kind == "unknown_lot"
    assert (counts(session), all_stock(session)) == before


@pytest.mark.parametrize("what", [FATE.KEEP, FATE.REFREEZE, FATE.LOOK, FATE.USE_NOW])
def test_a_rule_that_says_discard_is_overruled_only_with_a_reason(
    session: Session, what: IncidentFate
) -> None:
    moose, pork, _ = a_freezer(session)
    before = counts(session)
    lines = (fate(pork, FATE.DISCARD, STOP), fate(moose, what, STOP, reason="  "))
    problem = refusal(session, went_wrong, happened(*lines))
    assert (problem.field, problem.kind) == ("lots[1]", "needs_reason")
    assert problem.numbers["rule"] == "OUT-FREEZER"
    assert counts(session) == before
    posted = post(session, fate(moose, what, STOP, reason="the probe lay on the lid"))
    reasons = select(Checkpoint.reason).where(Checkpoint.operation_id == posted.operation_id)
    assert session.scalars(reasons).all() == ["the probe lay on the lid"]


def test_the_same_food_is_not_discarded_twice(session: Session) -> None:
    moose, *_ = a_freezer(session)
    before = counts(session), all_stock(session)
    line = fate(moose, FATE.DISCARD)
    assert "not_on_hand" in refused_kinds(session, went_wrong, happened(line, line))
    assert (counts(session), all_stock(session)) == before
