"""Days as people tell them when they look for something: "october", "last autumn", "2025-10"."""

import re
from calendar import monthrange
from collections.abc import Sequence
from datetime import date, timedelta

from app.language import cached_by_language, month_words
from app.ledger.spelling import folded

Days = tuple[date, date]  # first and last
MOST_WORDS = 3  # that tell a day: "11 october 2025"
_FIRST_YEAR, _LAST_YEAR = 1950, 2100
# Three months each, by the calendar of meteorologists, north of the equator: common practice.
_SEASONS = {"spring": 3, "summer": 6, "autumn": 9, "fall": 9, "winter": 12}
_ISO = re.compile(r"(\d{4})-(\d{1,2})(?:-(\d{1,2}))?")
_DOTTED = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})")
_YEAR = re.compile(r"\d{4}")
_DAY = re.compile(r"(\d{1,2})(?:st|nd|rd|th|\.)?")


def days_of(words: Sequence[str], today: date) -> Days | None:
    """The days that all of these words together tell; None where they tell none.

    A month, a season or a weekday alone is the latest that has begun; with "last", the latest
    that is over.
    """
    told = [folded(word).strip(",") for word in words]
    try:
        return _of_one(told[0], today) if len(told) == 1 else _of_several(told, today)
    except ValueError:  # the 31st of a month that has none
        return None


def _of_one(word: str, today: date) -> Days | None:
    if word in ("today", "yesterday"):
        day = today - timedelta(days=word == "yesterday")
        return day, day
    if iso := _ISO.fullmatch(word):
        return _days(*(int(part) if part else None for part in iso.groups()))
    if dotted := _DOTTED.fullmatch(word):
        day_, month, year = map(int, dotted.groups())
        return _days(year, month, day_)
    if _YEAR.fullmatch(word):
        return _days(int(word))
    return _latest(word, today)


def _of_several(told: Sequence[str], today: date) -> Days | None:
    if told[0] in ("last", "this") and len(told) == 2:
        return _relative(told[1], today, is_over=told[0] == "last")
    if _YEAR.fullmatch(told[-1]):
        return _in_year(told[:-1], int(told[-1]))
    if len(told) == 2 and (parts := _day_and_month(told)):
        day_, month = parts
        year = today.year if (month, day_) <= (today.month, today.day) else today.year - 1
        return _days(year, month, day_)
    return None


def _in_year(told: Sequence[str], year: int) -> Days | None:
    if len(told) == 2 and (parts := _day_and_month(told)):
        return _days(year, parts[1], parts[0])
    if len(told) == 1:
        return _named(told[0], year)
    return None


def _day_and_month(told: Sequence[str]) -> tuple[int, int] | None:
    """Day and month of "11 october" or "october 11"."""
    for first, second in (told, (told[1], told[0])):
        figure = _DAY.fullmatch(first)
        if figure and second in _months():
            return int(figure[1]), _months()[second]
    return None


def _relative(word: str, today: date, *, is_over: bool) -> Days | None:
    if word == "year":
        return _days(today.year - is_over)
    if word == "month":
        last = today.replace(day=1) - timedelta(days=1)
        return _days(last.year, last.month) if is_over else _days(today.year, today.month)
    if word == "week":
        monday = today - timedelta(days=today.weekday() + 7 * is_over)
        return monday, monday + timedelta(days=6)
    return _latest(word, today, is_over=is_over)


def _latest(word: str, today: date, *, is_over: bool = False) -> Days | None:
    """The latest month or season of that name that has begun, or that is over."""
    for year in (today.year, today.year - 1, today.year - 2):
        days = _named(word, year)
        if days is None:
            return None
        if days[1] < today or (days[0] <= today and not is_over):
            return days
    return None


def _named(word: str, year: int) -> Days | None:
    """A month or a season of a year; a winter is that which begins in it."""
    if word in _months():
        return _days(year, _months()[word])
    if word in _SEASONS:
        first = date(year, _SEASONS[word], 1)
        end = _SEASONS[word] + 2
        end_year, end_month = year + (end > 12), (end - 1) % 12 + 1
        return first, date(end_year, end_month, monthrange(end_year, end_month)[1])
    return None


def _days(year: int | None, month: int | None = None, day: int | None = None) -> Days | None:
    if year is None or not _FIRST_YEAR <= year <= _LAST_YEAR:
        return None
    if month is None:
        return date(year, 1, 1), date(year, 12, 31)
    if not 1 <= month <= 12:
        return None
    if day is None:
        return date(year, month, 1), date(year, month, monthrange(year, month)[1])
    return date(year, month, day), date(year, month, day)


@cached_by_language(maxsize=8)
def _months() -> dict[str, int]:
    """Names of months, English and the reader's own, whole and by their first three letters."""
    found = {"sept": 9}
    for month in range(1, 13):
        first = date(2001, month, 1)
        for name in (f"{first:%B}", month_words(first).replace("2001", "").strip()):
            found.setdefault(folded(name), month)
            found.setdefault(folded(name)[:3], month)
    return found
