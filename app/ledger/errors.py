"""What the ledger says when it refuses: which answer, why, and the amounts, never a sentence."""

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class ProblemKind(StrEnum):
    """Why an entry is refused; app/web/messages.py has one sentence for each."""

    MISSING = "missing"
    NOT_ON_HAND = "not_on_hand"  # on_hand_mg, taken_mg, code
    UNBALANCED = "unbalanced"  # in_mg, out_mg
    NOT_POSITIVE = "not_positive"
    TARE_ABOVE_GROSS = "tare_above_gross"  # gross_mg, tare_mg
    IN_FUTURE = "in_future"  # date, today
    BEFORE_HARVEST = "before_harvest"  # date, harvest
    BEFORE_MADE = "before_made"  # date, made
    BEFORE_THERE = "before_there"  # date, since, code: it was moved there later
    UNKNOWN_LOT = "unknown_lot"
    UNKNOWN_PLACE = "unknown_place"
    UNKNOWN_CHOICE = "unknown_choice"
    ON_HOLD = "on_hold"  # code
    PACKAGE_TOO_LARGE = "package_too_large"  # on_hand_mg, packed_mg
    DOES_NOT_FIT = "does_not_fit"  # holds_mg, packed_mg
    ONE_AT_A_TIME = "one_at_a_time"
    MORE_OUT_THAN_IN = "more_out_than_in"  # in_mg, out_mg
    DEPENDED_ON = "depended_on"  # operations
    RESTING_CHANGED = "resting_changed"  # operations: other ones rest on it than were shown
    ALREADY_REVERSED = "already_reversed"
    NOTHING_TO_DO = "nothing_to_do"
    NOT_COVERED = "not_covered"  # sentence, with its rule
    IMPOSSIBLE = "impossible"  # reason, nearest
    GATE = "gate"  # verdict sentence, source
    NEEDS_REASON = "needs_reason"  # verdict sentence, source
    CHANGED_SINCE = "changed_since"  # code, name, number, seen_mg, on_hand_mg
    WRONG_PLACE = "wrong_place"
    WRONG_STATE = "wrong_state"  # why
    DUPLICATE_NAME = "duplicate_name"
    ALREADY_READ = "already_read"  # name: a logger's file that was read in before
    NOT_RELEASED = "not_released"  # cause: a disease that was found
    BEFORE_BEGIN = "before_begin"  # an end before its beginning


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault: the attribute of the request it belongs to, its kind, and the amounts."""

    field: str
    kind: ProblemKind
    numbers: Mapping[str, object] = dataclasses.field(default_factory=dict)


class Refused(Exception):
    """The entry breaks a rule of the ledger; nothing was written."""

    def __init__(self, *problems: Problem) -> None:
        """Keep every problem found."""
        self.problems = list(problems)
        super().__init__("; ".join(f"{p.field}: {p.kind} {dict(p.numbers)}" for p in problems))


class NotFound(Exception):
    """No lot, operation, place or run has that code or number."""


class NewerLedger(Exception):
    """The data file was written by a newer version; it is left untouched."""


def refuse(field_name: str, kind: ProblemKind, **numbers: object) -> Refused:
    """Build a refusal with a single problem, ready to raise."""
    return Refused(Problem(field_name, kind, numbers))
