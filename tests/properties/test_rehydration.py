"""Soaking gives back at most what drying took."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.science.rehydration import coefficient_of_rehydration, water_to_add_kg

MASS = st.floats(0.001, 20.0)


@given(MASS, st.floats(0.0, 0.2), st.floats(0.2, 0.97), st.floats(0.2, 0.97))
def test_a_wetter_food_never_takes_less_water(dry_kg, dry_water, one, other):
    low, high = sorted((one, other))
    less, more = (water_to_add_kg(dry_kg, dry_water, w) for w in (low, high))
    assert 0.0 <= less.low <= less.central <= less.high <= more.high + 1e-12


@given(MASS, st.floats(0.0, 0.2), st.floats(0.3, 0.97))
def test_the_ceiling_of_water_is_a_coefficient_of_one(dry_kg, dry_water, fresh_water):
    full_kg = dry_kg + water_to_add_kg(dry_kg, dry_water, fresh_water).high
    assert coefficient_of_rehydration(dry_kg, dry_water, full_kg, fresh_water) == pytest.approx(1.0)
