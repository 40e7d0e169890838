"""What can go wrong and what becomes of food, in words: the one home of both."""

from dataclasses import dataclass

from app.ledger.words import IncidentFate, IncidentKind
from app.web import scope

#: As it stands in lists and histories: "the power was out or a freezer failed".
KINDS = {
    IncidentKind.POWER_OUT: "the power was out or a freezer failed",
    IncidentKind.DOOR_OPEN: "a door stood open",
    IncidentKind.THAWED: "it thawed by mistake",
    IncidentKind.LEFT_OUT: "it was left out",
    IncidentKind.KEPT_WARM: "hot food stood warm",
    IncidentKind.SEAL_FAILED: "a seal failed",
    IncidentKind.ABSORBER_SPENT: "an absorber is spent",
    IncidentKind.FREEZER_BURN: "freezer burn",
    IncidentKind.WORN: "past its best",
}

#: What the menu says of each besides.
MORE = {
    IncidentKind.POWER_OUT: "A freezer or refrigerator grew warm: what of its food may be kept",
    IncidentKind.DOOR_OPEN: "A freezer or refrigerator, not shut",
    IncidentKind.THAWED: "Frozen food that lay out of the cold, or was never put back",
    IncidentKind.LEFT_OUT: "Food that belongs in the cold, on the bench or in the car",
    IncidentKind.KEPT_WARM: "A pot on the stove or in a box, neither hot nor cold",
    IncidentKind.SEAL_FAILED: "A seal leaks, a pouch went loose, a lid came up",
    IncidentKind.ABSORBER_SPENT: "The packet is hard, or it never drew the pouch tight",
    IncidentKind.FREEZER_BURN: "Dry, pale or brown patches on frozen food",
    IncidentKind.WORN: "It looks, smells or tastes stale",
}

#: What became of food: "may be frozen again".
FATES = {
    IncidentFate.REFREEZE: "frozen again",
    IncidentFate.KEEP: "kept",
    IncidentFate.LOOK: "on hold until somebody looked",
    IncidentFate.USE_NOW: "used at once",
    IncidentFate.OPENED: "counts as opened",
    IncidentFate.WORN: "past its best",
    IncidentFate.DISCARD: "discarded",
}

#: The same as a choice that is still open.
CHOICES = {
    IncidentFate.REFREEZE: "Freeze it again; its best time is shorter",
    IncidentFate.KEEP: "Keep it where it belongs",
    IncidentFate.LOOK: "Put it on hold until somebody looked",
    IncidentFate.USE_NOW: "Cook or eat it now",
    IncidentFate.OPENED: "Count it as opened, and repack it",
    IncidentFate.WORN: "Past its best from now on",
    IncidentFate.DISCARD: "Discard it",
}

NOT_THERE = "none"  # a choice beside the fates: it was not there at the time
NOT_THERE_WORDS = "It was not there then"


def capital(words: str) -> str:
    """With a capital letter first."""
    return words[:1].upper() + words[1:]


def kind_words(kind: str) -> str:
    """What went wrong; any other text as it is, since older reasons are free text."""
    known = {str(kind): words for kind, words in KINDS.items()}
    return known.get(kind, kind)


def fate_words(fate: str) -> str:
    """What became of it: "frozen again"."""
    return FATES[IncidentFate(fate)]


def icy_words(is_icy: bool | None) -> str:
    """Was ice seen: "" when nobody looked."""
    if is_icy is None:
        return ""
    return "ice in it, fridge-cold" if is_icy else "no ice, not fridge-cold"


def hours_words(hours: float) -> str:
    """Hours as people say them: "2 h 10 min"."""
    minutes = round(hours * 60)
    whole, rest = divmod(minutes, 60)
    if not whole:
        return f"{rest} min"
    return f"{whole} h {rest} min" if rest else f"{whole} h"


@dataclass(frozen=True, slots=True)
class Count:
    """How many lots or packages went one way."""

    fate: IncidentFate
    number: int


def counted(counts: list[Count]) -> str:
    """What was done: "Written: 3 discarded, 2 on hold until somebody looked, 1 kept."."""
    parts = [f"{count.number} {FATES[count.fate]}" for count in counts if count.number]
    return f"Written: {', '.join(parts)}."


def warm_limit() -> str:
    """The tables' limit in the household's own units first."""
    return "40 °F (4.4 °C)" if scope.units() == "us" else "4.4 °C (40 °F)"
