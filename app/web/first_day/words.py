"""Since when a food has been kept, in words, where that is not known to the day."""

from datetime import date, timedelta

from app.language import _, month_words
from app.web.messages import day


def since_words(first: date, last: date, *, has_window: bool = False) -> str:
    """A span of days that is counted from its first: "some time in 2024, counted from 1 January".

    Args:
        first, last: days between which it was put there. has_window: say what it does to that, too.
    Returns:
        Words, or "" where the day is known.
    Example:
        >>> since_words(date(2024, 1, 1), date(2024, 12, 31))
        'some time in 2024: counted from 1 January 2024, the careful end'
    """
    if first == last:
        return ""
    if has_window:
        return _(
            "some time {span}: counted from {first}, the careful end. Only the late end of its "
            "window is counted from {last}, because it may have been then.",
            span=_span(first, last),
            first=day(first),
            last=day(last),
        )
    return _(
        "some time {span}: counted from {first}, the careful end",
        span=_span(first, last),
        first=day(first),
    )


def _span(first: date, last: date) -> str:
    after = last + timedelta(days=1)
    if first.day == 1 and after == date(first.year + first.month // 12, first.month % 12 + 1, 1):
        return _("in {month}", month=month_words(first))
    if (first.month, first.day) == (1, 1) and (last.month, last.day) == (12, 31):
        if first.year == last.year:
            return _("in {year}", year=first.year)
        return _("from {first} to {last}", first=first.year, last=last.year)
    return _("between {first} and {last}", first=day(first), last=day(last))
