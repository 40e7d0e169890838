"""One sentence for each refusal and each limit, in the person's units."""

from collections.abc import Mapping
from datetime import date

from app.language import N_, _, day_words, figures
from app.ledger.codes import spoken
from app.ledger.errors import Problem, ProblemKind
from app.ledger.words import HoldCause, IncidentKind
from app.units import UnitFault, UnitProblem, format_mass
from app.web import scope
from app.web.said import said

_WHY = {
    "not_frozen": N_("This is not in a freezer, so there is nothing to thaw."),
    "blanching_is_for_produce": N_("Blanching is for garden produce; meat and fish are cooked."),
    "load_it": N_("A dryer is loaded tray by tray. Use “Load the dryer” instead."),
    "thaw_it": N_("Out of the freezer it thaws: use “Thaw”, so that its days in the cold count."),
    "no_dryer": N_("This place is no dryer."),
    "dryer_is_running": N_("This dryer is running. Unload it first."),
    "run_is_over": N_("This run has been unloaded."),
    "not_dried": N_("This was not dried here, so there is nothing to compare it with."),
    "no_package": N_("This is not a sealed package."),
    "more_evaporated_than_water": N_("Less than the dry matter alone weighs. Check the weight."),
    "more_fat_than_there_is": N_("That is more fat than this lot holds. Check the weight."),
    "too_much_broth": N_("Not enough water in this pot for that much broth. Check the weights."),
    "more_than_whole": N_("Together these make more than the whole, 100 %."),
    "no_fraction": N_("This must lie between 0 and 100 %."),
    "no_test_awaited": N_("This hold does not wait for a test."),
    "no_such_hold": N_("This hold was lifted already, or taken back."),
    "elsewhere": N_("By the ledger this package lies at another place. Move it first."),
    "package_is_whole": N_(
        "A package moves whole. To take some of it elsewhere, portion that off."
    ),
    "sealed_is_whole": N_("A sealed package is there whole or not at all. Open it first."),
    "too_little_to_dry": N_("Less than a tenth of a gram: no scale can follow it. Weigh again."),
    "nothing_to_dry": N_("By the ledger this is nothing but water: it would leave an empty tray."),
    "temperature_order": N_("Lowest, usual and highest must rise in that order."),
    "temperature_range": N_("A place is between −40 and 45 °C, and never above 60 °C."),
}
_CANNOT_BE = N_("This cannot be. Check the weights.")

_UNIT_FAULTS = {
    UnitFault.EMPTY: N_("Something is needed here."),
    UnitFault.NOT_A_NUMBER: N_(
        "“{part}” is no amount. Write it as 1375 g, 1.375 kg or 3 lb 1/2 oz."
    ),
    UnitFault.UNKNOWN_UNIT: N_("“{part}” is no unit known here. Use g, kg, oz, lb, °C or °F."),
    UnitFault.AMBIGUOUS: N_("“{part}” can be read in two ways. Write it with a point, or a unit."),
    UnitFault.NEGATIVE: N_("“{part}” is below nothing."),
    UnitFault.TOO_LARGE: N_("“{part}” is more than a kitchen can hold."),
}


def mass(mass_mg: object) -> str:
    """A mass in the household's own units."""
    return figures(format_mass(int(str(mass_mg)), scope.units()))


def day(value: object) -> str:
    """A date as people say it: 11 October 2026."""
    return day_words(value) if isinstance(value, date) else str(value)


def unit_sentence(problem: UnitProblem) -> str:
    """What is wrong with a typed amount, and how it should look."""
    return _(_UNIT_FAULTS[problem.kind], part=problem.part)


def sentence(problem: Problem) -> str:
    """The words for one problem."""
    return _SENTENCES[problem.kind](problem.numbers)


def _code(n: Mapping[str, object]) -> str:
    return spoken(str(n["code"]))


def _not_on_hand(n: Mapping[str, object]) -> str:
    if not n.get("on_hand_mg"):
        return _("None of this is left there.")
    return _(
        "{code} has {mass}; you took {taken}.",
        code=_code(n),
        mass=mass(n["on_hand_mg"]),
        taken=mass(n["taken_mg"]),
    )


