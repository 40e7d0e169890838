"""How warm a place is, how that is known, and where food was kept, in words."""

from datetime import date, datetime

from sqlalchemy.orm import Session

from app.language import N_, _, ngettext
from app.ledger.calendar import today_of
from app.ledger.climates import StatedClimate, Warmth
from app.ledger.queries.climate import Kept, KeptAt, Reach, Turn, Why, reach_of
from app.ledger.words import ClimateBasis, PlaceKind
from app.web import scope
from app.web.display import temperature
from app.web.history.words import INCIDENTS
from app.web.messages import day
from app.web.went_wrong.words import hours_words

MONTHS = (
    N_("January"), N_("February"), N_("March"), N_("April"), N_("May"), N_("June"), N_("July"),
    N_("August"), N_("September"), N_("October"), N_("November"), N_("December"),
)  # fmt: skip
SHOWN_CHANGES = 3  # on a lot's page; a logger may have brought dozens
_COLD = (PlaceKind.FREEZER, PlaceKind.FRIDGE)


def warmth_words(warmth: Warmth) -> str:
    """The usual temperature and its range: "−18 °C (−20 °C to −16 °C)"."""
    low, usual, high = map(temperature, (warmth.temp_low_c, warmth.temp_c, warmth.temp_high_c))
    return usual if low == high else _("{usual} ({low} to {high})", usual=usual, low=low, high=high)


def stated_words(stated: StatedClimate) -> str:
    """A statement in short: "−18 °C", or "4 °C to 17 °C, by month"."""
    if not stated.is_by_month:
        return temperature(stated.by_month[0].temp_c)
    usual = [w.temp_c for w in stated.by_month]
    return _(
        "{degrees} to {degrees_2}, by month",
        degrees=temperature(min(usual)),
        degrees_2=temperature(max(usual)),
    )


def known_words(stated: StatedClimate) -> str:
    """How it is known, and since when."""
    since = _(", since {local_day}", local_day=day(local_day(stated.since))) if stated.since else ""
    return how_words(stated) + since


def how_words(stated: StatedClimate) -> str:
    """How it is known."""
    if stated.since is None:
        return _("as told when the place was added")
    if stated.basis is ClimateBasis.LOGGED:
        return _("by the readings of a logger")
    return _("month by month, as told") if stated.is_by_month else _("as told")


def local_day(at: datetime) -> date:
    """The household's day of an instant."""
    return today_of(scope.reading(), at)


def renewed_words(session: Session, place_id: int) -> str:
    """Whose windows were worked out anew, as it is said after writing."""
    reach = reach_of(session, place_id)
    count = reach.here + reach.earlier
    if not count:
        return _("Nothing on hand was ever there, so no window changed.")
    return ngettext(
        "The window of {number} lot was worked out anew.",
        "The windows of {number} lots were worked out anew.",
        count,
    )


def reach_words(reach: Reach) -> str:
    """Whose windows a change of a place's climate works out anew; "" where there are none."""
    if not reach.earlier:
        return ngettext(
            "A change works out anew the window of {number} lot that lies here.",
            "A change works out anew the windows of {number} lots that lie here.",
            reach.here,
        )
    if not reach.here:
        return ngettext(
            "A change works out anew the window of {number} lot that lay here earlier, as far as "
            "that time is meant.",
            "A change works out anew the windows of {number} lots that lay here earlier, as far as "
            "that time is meant.",
            reach.earlier,
        )
    return _(
        "A change works out anew the windows of {here} and of {earlier}, as far as that time is "
        "meant.",
        here=ngettext("{number} lot that lies here", "{number} lots that lie here", reach.here),
        earlier=ngettext(
            "{number} lot that lay here earlier",
            "{number} lots that lay here earlier",
            reach.earlier,
        ),
    )


def kept_words(kept: Kept) -> str:
    """Where food was kept and how warm, in one line."""
    parts = [part for place in kept.places for part in _kept_at(place)]
    for excursion, cause in kept.excursions:
        is_cold = any(p.kind in _COLD for p in kept.places)
        hours = (excursion.until - excursion.since).total_seconds() / 3600
        on = local_day(excursion.since)
        why = f" ({_(INCIDENTS[cause])})" if cause else ""
        parts.append(_out_on(is_cold, hours, on) + why)
    return "; ".join(parts) + "." if parts else ""


def _kept_at(place: KeptAt) -> list[str]:
    parts = [
        _(
            "{place} since {since}, {stated_words}",
            place=place.place,
            since=day(place.since),
            stated_words=stated_words(place.first),
        )
    ]
    left_out = len(place.changes) - SHOWN_CHANGES
    if left_out > 0:
        parts.append(ngettext("{number} earlier change", "{number} earlier changes", left_out))
    for on, stated in place.changes[-SHOWN_CHANGES:]:
        since, words = day(on), stated_words(stated)
        parts.append(
            _("since {day} logged {climate}", day=since, climate=words)
            if stated.basis is ClimateBasis.LOGGED
            else _("since {day} told {climate}", day=since, climate=words)
        )
    return parts


def turn_words(turn: Turn | None, month: int) -> str:
    """Why a stretch of a lot's keeping begins.

    Args:
        turn: as the ledger tells it. month: of the day it begins, 1 to 12.
    """
    if turn is None:
        return ""
    if turn.why is Why.OUT and turn.excursion is not None:
        hours = (turn.excursion.until - turn.excursion.since).total_seconds() / 3600
        cause = f" ({_(INCIDENTS[turn.cause])})" if turn.cause else ""
        return _out_on(turn.kind in _COLD, hours, local_day(turn.excursion.since)) + cause
    return {
        Why.CAME: _("came here"),
        Why.TOLD: _("as told from then on"),
        Why.LOGGED: _("as logged from then on"),
        Why.SEASON: _("{months}, by month", months=_(MONTHS[month - 1])),
        Why.YEAR: _("the year’s mean, in place of the months"),
        Why.BACK: _("back as before"),
    }.get(turn.why, "")


def _out_on(is_cold: bool, hours: float, on: date) -> str:
    return _(
        "{out} {hours} on {day}",
        out=out_words(is_cold=is_cold),
        hours=hours_words(hours),
        day=day(on),
    )


def out_words(*, is_cold: bool) -> str:
    """What an excursion is, before its hours."""
    return _("out of the cold") if is_cold else _("warmer for")
