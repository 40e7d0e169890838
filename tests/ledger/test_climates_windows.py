"""What a place's climate, and what went wrong, do to the windows of the food that was there."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger import windows
from app.ledger.climates import Warmth
from app.ledger.household import PlaceIn, add_place
from app.ledger.models import Estimate, Stock
from app.ledger.operations._post import Posted
from app.ledger.operations.climate import ChangeClimate, SaidClimate, change_climate
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.incident import LotFate, WentWrong, went_wrong
from app.ledger.operations.move import Move, move
from app.ledger.operations.pack import pack
from app.ledger.operations.portion import Portion, portion
from app.ledger.stock import StockRef, find_stock
from app.ledger.words import IncidentFate, IncidentKind, PlaceKind
from app.science.history import Stay, Storage
from tests.builders import (
    BENCH,
    FREEZER,
    FRIDGE,
    PANTRY,
    TODAY,
    G,
    a_pack,
    do,
    dried,
    estimate_of,
    lot_of,
    made,
    pouches,
    take_in,
    units,
)

LATER = TODAY + timedelta(days=60)
MIDNIGHT = datetime(2025, 10, 20, 23, tzinfo=UTC)  # of 21 October in summer time: day 0 of pouches


def warm(usual: float) -> Warmth:
    return Warmth(usual - 2.0, usual, usual + 2.0, 0.6)


def say(
    session: Session, usual: float, *, since: datetime, place: int = PANTRY, on: date = LATER
) -> Posted:
    said = (SaidClimate(since, (warm(usual),)),)
    posted: Posted = do(session, change_climate, ChangeClimate(place, on, said))
    return posted


def take_back(session: Session, posted: Posted, on: date = LATER) -> None:
    do(session, correct, Correct(posted.operation_id, on))


def window(session: Session, ref: StockRef) -> tuple[date | None, ...]:
    kept = estimate_of(session, ref)
    assert kept is not None
    return kept.early, kept.central, kept.late


def central(session: Session, ref: StockRef) -> date:
    day = window(session, ref)[1]
    assert day is not None
    return day


def history(session: Session, ref: StockRef) -> tuple[Stay, ...]:
    row = find_stock(session, ref)
    assert row is not None
    inputs = windows.keeping_of(session, row)
    assert inputs is not None
    return inputs[1].history


def as_kept(session: Session) -> dict[int, tuple[object, ...]]:
    session.expire_all()
    rows = session.scalars(select(Estimate)).all()
    return {e.stock_id: (e.key, e.start, e.early, e.central, e.late, e.payload) for e in rows}


def is_in_step(session: Session) -> bool:
    """Would working every window out anew change any?"""
    before = as_kept(session)
    windows.refresh(session, session.scalars(select(Stock)).all())
    return as_kept(session) == before


def wrong(session: Session, *lots: LotFate, on: date = LATER, **changes: Any) -> Posted:
    request = WentWrong(IncidentKind.KEPT_WARM, on, lots, **changes)
    posted: Posted = do(session, went_wrong, request)
    return posted


def ground(ref: StockRef, on: date) -> Grind:
    return Grind((Part(ref, 40 * G),), "Powder", 40 * G, BENCH, on)


# -- climates ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("usual", "is_sooner"), [(28.0, True), (6.0, False)])
def test_a_place_that_is_warmer_from_today_ends_windows_sooner(
    session: Session, usual: float, is_sooner: bool
) -> None:
    (pouch,) = pouches(session, 80)
    before = window(session, pouch)
    all_before = as_kept(session)
    posted = say(session, usual, since=MIDNIGHT)
    after = window(session, pouch)
    assert (str(after[1]) < str(before[1])) is is_sooner
    assert is_in_step(session)
    take_back(session, posted)
    assert as_kept(session) == all_before
    again = say(session, usual, since=MIDNIGHT)
    assert window(session, pouch) == after
    take_back(session, again)


def test_the_sooner_it_was_warm_the_sooner_the_window_ends(session: Session) -> None:
    (pouch,) = pouches(session, 80)
    ends = []
    for days in (55, 35, 5):
        posted = say(session, 28.0, since=MIDNIGHT + timedelta(days=days))
        ends.append(central(session, pouch))
        take_back(session, posted)
    assert ends == sorted(ends, reverse=True)
    assert len(set(ends)) == 3


def test_what_lies_elsewhere_keeps_its_window(session: Session) -> None:
    pouches(session, 80)
    frozen = take_in(session, place=FREEZER)
    row = find_stock(session, frozen)
    assert row is not None
    before = as_kept(session)[row.id]
    say(session, 28.0, since=datetime(2025, 11, 1, tzinfo=UTC))
    assert as_kept(session)[row.id] == before


def test_what_only_passed_through_is_aged_by_the_past_climate_of_that_place(
    session: Session,
) -> None:
    (pouch,) = pouches(session, 80)
    do(session, move, Move((pouch,), FREEZER, LATER))
    there = StockRef(pouch.lot_id, FREEZER, pouch.package_id)
    before = central(session, there)
    posted = say(session, 30.0, since=datetime(2025, 11, 1, tzinfo=UTC))
    assert central(session, there) < before
    stays = history(session, there)
    assert [stay.storage for stay in stays] == [Storage.ROOM, Storage.ROOM, Storage.FREEZER]
    take_back(session, posted)
    # what the pantry was after it had gone does not matter
    say(session, 30.0, since=datetime(2025, 12, 20, 8, tzinfo=UTC), on=date(2025, 12, 21))
    assert central(session, there) == before
    assert is_in_step(session)


def test_a_year_of_seasons_lies_between_its_coldest_and_its_warmest_month(
    session: Session,
) -> None:
    (pouch,) = pouches(session, 80)
    since = datetime(2025, 10, 1, tzinfo=UTC)
    months = [6.0, 6.0, 8.0, 10.0, 13.0, 17.0, 20.0, 20.0, 16.0, 12.0, 9.0, 7.0]
    said = (SaidClimate(since, tuple(warm(usual) for usual in months)),)
    do(session, change_climate, ChangeClimate(PANTRY, LATER, said))
    seasons = central(session, pouch)
    coldest, warmest = (
        central(session, pouch) for usual in (6.0, 20.0) if say(session, usual, since=since)
    )
    assert warmest < seasons < coldest


def test_what_comes_there_later_lies_in_the_climate_that_was_said(session: Session) -> None:
    food = dried(session, 640, 160)
    day = TODAY + timedelta(days=2)
    early = units(do(session, pack, a_pack(food, 80, done_on=day)), PANTRY)[0]
    say(session, 28.0, since=datetime(2025, 10, 1, tzinfo=UTC), on=day)
    late = units(do(session, pack, a_pack(food, 80, done_on=day)), PANTRY)[0]
    assert history(session, early) == history(session, late)


def test_two_changes_in_the_hour_that_comes_twice_leave_a_window(session: Session) -> None:
    """Clocks go back on 26 October 2025 at two in the morning (SI 2002/262)."""
    (pouch,) = pouches(session, 80)
    for minute, usual in ((50, 12.0), (70, 16.0)):  # 01:50 in summer time, then 01:10
        at = datetime(2025, 10, 26, 0, 0, tzinfo=UTC) + timedelta(minutes=minute)
        say(session, usual, since=at)
    days = [stay.start_day for stay in history(session, pouch)]
    assert days == sorted(days)
    assert history(session, pouch)[-1].temp_c == 16.0
    kept = estimate_of(session, pouch)
    assert kept is not None
    assert kept.limit_word != windows.OUTSIDE_MODEL


def test_a_day_is_a_day_also_when_the_clocks_change(session: Session) -> None:
    (pouch,) = pouches(session, 80)
    say(session, 20.0, since=datetime(2025, 12, 10, tzinfo=UTC))  # midnight in winter time
    assert history(session, pouch)[1].start_day == (date(2025, 12, 10) - date(2025, 10, 21)).days


def test_food_passes_on_the_age_that_a_warm_place_gave_it(session: Session) -> None:
    (pouch,) = pouches(session, 80)
    cool = windows.share_used(session, pouch, on=LATER)
    say(session, 30.0, since=datetime(2025, 11, 1, tzinfo=UTC))
    powder = made(do(session, grind, ground(pouch, LATER)), BENCH)
    assert lot_of(session, powder).share_used > 1.2 * cool


def test_a_climate_said_of_the_dryer_gives_no_window_there(session: Session) -> None:
    say(session, 30.0, since=MIDNIGHT, place=5)
    pouches(session, 80)
    assert is_in_step(session)


# -- what went wrong ---------------------------------------------------------------------------


def kept_warm(ref: StockRef, temp_c: float, fate: IncidentFate = IncidentFate.KEEP) -> LotFate:
    return LotFate(ref, fate, (), temp_c=temp_c)


def test_a_hot_week_on_the_shelf_ages_food_and_undoing_it_does_not(session: Session) -> None:
    """Warmer is never better: the hours count as warm as they were told, not as refrigerated."""
    hot, cool = pouches(session, 80, 80)
    before = as_kept(session)
    first = central(session, hot)
    spell = {"from_at": MIDNIGHT + timedelta(days=30), "to_at": MIDNIGHT + timedelta(days=55)}
    posted = wrong(session, kept_warm(hot, 40.0), temp_c=40.0, **spell)
    assert central(session, hot) < first
    assert central(session, cool) == first
    days = [(stay.start_day, stay.temp_c) for stay in history(session, hot)]
    assert days == [(0.0, 15.0), (30.0, 40.0), (55.0, 15.0)]
    take_back(session, posted)
    assert as_kept(session) == before


def test_something_hotter_than_the_science_knows_is_taken_for_its_hottest(
    session: Session,
) -> None:
    (pouch,) = pouches(session, 80)
    spell = {"from_at": MIDNIGHT + timedelta(days=3), "to_at": MIDNIGHT + timedelta(days=4)}
    wrong(session, kept_warm(pouch, 70.0), **spell)
    assert max(stay.temp_c for stay in history(session, pouch)) == 45.0


def test_nothing_that_went_wrong_makes_food_colder_than_its_place(session: Session) -> None:
    (pouch,) = pouches(session, 80)
    first = central(session, pouch)
    spell = {"from_at": MIDNIGHT + timedelta(days=3), "to_at": MIDNIGHT + timedelta(days=50)}
    wrong(session, kept_warm(pouch, 2.0), **spell)
    assert central(session, pouch) == first


def test_refrozen_food_counts_as_refrigerated_while_the_freezer_was_off(session: Session) -> None:
    frozen = take_in(session, place=FREEZER)
    first = central(session, frozen)
    spell = {"from_at": MIDNIGHT, "to_at": MIDNIGHT + timedelta(hours=30)}
    line = kept_warm(frozen, 9.0, IncidentFate.REFREEZE)
    wrong(session, line, place_id=FREEZER, **spell)
    stays = history(session, frozen)
    assert [stay.temp_c for stay in stays] == [-18.0, 5.0, -18.0]
    assert stays[2].start_day - stays[1].start_day == pytest.approx(30 / 24)
    assert central(session, frozen) < first


def test_spells_that_overlap_are_laid_one_into_the_other(session: Session) -> None:
    (pouch,) = pouches(session, 80)
    for first, last, temp_c in ((10, 20, 30.0), (15, 25, 35.0), (16, 17, 40.0)):
        spell = {
            "from_at": MIDNIGHT + timedelta(days=first),
            "to_at": MIDNIGHT + timedelta(days=last),
        }
        wrong(session, kept_warm(pouch, temp_c), **spell)
    assert [(stay.start_day, stay.temp_c) for stay in history(session, pouch)] == [
        (0.0, 15.0),
        (10.0, 30.0),
        (15.0, 35.0),
        (16.0, 40.0),
        (17.0, 35.0),
        (25.0, 15.0),
    ]


def test_a_spell_that_began_before_day_0_counts_from_day_0(session: Session) -> None:
    (pouch,) = pouches(session, 80)
    spell = {"from_at": MIDNIGHT - timedelta(days=5), "to_at": MIDNIGHT + timedelta(days=2)}
    wrong(session, kept_warm(pouch, 30.0), **spell)
    assert [(s.start_day, s.temp_c) for s in history(session, pouch)] == [(0.0, 30.0), (2.0, 15.0)]


def test_a_spell_that_was_over_before_day_0_counts_for_nothing(session: Session) -> None:
    (pouch,) = pouches(session, 80)
    first = window(session, pouch)
    spell = {"from_at": MIDNIGHT - timedelta(days=5), "to_at": MIDNIGHT - timedelta(days=2)}
    wrong(session, kept_warm(pouch, 40.0), **spell)
    assert window(session, pouch) == first


def test_a_power_cut_changes_only_what_lay_there_then(session: Session) -> None:
    """Half of the meat was in the freezer that failed, the other half still in the fridge."""
    meat = take_in(session, place=FRIDGE)
    day = TODAY + timedelta(days=1)
    do(session, move, Move((meat,), FREEZER, day, mass_mg=400 * G))
    frozen = StockRef(meat.lot_id, FREEZER)
    before = history(session, meat)
    spell = {
        "from_at": datetime(2025, 10, 22, 6, tzinfo=UTC),
        "to_at": datetime(2025, 10, 22, 18, tzinfo=UTC),
    }
    line = kept_warm(frozen, 3.0, IncidentFate.REFREEZE)
    wrong(session, line, place_id=FREEZER, on=date(2025, 10, 22), **spell)
    assert history(session, meat) == before
    assert [stay.temp_c for stay in history(session, frozen)] == [4.0, -18.0, 3.0, -18.0]


@pytest.mark.parametrize(
    ("into", "out", "begins", "ends"),
    [
        (20, None, 0.5, 4.0),  # there all the time
        (22, None, 2.0, 4.0),  # came when the freezer had been off for a day and a half
        (20, 23, 0.5, 4.0),  # gone to the other freezer on the last day
        (20, 22, 0.5, 3.0),  # and on the day before it
    ],
)
def test_a_power_cut_counts_only_while_the_food_was_there(
    session: Session, into: int, out: int | None, begins: float, ends: float
) -> None:
    """Off from noon of the 20th until midnight after the 23rd; day 0 is the 20th."""
    second = PlaceIn("Second freezer", PlaceKind.FREEZER, (-20.0, -18.0, -16.0))
    other = add_place(session, second)
    place = other if into > 20 else FREEZER
    meat = take_in(session, place=place)
    if into > 20:
        do(session, move, Move((meat,), FREEZER, date(2025, 10, into)))
    there = StockRef(meat.lot_id, FREEZER)
    off = datetime(2025, 10, 20, 11, tzinfo=UTC), datetime(2025, 10, 23, 23, tzinfo=UTC)
    line = kept_warm(there, 3.0, IncidentFate.REFREEZE)
    wrong(session, line, place_id=FREEZER, from_at=off[0], to_at=off[1])
    if out is not None:
        do(session, move, Move((there,), other, date(2025, 10, out)))
        there = StockRef(meat.lot_id, other)
    stays = history(session, there)
    (warm_one,) = [i for i, stay in enumerate(stays) if stay.temp_c == 3.0]
    spell = stays[warm_one].start_day, stays[warm_one + 1].start_day
    assert spell == pytest.approx((begins, ends))


def test_a_spell_in_which_food_was_moved_goes_on_where_it_went(session: Session) -> None:
    (pouch,) = pouches(session, 80)
    do(session, move, Move((pouch,), FREEZER, TODAY + timedelta(days=11)))
    there = StockRef(pouch.lot_id, FREEZER, pouch.package_id)
    spell = {"from_at": MIDNIGHT + timedelta(days=9), "to_at": MIDNIGHT + timedelta(days=11)}
    wrong(session, kept_warm(there, 30.0), **spell)
    stays = history(session, there)
    days = [stay.start_day for stay in stays]
    assert days == sorted(days)
    assert stays[-1].storage is Storage.FREEZER
    assert stays[-1].temp_c == -18.0
    assert is_in_step(session)


def test_what_is_made_after_a_hot_spell_is_as_old_as_what_it_was_made_of(session: Session) -> None:
    hot, cool = pouches(session, 80, 80)
    spell = {"from_at": MIDNIGHT + timedelta(days=30), "to_at": MIDNIGHT + timedelta(days=55)}
    wrong(session, kept_warm(hot, 40.0), **spell)
    powders = [made(do(session, grind, ground(ref, LATER)), BENCH) for ref in (hot, cool)]
    shares = [lot_of(session, powder).share_used for powder in powders]
    assert shares[0] > shares[1] > 0.0


def test_what_is_made_of_worn_food_is_used_up_from_the_first_day(session: Session) -> None:
    burnt, fine = pouches(session, 80, 80)
    wrong(session, LotFate(burnt, IncidentFate.WORN, (), since=LATER))
    for ref, is_used_up in ((burnt, True), (fine, False)):
        part = made(do(session, portion, Portion(ref, 30 * G, "Part", BENCH, LATER)), BENCH)
        powder = made(do(session, grind, ground(ref, LATER)), BENCH)
        shares = {lot_of(session, made_).share_used for made_ in (part, powder)}
        assert (shares == {1.0}) is is_used_up


def test_worn_food_makes_a_mixture_older_by_its_mass(session: Session) -> None:
    burnt, fine = pouches(session, 80, 80)
    wrong(session, LotFate(burnt, IncidentFate.WORN, (), since=LATER))
    share = windows.share_used(session, fine, on=LATER)
    parts = (Part(burnt, 20 * G), Part(fine, 60 * G))
    mixed = made(do(session, grind, Grind(parts, "Powder", 80 * G, BENCH, LATER)), BENCH)
    assert lot_of(session, mixed).share_used == pytest.approx(0.25 * 1.0 + 0.75 * share)
