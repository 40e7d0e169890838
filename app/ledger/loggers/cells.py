"""What one cell says: a number, a unit, a word for "no reading", a date, a time."""

import re
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Literal, NamedTuple

Unit = Literal["C", "F"]

#: What loggers write in place of a reading (seen in public manuals; from memory, unchecked).
ERROR_WORDS = frozenset(
    {"", "err", "error", "nan", "na", "n/a", "null", "none", "open", "short", "fault", "lost"}
    | {"invalid", "ol", "inf", "-inf", "?"}
)
YEARS = range(1990, 2101)
_DASHES = re.compile(r"[-–—*.]+")
_NUMBER = re.compile(
    r"([-+]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:e[-+]?[0-9]{1,3})?)\s*"
    r"(?:(?:°|º|deg\.?|degrees)?\s*([cf])|%\s*(?:rh)?|celsius|fahrenheit)?",
    re.IGNORECASE,
)
_UNIT = re.compile(
    r"(?:°|º|\bdeg(?:rees|\.)?\s*|\bdeg_)\s*([cf])\b|\b(c)elsius\b|\b(f)ahrenheit\b"
    r"|[(\[_/,]\s*([cf])\s*[)\]]?\s*$|^\s*([cf])\s*$|\btemp\w*\.?[ _]([cf])\s*$|([℃℉])",
    re.IGNORECASE,
)
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_DATE = r"([0-9]{1,4})([-/. ])([0-9]{1,2}|[a-z]{3,9})\2([0-9]{4}|[0-9]{1,2})"
_TIME = r"([0-9]{1,2}):([0-9]{2})(?::([0-9]{2})(?:[.,]([0-9]{1,9}))?)?(?:\s*([ap])\.?m\.?)?"
_OFFSET = r"\s*(z|utc|gmt|[-+−][0-9]{2}:?[0-9]{2})?"
_DATE_CELL = re.compile(_DATE, re.IGNORECASE)
_TIME_CELL = re.compile(_TIME + _OFFSET, re.IGNORECASE)
_STAMP = re.compile(_DATE + r"(?:\s*t\s*|[\s,]+)" + _TIME + _OFFSET, re.IGNORECASE)


class Stamp(NamedTuple):
    """A date and time as written, and its offset from UTC where the file says it."""

    local: datetime
    offset: timedelta | None = None


@lru_cache(maxsize=4096)  # a logger's readings repeat
def number(text: str, decimal_comma: bool = False) -> float | None:
    """The number of a cell, its unit left aside; None for anything else.

    Example:
        >>> number("−4,5 °C", decimal_comma=True), number("---")
        (-4.5, None)
    """
    plain = text.strip().replace("−", "-")
    match = _NUMBER.fullmatch(plain.replace(",", ".", 1) if decimal_comma else plain)
    return float(match[1]) if match else None


def is_number(text: str) -> bool:
    """Is this a number, with a decimal point or a decimal comma?"""
    return number(text, decimal_comma=True) is not None


def is_error_word(text: str) -> bool:
    """Does the logger say that it has no reading?"""
    plain = text.strip().lower().replace("−", "-")
    return plain in ERROR_WORDS or _DASHES.fullmatch(plain) is not None


def is_reading(text: str) -> bool:
    """A number, or a word that stands for one that is missing."""
    return is_number(text) or (bool(text) and is_error_word(text))


def unit_of(text: str) -> Unit | None:
    """The unit that a header or a cell names.

    Example:
        >>> unit_of("Temperature (°F)"), unit_of("Coldest"), unit_of("4.5 C")
        ('F', None, 'C')
    """
    match = _NUMBER.fullmatch(text.strip()) if text[:1] in "+-.0123456789" else None
    found = match[2] if match else None
    if not found and (named := _UNIT.search(text)):
        found = next(letter for letter in named.groups() if letter)
    if not found:
        return None
    return "F" if found in "fF℉" else "C"


def is_date(text: str) -> bool:
    """A date without a time."""
    return _DATE_CELL.fullmatch(text) is not None


