"""One sentence for each refusal and each limit, in the person's units."""

from collections.abc import Mapping
from datetime import date

from app.ledger.codes import spoken
from app.ledger.errors import Problem, ProblemKind
from app.ledger.words import HoldCause, IncidentKind
from app.units import UnitFault, UnitProblem, format_mass
from app.web import scope

_WHY = {
    "not_frozen": "This is not in a freezer, so there is nothing to thaw.",
    "blanching_is_for_produce": "Blanching is for garden produce; meat and fish are cooked.",
    "load_it": "A dryer is loaded tray by tray. Use “Load the dryer” instead.",
    "thaw_it": "Out of the freezer it thaws: use “Thaw”, so that its days in the cold count.",
    "no_dryer": "This place is no dryer.",
    "dryer_is_running": "This dryer is running. Unload it first.",
    "run_is_over": "This run has been unloaded.",
    "not_dried": "This was not dried here, so there is nothing to compare it with.",
    "no_package": "This is not a sealed package.",
    "more_evaporated_than_water": "Less than the dry matter alone weighs. Check the weight.",
    "more_fat_than_there_is": "That is more fat than this lot holds. Check the weight.",
    "too_much_broth": "Not enough water in this pot for that much broth. Check the weights.",
    "more_than_whole": "Together these make more than the whole, 100 %.",
    "no_fraction": "This must lie between 0 and 100 %.",
    "no_test_awaited": "This hold does not wait for a test.",
    "no_such_hold": "This hold was lifted already, or taken back.",
    "elsewhere": "By the ledger this package lies at another place. Move it first.",
    "package_is_whole": "A package moves whole. To take some of it elsewhere, portion that off.",
    "sealed_is_whole": "A sealed package is there whole or not at all. Open it first.",
    "too_little_to_dry": "Less than a tenth of a gram: no scale can follow it. Weigh again.",
    "nothing_to_dry": "By the ledger this is nothing but water: it would leave an empty tray.",
    "temperature_order": "Lowest, usual and highest must rise in that order.",
    "temperature_range": "A place is between −40 and 45 °C, and never above 60 °C.",
}


_UNIT_FAULTS = {
    UnitFault.EMPTY: "Something is needed here.",
    UnitFault.NOT_A_NUMBER: "“{part}” is no amount. Write it as 1375 g, 1.375 kg or 3 lb 1/2 oz.",
    UnitFault.UNKNOWN_UNIT: "“{part}” is no unit known here. Use g, kg, oz, lb, °C or °F.",
    UnitFault.AMBIGUOUS: "“{part}” can be read in two ways. Write it with a point, or a unit.",
    UnitFault.NEGATIVE: "“{part}” is below nothing.",
    UnitFault.TOO_LARGE: "“{part}” is more than a kitchen can hold.",
}


def mass(mass_mg: object) -> str:
    """A mass in the household's own units."""
    return format_mass(int(str(mass_mg)), scope.units())


def day(value: object) -> str:
    """A date as people say it: 11 October 2026."""
    return f"{value.day} {value:%B %Y}" if isinstance(value, date) else str(value)


def unit_sentence(problem: UnitProblem) -> str:
    """What is wrong with a typed amount, and how it should look."""
    return _UNIT_FAULTS[problem.kind].format(part=problem.part)


def sentence(problem: Problem) -> str:
    """The words for one problem."""
    return _SENTENCES[problem.kind](problem.numbers)


def _code(n: Mapping[str, object]) -> str:
    return spoken(str(n["code"]))


def _not_on_hand(n: Mapping[str, object]) -> str:
    if not n.get("on_hand_mg"):
        return "None of this is left there."
    return f"{_code(n)} has {mass(n['on_hand_mg'])}; you took {mass(n['taken_mg'])}."


def _unbalanced(n: Mapping[str, object]) -> str:
    missing = int(str(n["in_mg"])) - int(str(n["out_mg"]))
    return (
        f"{mass(n['in_mg'])} went in and {mass(n['out_mg'])} is accounted for: "
        f"{mass(missing)} is missing. Weigh again, or enter it as a loss."
    )


def _changed_since(n: Mapping[str, object]) -> str:
    number = f", no. {n['number']}" if n.get("number") else ""
    now = f"{mass(n['on_hand_mg'])} of it is here" if n["on_hand_mg"] else "it is no longer here"
    return (
        f"{_code(n)} {n['name']}{number}: {mass(n['seen_mg'])} when this page was opened; somebody "
        f"wrote an entry meanwhile, and by the ledger {now}. Look at it again."
    )


def _impossible(n: Mapping[str, object]) -> str:
    if "low" in n:
        low, high = (100 * float(str(n[key])) for key in ("low", "high"))
        return f"These two can only reach between {low:.1f} % and {high:.1f} % fat."
    if "wanted" in n:
        what = n["component"]
        wanted = f"{100 * float(str(n['wanted'])):.1f} % {what} cannot be reached with these"
        if n.get("nearest") is None:
            return f"{wanted}: there is not enough of them on hand."
        return f"{wanted}; the nearest is {100 * float(str(n['nearest'])):.1f} %."
    return _WHY.get(str(n.get("reason")), "This cannot be. Check the weights.")


HOLD_CAUSES = {
    HoldCause.TEST_AWAITED: "a test result is awaited",
    HoldCause.TEST_POSITIVE: "a disease was found",
    HoldCause.LOOKED_SICK: "the animal looked sick or was found dead",
    HoldCause.SEAL_FAILED: "a seal failed",
    HoldCause.RECALL: "it was recalled",
    HoldCause.LOOK_FIRST: "somebody has to look at it first",
    HoldCause.OTHER: "held",
}


