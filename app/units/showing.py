"""Values to words, as precise as the scale, the thermometer or the cup that measured them."""

from fractions import Fraction
from functools import lru_cache
from typing import Literal

from app.units.sizes import CUP_ML, F_DEGREES, GALLON_ML, POUND_MG, TBSP_ML, half_up

System = Literal["metric", "us"]


def format_mass(mass_mg: int, system: System = "metric", exact: bool = False) -> str:
    """A mass in words for people, as precise as a hand scale with 1 g steps makes it.

    Metric: three significant figures from 1 kg on, whole grams below; under 10 g a tenth is shown
    where it is not zero, since only a computed amount has one. US: tenths of an ounce (2.8 g) up to
    10 lb, then three significant figures.

    Args:
        mass_mg: mg, may be negative for a difference. system: "metric" or "us".
        exact: for amounts that must add up in front of the reader: whole grams at any size, and
            pounds with tenths of an ounce at any size.
    Example:
        >>> format_mass(262_000), format_mass(1_375_400), format_mass(1_375_400, exact=True)
        ('262 g', '1.38 kg', '1375 g')
        >>> format_mass(85_000, "us"), format_mass(1_984_467, "us")
        ('3.0 oz', '4 lb 6.0 oz')
    """
    if mass_mg < 0:
        return "\u2212" + format_mass(-mass_mg, system, exact)
    return _us_mass(mass_mg, exact) if system == "us" else _metric_mass(mass_mg, exact)


def format_mass_pair(mass_mg: int, system: System = "metric", exact: bool = False) -> str:
    """A mass in both systems, the person's own first; arguments as format_mass.

    Example:
        >>> format_mass_pair(262_000), format_mass_pair(262_000, "us")
        ('262 g (9.2 oz)', '9.2 oz (262 g)')
    """
    other: System = "metric" if system == "us" else "us"
    return f"{format_mass(mass_mg, system, exact)} ({format_mass(mass_mg, other, exact)})"


def format_temperature(temp_c: float, system: System = "metric") -> str:
    """A temperature in °C or °F, to a tenth, the tenth left off where it is zero.

    Example:
        >>> format_temperature(71.0), format_temperature(71.0, "us"), format_temperature(-18.0)
        ('71 °C', '159.8 °F', '\u221218 °C')
    """
    value = Fraction(temp_c) if system == "metric" else Fraction(temp_c) / F_DEGREES + 32
    tenths = half_up(abs(value) * 10)
    sign = "\u2212" if value < 0 and tenths else ""
    return f"{sign}{_tenths(tenths).removesuffix('.0')} °{'C' if system == 'metric' else 'F'}"


def format_volume(volume_m3: float, system: System = "metric") -> str:
    """A volume of at least 0, as measured in a kitchen.

    Metric: whole ml below 1 l, then three significant figures. US: half tablespoons below a quarter
    cup, quarter cups below a gallon, then tenths of a gallon.

    Example:
        >>> format_volume(420e-6), format_volume(420e-6, "us"), format_volume(1.5e-3)
        ('420 ml', '1¾ cups', '1.50 l')
    """
    volume_ml = Fraction(volume_m3) * 1_000_000
    if system == "us":
        return _us_volume(volume_ml)
    whole_ml = half_up(volume_ml)
    return f"{whole_ml} ml" if whole_ml < 1_000 else f"{_three_figures(volume_ml / 1_000)} l"


def _tenths(count: int) -> str:
    return f"{count // 10}.{count % 10}"


def _three_figures(value: Fraction) -> str:
    """Three significant figures of a value of at least 1; more where the whole part has more."""
    for decimals in (2, 1):
        rounded = half_up(value * 10**decimals)
        if rounded < 1_000:
            return f"{rounded / 10**decimals:.{decimals}f}"
    return str(half_up(value))


@lru_cache(maxsize=4096)  # fractions are exact and slow; a list says the same masses again
def _metric_mass(mass_mg: int, exact: bool) -> str:
    grams = Fraction(mass_mg, 1_000)
    if 0 < grams < Fraction(1, 20):
        return "under 0.1 g"
    tenths, whole = half_up(grams * 10), half_up(grams)
    if tenths < 100 and not exact:
        return f"{_tenths(tenths).removesuffix('.0')} g"
    return f"{whole} g" if exact or whole < 1_000 else f"{_three_figures(grams / 1_000)} kg"


def _us_mass(mass_mg: int, exact: bool) -> str:
    pounds = mass_mg / POUND_MG
    tenths_oz = half_up(pounds * 160)
    if mass_mg and not tenths_oz:
        return "under 0.1 oz"
    if tenths_oz < 160:
        return f"{_tenths(tenths_oz)} oz"
    if exact or tenths_oz < 1_600:
        return f"{tenths_oz // 160} lb {_tenths(tenths_oz % 160)} oz"
    return f"{_three_figures(pounds)} lb"


def _us_volume(volume_ml: Fraction) -> str:
    halves = half_up(volume_ml / TBSP_ML * 2)
    quarters = half_up(volume_ml / CUP_ML * 4)
    if volume_ml and not halves:
        return "under ½ tbsp"
    if halves < 8:
        return f"{_mixed(halves, ('', '½'))} tbsp"
    if quarters < 64:
        return f"{_mixed(quarters, ('', '¼', '½', '¾'))} {'cup' if quarters <= 4 else 'cups'}"
    return f"{_tenths(half_up(volume_ml / GALLON_ML * 10))} gallons"


def _mixed(count: int, parts: tuple[str, ...]) -> str:
    """A count of parts as a mixed number: 7 quarters are "1¾"."""
    whole, part = divmod(count, len(parts))
    return f"{whole or ''}{parts[part]}" or "0"
