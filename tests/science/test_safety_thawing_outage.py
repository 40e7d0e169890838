"""Thawing, freezing again, and power loss."""

from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.science.classes import FoodClass, Form
from app.science.errors import NotCovered, OutOfRange
from app.science.safety.outage import (
    FREEZER_TABLE,
    FRIDGE_TABLE,
    Fate,
    freezer_food,
    freezer_outage,
    fridge_food,
    outage_freezer,
    outage_fridge,
)
from app.science.safety.rule import Outcome
from app.science.safety.thawing import ThawWay, may_refreeze, thawed

ICE_CREAM, PEAS = "ice cream, frozen yogurt", "vegetables, blanched or packed"


def said(verdicts):
    return [(v.id, v.outcome.value) for v in verdicts]


@pytest.mark.parametrize("way", [ThawWay.COUNTER, ThawWay.WARM_WATER, ThawWay.OTHER])
def test_thawing_in_the_open_stops(way):
    # USDA, safe thawing.
    assert said(thawed(way, cooked_at_once=True, water_kept_fresh=True)) == [("THAW-WAY", "stop")]


@pytest.mark.parametrize(
    ("way", "cooked", "fresh", "outcome"),
    [
        (ThawWay.REFRIGERATOR, None, None, "pass"),
        (ThawWay.FROM_FROZEN, None, None, "pass"),
        (ThawWay.COLD_WATER, True, True, "pass"),
        (ThawWay.COLD_WATER, True, None, "confirm"),
        (ThawWay.COLD_WATER, None, True, "confirm"),
        (ThawWay.MICROWAVE, True, None, "pass"),
        (ThawWay.MICROWAVE, None, None, "confirm"),
    ],
)
def test_cold_water_and_microwave_need_cooking_at_once(way, cooked, fresh, outcome):
    # USDA, safe thawing.
    verdicts = thawed(way, cooked_at_once=cooked, water_kept_fresh=fresh)
    assert said(verdicts) == [("THAW-WAY", outcome)]


@pytest.mark.parametrize(
    ("warmest", "hours", "opened", "outcomes"),
    [
        (5.0, None, False, ["pass", "confirm"]),
        (5.0, None, True, ["pass"]),
        (3.0, None, False, ["pass"]),
        (None, None, None, ["pass", "confirm"]),
        (nan, nan, None, ["pass", "confirm"]),
        (6.0, 2.5, False, ["pass", "stop"]),
        (6.0, None, False, ["pass", "stop"]),
        (6.0, 1.0, False, ["pass", "confirm"]),
    ],
)
def test_vacuum_trout_is_opened_before_it_thaws(warmest, hours, opened, outcomes):
    # Michigan State University; Clemson Cooperative Extension: 38 °F (3.3 °C).
    verdicts = thawed(
        ThawWay.REFRIGERATOR, is_vacuum_fish=True, pack_opened=opened, warmest_c=warmest,
        hours_above_5_c=hours,
    )  # fmt: skip
    assert [v.outcome.value for v in verdicts] == outcomes


def test_fridge_thawed_mince_may_be_frozen_again_with_a_note():
    # Washington State University 2011; USDA.
    verdicts = may_refreeze(
        ThawWay.REFRIGERATOR, warmest_c=4.0, days_in_fridge=1, fridge_days_limit=2
    )
    assert said(verdicts) == [("REFREEZE", "pass"), ("REFREEZE", "note")]


def test_water_thawed_meat_is_cooked_before_it_is_frozen_again():
    # Washington State University 2011.
    assert said(may_refreeze(ThawWay.COLD_WATER, warmest_c=3.0)) == [("REFREEZE", "stop")]
    assert said(may_refreeze(ThawWay.COLD_WATER, cooked_since=True))[0][1] == "pass"


@pytest.mark.parametrize(
    ("known", "outcome"),
    [
        ({}, "confirm"),
        ({"warmest_c": nan}, "confirm"),
        ({"warmest_c": 4.0}, "confirm"),
        ({"warmest_c": 5.0, "days_in_fridge": 1, "fridge_days_limit": 2}, "stop"),
        ({"warmest_c": 4.0, "days_in_fridge": 3, "fridge_days_limit": 2}, "stop"),
        ({"warmest_c": 4.0, "hours_out": 2.5, "air_c": 20.0}, "stop"),
        ({"cooked_since": True, "hours_out": 1.5, "air_c": 33.0}, "stop"),
        ({"cooked_since": True, "hours_out": 2.5}, "stop"),
        ({"cooked_since": True, "hours_out": 1.5}, "confirm"),
        ({"days_in_fridge": 1, "fridge_days_limit": 2}, "confirm"),
    ],
)
def test_unknown_warm_old_or_left_out_is_not_frozen_again(known, outcome):
    # Washington State University 2011: out over 2 h (1 h above 90 °F), never.
    assert said(may_refreeze(ThawWay.REFRIGERATOR, **known)) == [("REFREEZE", outcome)]


