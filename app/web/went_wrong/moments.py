"""A moment typed in the household's own time, and how much time really passed between two."""

from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from wtforms.widgets import DateTimeLocalInput

from app.language import N_, _
from app.web.fields import FIRST_YEAR, _TypedField


class MomentField(_TypedField):
    """A day and a time of the household's clock: 2026-11-03T14:05; data is without a zone."""

    widget = DateTimeLocalInput()
    data: Any  # a naive datetime once read

    def parse(self, text: str) -> datetime:
        """The wall-clock time of an ISO text."""
        try:
            moment = datetime.fromisoformat(text.strip())
        except ValueError:
            raise ValueError(N_("Write day and time as 2026-10-11 14:05.")) from None
        if moment.tzinfo is not None or moment.year < FIRST_YEAR:
            raise ValueError(
                _(
                    "Write a time here, from {year} on: 2026-10-11 14:05.",
                    year=FIRST_YEAR,
                )
            )
        return moment

    def shown(self, data: Any) -> str:
        """To the minute, as the browser's own field takes it."""
        return f"{data:%Y-%m-%dT%H:%M}"


def earliest(local: datetime, zone: ZoneInfo) -> datetime:
    """The first instant that a wall clock may have meant, in UTC.

    An hour that comes twice, or never, is read so that what began then lasted longer.
    """
    return min(_readings(local, zone))


def latest(local: datetime, zone: ZoneInfo, now: datetime) -> datetime:
    """The last instant that a wall clock may have meant, in UTC, if that is not still to come."""
    readings = sorted(_readings(local, zone))
    return readings[0] if readings[1] > now else readings[1]


def _readings(local: datetime, zone: ZoneInfo) -> list[datetime]:
    return [local.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1)]
