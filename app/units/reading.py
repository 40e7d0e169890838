"""Typed amounts to exact values.

How a number is read:

- The point and the comma are both decimal signs; spaces (also thin and no-break ones) group
  thousands: "1.375 kg", "1,375 kg", "1 787 g".
- A comma before exactly three digits could group thousands instead ("1,234 g"). It is read as a
  decimal sign only where the other reading cannot be meant: after a leading zero, or where it
  would reach the limit of what a household weighs ("1,375 kg"). Otherwise the person is asked.
- A point is never a thousands sign; two signs in one number ("1,234.5") are always asked about.
- Fractions stand alone or after a whole number: "6 1/2 oz", "6½ oz".
- Two units may be joined, larger first, whole number first, the second less than one of the
  first: "4 lb 6 oz", "1 kg 375 g".
"""

import re
import unicodedata
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from app.units.sizes import F_DEGREES, LENGTH, MASS, TEMPERATURE, VOLUME, Dimension, half_up

MAX_CHARACTERS = 40  # longer than any amount; keeps a hostile text from becoming a huge fraction


class UnitFault(StrEnum):
    """What is wrong with a typed amount; the sentence is written by the page that asked."""

    EMPTY = "empty"
    NOT_A_NUMBER = "not a number"
    UNKNOWN_UNIT = "unknown unit"
    AMBIGUOUS = "ambiguous"
    NEGATIVE = "negative"
    TOO_LARGE = "too large"


class UnitProblem(ValueError):
    """A typed amount that cannot be taken as it stands.

    Attributes: kind of fault, part of the text that is at fault (at most MAX_CHARACTERS of it).
    """

    def __init__(self, kind: UnitFault, part: str) -> None:
        """Keep the kind and the part; the message is for developers."""
        self.kind, self.part = kind, part[:MAX_CHARACTERS]
        super().__init__(f"{kind}: {self.part!r}")


@dataclass(frozen=True, slots=True)
class Mass:
    """A mass as typed, in whole milligrams, and the unit it was given in ("lb oz" if joined)."""

    typed: str
    mass_mg: int
    unit: str


@dataclass(frozen=True, slots=True)
class Temperature:
    """A temperature as typed, in °C, and its value in the unit it was given in ("C" or "F").

    Limits printed in one unit are compared in that unit: 71 °C is not 160 °F.
    """

    typed: str
    temp_c: float
    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class Length:
    """A length as typed, in metres, and the unit it was given in."""

    typed: str
    length_m: float
    unit: str


@dataclass(frozen=True, slots=True)
class Volume:
    """A volume as typed, in cubic metres, and the unit it was given in."""

    typed: str
    volume_m3: float
    unit: str


_COLDEST_C = Fraction("-273.15")

_VULGAR = {ord(sign): f" {unicodedata.normalize('NFKC', sign)} " for sign in "¼½¾⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"}
_SIGNS = {ord("\u2212"): "-", ord("\u2044"): "/"}
_PART = re.compile(r"(?P<number>[-+0-9., /]*)(?P<unit>[^-+0-9,/]*)")
_DECIMAL = re.compile(r"(?:[0-9]+|[1-9][0-9]{0,2}(?: [0-9]{3})+)?(?:[.,][0-9]+)?")
_THOUSANDS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_TWO_SIGNS = re.compile(r"[0-9 ]+(?:[.,][0-9 ]+){2,}")
_FRACTION = re.compile(r"(?:([0-9]{1,6}) )?([0-9]{1,2})/([0-9]{1,2})")


def parse_mass(text: str, default_unit: str = "g") -> Mass:
    """Read a mass in mg, g, kg, oz, lb, or lb and oz.

    Args:
        text: what was typed or what a scale shows. default_unit: for a bare number.
    Returns:
        The mass rounded once, half up, to the whole milligram, with the text as typed.
    Raises:
        UnitProblem: with the kind of fault; above 1,000 kg is TOO_LARGE.
    Example:
        >>> parse_mass("4 lb 6 oz").mass_mg
        1984467
        >>> parse_mass("1,375 kg").mass_mg
        1375000
    """
    value, unit = _read(text, MASS, default_unit)
    return Mass(text, half_up(value), unit)


def parse_temperature(text: str, default: str = "C") -> Temperature:
    """Read a temperature in °C or °F; a leading minus or plus is allowed.

    Args:
        text: what was typed. default: "C" or "F", for a bare number.
    Raises:
        UnitProblem: below absolute zero, above 1,000 °C or 1,800 °F is TOO_LARGE.
    Example:
        >>> parse_temperature("-18").temp_c
        -18.0
        >>> parse_temperature("160 °F")
        Temperature(typed='160 °F', temp_c=71.11111111111111, value=160.0, unit='F')
    """
    tidy = _tidy(text)
    below_zero = tidy.startswith("-")
    magnitude, unit = _read(tidy.removeprefix("-" if below_zero else "+"), TEMPERATURE, default)
    value = (-magnitude if below_zero else magnitude) / TEMPERATURE.size(unit)
    temp_c = value if unit == "C" else (value - 32) * F_DEGREES
    if temp_c < _COLDEST_C:
        raise UnitProblem(UnitFault.TOO_LARGE, tidy)
    return Temperature(text, float(temp_c), float(value), unit)


