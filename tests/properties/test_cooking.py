"""Boiling points and cooked masses over their whole range."""

from hypothesis import given
from hypothesis import strategies as st

from app.science.classes import FoodClass, Form
from app.science.cooking import CookingMethod, boiling_point_c, cooked_mass_kg
from app.science.errors import NotInTable
from tests.properties.compositions import compositions


@given(st.floats(-500.0, 9000.0), st.floats(-500.0, 9000.0))
def test_water_never_boils_hotter_higher_up(one, other):
    low, high = sorted((one, other))
    assert 60.0 < boiling_point_c(high) <= boiling_point_c(low) + 1e-9 < 110.0


@given(
    compositions(),
    st.floats(0.0, 20.0),
    st.sampled_from(CookingMethod),
    st.sampled_from(FoodClass),
    st.sampled_from(Form),
)
def test_cooked_meat_is_lighter_than_raw_or_the_table_is_silent(raw, kg, method, kind, form):
    try:
        cooked = cooked_mass_kg(raw, kg, method, kind, form).mass_kg
    except NotInTable:
        return
    assert 0.0 <= 0.5 * kg <= cooked.low <= cooked.central <= cooked.high <= kg