def _unbalanced(n: Mapping[str, object]) -> str:
    return _(
        "{went_in} went in and {accounted} is accounted for: {missing} is missing. "
        "Weigh again, or enter it as a loss.",
        went_in=mass(n["in_mg"]),
        accounted=mass(n["out_mg"]),
        missing=mass(int(str(n["in_mg"])) - int(str(n["out_mg"]))),
    )


def _changed_since(n: Mapping[str, object]) -> str:
    what = f"{_code(n)} {n['name']}"
    if n.get("number"):
        what = _("{lot}, no. {number}", lot=what, number=n["number"])
    seen = mass(n["seen_mg"])
    if not n["on_hand_mg"]:
        return _(
            "{what}: {seen} when this page was opened; somebody wrote an entry meanwhile, and by "
            "the ledger it is no longer here. Look at it again.",
            what=what,
            seen=seen,
        )
    return _(
        "{what}: {seen} when this page was opened; somebody wrote an entry meanwhile, and by the "
        "ledger {left} of it is here. Look at it again.",
        what=what,
        seen=seen,
        left=mass(n["on_hand_mg"]),
    )


def _per_cent(fraction: object) -> str:
    return figures(f"{100 * float(str(fraction)):.1f}") + " %"


COMPONENTS = {
    "fat": N_("fat"),
    "protein": N_("protein"),
    "water": N_("water"),
}


def _impossible(n: Mapping[str, object]) -> str:
    if "low" in n:
        return _(
            "These two can only reach between {low} and {high} fat.",
            low=_per_cent(n["low"]),
            high=_per_cent(n["high"]),
        )
    if "wanted" in n:
        return _not_reached(n)
    return _(_WHY.get(str(n.get("reason")), _CANNOT_BE))


def _not_reached(n: Mapping[str, object]) -> str:
    what = _(COMPONENTS.get(str(n["component"]), str(n["component"])))
    if n.get("nearest") is None:
        return _(
            "{wanted} {component} cannot be reached with these: "
            "there is not enough of them on hand.",
            wanted=_per_cent(n["wanted"]),
            component=what,
        )
    return _(
        "{wanted} {component} cannot be reached with these; the nearest is {nearest}.",
        wanted=_per_cent(n["wanted"]),
        component=what,
        nearest=_per_cent(n["nearest"]),
    )


HOLD_CAUSES = {
    HoldCause.TEST_AWAITED: N_("a test result is awaited"),
    HoldCause.TEST_POSITIVE: N_("a disease was found"),
    HoldCause.LOOKED_SICK: N_("the animal looked sick or was found dead"),
    HoldCause.SEAL_FAILED: N_("a seal failed"),
    HoldCause.RECALL: N_("it was recalled"),
    HoldCause.LOOK_FIRST: N_("somebody has to look at it first"),
    HoldCause.OTHER: N_("held"),
}


INCIDENTS = {
    IncidentKind.POWER_OUT: N_("the power was out, or it failed"),
    IncidentKind.DOOR_OPEN: N_("its door stood open"),
    IncidentKind.THAWED: N_("thawed by mistake"),
    IncidentKind.LEFT_OUT: N_("left out"),
    IncidentKind.KEPT_WARM: N_("kept warm too long"),
    IncidentKind.SEAL_FAILED: N_("the seal failed"),
    IncidentKind.ABSORBER_SPENT: N_("the absorber was spent"),
    IncidentKind.FREEZER_BURN: N_("freezer burn was seen"),
    IncidentKind.WORN: N_("past its best when looked at"),
}


def told(words: str) -> str:
    """What was typed, or what went wrong where the ledger itself put the word of an incident."""
    return _(INCIDENTS[IncidentKind(words)]) if words in set(IncidentKind) else words


def _on_hold(n: Mapping[str, object]) -> str:
    cause = _(HOLD_CAUSES[HoldCause(str(n["cause"]))])
    if n["words"]:
        cause = f"{cause} ({told(str(n['words']))})"
    if n["held_code"] == n["code"]:
        return _(
            "{code} is on hold: {cause}. Keep it apart until it is released.",
            code=_code(n),
            cause=cause,
        )
    return _(
        "{code}, made of {source}, is on hold: {cause}. Keep it apart until it is released.",
        code=_code(n),
        source=spoken(str(n["held_code"])),
        cause=cause,
    )


