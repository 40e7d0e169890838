"""What it means that something went wrong, for real lots, by the tables as they were published.

Freezer: FoodSafety.gov, Food Safety During Power Outage: frozen food (reviewed 2021). Refrigerator:
FoodSafety.gov, Refrigerated Food and Power Outages (2010; 2024 for produce). Out of the cold: FSIS,
two-hour rule; FSANZ, 2-hour/4-hour rule. Every expectation below is written from those tables, row
by row, not asked of our own.
"""

from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy.orm import Session

from app.ledger.models import Household
from app.ledger.operations.check import Looked, check
from app.ledger.operations.climate import ChangeClimate, ReadingIn, change_climate
from app.ledger.operations.cook import cook
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.incident import LotFate, WentWrong, went_wrong
from app.ledger.operations.move import Move, move
from app.ledger.operations.pack import pack
from app.ledger.operations.portion import Portion, portion
from app.ledger.queries.at_place import air_between, lines_at
from app.ledger.queries.stock import StockLine, find_line, stock_lines
from app.ledger.queries.what_it_means import Meaning, Seen, Told, Typed, meanings, touched
from app.ledger.stock import StockRef
from app.ledger.words import CheckKind, Finding, IncidentFate, IncidentKind
from app.science.classes import Form, Treatment
from app.science.safety.rule import Outcome
from tests import builders as b

F = IncidentFate
COOKED = frozenset({Treatment.COOKED})
BLANCHED = frozenset({Treatment.BLANCHED})
FREEZE_DRIED = frozenset({Treatment.COOKED, Treatment.DRIED_FREEZE})
JERKY = frozenset({Treatment.COOKED, Treatment.DRIED_AIR})
THAWED = frozenset({Treatment.THAWED})
NOW = b.evening(b.TODAY) + timedelta(days=2)

BEEF, BEEF_MINCE, LAMB_MINCE, PORK, DEER, DEER_MINCE = (
    "13321", "23572", "17224", b.PORK, "17164", "17343",
)  # fmt: skip
BEAR, CHICKEN, GOOSE, PHEASANT, WILD_DUCK = "17146", b.CHICKEN, "05146", "05153", "05144"
TROUT, BASS, EGG, MILK, LARD = b.TROUT, "15003", "01123", "01077", "04002"
STOCK, STEW, PEAS, RASPBERRIES, APPLES = "06170", "22905", "11304", "09302", b.APPLES
RICE_COOKED, SALT, OIL = "20045", "02047", "04053"


def a_line(session: Session, food: str, place: int, **changes: Any) -> StockLine:
    """A lot taken in, as its line of stock."""
    found = find_line(session, b.take_in(session, food, place=place, **changes))
    assert found is not None
    return found


def judge(session: Session, line: StockLine, kind: IncidentKind, **told: Any) -> Meaning:
    """The meaning for one line."""
    is_icy = told.pop("is_icy", None)
    hours = told.pop("hours", None)
    if hours is not None:
        told = {"from_at": NOW - timedelta(hours=hours), "to_at": NOW} | told
    event = Told(kind=kind, seen=(Seen(line, is_icy),), at=NOW, **told)
    (meaning,) = meanings(session, event)
    return meaning


# -- the freezer's table, row by row ----------------------------------------------------------