def is_time(text: str) -> bool:
    """A time of day without a date."""
    return _TIME_CELL.fullmatch(text) is not None


def is_stamp(text: str) -> bool:
    """A date and a time in one cell."""
    return _STAMP.fullmatch(text) is not None


def day_and_month(text: str) -> tuple[int, int] | None:
    """The first two numbers of a date whose order its own form does not tell; else None.

    Example:
        >>> day_and_month("03/04/2026 10:00"), day_and_month("03.04.2026")
        ((3, 4), None)
    """
    match = _DATE_CELL.match(text)
    if not match or len(match[1]) > 2 or match[2] == "." or match[3].isalpha():
        return None
    return int(match[1]), int(match[3])


def stamp(text: str, day_first: bool | None) -> Stamp | None:
    """Read a date and time.

    Args:
        text: the cell, or date and time cells joined by a space.
        day_first: whether 3/4 is the third of April; None where that was not told.
    Returns:
        None where the text is no time, or cannot be told apart from another.
    Example:
        >>> stamp("31/10/26 24:00", True).local.isoformat()
        '2026-11-01T00:00:00'
    """
    match = _STAMP.fullmatch(text.strip())
    if match is None:
        return None
    day = _date(match[1], match[2], match[3].lower(), match[4], day_first)
    clock = _time(match[5], match[6], match[7], match[8], match[9])
    if day is None or clock is None:
        return None
    return Stamp(day + clock, _offset(match[10]))


def ordinal_stamp(year: str, day_of_year: str, hhmm: str) -> Stamp | None:
    """Read a year, a day of the year and the time as hhmm.

    Example:
        >>> ordinal_stamp("2026", "305", "930").local.isoformat()
        '2026-11-01T09:30:00'
    """
    if not all(part.isascii() and part.isdigit() for part in (year, day_of_year, hhmm)):
        return None
    if len(year) > 4 or len(day_of_year) > 3 or len(hhmm) > 4 or int(year) not in YEARS:
        return None
    day = datetime(int(year), 1, 1) + timedelta(days=int(day_of_year) - 1)  # noqa: DTZ001
    clock = _time(hhmm.zfill(4)[:2], hhmm.zfill(4)[2:], None, None, None)
    if clock is None or day.year != int(year):
        return None
    return Stamp(day + clock)


@lru_cache(maxsize=256)
def _date(a: str, mark: str, b: str, c: str, day_first: bool | None) -> datetime | None:
    if b.isalpha():
        month = _MONTHS.index(b[:3]) + 1 if b[:3] in _MONTHS else 0
        return _midnight(c, month, int(a)) if len(a) < 3 else _midnight(a, month, int(c))
    if len(a) > 2:
        return _midnight(a, int(b), int(c))
    first, second = int(a), int(b)
    if mark == "." or day_first or first == second:
        return _midnight(c, second, first)
    if day_first is None:
        return None
    return _midnight(c, first, second)


def _midnight(year: str, month: int, day: int) -> datetime | None:
    full = int(year) + (2000 if len(year) <= 2 else 0)
    if full not in YEARS:
        return None
    try:
        return datetime(full, month, day)  # noqa: DTZ001 (a wall clock, before its zone is known)
    except ValueError:
        return None


def _time(
    hh: str, mm: str, ss: str | None, fraction: str | None, half: str | None
) -> timedelta | None:
    hours, minutes, seconds = int(hh), int(mm), int(ss or 0)
    if half:
        if not 1 <= hours <= 12:
            return None
        hours = hours % 12 + (12 if half in "pP" else 0)
    if minutes > 59 or seconds > 59 or hours * 3600 + minutes * 60 + seconds > 86400:
        return None
    micros = int((fraction or "0")[:6].ljust(6, "0"))
    return timedelta(hours=hours, minutes=minutes, seconds=seconds, microseconds=micros)


def _offset(text: str | None) -> timedelta | None:
    if not text:
        return None
    if text[0] not in "+-−":
        return timedelta(0)
    size = timedelta(hours=int(text[1:3]), minutes=int(text[-2:]))
    return size if text[0] == "+" else -size
