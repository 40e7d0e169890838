"""Histories of the centre, and hours out: gaps and clocks that go back prove nothing."""

from math import inf, nan

import pytest

from app.science.classes import FoodClass, Form
from app.science.errors import OutOfRange
from app.science.safety.cooking import clears_raw, cook_target, cooked, judged
from app.science.safety.cooking_history import cooked_from_history, held_at
from app.science.safety.cooling import cooled
from app.science.safety.rule import Outcome, RuleSet
from app.science.safety.time_out import time_out

GAME, POULTRY, PORK = [FoodClass.GAME], [FoodClass.POULTRY], [FoodClass.PORK]


def said(verdicts):
    return [(v.id, v.outcome.value) for v in verdicts]


def ground(readings, unit="F", **more):
    return cooked_from_history(GAME, Form.GROUND, readings, unit, **more)


def british(readings, **more):
    return cooked_from_history(
        POULTRY, Form.PIECES, readings, "C", rule_set=RuleSet.UK, **more
    )  # fmt: skip


def test_the_lower_of_two_neighbours_is_the_centre():
    # Game from Farm to Table, USDA FSIS: 160 °F.
    assert said(ground([(0, 158), (4, 163), (8, 159)]))[0] == ("COOK-FORM", "stop")
    met = ground([(0, 158), (4, 163), (8, 160)])
    assert said(met) == [("COOK-FORM", "pass"), ("COOK-GAME-STRICT", "note")]
    assert clears_raw(met)


def test_readings_over_five_minutes_apart_are_no_neighbours():
    # Our judgement, as for the tables of time and temperature.
    assert said(ground([(0, 165), (5, 165)])) == [("COOK-FORM", "pass")]
    assert said(ground([(0, 165), (5.1, 165)])) == [("COOK-NOREAD", "stop")]


@pytest.mark.parametrize("broken", [None, nan, inf])
def test_a_drop_out_breaks_the_pair(broken):
    assert said(ground([(0, 165), (1, broken), (2, 165)])) == [("COOK-NOREAD", "stop")]
    assert said(ground([(0, broken)])) == [("COOK-NOREAD", "stop")]
    assert said(ground([])) == [("COOK-NOREAD", "stop")]


@pytest.mark.parametrize("times", [(2.0, 1.0), (1.0, 1.0), (nan, 1.0), (-2.0, -1.0), (-1.0, 1.0)])
def test_clocks_that_cannot_be_prove_nothing(times):
    first, second = times
    assert said(ground([(first, 170), (second, 170)])) == [("COOK-NOREAD", "stop")]


@pytest.mark.parametrize("reading", [150.0, 160.0, 162.0, 170.0, None])
def test_a_lone_reading_is_judged_as_it_always_was(reading):
    assert ground([(12.0, reading)]) == cooked(GAME, Form.GROUND, reading, "F")


def test_a_lone_reading_that_lost_its_neighbours_is_not_alone():
    assert not clears_raw(ground([(0, None), (1, 170)]))


def test_a_clock_that_goes_back_keeps_what_was_proven_before_and_after():
    assert clears_raw(ground([(0, 165), (3, 166), (1, 80), (2, 81)]))
    assert clears_raw(ground([(10, 80), (3, 165), (4, 165)]))


# Food Standards Agency (UK), Cooking your food, copies: 70 °C for 2 min, 75 °C 30 s, 80 °C 6 s.
@pytest.mark.parametrize(
    ("readings", "outcome"),
    [
        ([(0, 70), (1, 71), (2, 70)], "pass"),
        ([(0, 70), (1, 71), (1.9, 70)], "stop"),
        ([(0, 70), (1, 71), (1.5, 69.9), (2.5, 72), (3.5, 70)], "stop"),
        ([(0, 70), (1, 70), (1.5, None), (2, 70), (3, 70)], "stop"),
        ([(0, 76), (0.5, 75)], "pass"),
        ([(0, 76), (0.4, 75)], "stop"),
        ([(0, 81), (0.1, 80)], "pass"),
    ],
)
def test_a_history_proves_the_british_hold(readings, outcome):
    assert said(british(readings))[0] == ("COOK-FORM", outcome)


def test_a_history_proves_the_rest_of_a_chop():
    # Safe Minimum Internal Temperature Chart, USDA FSIS: 145 °F, rest 3 min.
    def chop(readings, **more):
        return cooked_from_history(PORK, Form.WHOLE, readings, "F", **more)

    assert clears_raw(chop([(0, 146), (2, 147), (3, 145)]))
    assert not clears_raw(chop([(0, 146), (2, 147)]))
    assert clears_raw(chop([(0, 146), (2, 147)], rest_minutes=3.0))
    assert clears_raw(chop([(0, 150), (1, 150), (2, 146), (3.5, 146)])), "a cooler level held"


