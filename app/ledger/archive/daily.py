"""A copy of the ledger for every day, and which of them are kept."""

from collections.abc import Iterable
from datetime import date, timedelta
from pathlib import Path

from app.ledger.archive.backup import back_up
from app.ledger.engines import Where

DAYS, WEEKS, MONTHS = 7, 5, 12  # common practice, no source: a week, a month and a year back
_NAME = "stillroom-{day}.db"


def copy_of_the_day(where: Where, folder: Path, today: date) -> Path | None:
    """Write the copy of a day, unless it is there, and clear away those that are not kept.

    Args:
        where: the ledger; may be in use. folder: of the copies; made if need be.
        today: of the household's calendar.
    Returns:
        The new copy; None when the day has its copy already.
    Raises:
        As `back_up`; nothing is cleared away then.
    """
    folder.mkdir(exist_ok=True)
    target = folder / _NAME.format(day=today.isoformat())
    if target.exists():
        return None
    back_up(where, target)
    found = copies(folder)
    for day in found.keys() - kept_days(found, today):
        found[day].unlink()
    return target


def copies(folder: Path) -> dict[date, Path]:
    """The copies in a folder by their day; what has another name is none of ours."""
    found: dict[date, Path] = {}
    for path in folder.glob(_NAME.format(day="*")):
        try:
            found[date.fromisoformat(path.stem.removeprefix("stillroom-"))] = path
        except ValueError:
            continue
    return found


def kept_days(days: Iterable[date], today: date) -> set[date]:
    """Which of these days' copies are kept.

    All of the last week, the first of each of the last five weeks and of the last twelve months,
    and whatever seems to come from the future, as after a clock went wrong.

    Example:
        >>> sorted(kept_days([date(2026, 1, 4), date(2026, 1, 20), date(2026, 11, 25)],
        ...                  date(2026, 11, 25)))
        [datetime.date(2026, 1, 4), datetime.date(2026, 11, 25)]
    """
    known = sorted(days)
    kept = {day for day in known if day > today - timedelta(days=DAYS)}
    weeks = {day.isocalendar()[:2]: day for day in reversed(known)}
    months = {(day.year, day.month): day for day in reversed(known)}
    kept |= {day for day in weeks.values() if day > today - timedelta(weeks=WEEKS)}
    kept |= {day for day in months.values() if _months_ago(day, today) < MONTHS}
    return kept


def _months_ago(day: date, today: date) -> int:
    return (today.year - day.year) * 12 + today.month - day.month
