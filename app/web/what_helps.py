"""What would keep food longer, in sentences; about quality, never about safety."""

from dataclasses import dataclass

from app.science.classes import Treatment
from app.science.errors import ScienceError
from app.science.history import Storage
from app.science.keeping import Keeping
from app.science.window import Help, HelpKind, what_would_help
from app.web import scope

MOST = 3
YEAR_DAYS, MONTH_DAYS, WEEK_DAYS = 365.25, 30.44, 7.0
_NEXT_TIME = "this cannot be changed in the lot as it is; it is for the next one"
_PACKED_ANEW = "as if it had been packed so from the first day"

WORDS: dict[HelpKind, tuple[str, str]] = {
    HelpKind.COOLER_PLACE: (
        "A place {cooler} cooler{such_as}",
        "kept there from when it came to where it is now, and as dry as there",
    ),
    HelpKind.FREEZER: (
        "A freezer at {freezer}",
        "kept there from when it came to where it is now; a freezer does not make up for time "
        "already spent in the warmth",
    ),
    HelpKind.FRIDGE: (
        "A refrigerator at {fridge}",
        "put there at once, when it was fresh; it does not make up for time spent in the warmth",
    ),
    HelpKind.CHECKED_SEAL: ("A checked seal", "every edge looked at and found sound"),
    HelpKind.BIGGER_ABSORBER: ("A self-activated absorber of {absorber} cc", _PACKED_ANEW),
    HelpKind.FOIL_POUCH: (
        "A foil-laminate pouch with a self-activated absorber of {absorber} cc",
        _PACKED_ANEW,
    ),
    HelpKind.VACUUM_BAG: ("A vacuum bag", _PACKED_ANEW),
    HelpKind.DRIER: (
        "Drying to {water} % water",
        "where drying further gains nothing; " + _NEXT_TIME,
    ),
    HelpKind.LESS_FAT: ("Half the fat, {fat} %,", "lean meat in its place; " + _NEXT_TIME),
}

_SUCH_AS = {Storage.ROOM: ", such as a cold cellar,"}


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
            return f"{halves // 2}{'½' if halves % 2 else ''} years"
        return f"{round(days / YEAR_DAYS)} years"
    for size, word in ((MONTH_DAYS, "month"), (WEEK_DAYS, "week"), (1.0, "day")):
        count = round(days / size)
        if days >= 1.8 * size or size == 1.0:
            return f"{count} {word}{'' if count == 1 else 's'}"
    raise AssertionError("a day is the shortest length")


def _line(found: Help, *, has_window: bool) -> HelpLine:
    change, assumption = WORDS[found.change]
    would = "would add" if has_window else "would have kept it"
    more = " or more" if found.new_window.central_capped else ""
    sentence = f"{change.format(**_numbers(found))} {would} about {length_words(found.gain_days)}"
    if has_window and found.gain_days_low < 1.0:
        more += ", but nothing to the early end of the window"
    elif has_window and found.gain_days_low < 0.7 * found.gain_days:
        more += f" ({length_words(found.gain_days_low)} to its early end)"
    if Treatment.THAWED in found.changed.treatments and found.change is HelpKind.FREEZER:
        assumption += "; the caution about freezing food again holds"
    return HelpLine(f"{sentence}{more}.", f"Assumes: {assumption}.")


def _numbers(found: Help) -> dict[str, str]:
    lot = found.changed
    us = scope.units() == "us"
    return {
        "such_as": _SUCH_AS.get(lot.history[-1].storage, ""),
        "cooler": "11 °F" if us else "6 °C",
        "freezer": "0 °F" if us else "-18 °C",
        "fridge": "39 °F" if us else "4 °C",
        "absorber": f"{-(-lot.absorber_ml // 50) * 50:.0f}",
        "water": f"{100 * lot.composition.water:.0f}",
        "fat": f"{100 * lot.composition.fat:.0f}",
    }
