"""Typed amounts become SI once and exactly, and what is shown can be typed back."""

import subprocess
import sys
from fractions import Fraction

import pint
import pytest

from app.units import (
    MAX_CHARACTERS,
    UnitFault,
    UnitProblem,
    format_mass,
    format_mass_pair,
    format_temperature,
    format_volume,
    parse_length,
    parse_mass,
    parse_temperature,
    parse_volume,
)


@pytest.fixture(scope="module")
def registry():
    """An independent table of units, in exact fractions."""
    return pint.UnitRegistry(non_int_type=Fraction)


@pytest.mark.parametrize(
    ("typed", "grams"),
    [
        ("2431", "2431"),
        ("2431 g", "2431"),
        ("1.375 kg", "1375"),
        ("1,375 kg", "1375"),
        ("1,000 kg", "1000"),
        ("0,234 g", "0.234"),
        ("2431,5", "2431.5"),
        ("1 787 g", "1787"),
        ("1\u2009787 g", "1787"),
        ("1\u202f787\u00a0g", "1787"),
        ("12 400,5 g", "12400.5"),
        (".5 kg", "500"),
        ("  853  G ", "853"),
        ("1 kg 375 g", "1375"),
        ("350 mg", "0.35"),
    ],
)
def test_metric_masses_are_read_with_either_decimal_sign(typed, grams):
    assert parse_mass(typed).mass_mg == Fraction(grams) * 1000


@pytest.mark.parametrize(
    ("typed", "ounces"),
    [
        ("12 oz", "12"),
        ("4 lb 6 oz", "70"),
        ("4lb6oz", "70"),
        ("4 lbs. 6 oz.", "70"),
        ("4lb 6 1/2 oz", "141/2"),
        ("6½ oz", "13/2"),
        ("6 ½ oz", "13/2"),
        ("1/2 lb", "8"),
        ("2.5 pounds", "40"),
        ("4 lb 6.5 oz", "141/2"),
    ],
)
def test_pounds_and_ounces_are_rounded_once_to_the_milligram(typed, ounces, registry):
    exact = registry.Quantity(Fraction(ounces), "ounce").to("milligram").magnitude
    assert abs(parse_mass(typed).mass_mg - exact) <= Fraction(1, 2)


def test_a_mass_keeps_what_was_typed_and_its_unit():
    mass = parse_mass(" 4lb 6½ oz")
    assert (mass.typed, mass.unit) == (" 4lb 6½ oz", "lb oz")
    assert parse_mass("12", "oz").unit == "oz"