def test_the_table_of_time_and_temperature_is_no_way_round():
    # FSIS Appendix A would take 130 °F for 112 minutes; it is switched off.
    hours = [(float(at), 135.0) for at in range(0, 120, 5)]
    verdicts = cooked_from_history([FoodClass.RED_MEAT], Form.WHOLE, hours, "F")
    assert said(verdicts)[0] == ("COOK-FORM", "stop")


def test_half_cooked_by_its_history_is_finished_at_once():
    assert ("COOK-PARTIAL", "confirm") in said(ground([(0, 150), (3, 151)]))


def test_a_history_in_the_other_unit_is_asked_and_stands_when_insisted():
    typed = [(0, 158.0), (2, 165.0), (4, 166.0)]
    assert said(ground(typed, "C")) == [("UNIT-ASK", "ask")]
    assert "166 °F" in ground(typed, "C")[0].sentence
    assert clears_raw(ground(typed, "C", insisted=True))
    assert said(ground([(0, 70.0), (2, 71.0)], "F")) == [("UNIT-ASK", "ask")]


def test_shellfish_are_looked_at_and_plants_have_no_target():
    # Safe Minimum Cooking Temperatures chart, FoodSafety.gov: an observation.
    clams = cooked_from_history([FoodClass.SHELLFISH], Form.WHOLE, [(0, 90), (1, None)], "C")
    assert said(clams) == [("COOK-FORM", "confirm")]
    assert cooked_from_history([FoodClass.FRUIT], Form.WHOLE, [(0, 20), (1, 20)], "C") == ()


def test_a_negative_rest_is_refused():
    with pytest.raises(OutOfRange):
        ground([(0, 165), (1, 165)], rest_minutes=-1.0)


def test_the_longest_stretch_of_each_temperature():
    assert held_at([(0, 80), (1, 75), (2, 80), (3, 81)]) == [(80, 1), (75, 3)]
    assert held_at([(0, 80), (9, 80)]) == []


def test_a_known_centre_is_judged_by_the_targets_own_unit():
    target = cook_target(GAME, Form.GROUND)
    assert judged(target, 71.0, "C", 0.0, GAME)[0].outcome is Outcome.STOP
    assert judged(target, 71.1, "C", 0.0, GAME)[0].outcome is Outcome.PASS


# USDA FSIS, 2016, and FSANZ, 2-hour/4-hour rule; the range by Food Code 3-501.16 and FSANZ.
@pytest.mark.parametrize(
    ("readings", "hours", "us", "au"),
    [
        ([(0, 4), (0.5, 12), (1, 12), (1.4, 4)], 1.4, "pass", "pass"),
        ([(h / 2, 20) for h in range(5)], 2.0, "pass", "confirm"),
        ([(h / 2, 20) for h in range(6)], 2.5, "stop", "confirm"),
        ([(h / 2, 20) for h in range(9)], 4.0, "stop", "stop"),
        ([(h / 2, 58) for h in range(9)], 0.0, "pass", "stop"),
        ([(h / 2, 61) for h in range(9)], 0.0, "pass", "pass"),
        ([(h / 2, 5) for h in range(48)], 0.0, "pass", "pass"),
        ([(0, 61), (0.4, 4)], 0.4, "pass", "pass"),
    ],
)
def test_hours_between_cold_and_hot_are_added_by_the_worse_neighbour(readings, hours, us, au):
    out = time_out(readings, air_c=20.0)
    assert out.hours == pytest.approx(hours)
    assert out.unknown_hours == 0.0
    assert said(out.verdicts) == [("OUT-2H", us)]
    assert said(time_out(readings, RuleSet.AU, air_c=20.0).verdicts) == [("OUT-24", au)]


def test_warm_air_allows_one_hour_and_unknown_air_is_asked():
    # USDA FSIS: one hour above 90 °F.
    readings = [(0, 20), (0.5, 20), (1, 20), (1.25, 20)]
    assert said(time_out(readings, air_c=33.0).verdicts) == [("OUT-2H", "stop")]
    assert said(time_out(readings).verdicts) == [("OUT-2H", "confirm")]


