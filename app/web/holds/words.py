"""Holds and marks in words."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.language import N_, _
from app.ledger.codes import spoken
from app.ledger.holds import ActiveHold
from app.ledger.words import HoldCause, Mark, ReleaseCause
from app.science.safety.catalogue import BY_ID
from app.science.safety.rule import Outcome
from app.web.messages import HOLD_CAUSES, day, told
from app.web.papers.rules import sourced

RELEASE_CAUSES = {
    ReleaseCause.NOT_DETECTED: N_("nothing was detected"),
    ReleaseCause.LOOKED_FINE: N_("somebody looked, and it was fine"),
    ReleaseCause.OTHER: N_("for another reason, which stands in the note"),
}

MARKS = {Mark.LEAD: N_("may hold lead"), Mark.PARASITE: N_("parasite risk")}


@dataclass(frozen=True, slots=True)
class MarkNote:
    """What a mark means for those who eat, as the caution macro takes it."""

    id: str
    sentence: str
    source_text: str
    severity: str = "note"


_LEAD = N_(
    "Taken with lead, or nobody knows that it was not: not for children under 6 or anyone pregnant."
)
_RULES = {Mark.LEAD: ("LEAD", _LEAD), Mark.PARASITE: ("TRICH-WILD", None)}


def why_words(cause: HoldCause, words: str) -> str:
    """Why it is held: "a test result is awaited (chronic wasting disease)"."""
    said, words = _(HOLD_CAUSES[cause]), told(words)
    if cause is HoldCause.OTHER and words:
        return words
    return f"{said} ({words})" if words else said


def hold_words(hold: ActiveHold, lot_id: int) -> str:
    """One hold of a lot, and where it comes from if not from the lot itself."""
    source = (
        ""
        if hold.lot_id == lot_id
        else _(", through {name}, {code}", name=hold.name, code=spoken(hold.code))
    )
    return f"{why_words(hold.cause, hold.words)}{source}"


def held_sentence(holds: Sequence[ActiveHold], lot_id: int) -> str:
    """Everything that keeps a lot, in one sentence; "" for a lot that is free."""
    if not holds:
        return ""
    reasons = "; ".join(dict.fromkeys(hold_words(hold, lot_id) for hold in holds))
    since = min(hold.since for hold in holds)
    return _("On hold since {since}: {reasons}.", since=day(since), reasons=reasons)


def mark_words(marks: frozenset[Mark]) -> str:
    """The marks in a few words for lists: "may hold lead, parasite risk"."""
    return ", ".join(_(MARKS[mark]) for mark in Mark if mark in marks)


def mark_notes(marks: frozenset[Mark]) -> list[MarkNote]:
    """What each mark means, with the source of its rule."""
    return [_note(*_RULES[mark]) for mark in Mark if mark in marks]


def _note(rule_id: str, words: str | None) -> MarkNote:
    rule = BY_ID[rule_id]
    return MarkNote(
        rule.id,
        _(words or rule.sentence_for(Outcome.NOTE)),
        sourced(rule),
    )