@pytest.mark.parametrize(
    ("typed", "kind", "part"),
    [
        ("", UnitFault.EMPTY, ""),
        ("  \u00a0 ", UnitFault.EMPTY, "  \u00a0 "),
        ("1,234.5", UnitFault.AMBIGUOUS, "1,234.5"),
        ("1.234,5 kg", UnitFault.AMBIGUOUS, "1.234,5"),
        ("1,234", UnitFault.AMBIGUOUS, "1,234"),
        ("1,234 g", UnitFault.AMBIGUOUS, "1,234"),
        ("1,234 oz", UnitFault.AMBIGUOUS, "1,234"),
        ("1,234,567 g", UnitFault.AMBIGUOUS, "1,234,567"),
        ("4 lb 18 oz", UnitFault.AMBIGUOUS, "4 lb 18 oz"),
        ("4.5 lb 6 oz", UnitFault.AMBIGUOUS, "4.5 lb 6 oz"),
        ("4 lb 6", UnitFault.AMBIGUOUS, "6"),
        ("-5 g", UnitFault.NEGATIVE, "-5"),
        ("\u22125 g", UnitFault.NEGATIVE, "-5"),
        ("5 stone", UnitFault.UNKNOWN_UNIT, "stone"),
        ("5 ml", UnitFault.UNKNOWN_UNIT, "ml"),
        ("1e3 g", UnitFault.UNKNOWN_UNIT, "e"),
        ("nan", UnitFault.NOT_A_NUMBER, "nan"),
        ("inf kg", UnitFault.NOT_A_NUMBER, "inf kg"),
        ("abc", UnitFault.NOT_A_NUMBER, "abc"),
        ("g 5", UnitFault.NOT_A_NUMBER, "g"),
        ("-", UnitFault.NOT_A_NUMBER, "-"),
        ("1/0 lb", UnitFault.NOT_A_NUMBER, "1/0"),
        ("1 3/2 lb", UnitFault.NOT_A_NUMBER, "1 3/2"),
        ("12 3 g", UnitFault.NOT_A_NUMBER, "12 3"),
        ("5-6 g", UnitFault.NOT_A_NUMBER, "5-6"),
        ("5. g", UnitFault.NOT_A_NUMBER, "5."),
        ("6 oz 4 lb", UnitFault.NOT_A_NUMBER, "6 oz 4 lb"),
        ("1 lb 2 oz 3 g", UnitFault.NOT_A_NUMBER, "1 lb 2 oz 3 g"),
        ("٣ g", UnitFault.NOT_A_NUMBER, "٣ g"),
        ("5² g", UnitFault.UNKNOWN_UNIT, "² g"),
        ("1000.001 kg", UnitFault.TOO_LARGE, "1000.001 kg"),
        ("9" * 300, UnitFault.TOO_LARGE, "9" * MAX_CHARACTERS),
    ],
)
def test_what_cannot_be_taken_as_it_stands_is_refused_with_its_part(typed, kind, part):
    with pytest.raises(UnitProblem) as caught:
        parse_mass(typed)
    assert (caught.value.kind, caught.value.part) == (kind, part)


@pytest.mark.parametrize(
    ("typed", "temp_c", "unit"),
    [
        ("-18", -18, "C"),
        ("\u221218 °C", -18, "C"),
        ("+4 C", 4, "C"),
        ("0 °F", Fraction(-160, 9), "F"),
        ("160F", Fraction(640, 9), "F"),
        ("71,5 °C", Fraction(143, 2), "C"),
        ("-40 F", -40, "F"),
    ],
)
def test_temperatures_keep_the_unit_of_the_thermometer(typed, temp_c, unit, registry):
    read = parse_temperature(typed)
    assert read.temp_c == float(temp_c)
    assert read.unit == unit
    independent = registry.Quantity(Fraction(read.value), f"deg{unit}").to("degC").magnitude
    assert read.temp_c == float(independent)


def test_a_bare_temperature_takes_the_default_unit():
    assert parse_temperature("165", "F").value == 165
    assert parse_temperature("165", "F").temp_c == pytest.approx(73.9, abs=0.02)


@pytest.mark.parametrize(
    ("typed", "kind"),
    [
        ("", UnitFault.EMPTY),
        ("-", UnitFault.EMPTY),
        ("warm", UnitFault.NOT_A_NUMBER),
        ("70 K", UnitFault.UNKNOWN_UNIT),
        ("-274", UnitFault.TOO_LARGE),
        ("1001", UnitFault.TOO_LARGE),
        ("71,1.5", UnitFault.AMBIGUOUS),
    ],
)
def test_a_temperature_that_cannot_be_is_refused(typed, kind):
    with pytest.raises(UnitProblem) as caught:
        parse_temperature(typed)
    assert caught.value.kind is kind


@pytest.mark.parametrize(
    ("unit", "independent"),
    [
        ("ml", "milliliter"),
        ("cc", "milliliter"),
        ("dl", "deciliter"),
        ("l", "liter"),
        ("tsp", "teaspoon"),
        ("tbsp", "tablespoon"),
        ("fl. oz.", "fluid_ounce"),
        ("cups", "cup"),
        ("pint", "pint"),
        ("quart", "quart"),
        ("gallon", "gallon"),
    ],
)
def test_every_volume_unit_agrees_with_an_independent_table(unit, independent, registry):
    exact = registry.Quantity(Fraction(7, 4), independent).to("meter ** 3").magnitude
    assert parse_volume(f"1¾ {unit}").volume_m3 == float(exact)