# food, form, treatments; column A (ice, or at most 40 °F); column B (thawed, over 40 °F over 2 h)
FREEZER_ROWS = [
    ("beef", BEEF, Form.WHOLE, frozenset(), F.REFREEZE, F.DISCARD),
    ("ground beef", BEEF_MINCE, Form.GROUND, frozenset(), F.REFREEZE, F.DISCARD),
    ("ground lamb", LAMB_MINCE, Form.GROUND, frozenset(), F.REFREEZE, F.DISCARD),
    ("pork", PORK, Form.WHOLE, frozenset(), F.REFREEZE, F.DISCARD),
    ("venison", DEER, Form.WHOLE, frozenset(), F.REFREEZE, F.DISCARD),
    ("ground venison", DEER_MINCE, Form.GROUND, frozenset(), F.REFREEZE, F.DISCARD),
    ("bear", BEAR, Form.PIECES, frozenset(), F.REFREEZE, F.DISCARD),
    ("cooked meat", BEEF, Form.PIECES, COOKED, F.REFREEZE, F.DISCARD),
    ("poultry", CHICKEN, Form.WHOLE, frozenset(), F.REFREEZE, F.DISCARD),
    ("ground poultry", GOOSE, Form.GROUND, frozenset(), F.REFREEZE, F.DISCARD),
    ("game bird", PHEASANT, Form.WHOLE, frozenset(), F.REFREEZE, F.DISCARD),
    ("wild duck", WILD_DUCK, Form.PIECES, frozenset(), F.REFREEZE, F.DISCARD),
    ("fish, lean", BASS, Form.WHOLE, frozenset(), F.REFREEZE, F.DISCARD),
    ("fish, fatty", TROUT, Form.WHOLE, frozenset(), F.REFREEZE, F.DISCARD),
    ("eggs out of the shell", EGG, Form.LIQUID, frozenset(), F.REFREEZE, F.DISCARD),
    ("milk", MILK, Form.LIQUID, frozenset(), F.REFREEZE, F.DISCARD),
    ("soup", STOCK, Form.LIQUID, COOKED, F.REFREEZE, F.DISCARD),
    ("stew", STEW, Form.PIECES, COOKED, F.REFREEZE, F.DISCARD),
    ("rice casserole", RICE_COOKED, Form.PIECES, COOKED, F.REFREEZE, F.DISCARD),
    ("vegetable juice", PEAS, Form.LIQUID, frozenset(), F.REFREEZE, F.DISCARD),  # over 6 h
    ("vegetables, blanched", PEAS, Form.PIECES, BLANCHED, F.REFREEZE, F.DISCARD),  # over 6 h
    ("fruit", RASPBERRIES, Form.WHOLE, frozenset(), F.REFREEZE, F.LOOK),
    ("fruit juice", APPLES, Form.LIQUID, frozenset(), F.REFREEZE, F.LOOK),
]  # fmt: skip


@pytest.mark.parametrize(
    ("food", "form", "done", "cold", "warm"),
    [row[1:] for row in FREEZER_ROWS],
    ids=[row[0] for row in FREEZER_ROWS],
)
def test_every_row_of_the_freezer_table_holds_for_a_real_lot(
    session: Session, food: str, form: Form, done: frozenset[Treatment], cold: F, warm: F
) -> None:
    line = a_line(session, food, b.FREEZER, form=form, treatments=done)
    icy = judge(session, line, IncidentKind.POWER_OUT, hours=30, is_icy=True)
    cool = judge(session, line, IncidentKind.POWER_OUT, hours=30, warm_hours=0.0, temp=(4.0, "C"))
    thawed = judge(session, line, IncidentKind.POWER_OUT, hours=30, is_icy=False, warm_hours=6.5)
    assert (icy.fate, cool.fate, thawed.fate) == (cold, cold, warm)
    assert F.DISCARD in icy.allowed
    assert thawed.is_stopped is (warm is F.DISCARD)


def test_salt_and_sealed_dry_food_keep_in_a_warm_freezer_by_our_own_judgement(
    session: Session,
) -> None:
    for line in (
        a_line(session, SALT, b.FREEZER, form=Form.POWDER),
        a_line(session, BEEF, b.FREEZER, treatments=FREEZE_DRIED, is_raw=False),
    ):
        meaning = judge(session, line, IncidentKind.POWER_OUT, hours=60, is_icy=False)
        assert meaning.fate is F.KEEP
        assert "judgement" in meaning.verdicts[0].sentence + meaning.table


def test_peas_venison_and_raspberries_warm_for_three_hours_part_ways(session: Session) -> None:
    # FoodSafety.gov: vegetables only after 6 hours; meat after 2; fruit unless mouldy or slimy
    told: dict[str, Any] = {"hours": 40, "is_icy": False, "warm_hours": 3.0}
    fates = {
        food: judge(session, a_line(session, food, b.FREEZER), IncidentKind.POWER_OUT, **told)
        for food in (PEAS, DEER, RASPBERRIES)
    }
    assert [fates[f].fate for f in (PEAS, DEER, RASPBERRIES)] == [F.REFREEZE, F.DISCARD, F.LOOK]
    assert F.REFREEZE in fates[RASPBERRIES].allowed  # somebody looked: no mould
    six = judge(
        session,
        a_line(session, PEAS, b.FREEZER),
        IncidentKind.POWER_OUT,
        hours=40,
        is_icy=False,
        warm_hours=6.5,
    )
    assert six.fate is F.DISCARD