def test_unknown_stretches_are_told_and_ask_why_where_they_could_matter():
    out = time_out([(0, 4), (3, 4)], air_c=20.0)
    assert (out.hours, out.unknown_hours) == (0.0, 3.0)
    assert said(out.verdicts) == [("COOL-UNPROVEN", "confirm")]
    short = time_out([(0, 4), (0.6, 4), (0.9, 4)], air_c=20.0)
    assert (short.unknown_hours, said(short.verdicts)) == (0.6, [("OUT-2H", "pass")])
    ends = time_out([(0, None), (1, 4), (1.4, 4), (3, nan)])
    assert ends.unknown_hours == pytest.approx(2.6)
    both = time_out([(0, 20), (0.5, 20), (1, 20), (1.5, 20), (5, 20)])
    assert said(both.verdicts) == [("OUT-2H", "confirm"), ("COOL-UNPROVEN", "confirm")]


@pytest.mark.parametrize(
    "readings",
    [
        [],
        [(0, None)],
        [(0, 4)],
        [(1, 4), (0.8, 4)],
        [(nan, 4), (0.1, 4), (0.2, 4)],
        [(-1, 4), (-0.6, 4)],
    ],
)
def test_a_record_that_proves_nothing_is_never_a_pass(readings):
    assert said(time_out(readings, air_c=20.0).verdicts) == [("COOL-UNPROVEN", "confirm")]


def test_a_clock_that_goes_back_takes_no_hours_away():
    out = time_out([(0, 20), (0.5, 20), (1, 20), (0.2, 20), (0.7, 20), (1.2, 20), (1.7, 20)])
    assert out.hours == pytest.approx(2.5)
    assert said(out.verdicts) == [("OUT-2H", "stop")]


POT = [(0.0, 57.0), (1.83, 21.0), (5.75, 5.0)]


def test_a_measured_cooling_is_not_judged_twice():
    # Food Code 3-501.14; the same pot read by the two hours alone would be thrown away.
    assert said(cooled(POT)) == [("COOL-2STAGE", "pass")]
    assert said(time_out(POT, is_cooling=True, air_c=20.0).verdicts) == [("COOL-2STAGE", "pass")]
    steps = [(h / 2, max(4.0, 57 - 12 * h)) for h in range(12)]
    assert said(time_out(steps, is_cooling=True, air_c=20.0).verdicts)[0][0] == "COOL-2STAGE"
    assert said(time_out(steps, air_c=20.0).verdicts) == [("OUT-2H", "stop")]


def test_what_follows_the_cooling_is_time_out():
    later = [(6.0, 20.0), (6.5, 20.0), (7.0, 20.0), (7.5, 20.0), (8.0, 20.0), (8.4, 4.0)]
    out = time_out([*POT, *later], is_cooling=True, air_c=20.0)
    assert said(out.verdicts) == [("COOL-2STAGE", "pass"), ("OUT-2H", "stop")]


def test_a_failed_cooling_and_an_unproven_one():
    slow = [(0, 57), (2.5, 24), (7, 5)]
    assert said(time_out(slow, is_cooling=True).verdicts) == [("COOL-2STAGE", "stop")]
    lost = [(0, 57), (0.5, None), (1.9, 21), (5, 5)]
    unproven = time_out(lost, is_cooling=True).verdicts
    assert {v.id for v in unproven} == {"COOL-UNPROVEN"}


def test_rehydrated_food_has_its_own_clock():
    # Food Code 3-501.14(B): 4 hours.
    soup = [(0, 20), (3.9, 5)]
    verdicts = time_out(soup, is_cooling=True, reconstituted=True).verdicts
    assert said(verdicts) == [("COOL-AMBIENT", "pass")]


def test_fahrenheit_hours_are_asked():
    assert said(time_out([(0, 135), (1, 70)]).verdicts) == [("UNIT-ASK", "ask")]
    assert said(time_out([(0, 4), (0.5, 4)], air_c=72.0).verdicts) == [("UNIT-ASK", "ask")]


def test_a_drop_out_does_not_excuse_a_cooling_that_was_too_slow():
    # Food Code 3-501.14: 24 °C after 3 hours is too slow, whatever was not read between.
    slow = [(0, 57), (3, 24), (5, 5)]
    assert said(cooled(slow)) == [("COOL-2STAGE", "stop")]
    assert said(cooled([slow[0], (1.5, None), *slow[1:]])) == [("COOL-2STAGE", "stop")]
    assert said(cooled([(0, 20), (1, None), (5, 9)], reconstituted=True)) == [
        ("COOL-AMBIENT", "stop")
    ]
