"""What must hold of every safety rule, whatever is told: no gap, no clock, no lie opens a gate."""

import re
from math import inf, nan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.science.classes import FoodClass, Form, Treatment
from app.science.drying import DryerKind
from app.science.safety.absorbers import AbsorberKind
from app.science.safety.catalogue import ALL_RULES
from app.science.safety.cooking_time import time_temperature_score
from app.science.safety.fish import FishUse
from app.science.safety.game import CwdStatus, Step
from app.science.safety.low_oxygen import Kept
from app.science.safety.outage import FRIDGE_TABLE, Fate
from app.science.safety.rule import Outcome, RuleSet, Verdict
from app.science.safety.thawing import ThawWay
from app.science.safety.verdicts import (
    absorber,
    clears_raw,
    colour_note,
    cooked,
    cooked_from_history,
    cooled,
    dried_meat,
    dryer_load,
    fate_in_freezer,
    fate_in_fridge,
    fish_notes,
    freezer_outage,
    game_notes,
    held_cold,
    held_hot,
    left_out,
    may_refreeze,
    not_covered,
    outage_fridge,
    oxygen_free_pack,
    raw_label,
    rehydrate,
    thawed,
    time_out,
    trichina_in_pork,
    under_oil,
    unknown_ingredient,
)

ANIMAL = [food for food in FoodClass if food.is_animal]
RANK = list(Outcome).index
FATE_RANK = [Fate.REFREEZE, Fate.KEEP, Fate.LOOK, Fate.DISCARD].index
quick = settings(max_examples=60, deadline=None)

missing = st.sampled_from([None, nan, inf, -inf])
temps = st.floats(-30.0, 104.0)
maybe_temp = st.one_of(temps, missing)
hours = st.floats(0.0, 48.0)
maybe_hours = st.one_of(hours, missing)
tri = st.sampled_from([True, False, None])
foods, animals = st.sampled_from(list(FoodClass)), st.sampled_from(ANIMAL)
forms, rule_sets = st.sampled_from(list(Form)), st.sampled_from(list(RuleSet))
treatments = st.frozensets(st.sampled_from(list(Treatment)))


def worst_of(verdicts: tuple[Verdict, ...]) -> int:
    return max((RANK(v.outcome) for v in verdicts), default=0)


def records(step: float, low: float, high: float, least: int = 0) -> st.SearchStrategy:
    """Histories whose clock runs forward, with drop-outs."""
    value = st.one_of(st.floats(low, high), st.floats(low, high), st.just(None))
    rows = st.lists(st.tuples(st.floats(0.01, step), value), min_size=least, max_size=10)
    return rows.map(lambda steps: [(sum(s for s, _ in steps[:i + 1]), v)
                                   for i, (_, v) in enumerate(steps)])  # fmt: skip


cookings = records(2.4, 55.0, 95.0)
coolings = records(1.5, -2.0, 70.0)


def with_drop_out(record: list, at: int, share: float, lost: float | None) -> list:
    """The same record with a row of a failed probe, somewhere between its neighbours."""
    at = min(at, len(record))
    before = record[at - 1][0] if at else 0.0
    after = record[at][0] if at < len(record) else before + 2.0
    return [*record[:at], (before + share * (after - before), lost), *record[at:]]


drop_outs = st.tuples(st.integers(0, 10), st.floats(0.0, 1.0), missing)


# -- no evidence, no pass ---------------------------------------------------------------------


@given(animals, forms, rule_sets, st.lists(st.tuples(st.floats(0, 90), missing), max_size=6))
@quick
def test_a_history_of_drop_outs_never_cooks(food, form, rule_set, record):
    assert not clears_raw(cooked_from_history([food], form, record, "C", rule_set=rule_set))


@given(animals, forms, rule_sets, st.lists(temps, min_size=2, max_size=8), st.floats(0.0, 9.0))
@quick
def test_a_clock_that_only_goes_back_or_below_nothing_never_cooks(
    food, form, rule_set, values, start
):
    back = [(start - number, value) for number, value in enumerate(values)]
    below = [(number - 100.0, value) for number, value in enumerate(values)]
    for record in (back, below):
        verdicts = cooked_from_history([food], form, record, "C", rule_set=rule_set, insisted=True)
        assert not clears_raw(verdicts)