def test_between_the_columns_raw_meat_is_cooked_now(session: Session) -> None:
    line = a_line(session, DEER, b.FREEZER)
    meaning = judge(session, line, IncidentKind.POWER_OUT, hours=30, is_icy=False, warm_hours=1.5)
    assert meaning.fate is F.USE_NOW


def test_a_freezer_nobody_looked_into_is_looked_into_first_and_never_passes(
    session: Session,
) -> None:
    # FDA and USDA: about 48 hours full, 24 half full, unopened; then look at each food for ice
    line = a_line(session, DEER, b.FREEZER)
    full = judge(session, line, IncidentKind.POWER_OUT, hours=40, is_full=True)
    half = judge(session, line, IncidentKind.POWER_OUT, hours=40, is_full=False)
    assert full.fate is half.fate is F.LOOK
    assert full.allowed == (F.LOOK, F.DISCARD)
    assert "48" in full.verdicts[0].sentence
    assert "24" in half.verdicts[0].sentence
    assert full.verdicts[0].outcome is Outcome.NOTE


def test_food_that_felt_cold_ages_as_at_the_limit_and_no_warmer(session: Session) -> None:
    line = a_line(session, DEER, b.FREEZER)
    meaning = judge(session, line, IncidentKind.POWER_OUT, hours=30, is_icy=True)
    assert meaning.temp_c == 4.4


def test_fish_thawed_in_a_pack_without_air_is_discarded_though_it_was_cool_for_hours(
    session: Session,
) -> None:
    # Michigan State and Clemson: above 38 °F botulism can grow in sealed fish; over 41 °F for 2 h
    loose = a_line(session, TROUT, b.FREEZER)
    packed = b.do(
        session,
        pack,
        b.a_pack(
            loose.ref, 400, 400, packaging_id=b.VACUUM_BAG, absorber_id=None, place_id=b.FREEZER
        ),
    )
    line = find_line(session, b.units(packed, b.FREEZER)[0])
    assert line is not None
    told: dict[str, Any] = {"hours": 20, "warm_hours": 3.0, "temp": (9.0, "C")}
    meaning = judge(session, line, IncidentKind.THAWED, is_icy=False, **told)
    assert {v.id for v in meaning.verdicts} == {"OUT-FREEZER", "THAW-VACFISH"}
    assert meaning.fate is F.DISCARD


# -- the refrigerator's table -----------------------------------------------------------------

FRIDGE_ROWS = [
    ("raw meat", BEEF, Form.WHOLE, frozenset(), F.DISCARD),
    ("leftover meat", BEEF, Form.PIECES, COOKED, F.DISCARD),
    ("thawing meat", DEER, Form.PIECES, THAWED, F.DISCARD),
    ("raw bear", BEAR, Form.PIECES, frozenset(), F.DISCARD),
    ("raw poultry", CHICKEN, Form.WHOLE, frozenset(), F.DISCARD),
    ("game bird", PHEASANT, Form.WHOLE, frozenset(), F.DISCARD),
    ("fish", TROUT, Form.WHOLE, frozenset(), F.DISCARD),
    ("broth", STOCK, Form.LIQUID, COOKED, F.DISCARD),
    ("stew", STEW, Form.PIECES, COOKED, F.DISCARD),
    ("dried beef", BEEF, Form.WHOLE, JERKY, F.DISCARD),
    ("milk", MILK, Form.LIQUID, frozenset(), F.DISCARD),
    ("shell eggs", EGG, Form.WHOLE, frozenset(), F.DISCARD),
    ("cooked rice", RICE_COOKED, Form.PIECES, COOKED, F.DISCARD),
    ("cut fruit", APPLES, Form.PIECES, frozenset(), F.DISCARD),
    ("cooked vegetables", PEAS, Form.PIECES, COOKED, F.DISCARD),
    ("opened vegetable juice", PEAS, Form.LIQUID, frozenset(), F.DISCARD),
    ("whole fruit", APPLES, Form.WHOLE, frozenset(), F.KEEP),
    ("raw whole vegetables", b.CELERY, Form.WHOLE, frozenset(), F.KEEP),
    ("opened fruit juice", APPLES, Form.LIQUID, frozenset(), F.KEEP),
    ("dried fruit", APPLES, Form.PIECES, frozenset({Treatment.DRIED_AIR}), F.KEEP),
]