def test_a_full_freezer_holds_two_days_and_asks_to_look():
    # FDA and USDA: full about 48 h, half full about 24 h.
    verdicts = freezer_outage(is_full=True)
    assert said(verdicts) == [("OUT-FREEZER", "note")]
    assert "48 h" in verdicts[0].sentence
    assert "24 h" in freezer_outage(is_full=False)[0].sentence


def test_the_freezer_foods_after_three_hours_above_4_4_degrees():
    # FoodSafety.gov, Food Safety During Power Outage.
    peas = outage_freezer(PEAS, False, 3.0)
    assert peas.fate is Fate.REFREEZE
    assert "suffer" in peas.sentence
    assert outage_freezer(freezer_food(FoodClass.GAME), False, 3.0).fate is Fate.DISCARD
    berries = outage_freezer(freezer_food(FoodClass.FRUIT), False, 3.0)
    assert berries.fate is Fate.LOOK
    assert "mouldy" in berries.sentence
    assert outage_freezer(ICE_CREAM, True, None).fate is Fate.DISCARD


def test_the_freezer_foods_after_six_and_a_half_hours():
    # FoodSafety.gov: vegetables, discard after 6 h above 40 °F.
    assert outage_freezer(PEAS, False, 6.5).fate is Fate.DISCARD
    assert outage_freezer(PEAS, False, 6.0).fate is Fate.REFREEZE
    assert outage_freezer("bread dough", False, 6.5).fate is Fate.REFREEZE


def test_between_the_columns_meat_is_cooked_now():
    # Our judgement: the table is silent on two hours or less.
    answer = outage_freezer("ground meat", False, 1.0)
    assert answer.fate is Fate.LOOK
    assert "cook and eat it now" in answer.sentence
    assert answer.verdict.outcome is Outcome.CONFIRM


def test_half_past_four_without_power():
    # FoodSafety.gov 2010: over 4 h without power.
    assert outage_fridge("hard cheese", power_out_hours=4.5).fate is Fate.KEEP
    rice = outage_fridge("cooked pasta, rice, potatoes", power_out_hours=4.5)
    assert rice.fate is Fate.DISCARD
    assert "Never taste" in rice.verdict.sentence


@pytest.mark.parametrize(
    ("food", "hours", "fate"),
    [
        ("mayonnaise", 9.0, Fate.DISCARD),
        ("mayonnaise", 5.0, Fate.KEEP),
        ("mayonnaise", None, Fate.LOOK),
        ("butter, margarine", 9.0, Fate.KEEP),
    ],
)
def test_sauces_have_eight_hours_above_10_degrees(food, hours, fate):
    # FoodSafety.gov 2024: above 50 °F for over 8 h.
    answer = outage_fridge(food, hours_above_4_4c=hours or 9.0, hours_above_10c=hours)
    assert answer.fate is fate


def test_raw_juice_spoils_even_hard_cheese():
    # FoodSafety.gov 2010.
    answer = outage_fridge("hard cheese", hours_above_4_4c=0.0, touched_raw_juice=True)
    assert answer.fate is Fate.DISCARD


def test_sealed_dry_pouches_keep_by_our_judgement():
    assert outage_fridge("sealed dry pouches", power_out_hours=30).fate is Fate.KEEP


def test_a_food_outside_the_tables_is_not_guessed():
    with pytest.raises(NotCovered):
        outage_freezer("dragon fruit", True, 0.0)
    with pytest.raises(NotCovered):
        outage_fridge("venison", hours_above_4_4c=1.0)
    with pytest.raises(OutOfRange):
        outage_freezer("fish", None, -1.0)


def test_pantry_goods_are_not_guessed():
    with pytest.raises(NotCovered):
        freezer_food(FoodClass.PANTRY)
    with pytest.raises(NotCovered):
        fridge_food(FoodClass.PANTRY)


@pytest.mark.parametrize("food_class", [food for food in FoodClass if food is not FoodClass.PANTRY])
@pytest.mark.parametrize("form", Form)
def test_every_food_has_its_rows(food_class, form):
    assert freezer_food(food_class, form) in {row.food for row in FREEZER_TABLE}
    for is_raw in (True, False):
        assert fridge_food(food_class, form, is_raw=is_raw) in {row.food for row in FRIDGE_TABLE}


@given(
    st.sampled_from([row.food for row in FREEZER_TABLE]),
    st.sampled_from([True, False, None]),
    st.one_of(st.none(), st.floats(0, 48)),
    st.floats(0, 48),
)
def test_longer_warm_or_unknown_is_never_better(food, icy, hours, more):
    rank = [Fate.REFREEZE, Fate.KEEP, Fate.LOOK, Fate.DISCARD].index
    now = rank(outage_freezer(food, icy, hours).fate)
    if hours is not None:
        assert rank(outage_freezer(food, icy, hours + more).fate) >= now
    assert rank(outage_freezer(food, None, nan).fate) >= now
