"""Cooling, holding and time out: clocks, gaps, drop-outs and daylight saving."""

from datetime import datetime
from math import inf, nan
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.science.errors import OutOfRange
from app.science.safety.cooling import appendix_b_hours, cooled
from app.science.safety.holding import held_cold, held_hot, left_out
from app.science.safety.rule import Outcome, RuleSet, allows


def said(verdicts):
    return [(v.id, v.outcome.value) for v in verdicts]


def test_a_pot_cooled_in_both_stages_passes():
    # Food Code 3-501.14.
    verdicts = cooled([(0, 57), (1 + 50 / 60, 21), (5.75, 5)])
    assert said(verdicts) == [("COOL-2STAGE", "pass")]


def test_a_slow_first_stage_stops_even_when_the_end_is_early():
    # Food Code 3-501.14.
    verdicts = cooled([(0, 57), (2, 24), (5, 5)])
    assert said(verdicts) == [("COOL-2STAGE", "stop")]
    assert "does not put it right" in verdicts[0].sentence


def test_a_fast_first_stage_leaves_longer_for_the_second():
    # Food Code 3-501.14: 6 h in total, not 2 + 4.
    assert said(cooled([(0, 57), (0.5, 21), (5.9, 5)]))[0][1] == "pass"


def test_rehydrated_soup_at_5_degrees_after_4_h_10_stops():
    # Food Code 3-501.14(B).
    assert said(cooled([(0, 18), (4 + 10 / 60, 5)], reconstituted=True)) == [
        ("COOL-AMBIENT", "stop")
    ]


def test_the_plants_guideline_is_a_note_beside_a_pass():
    # FSIS Appendix B, option 1: 130 to 80 °F in 1.5 h, to 40 °F in 5 h more.
    history = [(0, 57), (1.33, 26.7), (1.9, 21), (5.83, 4.4)]
    assert said(cooled(history)) == [("COOL-2STAGE", "pass"), ("COOL-APPB", "note")]


def test_the_plants_guideline_never_saves_a_failed_cooling():
    # The same history without proof of 21 °C within 2 h (Food Code 3-501.14).
    history = [(0, 54.4), (1 + 20 / 60, 26.7), (5 + 50 / 60, 4.4)]
    assert appendix_b_hours(history) is not None
    assert said(cooled(history)) == [("COOL-2STAGE", "stop")]


def test_no_reading_is_never_a_pass():
    for readings in ([], [(0, None)], [(0, nan), (1, inf)]):
        for reconstituted in (False, True):
            assert said(cooled(readings, reconstituted)) == [("COOL-UNPROVEN", "confirm")]


def test_fifty_minutes_of_drop_out_leave_cooling_unproven():
    # Our judgement: drop-outs up to half an hour are bridged.
    lost = [(1.0, None), (1.4, nan)]
    assert said(cooled([(0, 57), (0.8, 35), *lost, (1.64, 21), (5, 5)])) == [
        ("COOL-UNPROVEN", "confirm")
    ]
    assert said(cooled([(0, 57), (0.8, 35), (1.0, None), (1.2, 21), (5, 5)]))[0][1] == "pass"


def test_a_drop_out_before_the_first_and_after_the_last_reading():
    assert said(cooled([(0, None), (0.6, 50), (1.9, 20), (5, 5)]))[0][0] == "COOL-UNPROVEN"
    assert said(cooled([(0, 57), (1.9, 20), (5, 5), (9, None)]))[0][1] == "pass"


def test_a_clock_that_goes_back_proves_nothing():
    history = [(0, 57), (1.9, 21), (0.9, 10), (5, 5)]
    assert said(cooled(history)) == [("COOL-UNPROVEN", "confirm")]
    assert said(cooled([(nan, 57), (1, 5)]))[0][0] == "COOL-UNPROVEN"
    assert said(cooled([(-1, 57), (1, 5)]))[0][0] == "COOL-UNPROVEN"


def test_fahrenheit_typed_as_celsius_is_asked_or_stopped():
    assert said(cooled([(0, 135), (2, 70), (6, 41)])) == [("UNIT-ASK", "ask")]
    assert said(cooled([(0, 57), (2, 70), (6, 41)]))[0][1] == "stop"


def test_before_its_time_is_up_it_says_what_to_do():
    first = cooled([(0, 57), (1.5, 30)])
    second = cooled([(0, 57), (1.5, 20), (3, 9)])
    assert said(first) == said(second) == [("COOL-2STAGE", "confirm")]
    assert "reheat to 74 °C now" in first[0].sentence
    assert "5 °C within 6 hours" in second[0].sentence
    assert said(cooled([(0, 57), (2, 24)]))[0][1] == "stop"


def test_reheating_does_not_wipe_out_a_failed_cooling():
    # No published rule allows it; reheating does not destroy what grew (Food Code 3-501.14).
    again = [(3.5, 75), (4, 56), (5, 20), (8, 4)]
    assert said(cooled([(0, 57), (3, 24), *again]))[0][1] == "stop"
    assert said(cooled([(0, 57), (1, 30), (1.5, 75), (2, 56), (3, 20), (6, 4)]))[0][1] == "pass"


def test_warming_up_again_on_the_way_counts():
    assert said(cooled([(0, 57), (1, 20), (3, 30), (5, 5)]))[0][1] == "stop"


