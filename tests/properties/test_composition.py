"""What no mixing, skimming, draining or soaking may ever do."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from app.science.composition import (
    COMPONENTS,
    Composition,
    energy_kcal,
    mass_at_water_kg,
    mix,
    moisture_db,
    water_fraction,
    with_added_water,
    with_measured,
    with_water,
    without,
)
from app.science.cooking import blanched, drained, fat_layer_kg, skimmed
from tests.properties.compositions import compositions

MASS = st.floats(0.05, 20.0)


def assert_conserved(whole: Composition, whole_kg: float, parts: list[tuple[Composition, float]]):
    for name in COMPONENTS:
        held = sum(getattr(part, name) * kg for part, kg in parts)
        assert held == pytest.approx(getattr(whole, name) * whole_kg, rel=1e-9, abs=1e-9)
        assert all(0.0 <= getattr(part, name) <= 1.0 for part, _ in parts)


@given(compositions(), compositions(), MASS, MASS)
def test_mixing_and_taking_away_are_inverse(first, second, first_kg, second_kg):
    whole = mix([(first, first_kg), (second, second_kg)])
    rest = without(whole, first_kg + second_kg, second, second_kg)
    assert_conserved(whole, first_kg + second_kg, [(rest, first_kg), (second, second_kg)])


@given(compositions(), compositions(), MASS, MASS)
def test_a_mix_lies_between_its_parts(first, second, first_kg, second_kg):
    whole = mix([(first, first_kg), (second, second_kg)])
    for name in COMPONENTS:
        ends = sorted((getattr(first, name), getattr(second, name)))
        assert ends[0] - 1e-12 <= getattr(whole, name) <= ends[1] + 1e-12


@given(compositions(), compositions(), MASS, MASS)
def test_energy_is_neither_made_nor_lost_by_mixing(first, second, first_kg, second_kg):
    whole = mix([(first, first_kg), (second, second_kg)])
    apart = energy_kcal(first, first_kg) + energy_kcal(second, second_kg)
    assert energy_kcal(whole, first_kg + second_kg) == pytest.approx(apart)


@given(st.floats(0.0, 0.99))
def test_wet_and_dry_basis_round_trip(water):
    assert water_fraction(moisture_db(water)) == pytest.approx(water, abs=1e-12)


@given(MASS, st.floats(0.0, 0.98), st.floats(0.0, 0.98))
def test_drying_and_wetting_back_round_trip(mass_kg, water, other):
    there = mass_at_water_kg(mass_kg, water, other)
    assert mass_at_water_kg(there, other, water) == pytest.approx(mass_kg)


@given(compositions(least_water=0.5), MASS, st.floats(0.0, 0.2))
def test_a_skimmed_pot_conserves_every_component(pot, pot_kg, share):
    fat_kg = share * pot_kg
    parts = skimmed(pot, pot_kg, fat_kg)
    assert_conserved(pot, pot_kg, [(parts.rest, pot_kg - fat_kg), (parts.fat, fat_kg)])
    assert parts.unexplained_fat_kg >= 0.0


@given(compositions(least_water=0.5), MASS, st.floats(0.0, 5.0), st.floats(0.5, 0.9))
def test_a_drained_pot_conserves_every_component(meat, raw_kg, poured_per_kg, drained_share):
    poured_kg = poured_per_kg * raw_kg
    pot, pot_kg = with_added_water(meat, raw_kg, poured_kg), raw_kg + poured_kg
    meat_kg = drained_share * raw_kg
    liquid_kg = pot_kg - meat_kg
    assume(liquid_kg < 0.95 * pot.water * pot_kg)
    parts = drained(pot, pot_kg, meat_kg, liquid_kg)
    assert_conserved(pot, pot_kg, [(parts.meat, meat_kg), (parts.liquid, liquid_kg)])
    assert parts.liquid.solids <= pot.solids
    assert parts.liquid_solids.low <= parts.liquid.solids <= parts.liquid_solids.high


@given(compositions(least_water=0.5), MASS, st.floats(0.9, 1.3))
def test_blanching_keeps_fat_and_fibre_and_never_makes_solids(raw, raw_kg, change):
    assume(raw.residue > -0.005)
    after_kg = change * raw_kg
    parts = blanched(raw, raw_kg, after_kg)
    assert parts.food.fat * after_kg == pytest.approx(raw.fat * raw_kg)
    assert parts.food.fibre * after_kg == pytest.approx(raw.fibre * raw_kg)
    assert parts.solids.high * after_kg <= raw.solids * raw_kg * (1.0 + 1e-9)


@given(st.floats(0.0, 0.5), st.floats(0.0, 0.5), MASS)
@settings(max_examples=200)
def test_fatter_meat_never_sets_less_fat_and_never_more_than_it_has(one, other, mass_kg):
    def layer(fat: float):
        return fat_layer_kg(Composition(0.95 * (1 - fat), 0.0, fat, 0.0, 0.0), mass_kg)

    leaner, fatter = sorted((one, other))
    low, high = layer(leaner), layer(fatter)
    assert low.low <= high.low
    assert low.central <= high.central
    assert low.high <= high.high <= fatter * mass_kg


@given(compositions(), st.floats(0.0, 0.999))
def test_a_measured_water_alone_is_drying_or_soaking(
    composition: Composition, water: float
) -> None:
    assume(composition.solids > 1e-3)
    found, expected = with_measured(composition, {"water": water}), with_water(composition, water)
    for name in COMPONENTS:
        assert getattr(found, name) == pytest.approx(getattr(expected, name), abs=1e-9)


@given(compositions(), st.floats(0.0, 0.5), st.floats(0.0, 0.5))
def test_measured_values_stand_and_measuring_them_again_changes_nothing(
    composition: Composition, fat: float, protein: float
) -> None:
    measured = {"fat": fat, "protein": protein}
    found = with_measured(composition, measured)
    assert (found.fat, found.protein) == (fat, protein)
    again = with_measured(found, measured)
    for name in COMPONENTS:
        assert getattr(again, name) == pytest.approx(getattr(found, name), abs=1e-9)
