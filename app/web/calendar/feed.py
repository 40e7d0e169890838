"""What comes due as a calendar by RFC 5545, the same at every fetch until something changes."""

import hashlib
from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from app.language import _
from app.ledger.queries.due import Due
from app.web.due.words import TITLES, sentence_of, subject_of

if TYPE_CHECKING:
    from icalendar import Calendar, Event

REFRESH = timedelta(hours=6)


def feed(
    items: Iterable[Due], today: date, *, name: str, zone: ZoneInfo, since: datetime, host_url: str
) -> bytes:
    """The calendar's text.

    Args:
        items: what is due or comes. today: what is overdue stands on this day, so that it is seen.
        name: of the household. since: when its ledger began; it tells its entries from others'.
        host_url: how this machine was asked for; "" leaves the links out.
    Source: RFC 5545, Internet Calendaring, IETF, 2009; RFC 7986 for NAME and REFRESH-INTERVAL.
    """
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", _("-//Stillroom//What comes due//EN"))
    calendar.add("version", "2.0")
    calendar.add("name", _("{name}: what is due", name=name))
    calendar.add("x-wr-calname", _("{name}: what is due", name=name))
    _add_refresh(calendar)
    mark = hashlib.sha256(since.isoformat().encode()).hexdigest()[:16]
    for item in items:
        calendar.add_component(_event(item, max(item.due_on, today), mark, zone, host_url))
    text: bytes = calendar.to_ical()
    return text


def _event(item: Due, on: date, mark: str, zone: ZoneInfo, host_url: str) -> "Event":
    """A whole day that takes nobody's time. It keeps its UID when the next look moves it on."""
    from icalendar import Event

    event = Event()
    event.add("uid", f"{item.key}@{mark}")
    revised = on if on > item.due_on else item.since  # the day that made it stand where it does
    event.add("dtstamp", datetime.combine(revised, time(), zone).astimezone(UTC))
    event.add("dtstart", on)
    event.add("dtend", on + timedelta(days=1))
    event.add("summary", f"{_(TITLES[item.kind])}: {subject_of(item)}")
    event.add("description", sentence_of(item))
    event.add("transp", "TRANSPARENT")
    if host_url:
        event.add("url", f"{host_url}due/{item.key}")
    return event


def _add_refresh(calendar: "Calendar") -> None:
    from icalendar import vDuration

    interval = vDuration(REFRESH)
    interval.params["VALUE"] = "DURATION"
    calendar.add("refresh-interval", interval, encode=False)
    calendar.add("x-published-ttl", vDuration(REFRESH), encode=False)