@pytest.mark.parametrize(
    ("food", "form", "done", "fate"),
    [row[1:] for row in FRIDGE_ROWS],
    ids=[row[0] for row in FRIDGE_ROWS],
)
def test_every_row_of_the_refrigerator_table_holds_for_a_real_lot(
    session: Session, food: str, form: Form, done: frozenset[Treatment], fate: F
) -> None:
    line = a_line(session, food, b.FRIDGE, form=form, treatments=done)
    by_hours = judge(session, line, IncidentKind.DOOR_OPEN, hours=12, warm_hours=2.5)
    by_power = judge(session, line, IncidentKind.POWER_OUT, hours=4.5)
    in_time = judge(session, line, IncidentKind.POWER_OUT, hours=3.5)
    assert (by_hours.fate, by_power.fate, in_time.fate) == (fate, fate, F.KEEP)
    assert by_hours.is_stopped is (fate is F.DISCARD)


def test_a_refrigerator_shut_for_four_and_a_half_hours_without_power_loses_its_rice(
    session: Session,
) -> None:
    # FoodSafety.gov 2010: over 4 hours unopened; cooked rice goes, sealed dry pouches stay (ours)
    rice = a_line(session, RICE_COOKED, b.FRIDGE, treatments=COOKED, is_raw=False)
    assert judge(session, rice, IncidentKind.POWER_OUT, hours=4.5).fate is F.DISCARD
    assert judge(session, rice, IncidentKind.POWER_OUT, hours=4.0).fate is F.KEEP


def test_an_open_door_counts_as_warm_for_as_long_as_nobody_knows_better(session: Session) -> None:
    stew = a_line(session, STEW, b.FRIDGE, treatments=COOKED)
    assert judge(session, stew, IncidentKind.DOOR_OPEN, hours=2.0).fate is F.KEEP
    assert judge(session, stew, IncidentKind.DOOR_OPEN, hours=2.5).fate is F.DISCARD
    known = judge(session, stew, IncidentKind.DOOR_OPEN, hours=8.0, warm_hours=1.0)
    assert known.fate is F.KEEP


def test_a_load_that_stopped_for_over_two_hours_is_held_until_it_is_unloaded(
    session: Session,
) -> None:
    meat = b.cooked(session)
    b.loaded(session, b.a_tray(meat, 1000))
    (line,) = lines_at(session, b.FREEZE_DRYER, NOW.date())
    in_time = judge(session, line, IncidentKind.POWER_OUT, hours=2.0)
    too_long = judge(session, line, IncidentKind.POWER_OUT, hours=2.5)
    assert (in_time.fate, too_long.fate) == (F.KEEP, F.LOOK)
    assert too_long.is_stopped
    assert F.DISCARD not in too_long.allowed  # the run could not be unloaded any more


# -- the air of the place ---------------------------------------------------------------------


def logged(session: Session, place: int, temps: list[tuple[float, float]]) -> None:
    """Readings of a place, hours before NOW."""
    readings = tuple(ReadingIn(NOW - timedelta(hours=hours), temp_c) for hours, temp_c in temps)
    request = ChangeClimate(place, b.TODAY + timedelta(days=2), readings=readings)
    change_climate(session, request, at=NOW, by=b.AILSA)


def test_hours_are_counted_from_the_readings_of_the_place(session: Session) -> None:
    every_half = [(n / 2, 8.0 if n <= 5 else 3.0) for n in range(13, -1, -1)]
    logged(session, b.FRIDGE, every_half)
    air = air_between(session, b.FRIDGE, NOW - timedelta(hours=6), NOW)
    assert air is not None
    # by hand: 8 °C from 2.5 h before now on, and the half hour before it, as the warmer end counts
    assert air.hours == pytest.approx(3.0)
    assert air.highest_c == 8.0
    stew = a_line(session, STEW, b.FRIDGE, treatments=COOKED)
    meaning = judge(session, stew, IncidentKind.POWER_OUT, hours=3.5, air=air)
    assert (meaning.fate, meaning.warm_hours) == (F.DISCARD, pytest.approx(3.0))


