"""What this ledger does not guide, and the official guides to turn to."""

from dataclasses import dataclass

from app.language import N_, _
from app.ledger.uncovered import Process
from app.science.safety.rule import RuleSet
from app.science.safety.verdicts import not_covered
from app.science.sources import (
    CURING_AND_SMOKING,
    FERMENTED_FOODS,
    HEALTH_CANADA_CANNING,
    HOME_CANNING,
    Evidence,
    Source,
)
from app.web.said import said


@dataclass(frozen=True, slots=True)
class Guide:
    """A publication to turn to, and how well we know that it is there."""

    source: Source
    evidence: Evidence


@dataclass(frozen=True, slots=True)
class Uncovered:
    """A process without guidance here: the rule's sentence, why, and where to look."""

    id: str
    title: str
    sentence: str
    why: str
    guides: tuple[Guide, ...]


_CANNING = Guide(HOME_CANNING, Evidence.SECOND_HAND)
_CURING = Guide(CURING_AND_SMOKING, Evidence.COPY)
_GUIDES: dict[Process, tuple[Guide, ...]] = {
    Process.CANNING: (_CANNING,),
    Process.CURING: (_CURING,),
    Process.FERMENTING: (Guide(FERMENTED_FOODS, Evidence.SECOND_HAND),),
    Process.SMOKING: (_CURING,),
}
_TITLES = {
    Process.CANNING: N_("Canning"),
    Process.CURING: N_("Curing"),
    Process.FERMENTING: N_("Fermenting"),
    Process.SMOKING: N_("Smoking"),
}
_WHY: dict[Process, str] = {
    Process.CANNING: N_(
        "A jar closed by a vacuum or an absorber is not canned: nothing here says how "
        "long, how hot or at which pressure."
    ),
    Process.CURING: N_(
        "Doses of nitrite or nitrate are never worked out here; too little does not "
        "protect, too much harms."
    ),
    Process.FERMENTING: N_("No acidity is judged here, and no window is given for fermented food."),
    Process.SMOKING: N_(
        "No schedule of smoke, time and warmth is given here. Smoked fish in a pack "
        "without air stays frozen."
    ),
}
_AUTHORITY: dict[RuleSet, str] = {
    RuleSet.US: N_("Your state's extension service answers questions and tests pressure gauges."),
    RuleSet.CA: N_("Health Canada and your province's health authority answer questions."),
    RuleSet.UK: N_("The Food Standards Agency, or Food Standards Scotland, answers questions."),
    RuleSet.AU: N_("Your state's or territory's food authority answers questions."),
}


def uncovered(rule_set: RuleSet) -> tuple[Uncovered, ...]:
    """Every process, with the guides for a household of this rule set."""
    canada = (Guide(HEALTH_CANADA_CANNING, Evidence.COPY),) if rule_set is RuleSet.CA else ()
    return tuple(
        Uncovered(
            str(process),
            _(_TITLES[process]),
            said(not_covered(process)[0].sentence),
            _(_WHY[process]),
            (*(canada if process is Process.CANNING else ()), *_GUIDES[process]),
        )
        for process in Process
    )


def authority(rule_set: RuleSet) -> str:
    """Whom to ask there (common practice, no source)."""
    return _(_AUTHORITY[rule_set])
