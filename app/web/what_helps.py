"""What would keep food longer, in sentences; about quality, never about safety."""

from dataclasses import dataclass

from app.language import N_, _, ngettext
from app.science.classes import Treatment
from app.science.errors import ScienceError
from app.science.history import Storage
from app.science.keeping import Keeping
from app.science.window import Help, HelpKind, what_would_help
from app.web import scope

MOST = 3
YEAR_DAYS, MONTH_DAYS, WEEK_DAYS = 365.25, 30.44, 7.0
_PACKED_ANEW = N_("as if it had been packed so from the first day")

WORDS: dict[HelpKind, tuple[str, str]] = {
    HelpKind.COOLER_PLACE: (
        N_("A place {cooler} cooler{such_as}"),
        N_("kept there from when it came to where it is now, and as dry as there"),
    ),
    HelpKind.FREEZER: (
        N_("A freezer at {freezer}"),
        N_(
            "kept there from when it came to where it is now; a freezer does not make up for time "
            "already spent in the warmth"
        ),
    ),
    HelpKind.FRIDGE: (
        N_("A refrigerator at {fridge}"),
        N_(
            "put there at once, when it was fresh; it does not make up for time spent in the warmth"
        ),
    ),
    HelpKind.CHECKED_SEAL: (N_("A checked seal"), N_("every edge looked at and found sound")),
    HelpKind.BIGGER_ABSORBER: (N_("A self-activated absorber of {absorber} cc"), _PACKED_ANEW),
    HelpKind.FOIL_POUCH: (
        N_("A foil-laminate pouch with a self-activated absorber of {absorber} cc"),
        _PACKED_ANEW,
    ),
    HelpKind.VACUUM_BAG: (N_("A vacuum bag"), _PACKED_ANEW),
    HelpKind.DRIER: (
        N_("Drying to {water} % water"),
        N_(
            "where drying further gains nothing; this cannot be changed in the lot as it is; it is "
            "for the next one"
        ),
    ),
    HelpKind.LESS_FAT: (
        N_("Half the fat, {fat} %,"),
        N_(
            "lean meat in its place; this cannot be changed in the lot as it is; it is for the "
            "next one"
        ),
    ),
}

_SUCH_AS = {Storage.ROOM: N_(", such as a cold cellar,")}


@dataclass(frozen=True, slots=True)
class HelpLine:
    """One change: what it would buy, and what that takes for granted."""

    sentence: str
    assumption: str


def help_lines(keeping: Keeping, *, has_window: bool) -> list[HelpLine]:
    """At most three changes, the one that buys most time first.

    Food that perishes in the warmth must not be asked about: there only the gates speak, and time
    in the cold must not look like a cure.
    """
    try:
        helps = what_would_help(keeping)
    except ScienceError:
        return []
    gains = [found for found in helps if found.gain_days >= 1.0]
    return [_line(found, has_window=has_window) for found in gains[:MOST]]


def length_words(days: float) -> str:
    """A length of time no more exact than an estimate is: "2½ years", "4 months"."""
    if days >= 18 * MONTH_DAYS:
        halves = round(2 * days / YEAR_DAYS)
        if halves < 20:
            return _("{number} years", number=f"{halves // 2}{'½' if halves % 2 else ''}")
        return _("{number} years", number=round(days / YEAR_DAYS))
    if days >= 1.8 * MONTH_DAYS:
        return ngettext("{number} month", "{number} months", round(days / MONTH_DAYS))
    if days >= 1.8 * WEEK_DAYS:
        return ngettext("{number} week", "{number} weeks", round(days / WEEK_DAYS))
    return ngettext("{number} day", "{number} days", round(days))


def _line(found: Help, *, has_window: bool) -> HelpLine:
    change, assumption = WORDS[found.change]
    more = _(" or more") if found.new_window.central_capped else ""
    what, length = _(change, **_numbers(found)), length_words(found.gain_days)
    sentence = (
        _("{change} would add about {length}", change=what, length=length)
        if has_window
        else _("{change} would have kept it about {length}", change=what, length=length)
    )
    if has_window and found.gain_days_low < 1.0:
        more += _(", but nothing to the early end of the window")
    elif has_window and found.gain_days_low < 0.7 * found.gain_days:
        more += _(
            " ({length_words} to its early end)", length_words=length_words(found.gain_days_low)
        )
    if Treatment.THAWED in found.changed.treatments and found.change is HelpKind.FREEZER:
        assumption = _(assumption) + _("; the caution about freezing food again holds")
    return HelpLine(f"{sentence}{more}.", _("Assumes: {assumption}.", assumption=_(assumption)))


def _numbers(found: Help) -> dict[str, str]:
    lot = found.changed
    us = scope.units() == "us"
    return {
        "such_as": _(_SUCH_AS.get(lot.history[-1].storage, "")),
        "cooler": "11 °F" if us else "6 °C",
        "freezer": "0 °F" if us else "-18 °C",
        "fridge": "39 °F" if us else "4 °C",
        "absorber": f"{-(-lot.absorber_ml // 50) * 50:.0f}",
        "water": f"{100 * lot.composition.water:.0f}",
        "fat": f"{100 * lot.composition.fat:.0f}",
    }