def test_readings_with_a_gap_prove_nothing_but_what_they_show(session: Session) -> None:
    logged(session, b.FRIDGE, [(6.0, 3.0), (5.5, 3.0), (1.0, 3.0), (0.5, 3.0), (0.0, 3.0)])
    air = air_between(session, b.FRIDGE, NOW - timedelta(hours=6), NOW)
    assert air is not None
    assert air.hours is None
    stew = a_line(session, STEW, b.FRIDGE, treatments=COOKED)
    assert judge(session, stew, IncidentKind.DOOR_OPEN, hours=6, air=air).fate is F.DISCARD
    assert air_between(session, b.FREEZER, NOW - timedelta(hours=6), NOW) is None


def test_readings_that_end_early_leave_the_rest_unknown(session: Session) -> None:
    logged(session, b.FRIDGE, [(n / 2, 3.0) for n in range(12, 3, -1)])
    air = air_between(session, b.FRIDGE, NOW - timedelta(hours=6), NOW)
    assert air is not None
    assert air.hours is None


def test_ice_that_somebody_saw_says_more_than_the_air(session: Session) -> None:
    logged(session, b.FREEZER, [(n / 2, 9.0) for n in range(13, -1, -1)])
    air = air_between(session, b.FREEZER, NOW - timedelta(hours=6), NOW)
    line = a_line(session, DEER, b.FREEZER)
    icy = judge(session, line, IncidentKind.POWER_OUT, hours=6, air=air, is_icy=True)
    unseen = judge(session, line, IncidentKind.POWER_OUT, hours=6, air=air)
    assert (icy.fate, unseen.fate) == (F.REFREEZE, F.DISCARD)


# -- out of the cold --------------------------------------------------------------------------


def test_a_stew_left_out_goes_back_within_two_hours_and_is_discarded_after(
    session: Session,
) -> None:
    # FSIS: 2 hours, 1 hour in air above 90 °F (32 °C)
    stew = a_line(session, STEW, b.BENCH, treatments=COOKED, is_raw=False)
    told: dict[str, Any] = {"temp": (22.0, "C")}
    in_time = judge(session, stew, IncidentKind.LEFT_OUT, hours=115 / 60, **told)
    too_long = judge(session, stew, IncidentKind.LEFT_OUT, hours=130 / 60, **told)
    hot = judge(session, stew, IncidentKind.LEFT_OUT, hours=70 / 60, temp=(35.0, "C"))
    unknown = judge(session, stew, IncidentKind.LEFT_OUT, hours=70 / 60)
    assert [m.fate for m in (in_time, too_long, hot, unknown)] == [
        F.KEEP, F.DISCARD, F.DISCARD, F.USE_NOW,
    ]  # fmt: skip


def test_what_keeps_in_the_warm_may_be_left_out(session: Session) -> None:
    apples = a_line(session, APPLES, b.BENCH, form=Form.WHOLE)
    dry = a_line(session, BEEF, b.BENCH, treatments=FREEZE_DRIED)
    for line in (apples, dry):
        assert judge(session, line, IncidentKind.LEFT_OUT, hours=30).fate is F.KEEP


def left_out(session: Session, ref: StockRef, minutes: float) -> int:
    """An earlier outing that was written."""
    at = NOW - timedelta(days=1)
    fate = LotFate(ref, F.KEEP, (), warm_hours=minutes / 60, temp_c=22.0)
    request = WentWrong(
        IncidentKind.LEFT_OUT,
        at.date(),
        (fate,),
        from_at=at - timedelta(minutes=minutes),
        to_at=at,
        temp_c=22.0,
    )
    return went_wrong(session, request, at=at, by=b.AILSA).operation_id


def third_outing(session: Session, ref: StockRef) -> Meaning:
    line = find_line(session, ref)
    assert line is not None
    return judge(session, line, IncidentKind.LEFT_OUT, hours=50 / 60, temp=(22.0, "C"))


def test_three_outings_of_fifty_minutes_are_one_of_two_hours_and_a_half(session: Session) -> None:
    ref = b.take_in(session, STEW, treatments=COOKED, is_raw=False)
    left_out(session, ref, 50)
    assert third_outing(session, ref).fate is F.KEEP
    second = left_out(session, ref, 50)
    assert third_outing(session, ref).fate is F.DISCARD
    b.do(session, correct, Correct(second, b.TODAY + timedelta(days=2)))
    assert third_outing(session, ref).fate is F.KEEP