def parse_length(text: str, default_unit: str = "mm") -> Length:
    """Read a length in mm, cm, m or inches, up to 100 m; raises UnitProblem.

    Example:
        >>> parse_length("2 1/2 in").length_m
        0.0635
    """
    value, unit = _read(text, LENGTH, default_unit)
    return Length(text, float(value / 1_000), unit)


def parse_volume(text: str, default_unit: str = "ml") -> Volume:
    """Read a volume in ml to l or US tsp to gallon, up to 1,000 l; raises UnitProblem.

    Example:
        >>> round(parse_volume("1¾ cups").volume_m3 * 1e6, 2)
        414.03
    """
    value, unit = _read(text, VOLUME, default_unit)
    return Volume(text, float(value / 1_000_000), unit)


def _read(text: str, dimension: Dimension, default_unit: str) -> tuple[Fraction, str]:
    """The amount in the dimension's base unit and the unit it was given in."""
    tidy = _tidy(text)
    if not tidy:
        raise UnitProblem(UnitFault.EMPTY, text)
    parts = [
        (part["number"].strip(), part["unit"].strip())
        for part in _PART.finditer(tidy)
        if part[0].strip()
    ]
    if len(parts) == 1:
        number, word = parts[0]
        if not number:
            raise UnitProblem(UnitFault.NOT_A_NUMBER, word)
        unit = _unit(word or default_unit, dimension)
        value = _number(number, dimension.size(unit), dimension.limit)
    else:
        value, unit = _joined(parts, tidy, dimension)
    if value > dimension.limit:
        raise UnitProblem(UnitFault.TOO_LARGE, tidy)
    return value, unit


def _joined(parts: list[tuple[str, str]], tidy: str, dimension: Dimension) -> tuple[Fraction, str]:
    """Two units that belong together, such as pounds and ounces, or the fault."""
    units, values = [], []
    for number, word in parts:
        if not number or not word:
            # "4 lb 6" leaves the unit of 6 open; "g 5" and "5 oz x" hold no second number.
            kind = UnitFault.AMBIGUOUS if number else UnitFault.NOT_A_NUMBER
            raise UnitProblem(kind, number or word)
        units.append(_unit(word, dimension))
        values.append(_number(number, dimension.size(units[-1]), dimension.limit))
    if tuple(units) not in dimension.joined:
        raise UnitProblem(UnitFault.NOT_A_NUMBER, tidy)
    whole = re.fullmatch("[0-9 ]+", parts[0][0])
    if not whole or values[1] >= dimension.size(units[0]):
        raise UnitProblem(UnitFault.AMBIGUOUS, tidy)
    return values[0] + values[1], " ".join(units)


def _number(text: str, size: Fraction, limit: Fraction) -> Fraction:
    """A typed number times the size of its unit, or the fault."""
    if text.startswith("-") and re.search("[0-9]", text):
        raise UnitProblem(UnitFault.NEGATIVE, text)
    if fraction := _FRACTION.fullmatch(text):
        whole, above, below = (int(group or 0) for group in fraction.groups())
        if below and (above < below or not whole):
            return (whole + Fraction(above, below)) * size
    elif text and _DECIMAL.fullmatch(text):
        grouped = Fraction(re.sub("[, ]", "", text)) * size
        if _THOUSANDS.fullmatch(text) and grouped < limit:
            raise UnitProblem(UnitFault.AMBIGUOUS, text)
        return Fraction(text.replace(",", ".").replace(" ", "")) * size
    elif _TWO_SIGNS.fullmatch(text):
        raise UnitProblem(UnitFault.AMBIGUOUS, text)
    raise UnitProblem(UnitFault.NOT_A_NUMBER, text)


def _tidy(text: str) -> str:
    """One kind of space, minus and fraction; str.split knows every Unicode space."""
    if len(text) > MAX_CHARACTERS:
        raise UnitProblem(UnitFault.TOO_LARGE, text)
    return " ".join(text.translate(_VULGAR).translate(_SIGNS).split())


def _unit(word: str, dimension: Dimension) -> str:
    name = dimension.unit(word)
    if name is None:
        raise UnitProblem(UnitFault.UNKNOWN_UNIT, word.strip())
    return name
