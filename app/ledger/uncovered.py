"""Work that this ledger never guides: canning, curing, fermenting, smoking, by its words."""

import re
from enum import StrEnum

from app.science.safety.low_oxygen import CAN_NONE
from app.science.safety.rule import Outcome, Verdict
from app.science.safety.verdicts import not_covered


class Process(StrEnum):
    """A way of preserving for which only an official guide is good enough."""

    CANNING = "canning"
    CURING = "curing"
    FERMENTING = "fermenting"
    SMOKING = "smoking"


_WORDS: dict[Process, str] = {
    Process.CANNING: r"cann(?:ed|ing)|pressure[- ]can\w*|water[- ]bath\w*|steam[- ]cann\w*",
    Process.CURING: r"cur(?:ed|ing)|nitrites?|nitrates?|saltpetre|pink salt|curing salt",
    Process.FERMENTING: r"ferment\w*|sauerkraut|kimchi|lacto\w*",
    Process.SMOKING: r"(?:cold|hot)[- ]smok\w*|smok(?:ed|ing)|smokehouse",
}
_FOUND = {
    process: re.compile(rf"\b(?:{words})\b", re.IGNORECASE) for process, words in _WORDS.items()
}


def processes_in(*texts: str) -> tuple[Process, ...]:
    """The processes that notes or names speak of.

    Example:
        >>> [str(p) for p in processes_in("pressure canned for 75 min", "Beans")]
        ['canning']
        >>> processes_in("The children can eat this")
        ()
    """
    return tuple(
        process
        for process, pattern in _FOUND.items()
        if any(pattern.search(text) for text in texts)
    )


def not_covered_words(*texts: str) -> tuple[Verdict, ...]:
    """The caution on each process that notes or names speak of; it stops nothing."""
    return tuple(
        Verdict(CAN_NONE, Outcome.NOTE, {"process": str(process).capitalize()})
        for process in processes_in(*texts)
    )


def canned_words(*texts: str) -> tuple[Verdict, ...]:
    """The stop for packages said to be canned: nothing here says how long those keep."""
    if Process.CANNING not in processes_in(*texts):
        return ()
    return not_covered(Process.CANNING)