def test_outings_go_with_the_food_into_what_is_made_of_it_until_it_is_cooked(
    session: Session,
) -> None:
    meat = b.take_in(session, mass_g=1000)
    left_out(session, meat, 80)
    left_out(session, meat, 30)
    day = b.TODAY + timedelta(days=2)
    split = Portion(ref=meat, mass_mg=400 * b.G, place_id=b.FRIDGE, done_on=day, name="Part of it")
    part = b.made(b.do(session, portion, split), b.FRIDGE)
    assert third_outing(session, part).fate is F.DISCARD
    hot = b.made(b.do(session, cook, b.a_cook(part, 400, 400, done_on=day)), b.BENCH)
    assert third_outing(session, hot).fate is F.KEEP


def test_in_australia_two_to_four_hours_mean_eat_it_now(session: Session) -> None:
    # FSANZ: under 2 h back into the cold, 2 to 4 h use now, 4 h and over discard
    household = session.get_one(Household, 1)
    household.rule_set = "au"
    session.flush()
    stew = a_line(session, STEW, b.BENCH, treatments=COOKED, is_raw=False)
    fates = [
        judge(session, stew, IncidentKind.LEFT_OUT, hours=hours, temp=(22.0, "C")).fate
        for hours in (1.9, 3.0, 4.0)
    ]
    assert fates == [F.KEEP, F.USE_NOW, F.DISCARD]


@pytest.mark.parametrize(
    ("temp", "hours", "fate"),
    [
        ((52.0, "C"), 3.0, F.DISCARD),  # Food Code 3-501.16: 135 °F (57 °C)
        ((57.0, "C"), 3.0, F.KEEP),
        ((134.8, "F"), 3.0, F.DISCARD),  # 57.1 °C, but not 135 °F: compared as it was typed
        ((135.0, "F"), 3.0, F.KEEP),
        (None, 3.0, F.DISCARD),
        ((52.0, "C"), 0.5, F.KEEP),
    ],
)
def test_a_pot_that_stood_warm(session: Session, temp: Typed | None, hours: float, fate: F) -> None:
    chili = a_line(session, STEW, b.BENCH, treatments=COOKED, is_raw=False)
    meaning = judge(session, chili, IncidentKind.KEPT_WARM, hours=hours, temp=temp)
    assert meaning.fate is fate


# -- packs ------------------------------------------------------------------------------------


def a_pouch(session: Session) -> StockLine:
    line = find_line(session, b.pouches(session)[0])
    assert line is not None
    return line


PACKED_ON = b.TODAY + timedelta(days=1)


@pytest.mark.parametrize("kind", [IncidentKind.SEAL_FAILED, IncidentKind.ABSORBER_SPENT])
def test_a_dry_pouch_counts_as_opened_since_it_was_last_seen_whole(
    session: Session, kind: IncidentKind
) -> None:
    pouch = a_pouch(session)
    assert judge(session, pouch, kind).since == PACKED_ON
    looked = Looked(
        CheckKind.SEAL, Finding.FINE, PACKED_ON + timedelta(days=1), lot_id=pouch.lot_id
    )
    b.do(session, check, looked)
    meaning = judge(session, pouch, kind)
    assert (meaning.fate, meaning.since) == (F.OPENED, PACKED_ON + timedelta(days=1))
    assert not meaning.is_stopped


def test_what_somebody_saw_goes_above_the_last_look(session: Session) -> None:
    pouch = a_pouch(session)
    seen = judge(session, pouch, IncidentKind.SEAL_FAILED, since=PACKED_ON + timedelta(days=1))
    before = judge(session, pouch, IncidentKind.SEAL_FAILED, since=PACKED_ON - timedelta(days=9))
    assert (seen.since, before.since) == (PACKED_ON + timedelta(days=1), PACKED_ON)


