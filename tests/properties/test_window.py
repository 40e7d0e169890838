"""What must hold for every lot: no choice that is better may ever look worse."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.science.classes import FoodClass, Form, Treatment
from app.science.composition import Composition, with_water
from app.science.history import Stay, Storage
from app.science.keeping import Keeping, NoWindow, Window
from app.science.oxidation import optimum_activity, rate_days, supply_days
from app.science.packaging import PackagingKind
from app.science.sorption import (
    equilibrium_water_fraction,
    gab_activity,
    gab_moisture,
    isotherm_of,
)
from app.science.window import estimate, estimate_many, what_would_help

SLACK = 1e-9  # rounding of the arithmetic, relative
ANIMALS = [food_class for food_class in FoodClass if food_class.is_animal]
PLANTS = [FoodClass.FRUIT, FoodClass.VEGETABLE, FoodClass.GRAIN_LEGUME]
DRYING = [Treatment.DRIED_FREEZE, Treatment.DRIED_AIR]
FEWER = settings(max_examples=60, deadline=None)


@st.composite
def stays(draw: st.DrawFn) -> tuple[Stay, ...]:
    """One to three places, in order."""
    days = sorted(draw(st.lists(st.floats(1, 900), max_size=2)))
    found = []
    for day in [0.0, *days]:
        temp_c = draw(st.floats(-5, 35))
        found.append(
            Stay(
                day,
                draw(st.sampled_from(list(Storage))),
                temp_c,
                temp_c - draw(st.sampled_from([0.0, 3.0])),
                temp_c + draw(st.sampled_from([0.0, 5.0])),
                draw(st.floats(0.1, 0.95)),
            )
        )
    return tuple(found)


@st.composite
def dried_lots(draw: st.DrawFn, classes=tuple(FoodClass)) -> Keeping:
    """Dry food that passes its gate, in any package that it fits."""
    food_class = draw(st.sampled_from(list(classes)))
    fat = draw(st.floats(0.0, 0.45 if food_class.is_animal else 0.08))
    water = draw(st.floats(0.005, 0.04)) * (1 - fat)
    mass_kg = draw(st.floats(0.02, 3.0))
    ash = 0.02
    return Keeping(
        food_class=food_class,
        form=draw(st.sampled_from(list(Form))),
        treatments=frozenset({draw(st.sampled_from(DRYING))}),
        composition=Composition(water, 1 - water - fat - ash, fat, 0.0, ash),
        water_low=water * draw(st.floats(0.3, 1.0)),
        water_high=water * draw(st.floats(1.0, 1.2)),
        net_mass_kg=mass_kg,
        packaging=draw(st.sampled_from(list(PackagingKind))),
        history=draw(stays()),
        volume_m3=mass_kg * draw(st.floats(1e-3, 8e-3)),
        area_m2=draw(st.one_of(st.none(), st.floats(0.02, 1.0))),
        absorber_ml=draw(st.sampled_from([0.0, 50.0, 100.0, 300.0, 2000.0])),
        absorber_self_activated=draw(st.booleans()),
        sealed_pressure_fraction=draw(st.sampled_from([0.01, 0.25, 1.0])),
        seal_checked=draw(st.booleans()),
        altitude_m=draw(st.floats(0, 3000)),
        opened_day=draw(st.one_of(st.none(), st.floats(0, 800))),
        share_used=draw(st.floats(0, 1)),
    )


@st.composite
def moist_lots(draw: st.DrawFn) -> Keeping:
    """Moist food that has only ever been in a freezer."""
    dry = draw(dried_lots())
    days = sorted(draw(st.lists(st.floats(1, 300), max_size=2)))
    history = tuple(Stay(d, Storage.FREEZER, draw(st.floats(-35, -6))) for d in [0.0, *days])
    return replace(
        dry,
        food_class=draw(st.sampled_from([c for c in FoodClass if c is not FoodClass.PANTRY])),
        treatments=draw(st.sampled_from([frozenset(), frozenset({Treatment.COOKED})])),
        composition=Composition(0.7, 0.2, 0.08, 0.0, 0.02),
        water_low=None,
        water_high=None,
        history=history,
        opened_day=None,
    )


def keeps(lot: Keeping) -> tuple[float, float, float]:
    """Early, central and late day; no window counts as no time."""
    answer = estimate(lot)
    if isinstance(answer, NoWindow):
        return (0.0, 0.0, 0.0)
    return answer.early_days, answer.central_days, answer.late_days


def assert_never_worse(better: Keeping, worse: Keeping) -> None:
    for long, short in zip(keeps(better), keeps(worse), strict=True):
        assert long >= short * (1 - SLACK)


@FEWER
@given(st.one_of(dried_lots(), moist_lots()))
def test_a_window_is_ordered_finite_and_repeatable(lot):
    answer = estimate(lot)
    assert isinstance(answer, Window)
    assert lot.history[0].start_day <= answer.early_days
    assert answer.early_days <= answer.central_days <= answer.late_days < float("inf")
    assert sum(share for _, share in answer.shares) == pytest.approx(1.0)
    assert estimate(lot) == answer


@FEWER
@given(dried_lots(ANIMALS), st.floats(0.0, 0.14))
def test_more_fat_never_keeps_longer_at_the_same_water(lot, more):
    food = lot.composition
    fatter = replace(food, fat=food.fat + more, protein=max(food.protein - more, 0.0))
    assert_never_worse(lot, replace(lot, composition=fatter))


@FEWER
@given(dried_lots(ANIMALS), st.floats(0.0, 0.14))
def test_more_fat_never_keeps_longer_at_the_same_dryness(lot, more):
    """Known water, scaled with the fat-free part: the water activity stays the same."""
    lot = replace(lot, water_low=None, water_high=None)
    food = lot.composition
    scale = (1 - food.fat - more) / (1 - food.fat)
    lower = {n: getattr(food, n) * scale for n in ("water", "protein", "carbohydrate", "ash")}
    fatter = Composition(fat=food.fat + more, **lower)
    assert_never_worse(lot, replace(lot, composition=fatter))


@FEWER
@given(dried_lots(PLANTS), st.floats(0.0, 0.1))
def test_more_fat_never_keeps_longer_in_produce(lot, more):
    food = lot.composition
    fatter = replace(food, fat=food.fat + more, protein=food.protein - more)
    assert_never_worse(lot, replace(lot, composition=fatter))


@FEWER
@given(st.one_of(dried_lots(), moist_lots()), st.integers(0, 2), st.floats(0.0, 15.0))
def test_cooler_never_keeps_shorter(lot, which, kelvin):
    i = which % len(lot.history)
    stay = lot.history[i]
    if stay.low_c - kelvin < -40:
        kelvin = 0.0
    cooler = replace(
        stay,
        temp_c=stay.temp_c - kelvin,
        temp_low_c=stay.low_c - kelvin,
        temp_high_c=stay.high_c - kelvin,
    )
    history = (*lot.history[:i], cooler, *lot.history[i + 1 :])
    assert_never_worse(replace(lot, history=history), lot)


@FEWER
@given(dried_lots(), st.floats(0.0, 3000.0))
def test_a_bigger_absorber_is_never_worse(lot, more):
    assert_never_worse(replace(lot, absorber_ml=lot.absorber_ml + more), lot)


@FEWER
@given(dried_lots())
def test_a_self_activated_absorber_is_never_worse(lot):
    own = replace(lot, absorber_self_activated=True)
    assert_never_worse(own, replace(lot, absorber_self_activated=False))


TIGHTER = [
    (PackagingKind.VACUUM_BAG, PackagingKind.ZIP_BAG),
    (PackagingKind.METALLISED_POUCH, PackagingKind.VACUUM_BAG),
    (PackagingKind.FOIL_POUCH, PackagingKind.METALLISED_POUCH),
    (PackagingKind.ZIP_BAG, PackagingKind.BUTCHER_PAPER),
    (PackagingKind.PAIL_LINED, PackagingKind.PAIL),
    (PackagingKind.STEEL_CAN, PackagingKind.GLASS_JAR),
    (PackagingKind.STEEL_CAN, PackagingKind.PLASTIC_BOTTLE),
    (PackagingKind.PLASTIC_BOTTLE, PackagingKind.TUB),
]


@FEWER
@given(dried_lots(), st.sampled_from(TIGHTER))
def test_a_tighter_package_of_the_same_size_is_never_worse(lot, pair):
    tight, loose = (replace(lot, packaging=kind, area_m2=0.1) for kind in pair)
    assert_never_worse(tight, loose)


@FEWER
@given(moist_lots())
def test_paper_bag_and_vacuum_bag_rank_in_the_freezer(lot):
    paper, zipped, vacuum = (
        replace(lot, packaging=kind)
        for kind in (PackagingKind.BUTCHER_PAPER, PackagingKind.ZIP_BAG, PackagingKind.VACUUM_BAG)
    )
    assert_never_worse(zipped, paper)
    assert_never_worse(vacuum, zipped)


@FEWER
@given(dried_lots())
def test_a_checked_seal_is_never_worse(lot):
    assert_never_worse(replace(lot, seal_checked=True), replace(lot, seal_checked=False))


@FEWER
@given(dried_lots(), st.floats(0.0, 0.99))
def test_a_deeper_vacuum_is_never_worse(lot, fraction):
    deeper = lot.sealed_pressure_fraction * fraction
    assert_never_worse(replace(lot, sealed_pressure_fraction=deeper), lot)


@FEWER
@given(dried_lots(), st.floats(0.0, 1.0))
def test_less_quality_used_before_is_never_worse(lot, fraction):
    assert_never_worse(replace(lot, share_used=lot.share_used * fraction), lot)


@FEWER
@given(dried_lots(), st.floats(0.0, 800.0))
def test_opening_never_makes_it_keep_longer(lot, day):
    assert_never_worse(replace(lot, opened_day=None), replace(lot, opened_day=day))


@FEWER
@given(dried_lots(), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_drier_is_never_worse_down_to_the_optimum(lot, a, b):
    """Between the optimum and the gate, and beyond it, where there is no window at room."""
    food_class, food = lot.food_class, lot.composition
    optimum = optimum_activity(food_class, food.fat_db).value
    driest = equilibrium_water_fraction(food_class, optimum, food.fat_db)
    wettest = equilibrium_water_fraction(food_class, 0.70, food.fat_db)
    low, high = sorted((a, b))
    drier, wetter = (
        replace(
            lot,
            composition=with_water(food, driest + (wettest - driest) * share),
            water_low=None,
            water_high=None,
        )
        for share in (low, high)
    )
    assert_never_worse(drier, wetter)


@FEWER
@given(
    st.floats(0.1, 50),
    st.floats(1e-3, 5),
    st.floats(20, 2000),
    st.floats(1e-4, 50),
    st.floats(0.01, 1),
)
def test_life_does_not_jump_where_the_oxygen_inside_just_suffices(
    tolerance, uptake, capacity, ingress, half
):
    import numpy as np

    def life(residual: float) -> float:
        values = [np.array([x]) for x in (tolerance, uptake, residual, capacity, ingress, half)]
        supply = supply_days(values[0], values[2], values[4])
        return float(np.maximum(supply, rate_days(*values)).item())

    before, at, after = (life(tolerance * (1 + step)) for step in (-1e-7, 0.0, 1e-7))
    slope = tolerance * 2e-7 / ingress  # as fast as the supply can change
    assert before - at <= slope + 1e-6 * at
    assert at >= after * (1 - SLACK)
    assert at - after <= slope + 1e-6 * at


@FEWER
@given(st.lists(st.one_of(dried_lots(), moist_lots()), max_size=5))
def test_many_lots_get_the_windows_each_gets_alone(lots):
    assert estimate_many(lots) == [estimate(lot) for lot in lots]


@settings(max_examples=25, deadline=None)
@given(st.one_of(dried_lots(), moist_lots()))
def test_help_never_hurts(lot):
    for help_ in what_would_help(lot):
        assert max(help_.gain_days, help_.gain_days_low) > 0
        assert estimate(help_.changed) == help_.new_window


@FEWER
@given(st.sampled_from(list(FoodClass)), st.floats(0.0, 0.75))
def test_moisture_and_water_activity_are_inverses(food_class, activity):
    isotherm = isotherm_of(food_class)
    constants = isotherm.monolayer.value, isotherm.c.value, isotherm.k.value
    assert gab_activity(gab_moisture(activity, *constants), *constants) == pytest.approx(
        activity, abs=1e-9
    )