INCIDENTS = {
    IncidentKind.POWER_OUT: "the power was out, or it failed",
    IncidentKind.DOOR_OPEN: "its door stood open",
    IncidentKind.THAWED: "thawed by mistake",
    IncidentKind.LEFT_OUT: "left out",
    IncidentKind.KEPT_WARM: "kept warm too long",
    IncidentKind.SEAL_FAILED: "the seal failed",
    IncidentKind.ABSORBER_SPENT: "the absorber was spent",
    IncidentKind.FREEZER_BURN: "freezer burn was seen",
    IncidentKind.WORN: "past its best when looked at",
}


def told(words: str) -> str:
    """What was typed, or what went wrong where the ledger itself put the word of an incident."""
    return INCIDENTS[IncidentKind(words)] if words in set(IncidentKind) else words


def _on_hold(n: Mapping[str, object]) -> str:
    why = HOLD_CAUSES[HoldCause(str(n["cause"]))]
    words = f" ({told(str(n['words']))})" if n["words"] else ""
    other = f", made of {spoken(str(n['held_code']))}," if n["held_code"] != n["code"] else ""
    return f"{_code(n)}{other} is on hold: {why}{words}. Keep it apart until it is released."


_SENTENCES = {
    ProblemKind.MISSING: lambda n: "Something is needed here.",
    ProblemKind.NOT_ON_HAND: _not_on_hand,
    ProblemKind.UNBALANCED: _unbalanced,
    ProblemKind.NOT_POSITIVE: lambda n: "This must be more than nothing.",
    ProblemKind.TARE_ABOVE_GROSS: lambda n: (
        f"The empty bowl ({mass(n['tare_mg'])}) cannot weigh as much as the full one "
        f"({mass(n['gross_mg'])})."
    ),
    ProblemKind.IN_FUTURE: lambda n: f"{day(n['date'])} is still to come.",
    ProblemKind.BEFORE_HARVEST: lambda n: (
        f"{day(n['date'])} is before the harvest ({day(n['harvest'])})."
    ),
    ProblemKind.BEFORE_MADE: lambda n: (
        f"{_code(n)} was made on {day(n['made'])}; this cannot have been on {day(n['date'])}."
    ),
    ProblemKind.BEFORE_THERE: lambda n: (
        f"{_code(n)} has been there only since {day(n['since'])}; "
        f"this cannot have been on {day(n['date'])}."
    ),
    ProblemKind.UNKNOWN_LOT: lambda n: "There is no such lot.",
    ProblemKind.UNKNOWN_PLACE: lambda n: "There is no such place.",
    ProblemKind.UNKNOWN_CHOICE: lambda n: "Choose one of the list.",
    ProblemKind.ON_HOLD: _on_hold,
    ProblemKind.PACKAGE_TOO_LARGE: lambda n: (
        f"The packages hold {mass(n['packed_mg'])}, but only {mass(n['on_hand_mg'])} is there."
    ),
    ProblemKind.DOES_NOT_FIT: lambda n: (
        f"{mass(n['packed_mg'])} of this does not fit: one such package holds "
        f"{mass(n['holds_mg'])} at most, without any gap."
    ),
    ProblemKind.ONE_AT_A_TIME: lambda n: (
        "Only of a single one can a part be taken: tick one, or leave this empty for all of each."
    ),
    ProblemKind.MORE_OUT_THAN_IN: lambda n: (
        f"Only {mass(n['in_mg'])} went in, but {mass(n['out_mg'])} came out. Check the weights."
    ),
    ProblemKind.DEPENDED_ON: lambda n: (
        "Later entries rest on this one; take those back first, newest first: "
        + ", ".join(f"no. {number}" for number in _numbers(n["operations"]))
        + "."
    ),
    ProblemKind.RESTING_CHANGED: lambda n: (
        "What rests on this entry has changed since this page was opened. "
        "Look at the list again; nothing was taken back."
    ),
    ProblemKind.ALREADY_REVERSED: lambda n: "This entry has been taken back already.",
    ProblemKind.NOTHING_TO_DO: lambda n: "That is how it is already.",
    ProblemKind.IMPOSSIBLE: _impossible,
    ProblemKind.NOT_COVERED: lambda n: str(n["sentence"]),
    ProblemKind.GATE: lambda n: str(n["sentence"]),
    ProblemKind.NEEDS_REASON: lambda n: str(n["sentence"]),
    ProblemKind.CHANGED_SINCE: _changed_since,
    ProblemKind.WRONG_PLACE: lambda n: _WHY[str(n["why"])],
    ProblemKind.WRONG_STATE: lambda n: _WHY[str(n["why"])],
    ProblemKind.DUPLICATE_NAME: lambda n: f"There is a “{n['name']}” already.",
    ProblemKind.ALREADY_READ: lambda n: f"{n['name']} was read in before; nothing was added.",
    ProblemKind.NOT_RELEASED: lambda n: (
        "This hold is not lifted: "
        + HOLD_CAUSES[HoldCause(str(n["cause"]))]
        + ". If it was written by mistake, take that entry back."
    ),
    ProblemKind.BEFORE_BEGIN: lambda n: "The end is before the beginning.",
}


def _numbers(value: object) -> list[int]:
    return [int(number) for number in value] if isinstance(value, list) else []