@given(st.lists(st.tuples(st.floats(0, 9), missing), max_size=6), rule_sets, st.booleans())
@quick
def test_cooling_and_time_out_without_a_reading_never_pass(record, rule_set, flag):
    assert worst_of(cooled(record, flag, rule_set)) >= RANK(Outcome.CONFIRM)
    out = time_out(record, rule_set, air_c=20.0, is_cooling=flag)
    assert worst_of(out.verdicts) >= RANK(Outcome.CONFIRM)


@given(coolings.filter(lambda r: len(r) > 1), st.integers(0, 9), rule_sets, st.booleans())
@quick
def test_a_clock_that_goes_back_or_is_missing_never_passes(record, at, rule_set, flag):
    at = at % (len(record) - 1)
    back = [*record, (record[at][0] - 0.005, 4.0)]
    for broken in (back, [*record, (nan, 4.0)], [(-1.0, 4.0), *record]):
        assert Outcome.PASS not in {v.outcome for v in cooled(broken, flag, rule_set)}
        found = time_out(broken, rule_set, air_c=20.0, is_cooling=flag).verdicts
        assert worst_of(found) >= RANK(Outcome.CONFIRM)


@given(missing, st.sampled_from(list(Kept)), animals)
@quick
def test_no_other_gate_takes_a_missing_number_for_a_pass(lost, kept, food):
    verdicts = [
        *held_cold(lost),
        *held_hot(lost),
        *may_refreeze(ThawWay.REFRIGERATOR, warmest_c=lost),
        *under_oil(Kept.FRIDGE, lost),
        *dried_meat([food], DryerKind.AIR, was_cooked=False, centre_before=lost, by_wet_heat=True),
        *fish_notes(
            FoodClass.FISH_FATTY, "salmon", use=FishUse.RAW, frozen_c=lost, frozen_hours=500.0
        ),
        *oxygen_free_pack(food, fat_fraction=0.1, water_low=0.01, water_high=lost),
        *oxygen_free_pack(food, fat_fraction=lost, water_low=0.01, water_high=0.02),
    ]
    assert Outcome.PASS not in {v.outcome for v in verdicts}


# -- a failed probe never helps ---------------------------------------------------------------


@given(animals, forms, rule_sets, cookings, drop_outs)
@settings(max_examples=150, deadline=None)
def test_a_drop_out_never_cooks_what_was_raw(food, form, rule_set, record, lost):
    def clears(readings):
        return clears_raw(cooked_from_history([food], form, readings, "C", rule_set=rule_set))

    if clears(with_drop_out(record, *lost)):
        assert clears(record)
    for number, (at, _) in enumerate(record):
        if clears([*record[:number], (at, None), *record[number + 1 :]]):
            assert clears(record)


@given(coolings, drop_outs, st.booleans(), rule_sets)
@settings(max_examples=150, deadline=None)
def test_a_drop_out_never_improves_a_cooling(record, lost, ambient, rule_set):
    before = worst_of(cooled(record, ambient, rule_set))
    assert worst_of(cooled(with_drop_out(record, *lost), ambient, rule_set)) >= before


@given(coolings, drop_outs, rule_sets, st.booleans())
@settings(max_examples=150, deadline=None)
def test_a_drop_out_never_improves_time_out(record, lost, rule_set, cooling):
    def judged(readings):
        return time_out(readings, rule_set, air_c=20.0, is_cooling=cooling)

    before, after = judged(record), judged(with_drop_out(record, *lost))
    assert worst_of(after.verdicts) >= worst_of(before.verdicts)
    assert after.hours >= before.hours
    assert after.unknown_hours >= before.unknown_hours


@given(records(4.0, 120.0, 170.0), drop_outs)
@quick
def test_a_drop_out_never_adds_to_time_and_temperature(record, lost):
    assert time_temperature_score(with_drop_out(record, *lost)) <= time_temperature_score(record)


# -- hotter, longer ---------------------------------------------------------------------------