@pytest.mark.parametrize("unit", ["mm", "cm", "m", "in"])
def test_every_length_unit_agrees_with_an_independent_table(unit, registry):
    name = "inch" if unit == "in" else unit
    exact = registry.Quantity(Fraction(5, 2), name).to("meter").magnitude
    assert parse_length(f"2.5 {unit}").length_m == float(exact)


@pytest.mark.parametrize("unit", ["mg", "g", "kg", "oz", "lb"])
def test_every_mass_unit_agrees_with_an_independent_table(unit, registry):
    exact = registry.Quantity(Fraction(333), unit).to("mg").magnitude
    assert abs(parse_mass(f"333 {unit}").mass_mg - exact) <= Fraction(1, 2)


@pytest.mark.parametrize(
    ("mass_mg", "metric", "us"),
    [
        (0, "0 g", "0.0 oz"),
        (40, "under 0.1 g", "under 0.1 oz"),
        (420, "0.4 g", "under 0.1 oz"),
        (3_000, "3 g", "0.1 oz"),
        (3_240, "3.2 g", "0.1 oz"),
        (85_000, "85 g", "3.0 oz"),
        (453_000, "453 g", "1 lb 0.0 oz"),
        (262_400, "262 g", "9.3 oz"),
        (999_499, "999 g", "2 lb 3.3 oz"),
        (999_500, "1.00 kg", "2 lb 3.3 oz"),
        (9_995_000, "10.0 kg", "22.0 lb"),
        (9_200_000, "9.20 kg", "20.3 lb"),
        (123_456_000, "123 kg", "272 lb"),
        (-12_000, "\u221212 g", "\u22120.4 oz"),
    ],
)
def test_masses_are_shown_as_precisely_as_they_were_weighed(mass_mg, metric, us):
    assert format_mass(mass_mg) == metric
    assert format_mass(mass_mg, "us") == us


def test_eighty_five_grams_are_three_ounces_as_on_dual_labels():
    # Both figures: US Food and Drug Administration, serving sizes "85 g (3 oz)", 21 CFR 101.12
    # (from memory, unchecked).
    assert format_mass_pair(85_000) == "85 g (3.0 oz)"
    assert format_mass_pair(85_000, "us") == "3.0 oz (85 g)"


def test_exact_masses_show_every_gram_so_that_a_sum_can_be_followed():
    bowls_mg = [853_000, 2_721_000, 1_862_000, 1_759_000, 1_585_000]
    shown = [int(format_mass(mass, exact=True).removesuffix(" g")) for mass in bowls_mg]
    assert f"{sum(shown)} g" == format_mass(sum(bowls_mg), exact=True) == "8780 g"


def test_seventy_one_degrees_is_not_shown_as_one_hundred_and_sixty():
    assert format_temperature(71.0, "us") == "159.8 °F"
    assert format_temperature(parse_temperature("160 °F").temp_c, "us") == "160 °F"
    assert format_temperature(-0.01) == "0 °C"


@pytest.mark.parametrize(
    ("ml", "metric", "us"),
    [
        (0, "0 ml", "0 tbsp"),
        (2, "2 ml", "under ½ tbsp"),
        (30, "30 ml", "2 tbsp"),
        (59, "59 ml", "¼ cup"),
        (237, "237 ml", "1 cup"),
        (420, "420 ml", "1¾ cups"),
        (740, "740 ml", "3¼ cups"),
        (999.7, "1.00 l", "4¼ cups"),
        (12_345, "12.3 l", "3.3 gallons"),
    ],
)
def test_volumes_are_shown_as_a_kitchen_measures_them(ml, metric, us):
    assert format_volume(ml / 1e6) == metric
    assert format_volume(ml / 1e6, "us") == us


def test_reading_an_amount_loads_no_unit_library():
    script = "import sys, app.units as u; u.parse_mass('4 lb 6 oz'); print('pint' in sys.modules)"
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "False"
