"""Why food stands where it stands in the list of what to eat first, in words."""

from datetime import date
from typing import NamedTuple

from app.language import N_, _, cached_by_language, ngettext
from app.ledger.climates import Warmth
from app.ledger.queries.eat_first import Group
from app.ledger.queries.stock import StockLine, WindowDates
from app.web.display import LIMITS, NO_WINDOW
from app.web.messages import day
from app.web.places.words import warmth_words

HEADINGS = {
    Group.OPENED: N_("Opened"),
    Group.NOW: N_("To see to today"),
    Group.THIS_WEEK: N_("For dinner this week"),
    Group.PAST: N_("Past its window"),
    Group.PROCESS: N_("To process before the freezer window ends"),
    Group.LATER: N_("Keeps well"),
    Group.UNDATED: N_("Without a date: look at it and use your judgement"),
    Group.ON_HOLD: N_("On hold, not to be eaten"),
}
SHORT = {
    Group.OPENED: N_("Opened"),
    Group.NOW: N_("See to today"),
    Group.THIS_WEEK: N_("For dinner"),
    Group.PAST: N_("Past"),
    Group.PROCESS: N_("To process"),
    Group.LATER: N_("Keeps well"),
    Group.UNDATED: N_("Without a date"),
    Group.ON_HOLD: N_("On hold"),
}
NOTES = {
    Group.NOW: N_("These get no date until something is done about them."),
    Group.PAST: N_(
        "Past a refrigerator limit: discard it. Past another date: the date is about quality, so "
        "look, smell and decide; then eat it soon, raw food cooked, or discard it."
    ),
    Group.PROCESS: N_(
        "Thaw, cook, dry or pack it anew. Past its end in the freezer it is a matter of taste, and "
        "stands first."
    ),
}


class Why(NamedTuple):
    """Why a line stands where it stands, and the page that tells what can be done."""

    group: str
    used: str
    limit: str
    where: str
    href: str


def why(line: StockLine, group: Group, today: date, where: str) -> Why:
    """The reasons of one line; where: its place, as `where_words` tells it."""
    told = _told(group, line.window, line.limit_word, line.opened_on, today)
    return Why(*told, where=where, href=f"/eat-first/{line.ref}")


@cached_by_language(4096)  # lots of one day have the same, and the list is asked for often
def _told(
    group: Group,
    window: WindowDates | None,
    limit_word: str | None,
    opened_on: date | None,
    today: date,
) -> tuple[str, str, str]:
    """Why it stands in its group, how much of its window is used, and what ends that."""
    used = "" if window is None else _used_words(window, today)
    return _group_words(group, window, opened_on, today), used, _limit_words(window, limit_word)


def _group_words(
    group: Group, window: WindowDates | None, opened_on: date | None, today: date
) -> str:
    if group is Group.ON_HOLD:
        return _("It is on hold, so no date matters until it is released.")
    if group is Group.OPENED and opened_on is not None:
        return _("It was opened on {day}, and what is open goes first.", day=day(opened_on))
    if window is None:
        return (
            _("It has no date, so it raises no alarm.")
            if group is Group.UNDATED
            else _("It has no date until it is seen to.")
        )
    if group is Group.PAST or (window.late < today and not window.is_capped):
        return _("Its window ended on {day}.", day=day(window.late))
    days = (window.early - today).days
    if days < 0:
        return _("It is past the early end of its window, {day}.", day=day(window.early))
    return ngettext(
        "The early end of its window, {day}, is {number} day away.",
        "The early end of its window, {day}, is {number} days away.",
        days,
        day=day(window.early),
    )


def _used_words(window: WindowDates, today: date) -> str:
    used = round(100 * max(window.share_used(today), 0.0))
    values = {"start": day(window.start), "central": day(window.central)}
    if window.is_fixed:
        return _("{used} % of its days are used, from {start} to {central}.", used=used, **values)
    if used > 100:
        return _("Its window is used up: it began {start}, its centre was {central}.", **values)
    return _(
        "{used} % of its window is used, from {start} to its centre, {central}.",
        used=used,
        **values,
    )


def _limit_words(window: WindowDates | None, limit_word: str | None) -> str:
    if window is None:
        return _(NO_WINDOW.get(limit_word, NO_WINDOW[None]))
    limit = _(LIMITS.get(limit_word or "", ""))
    if window.is_fixed:
        return _("{limit}: a published number of days, no estimate.", limit=_capital(limit))
    if limit_word not in LIMITS:
        return _("Somebody saw that it was past its best.")
    cases = round(100 * window.limit_share)
    if cases == 100:
        return _("{limit}, in every computed case.", limit=_capital(limit))
    return _("{limit}, so in {cases} of 100 computed cases.", limit=_capital(limit), cases=cases)


def _capital(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}"


def where_words(place: str, warmth: Warmth | None) -> str:
    """A place and how warm it is now."""
    if warmth is None:
        return place
    return _("{place}, {warmth}", place=place, warmth=warmth_words(warmth))