def test_hot_holding_does_not_start_the_clock():
    # Food Code 3-501.14: the clock starts at 57 °C.
    assert said(cooled([(0, 80), (3, 60), (4.9, 21), (8.9, 5)]))[0][1] == "pass"


@given(
    st.lists(
        st.tuples(st.floats(0, 12), st.one_of(st.none(), st.floats(allow_nan=True))), max_size=8
    ),
    st.booleans(),
    st.sampled_from(list(RuleSet)),
)
def test_whatever_the_readings_a_pass_has_proof_of_5_degrees_in_time(readings, ambient, rule_set):
    verdicts = cooled(readings, ambient, rule_set)
    assert verdicts
    assert all(v.sentence for v in verdicts)
    if allows(verdicts):
        hours = 4.0 if ambient else 6.0
        start = max((at for at, t in readings if t is not None and t >= 57.0), default=0.0)
        proof = [at for at, t in readings if t is not None and t <= 5.0 and at >= start]
        assert min(proof) - start <= hours


def test_a_fridge_log_of_6_5_degrees_starts_the_clock():
    # Food Code 3-501.16.
    assert said(held_cold(6.5)) == [("HOLD-COLD", "confirm")]


@pytest.mark.parametrize(
    ("temp", "unit", "outcome"),
    [(4.4, "C", "pass"), (40, "F", "pass"), (5, "C", "note"), (41, "F", "note"),
     (42, "F", "confirm"), (None, "C", "confirm"), (nan, "F", "confirm"), (38, "C", "ask")],
)  # fmt: skip
def test_the_fridge_limits_in_the_unit_typed(temp, unit, outcome):
    # Food Code 3-501.16 (41 °F, 5 °C); FDA consumer advice (40 °F, 4.4 °C).
    assert held_cold(temp, unit)[0].outcome.value == outcome


def test_chili_at_52_degrees_without_a_clock_stops():
    # Food Code 3-501.16.
    assert said(held_hot(52)) == [("HOLD-HOT", "stop")]
    assert said(held_hot(None)) == [("HOLD-HOT", "stop")]
    assert said(held_hot(52, has_clock=True)) == [("HOLD-HOT", "confirm")]
    assert said(held_hot(57)) == [("HOLD-HOT", "pass")]


@pytest.mark.parametrize(
    ("outings", "outcome"),
    [
        ([(1 + 55 / 60, 22.0)], "pass"),
        ([(2 + 10 / 60, 22.0)], "stop"),
        ([(50 / 60, 22.0)] * 3, "stop"),
        ([(2.0, 22.0)], "pass"),
        ([(1.1, 33.0)], "stop"),
        ([(1.0, 33.0)], "pass"),
        ([(1.0, 22.0), (0.6, 33.0)], "stop"),
        ([(1.5, None)], "confirm"),
        ([(1.5, nan)], "confirm"),
        ([(2.1, None)], "stop"),
    ],
)
def test_the_two_hour_rule_adds_all_outings(outings, outcome):
    # FSIS 2016 and FoodSafety.gov: 2 h, 1 h above 32 °C (90 °F).
    assert said(left_out(outings)) == [("OUT-2H", outcome)]


@pytest.mark.parametrize(
    ("hours", "outcome"), [(1.9, "pass"), (2.0, "confirm"), (3.0, "confirm"), (4.0, "stop")]
)
def test_australia_counts_two_and_four_hours(hours, outcome):
    # FSANZ, 2-hour/4-hour rule.
    assert said(left_out([(hours, 22.0)], RuleSet.AU)) == [("OUT-24", outcome)]


@pytest.mark.parametrize("hours", [-1.0, nan])
def test_hours_that_cannot_be_are_refused(hours):
    with pytest.raises(OutOfRange):
        left_out([(hours, 20.0)])


def _hours(zone: str, start: tuple[int, ...], end: tuple[int, ...], fold: int = 0) -> float:
    tz = ZoneInfo(zone)
    first = datetime(*start, tzinfo=tz)
    last = datetime(*end, tzinfo=tz, fold=fold)
    return (last.astimezone(ZoneInfo("UTC")) - first.astimezone(ZoneInfo("UTC"))).seconds / 3600


def test_an_autumn_night_in_new_york_is_three_hours_long():
    # IANA time zone database: clocks go back at 2:00 on 2026-11-01.
    hours = _hours("America/New_York", (2026, 11, 1, 0, 30), (2026, 11, 1, 2, 30))
    assert hours == 3.0
    assert said(left_out([(hours, 20.0)]))[0][1] == "stop"


def test_a_spring_night_in_berlin_is_one_hour_long():
    # IANA time zone database: clocks go forward at 2:00 on 2026-03-29.
    hours = _hours("Europe/Berlin", (2026, 3, 29, 1, 30), (2026, 3, 29, 3, 30))
    assert hours == 1.0
    assert said(left_out([(hours, 20.0)]))[0][1] == "pass"


@given(st.floats(0, 10), st.floats(0, 10), st.floats(-20, 50))
def test_longer_out_is_never_better(hours, more, air_c):
    rank = list(Outcome).index
    for rule_set in RuleSet:
        short = left_out([(hours, air_c)], rule_set)[0].outcome
        long = left_out([(hours, air_c), (more, air_c)], rule_set)[0].outcome
        assert rank(long) >= rank(short)