def test_a_moist_jar_on_the_shelf_is_food_left_out(session: Session) -> None:
    # FSIS: two hours; a jar sealed by a vacuum is not canned (Utah State University Extension)
    beans = b.take_in(session, STEW, treatments=COOKED, is_raw=False, place=b.FRIDGE)
    packed = b.do(
        session,
        pack,
        b.a_pack(beans, 500, packaging_id=b.JAR, absorber_id=None, place_id=b.FRIDGE),
    )
    (jar,) = b.units(packed, b.FRIDGE)
    cold = find_line(session, jar)
    assert cold is not None
    in_cold = judge(session, cold, IncidentKind.SEAL_FAILED)
    assert in_cold.fate is F.OPENED
    assert "JAR-VAC" in {v.id for v in in_cold.verdicts}
    b.do(session, move, Move((jar,), b.PANTRY, PACKED_ON, reason="to see what happens"))
    warm = find_line(session, StockRef(jar.lot_id, b.PANTRY, jar.package_id))
    assert warm is not None
    on_shelf = judge(session, warm, IncidentKind.SEAL_FAILED)
    assert (on_shelf.fate, on_shelf.is_stopped) == (F.DISCARD, True)


def test_freezer_burn_and_staleness_are_quality_and_stop_nothing(session: Session) -> None:
    # FSIS, Freezing and Food Safety: freezer burn does not make food unsafe; cut it off
    burnt = judge(session, a_line(session, DEER, b.FREEZER), IncidentKind.FREEZER_BURN)
    stale = judge(session, a_pouch(session), IncidentKind.WORN)
    for meaning in (burnt, stale):
        assert (meaning.fate, meaning.since) == (F.WORN, NOW.date())
        assert not meaning.is_stopped


# -- which food -------------------------------------------------------------------------------


def test_food_that_came_to_the_place_later_is_not_listed(session: Session) -> None:
    old = a_line(session, DEER, b.FREEZER, on=b.TODAY)
    new = a_line(session, PEAS, b.FREEZER, on=b.TODAY + timedelta(days=2))
    elsewhere = a_line(session, PEAS, b.FRIDGE)
    listed = [x.ref for x in lines_at(session, b.FREEZER, b.TODAY + timedelta(days=1))]
    assert listed == [old.ref]
    listed = [x.ref for x in lines_at(session, b.FREEZER, b.TODAY + timedelta(days=2))]
    assert listed == [old.ref, new.ref]
    assert elsewhere.ref not in listed


def test_the_packages_of_a_lot_stand_on_one_line(session: Session) -> None:
    refs = b.pouches(session)
    (line,) = [x for x in lines_at(session, b.PANTRY, NOW.date()) if x.package_count]
    assert line.refs == tuple(refs)
    assert line.mass_mg == 240 * b.G


def test_each_kind_offers_only_food_to_which_it_can_happen(session: Session) -> None:
    frozen, chilled = a_line(session, DEER, b.FREEZER), a_line(session, STEW, b.FRIDGE)
    pouch = a_pouch(session)
    lines = stock_lines(session, one_by_one=True)

    def refs(kind: IncidentKind) -> set[StockRef]:
        return {line.ref for line in touched(kind, lines)}

    assert frozen.ref in refs(IncidentKind.THAWED)
    assert chilled.ref not in refs(IncidentKind.FREEZER_BURN)
    assert chilled.ref in refs(IncidentKind.LEFT_OUT)
    assert frozen.ref not in refs(IncidentKind.LEFT_OUT)  # ice is asked about: it is "thawed"
    assert pouch.ref in refs(IncidentKind.SEAL_FAILED)
    assert frozen.ref not in refs(IncidentKind.SEAL_FAILED)
    assert pouch.ref not in refs(IncidentKind.POWER_OUT)


def test_marks_stay_whatever_is_decided(session: Session) -> None:
    line = a_line(session, BEAR, b.FREEZER)
    meaning = judge(session, line, IncidentKind.POWER_OUT, hours=9, is_icy=True)
    fate = LotFate(line.ref, meaning.fate, meaning.verdicts, is_icy=True, temp_c=meaning.temp_c)
    request = WentWrong(
        IncidentKind.POWER_OUT,
        NOW.date(),
        (fate,),
        place_id=b.FREEZER,
        from_at=NOW - timedelta(hours=9),
        to_at=NOW,
    )
    went_wrong(session, request, at=NOW, by=b.AILSA)
    after = find_line(session, line.ref)
    assert after is not None
    assert after.is_raw
    assert after.marks == line.marks != frozenset()
