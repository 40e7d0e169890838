"""Since when a food has been kept, in words, where that is not known to the day."""

from datetime import date, timedelta

from app.web.messages import day


def since_words(harvest: tuple[date, date] | None, kept_since: date) -> str:
    """A span of days that is counted from its first: "some time in 2024, counted from 1 January".

    Args:
        harvest: first and last day it may have been. kept_since: from when on it is counted.
    Returns:
        Words, or "" where the day is known or counted otherwise.
    Example:
        >>> since_words((date(2024, 1, 1), date(2024, 12, 31)), date(2024, 1, 1))
        'some time in 2024: counted from 1 January 2024, the careful end'
    """
    if harvest is None or harvest[0] == harvest[1] or harvest[0] != kept_since:
        return ""
    return f"some time {_span(*harvest)}: counted from {day(kept_since)}, the careful end"


def _span(first: date, last: date) -> str:
    after = last + timedelta(days=1)
    if first.day == 1 and after == date(first.year + first.month // 12, first.month % 12 + 1, 1):
        return f"in {first:%B %Y}"
    if (first.month, first.day) == (1, 1) and (last.month, last.day) == (12, 31):
        return (
            f"in {first.year}" if first.year == last.year else f"from {first.year} to {last.year}"
        )
    return f"between {day(first)} and {day(last)}"
