"""What can go wrong, as the pages ask about it; how it is told afterwards is the history's."""

from dataclasses import dataclass

from app.language import N_, _
from app.ledger.words import IncidentFate, IncidentKind


@dataclass(frozen=True, slots=True)
class Kind:
    """One thing that can go wrong: its title, what it means, and what is asked first."""

    title: str
    more: str
    which: str = N_("Which food")


KINDS = {
    IncidentKind.POWER_OUT: Kind(
        N_("The power was out, or a freezer failed"),
        N_("A freezer or refrigerator grew warm, a dryer stopped: what of its food may be kept"),
        N_("Which one"),
    ),
    IncidentKind.DOOR_OPEN: Kind(
        N_("A door stood open"), N_("A freezer or refrigerator that was not shut"), N_("Which one")
    ),
    IncidentKind.THAWED: Kind(
        N_("It thawed by mistake"), N_("Frozen food that lay out, with ice in it or without")
    ),
    IncidentKind.LEFT_OUT: Kind(
        N_("It was left out"),
        N_("Food from the refrigerator or the stove, on the bench or in the car"),
    ),
    IncidentKind.KEPT_WARM: Kind(
        N_("Hot food stood warm"), N_("A pot on the stove or in a box, neither hot nor cold")
    ),
    IncidentKind.SEAL_FAILED: Kind(
        N_("A seal failed"),
        N_("A seal leaks, a pouch went loose or a lid came up"),
        N_("Which packages"),
    ),
    IncidentKind.ABSORBER_SPENT: Kind(
        N_("An absorber is spent"),
        N_("The packet is hard, or it never went hard and the pouch stayed loose"),
        N_("Which packages"),
    ),
    IncidentKind.FREEZER_BURN: Kind(
        N_("Freezer burn"), N_("Dry, pale or brown patches on frozen food"), N_("What has it")
    ),
    IncidentKind.WORN: Kind(
        N_("It is past its best"),
        N_("It looks, smells or tastes stale"),
        N_("What is past its best"),
    ),
}

#: What may become of food, as a choice that is still open.
CHOICES = {
    IncidentFate.REFREEZE: N_("Freeze it again; its best time is shorter"),
    IncidentFate.KEEP: N_("Keep it, in the cold where it belongs"),
    IncidentFate.LOOK: N_("Put it on hold until somebody has looked"),
    IncidentFate.USE_NOW: N_("Cook or eat it now"),
    IncidentFate.OPENED: N_("Count it as opened, and repack it"),
    IncidentFate.WORN: N_("Count it as past its best"),
    IncidentFate.DISCARD: N_("Discard it"),
}

#: The proposals as headings, in the order of the page: what cannot wait stands first.
GROUPS = {
    IncidentFate.DISCARD: N_("To be discarded"),
    IncidentFate.LOOK: N_("To be looked at"),
    IncidentFate.USE_NOW: N_("To be used now"),
    IncidentFate.OPENED: N_("Counts as opened"),
    IncidentFate.WORN: N_("Past its best"),
    IncidentFate.REFREEZE: N_("May be frozen again"),
    IncidentFate.KEEP: N_("May be kept"),
}

NOT_THERE = "none"  # a choice beside the fates
NOT_THERE_WORDS = N_("It was not there at the time")
OUTCOMES = {
    "pass": N_("By the rule"),
    "note": N_("Note"),
    "confirm": N_("Look"),
    "stop": N_("Stop"),
}


def hours_words(hours: float) -> str:
    """Hours as people say them: "2 h 10 min"."""
    whole, rest = divmod(round(hours * 60), 60)
    if not whole:
        return f"{rest} min"
    return _("{whole} h {rest} min", whole=whole, rest=rest) if rest else f"{whole} h"
