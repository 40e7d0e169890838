"""From what somebody typed, scanned or was told, to what is looked for."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from flask import request
from sqlalchemy.orm import Session

from app.ledger.codes import CODE_LENGTH, heard_as_code
from app.ledger.errors import NotFound
from app.ledger.queries.lot import lot_by_code
from app.ledger.queries.search import Wanted, is_called, terms_of
from app.ledger.words import OperationKind
from app.web.find.days import MOST_WORDS, Days, days_of

LONGEST = 120  # letters that are looked at; a name has 80 at most
MOST_TERMS = 6
STEPS = frozenset(OperationKind) - {
    OperationKind.INTAKE,
    OperationKind.UNLOAD,
    OperationKind.CORRECT,
    OperationKind.HOLD,
    OperationKind.RELEASE,
    OperationKind.INCIDENT,
    OperationKind.CHECK,
    OperationKind.CLIMATE,
    OperationKind.STOCKTAKE,
}  # entries that begin with a lot
# The address on a label, of whatever house: only the code in it counts, never where it points.
# the first letters may be lost where a scanner types faster than a busy tablet listens
_LABEL = re.compile(r"(?i)(?:(?:[a-z]{0,5}:?/{0,2})?[^/\s]*/)?l/([0-9a-z-]{5,7})/?")
_ADDRESS = re.compile(r"(?i)[a-z][a-z0-9+.-]*:\S+|www\.\S+")
_NUMBER = re.compile(
    r"(?i)(?:(?:^|\s)(?:no\.?|nr\.?|number|package|#)\s*(\d{1,4})(?:\s*(?:of|/)\s*(\d{1,4}))?"
    r"|(?:^|\s)(\d{1,4})\s*(?:of|/)\s*(\d{1,4}))(?=\s|$)"
)
_CODE_AND_NUMBER = re.compile(r"(\S+)\s+(\d{1,4})")


@dataclass(frozen=True, slots=True)
class Asked:
    """What was typed, and how it was taken."""

    text: str
    wanted: Wanted
    code: str = ""  # as typed, where the text may be a code
    is_label: bool = False  # it came from a label, so that it can be no word
    also: int | None = None  # a lot whose code happens to be a word that was found
    step: OperationKind | None = None  # the entry that a lot is looked for
    is_foreign: bool = False  # an address that no label of a ledger has

    @property
    def may_be_word(self) -> bool:
        """Is what may be a code a plain word, or a plain number, as well?"""
        return not self.is_label and (self.code.isalpha() or self.code.isdigit())


def asked(session: Session, text: str, today: date) -> Asked:
    """Take a text apart into a code, a package's number, days and words."""
    typed = " ".join(text.split())[:LONGEST]
    label = _LABEL.fullmatch(typed)
    if label is not None:
        wanted = Wanted(lot_id=_lot_id(session, label[1]))
        return Asked(text=text, wanted=wanted, code=label[1], is_label=True)
    if _ADDRESS.fullmatch(typed):
        return Asked(text=text, wanted=Wanted(), is_foreign=True)
    also = _lot_id(session, typed)
    if also is not None and not (typed.isalpha() and is_called(session, typed)):
        return Asked(text=text, wanted=Wanted(lot_id=also), code=typed)
    rest, number, of_count = _package(session, typed)
    lot_id = _lot_id(session, rest) if number is not None else None
    wanted = Wanted(number=number, of_count=of_count, lot_id=lot_id)
    if lot_id is None:
        words, days = _parted(rest.split(), today)
        wanted = replace(wanted, terms=terms_of(session, words[:MOST_TERMS]), days=days)
    code = typed if also is None and lot_id is None and _may_be_code(typed) else ""
    return Asked(text=text, wanted=wanted, code=code, also=also)


def step_asked() -> OperationKind | None:
    """The entry that the address names, for which a lot is looked for."""
    word = request.args.get("for", "")
    return OperationKind(word) if word in STEPS else None


def _may_be_code(text: str) -> bool:
    """Has the text the length and the characters of a code, or nearly?"""
    return abs(len(heard_as_code(text)) - CODE_LENGTH) <= 1


def _lot_id(session: Session, text: str) -> int | None:
    """The number of the lot of a code, if there is such a lot."""
    try:
        return lot_by_code(session, heard_as_code(text) or text).id
    except NotFound:
        return None


def _package(session: Session, text: str) -> tuple[str, int | None, int | None]:
    """The text without the number of a package, that number, and of how many."""
    found = _NUMBER.search(text)
    if found is not None:
        number, of_count = found[1] or found[3], found[2] or found[4]
        rest = f"{text[: found.start()]} {text[found.end() :]}".strip()
        return rest, int(number), int(of_count) if of_count else None
    pair = _CODE_AND_NUMBER.fullmatch(text)
    if pair is not None and _lot_id(session, pair[1]) is not None:
        return pair[1], int(pair[2]), None
    return text, None, None


def _parted(words: Sequence[str], today: date) -> tuple[list[str], Days | None]:
    """The words without those that tell days, and the days: the longest telling comes first."""
    for count in range(MOST_WORDS, 0, -1):
        for at in range(len(words) - count + 1):
            days = days_of(words[at : at + count], today)
            if days is not None:
                return [*words[:at], *words[at + count :]], days
    return list(words), None