@given(animals, forms, rule_sets, cookings, st.floats(0.0, 5.0), st.integers(0, 9))
@settings(max_examples=150, deadline=None)
def test_a_higher_reading_never_worsens_cooking(food, form, rule_set, record, more, at):
    def clears(readings):
        return clears_raw(cooked_from_history([food], form, readings, "C", rule_set=rule_set))

    hotter = [
        (minutes, value + more if value is not None and number >= at else value)
        for number, (minutes, value) in enumerate(record)
    ]
    if clears(record):
        assert clears(hotter)


@given(animals, forms, rule_sets, st.floats(40, 100), st.floats(0, 5), st.floats(0, 9))
@quick
def test_two_equal_readings_cook_as_one_that_was_held(food, form, rule_set, temp, length, rest):
    history = [(0.0, temp), (max(length, 0.01), temp)]
    by_history = cooked_from_history(
        [food], form, history, "C", rest_minutes=rest, rule_set=rule_set
    )
    alone = cooked([food], form, temp, "C", max(rest, history[1][0]), rule_set)
    assert clears_raw(by_history) is clears_raw(alone)


@given(foods, forms, treatments, tri, hours, hours)
@quick
def test_longer_warm_never_improves_a_failed_freezer(food, form, done, icy, warm, more):
    now = fate_in_freezer(food, form, done, icy, warm)
    later = fate_in_freezer(food, form, done, icy, warm + more)
    assert FATE_RANK(later.fate) >= FATE_RANK(now.fate)
    unknown = fate_in_freezer(food, form, done, None, None)
    assert FATE_RANK(unknown.fate) >= FATE_RANK(now.fate)


@given(
    foods, forms, treatments, st.booleans(), st.none() | hours, st.none() | hours, hours
)  # fmt: skip
@quick
def test_longer_without_power_never_improves_a_fridge(food, form, done, raw, warm, out, more):
    now = FATE_RANK(fate_in_fridge(food, form, done, raw, warm, out).fate)
    if warm is not None:
        assert FATE_RANK(fate_in_fridge(food, form, done, raw, warm + more, out).fate) >= now
    if out is not None:
        assert FATE_RANK(fate_in_fridge(food, form, done, raw, warm, out + more).fate) >= now
    assert fate_in_fridge(food, form, done, raw, warm, out, True).fate is Fate.DISCARD


@given(st.sampled_from([row.food for row in FRIDGE_TABLE]), hours, hours, hours, hours)
@quick
def test_longer_above_10_degrees_never_improves_a_sauce(food, warm, hot, more, hotter):
    now = outage_fridge(food, hours_above_4_4c=warm, hours_above_10c=hot)
    later = outage_fridge(food, hours_above_4_4c=warm + more, hours_above_10c=hot + hotter)
    assert FATE_RANK(later.fate) >= FATE_RANK(now.fate)


@given(coolings, rule_sets, st.floats(0.05, 1.0))
@quick
def test_staying_warm_longer_never_improves_time_out(record, rule_set, more):
    out = time_out(record, rule_set, air_c=20.0)
    end = record[-1][0] if record else 0.0
    longer = time_out([*record, (end + 0.4, 20.0), (end + 0.4 + more, 20.0)], rule_set, air_c=20.0)
    assert longer.hours >= out.hours


# -- a cooling that passes has proof on both sides ---------------------------------------------


@given(coolings)
@settings(max_examples=150, deadline=None)
def test_a_cooling_passes_only_with_readings_at_both_limits_in_time(record):
    if cooled(record)[0].outcome is Outcome.PASS:
        proof = [(at, t) for at, t in record if t is not None]
        start = max((at for at, t in proof if t >= 57.0), default=0.0)
        cold = next(at for at, t in proof if at >= start and t <= 5.0)
        assert cold - start <= 6.0
        assert any(t <= 21.0 and at - start <= 2.0 for at, t in proof if at >= start)


@given(coolings, st.integers(2, 4))
@quick
def test_fewer_readings_never_turn_a_slow_fall_into_a_pass(record, every):
    falling = [(at, 80.0 - 9.0 * number) for number, (at, _) in enumerate(record)]
    full = cooled(falling)[0].outcome
    if full in (Outcome.STOP, Outcome.CONFIRM):
        assert cooled(falling[::every])[0].outcome is not Outcome.PASS


