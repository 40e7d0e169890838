"""The demo's calendar: which autumn the story plays in, and at what instant things were noted."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

ZONE = "Europe/Stockholm"
_STORY_IS_TOLD_BY = (11, 20)  # month and day by which the month after October has passed


def story_year(today: date) -> int:
    """The year of the latest October whose following month has passed as well.

    Example:
        >>> story_year(date(2026, 11, 25)), story_year(date(2027, 5, 3))
        (2026, 2026)
    """
    told = (today.month, today.day) >= _STORY_IS_TOLD_BY
    return today.year if told else today.year - 1


def instant(day: date, hours: float) -> datetime:
    """The UTC instant of an hour of the household's day.

    Example:
        >>> instant(date(2026, 10, 11), 9.5).isoformat()
        '2026-10-11T07:30:00+00:00'
    """
    minutes = round(hours * 60)
    local = datetime.combine(day, time(), tzinfo=ZoneInfo(ZONE)) + timedelta(minutes=minutes)
    return local.astimezone(UTC)