_SENTENCES = {
    ProblemKind.MISSING: lambda n: _("Something is needed here."),
    ProblemKind.NOT_ON_HAND: _not_on_hand,
    ProblemKind.UNBALANCED: _unbalanced,
    ProblemKind.NOT_POSITIVE: lambda n: _("This must be more than nothing."),
    ProblemKind.TARE_ABOVE_GROSS: lambda n: _(
        "The empty bowl ({tare}) cannot weigh as much as the full one ({gross}).",
        tare=mass(n["tare_mg"]),
        gross=mass(n["gross_mg"]),
    ),
    ProblemKind.IN_FUTURE: lambda n: _("{date} is still to come.", date=day(n["date"])),
    ProblemKind.BEFORE_HARVEST: lambda n: _(
        "{date} is before the harvest ({harvest}).", date=day(n["date"]), harvest=day(n["harvest"])
    ),
    ProblemKind.BEFORE_MADE: lambda n: _(
        "{code} was made on {made}; this cannot have been on {date}.",
        code=_code(n),
        made=day(n["made"]),
        date=day(n["date"]),
    ),
    ProblemKind.BEFORE_THERE: lambda n: _(
        "{code} has been there only since {since}; this cannot have been on {date}.",
        code=_code(n),
        since=day(n["since"]),
        date=day(n["date"]),
    ),
    ProblemKind.UNKNOWN_LOT: lambda n: _("There is no such lot."),
    ProblemKind.UNKNOWN_PLACE: lambda n: _("There is no such place."),
    ProblemKind.UNKNOWN_CHOICE: lambda n: _("Choose one of the list."),
    ProblemKind.ON_HOLD: _on_hold,
    ProblemKind.PACKAGE_TOO_LARGE: lambda n: _(
        "The packages hold {packed}, but only {on_hand} is there.",
        packed=mass(n["packed_mg"]),
        on_hand=mass(n["on_hand_mg"]),
    ),
    ProblemKind.DOES_NOT_FIT: lambda n: _(
        "{packed} of this does not fit: one such package holds {holds} at most, without any gap.",
        packed=mass(n["packed_mg"]),
        holds=mass(n["holds_mg"]),
    ),
    ProblemKind.ONE_AT_A_TIME: lambda n: _(
        "Only of a single one can a part be taken: tick one, or leave this empty for all of each."
    ),
    ProblemKind.MORE_OUT_THAN_IN: lambda n: _(
        "Only {went_in} went in, but {came_out} came out. Check the weights.",
        went_in=mass(n["in_mg"]),
        came_out=mass(n["out_mg"]),
    ),
    ProblemKind.DEPENDED_ON: lambda n: _(
        "Later entries rest on this one; take those back first, newest first: {numbers}.",
        numbers=", ".join(_("no. {number}", number=number) for number in _numbers(n["operations"])),
    ),
    ProblemKind.RESTING_CHANGED: lambda n: _(
        "What rests on this entry has changed since this page was opened. "
        "Look at the list again; nothing was taken back."
    ),
    ProblemKind.ALREADY_REVERSED: lambda n: _("This entry has been taken back already."),
    ProblemKind.NOTHING_TO_DO: lambda n: _("That is how it is already."),
    ProblemKind.IMPOSSIBLE: _impossible,
    ProblemKind.NOT_COVERED: lambda n: said(str(n["sentence"])),
    ProblemKind.GATE: lambda n: said(str(n["sentence"])),
    ProblemKind.NEEDS_REASON: lambda n: said(str(n["sentence"])),
    ProblemKind.CHANGED_SINCE: _changed_since,
    ProblemKind.WRONG_PLACE: lambda n: _(_WHY[str(n["why"])]),
    ProblemKind.WRONG_STATE: lambda n: _(_WHY[str(n["why"])]),
    ProblemKind.DUPLICATE_NAME: lambda n: _("There is a “{name}” already.", name=n["name"]),
    ProblemKind.ALREADY_READ: lambda n: _(
        "{name} was read in before; nothing was added.", name=n["name"]
    ),
    ProblemKind.NOT_RELEASED: lambda n: _(
        "This hold is not lifted: {cause}. If it was written by mistake, take that entry back.",
        cause=_(HOLD_CAUSES[HoldCause(str(n["cause"]))]),
    ),
    ProblemKind.BEFORE_BEGIN: lambda n: _("The end is before the beginning."),
}


def _numbers(value: object) -> list[int]:
    return [int(number) for number in value] if isinstance(value, list) else []
