"""Whatever is shown can be typed back, and nothing typed is taken for something it is not."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from app.units import (
    MAX_CHARACTERS,
    UnitProblem,
    format_mass,
    format_temperature,
    format_volume,
    parse_mass,
    parse_temperature,
    parse_volume,
)

OUNCE_MG = Fraction("28349.523125")
masses_mg = st.integers(min_value=1_500, max_value=999_000_000)


@given(masses_mg)
def test_a_metric_mass_typed_back_is_within_half_the_last_figure(mass_mg):
    half = Fraction(50) if mass_mg < 9_950 else Fraction(500)
    half = max(half, Fraction(mass_mg, 200)) if mass_mg >= 999_500 else half
    assert abs(parse_mass(format_mass(mass_mg)).mass_mg - mass_mg) <= half


@given(masses_mg)
def test_an_exact_mass_typed_back_is_within_half_a_gram(mass_mg):
    assert abs(parse_mass(format_mass(mass_mg, exact=True)).mass_mg - mass_mg) <= 500


@given(masses_mg)
def test_a_us_mass_typed_back_is_within_half_the_last_figure(mass_mg):
    half = OUNCE_MG / 20 if mass_mg < 160 * OUNCE_MG else Fraction(mass_mg, 200)
    assert abs(parse_mass(format_mass(mass_mg, "us")).mass_mg - mass_mg) <= half + 1


@given(masses_mg)
def test_an_exact_us_mass_typed_back_is_within_a_twentieth_of_an_ounce(mass_mg):
    shown = format_mass(mass_mg, "us", exact=True)
    assert abs(parse_mass(shown).mass_mg - mass_mg) <= OUNCE_MG / 20 + 1


@given(st.floats(min_value=-80, max_value=300), st.sampled_from(["metric", "us"]))
def test_a_temperature_typed_back_is_within_half_a_tenth(temp_c, system):
    back = parse_temperature(format_temperature(temp_c, system)).temp_c
    assert abs(back - temp_c) <= 0.05 + 1e-9


@given(st.floats(min_value=8e-6, max_value=0.9))
def test_a_metric_volume_typed_back_is_within_half_the_last_figure(volume_m3):
    back = parse_volume(format_volume(volume_m3)).volume_m3
    assert abs(back - volume_m3) <= max(0.5e-6, volume_m3 / 200) + 1e-15


@given(st.floats(min_value=8e-6, max_value=0.9))
def test_a_us_volume_typed_back_is_within_half_of_its_measure(volume_m3):
    tablespoon, cup, gallon = 14.78676478125e-6, 236.5882365e-6, 3785.411784e-6
    below_cups, below_gallons = 3.75 * tablespoon, 15.875 * cup
    half = tablespoon / 4 if volume_m3 < below_cups else cup / 8
    half = half if volume_m3 < below_gallons else gallon / 20
    back = parse_volume(format_volume(volume_m3, "us")).volume_m3
    assert abs(back - volume_m3) <= half * 1.000001


@given(st.integers(min_value=1, max_value=99_999), st.sampled_from(["g", "kg", "oz", "lb"]))
def test_a_decimal_comma_and_a_point_never_disagree(hundredths, unit):
    pointed = f"{hundredths // 100}.{hundredths % 100:02d} {unit}"
    assert parse_mass(pointed).mass_mg == parse_mass(pointed.replace(".", ",")).mass_mg


@given(st.text(max_size=MAX_CHARACTERS + 5))
def test_any_text_is_a_mass_of_a_household_or_a_named_problem(text):
    try:
        mass = parse_mass(text)
    except UnitProblem:
        return
    assert 0 <= mass.mass_mg <= 1_000_000_000
    assert mass.typed == text


@given(st.text(alphabet="0123456789.,/ -½lbozkg", max_size=14))
def test_any_text_of_amounts_is_a_mass_or_a_named_problem(text):
    try:
        assert 0 <= parse_mass(text).mass_mg <= 1_000_000_000
    except UnitProblem:
        return