# -- sentences --------------------------------------------------------------------------------


@st.composite
def everything_said(draw) -> tuple[Verdict, ...]:
    """What every evaluator says of the same arbitrary story."""
    food, form, rule_set, temp = draw(foods), draw(forms), draw(rule_sets), draw(maybe_temp)
    length, flag, record = draw(hours), draw(st.booleans()), draw(coolings)
    done, yes = draw(treatments), draw(tri)
    fraction = draw(st.one_of(st.floats(0, 1), missing))
    unit = draw(st.sampled_from(["C", "F"]))
    return (
        *cooked([food], form, temp, unit, length, rule_set, insisted=flag),
        *cooked_from_history([food], form, record, unit, rule_set=rule_set, insisted=flag),
        *cooled(record, flag, rule_set),
        *time_out(record, rule_set, air_c=temp, is_cooling=flag).verdicts,
        *rehydrate(flag, readings=record, soak_hours=length, dried_or_sealed_again=flag),
        *held_cold(temp, unit, insisted=flag),
        *held_hot(temp, unit, has_clock=flag, insisted=flag),
        *left_out([(length, temp)], rule_set, insisted=flag),
        *thawed(draw(st.sampled_from(list(ThawWay))), is_vacuum_fish=flag, warmest_c=temp),
        *may_refreeze(ThawWay.REFRIGERATOR, warmest_c=temp, hours_out=length, insisted=flag),
        *freezer_outage(is_full=flag),
        fate_in_freezer(food, form, done, yes, length).verdict,
        fate_in_fridge(food, form, done, flag, length, None).verdict,
        *oxygen_free_pack(
            food, fat_fraction=fraction, water_low=fraction, water_high=fraction,
            water_activity=draw(st.one_of(st.floats(0, 1), missing)), raw=flag, ph=4.0,
            kept=draw(st.sampled_from(list(Kept))), fridge_days=length, is_vacuum=flag,
        ),
        *under_oil(draw(st.sampled_from(list(Kept))), draw(maybe_hours), temp, insisted=flag),
        *dried_meat(
            [food], draw(st.sampled_from(list(DryerKind))), was_cooked=False, centre_before=temp,
            oven_after=flag, water_activity=fraction, insisted=flag, rule_set=rule_set,
        ),
        *dryer_load({"7K3M": True, "9Q2X": yes})[0],
        *game_notes(
            food, draw(st.sampled_from(["moose", "hare", "boar", "duck"])), lead_ammunition=yes,
            is_ground_or_near_wound=flag, cwd_status=draw(st.sampled_from(list(CwdStatus))),
            cwd_listed=yes, step=draw(st.sampled_from(list(Step))), hours_since_death=length,
            air_c=temp, was_sick=flag, rule_set=rule_set,
        ),
        *fish_notes(
            food, "mackerel", use=draw(st.sampled_from(list(FishUse))), frozen_c=temp,
            frozen_hours=length, outings=[(length, temp)], rule_set=rule_set, insisted=flag,
        ),
        *absorber(draw(st.sampled_from(list(AbsorberKind))), minutes_open=length),
        *trichina_in_pork(-15.0, length, 0.1),
        *not_covered("curing"),
        *colour_note("no pink, juices clear"),
        *raw_label("Moose", "160 °F"),
        *unknown_ingredient("spice mix", is_recorded=yes),
    )  # fmt: skip


@given(everything_said())
@settings(max_examples=120, deadline=None)
def test_every_sentence_is_whole(verdicts):
    for verdict in verdicts:
        sentence = verdict.sentence
        assert sentence.endswith((".", "?")), (verdict.id, sentence)
        assert not re.search(r"\b(None|nan|inf|True|False)\b|[{}]", sentence), sentence
        assert verdict.source_text
        assert verdict.rule_version


@pytest.mark.parametrize("rule", ALL_RULES, ids=lambda rule: rule.id)
def test_no_outcome_of_a_rule_is_without_a_sentence(rule):
    assert all(rule.sentence_for(outcome) for outcome in Outcome)
