"""What can go wrong, as the pages ask about it; how it is told afterwards is the history's."""

from dataclasses import dataclass

from app.ledger.words import IncidentFate, IncidentKind


@dataclass(frozen=True, slots=True)
class Kind:
    """One thing that can go wrong: its title, what it means, and what is asked first."""

    title: str
    more: str
    which: str = "Which food"


KINDS = {
    IncidentKind.POWER_OUT: Kind(
        "The power was out, or a freezer failed",
        "A freezer or refrigerator grew warm, a dryer stopped: what of its food may be kept",
        "Which one",
    ),
    IncidentKind.DOOR_OPEN: Kind(
        "A door stood open", "A freezer or refrigerator that was not shut", "Which one"
    ),
    IncidentKind.THAWED: Kind(
        "It thawed by mistake", "Frozen food that lay out, with ice in it or without"
    ),
    IncidentKind.LEFT_OUT: Kind(
        "It was left out", "Food from the refrigerator or the stove, on the bench or in the car"
    ),
    IncidentKind.KEPT_WARM: Kind(
        "Hot food stood warm", "A pot on the stove or in a box, neither hot nor cold"
    ),
    IncidentKind.SEAL_FAILED: Kind(
        "A seal failed", "A seal leaks, a pouch went loose or a lid came up", "Which packages"
    ),
    IncidentKind.ABSORBER_SPENT: Kind(
        "An absorber is spent",
        "The packet is hard, or it never went hard and the pouch stayed loose",
        "Which packages",
    ),
    IncidentKind.FREEZER_BURN: Kind(
        "Freezer burn", "Dry, pale or brown patches on frozen food", "What has it"
    ),
    IncidentKind.WORN: Kind(
        "It is past its best", "It looks, smells or tastes stale", "What is past its best"
    ),
}

#: What may become of food, as a choice that is still open.
CHOICES = {
    IncidentFate.REFREEZE: "Freeze it again; its best time is shorter",
    IncidentFate.KEEP: "Keep it, in the cold where it belongs",
    IncidentFate.LOOK: "Put it on hold until somebody has looked",
    IncidentFate.USE_NOW: "Cook or eat it now",
    IncidentFate.OPENED: "Count it as opened, and repack it",
    IncidentFate.WORN: "Count it as past its best",
    IncidentFate.DISCARD: "Discard it",
}

#: The proposals as headings, in the order of the page: what cannot wait stands first.
GROUPS = {
    IncidentFate.DISCARD: "To be discarded",
    IncidentFate.LOOK: "To be looked at",
    IncidentFate.USE_NOW: "To be used now",
    IncidentFate.OPENED: "Counts as opened",
    IncidentFate.WORN: "Past its best",
    IncidentFate.REFREEZE: "May be frozen again",
    IncidentFate.KEEP: "May be kept",
}

NOT_THERE = "none"  # a choice beside the fates
NOT_THERE_WORDS = "It was not there at the time"
OUTCOMES = {"pass": "By the rule", "note": "Note", "confirm": "Look", "stop": "Stop"}


def hours_words(hours: float) -> str:
    """Hours as people say them: "2 h 10 min"."""
    whole, rest = divmod(round(hours * 60), 60)
    if not whole:
        return f"{rest} min"
    return f"{whole} h {rest} min" if rest else f"{whole} h"
