"""Every word of the ledger and of the science has words for people: nothing shows as its code."""

import ast
import re
from datetime import date
from enum import StrEnum
from pathlib import Path

import pytest
from flask import Flask

import app.ledger
from app.ledger.codes import code_of, spoken
from app.ledger.errors import Problem, ProblemKind
from app.ledger.queries.evidence import Lack
from app.ledger.queries.stock import IN_DRYER
from app.ledger.windows import OUTSIDE_MODEL
from app.ledger.words import (
    AdditionKind,
    Ammunition,
    CheckKind,
    ClimateBasis,
    Finding,
    HoldCause,
    IncidentFate,
    IncidentKind,
    LossKind,
    Mark,
    OperationKind,
    ReleaseCause,
)
from app.science.classes import Treatment
from app.science.keeping import Limit, NoWindowReason
from app.units import UnitFault, UnitProblem
from app.web import messages
from app.web.display import (
    ADDITIONS,
    DONE,
    LIMITS,
    LOSSES,
    NO_WINDOW,
    VERBS,
    treatment_words,
)
from app.web.evidence import words as evidence_words
from app.web.history import words as history_words
from app.web.holds import words as hold_words
from app.web.labels import words as label_words

NUMBERS = {
    "code": code_of(1),
    "on_hand_mg": 1_000_000,
    "taken_mg": 1_500_000,
    "packed_mg": 1_200_000,
    "holds_mg": 900_000,
    "in_mg": 2_000_000,
    "out_mg": 1_900_000,
    "gross_mg": 400_000,
    "tare_mg": 500_000,
    "date": date(2025, 10, 21),
    "today": date(2025, 10, 20),
    "harvest": date(2025, 10, 22),
    "made": date(2025, 10, 22),
    "since": date(2025, 10, 22),
    "operations": [7, 5],
    "sentence": "Not dry enough.",
    "why": "not_frozen",
    "name": "Pantry",
    "cause": "test_awaited",
    "words": "wasting disease",
    "held_code": code_of(2),
    "held_name": "Moose share",
    "seen_mg": 2_000_000,
    "number": 3,
}
AMOUNTS = {
    ProblemKind.NOT_ON_HAND: ("1.00 kg", "1.50 kg"),
    ProblemKind.UNBALANCED: ("2.00 kg", "1.90 kg", "100 g is missing"),
    ProblemKind.MORE_OUT_THAN_IN: ("2.00 kg", "1.90 kg"),
    ProblemKind.TARE_ABOVE_GROSS: ("400 g", "500 g"),
    ProblemKind.PACKAGE_TOO_LARGE: ("1.20 kg", "1.00 kg"),
    ProblemKind.DOES_NOT_FIT: ("1.20 kg", "900 g"),
    ProblemKind.IN_FUTURE: ("21 October 2025",),
    ProblemKind.BEFORE_HARVEST: ("21 October 2025", "22 October 2025"),
    ProblemKind.BEFORE_THERE: ("21 October 2025", "22 October 2025"),
    ProblemKind.BEFORE_MADE: ("21 October 2025", "22 October 2025"),
    ProblemKind.CHANGED_SINCE: ("1.00 kg", "2.00 kg", "no. 3"),
    ProblemKind.DEPENDED_ON: ("no. 7, no. 5",),
    ProblemKind.ON_HOLD: (spoken(code_of(2)), "a test result is awaited (wasting disease)"),
    ProblemKind.NOT_RELEASED: ("a test result is awaited",),
}


@pytest.mark.parametrize("kind", OperationKind)
def test_every_operation_has_a_verb_and_a_word_for_done(kind: OperationKind) -> None:
    assert VERBS[kind][0].isupper()
    assert DONE[kind][0].isupper()


@pytest.mark.parametrize("kind", LossKind)
def test_every_loss_has_words(kind: LossKind) -> None:
    assert LOSSES[kind]


@pytest.mark.parametrize("kind", AdditionKind)
def test_every_addition_has_words(kind: AdditionKind) -> None:
    assert ADDITIONS[kind]


@pytest.mark.parametrize("treatment", Treatment)
def test_every_treatment_has_words(treatment: Treatment) -> None:
    assert treatment_words(False, frozenset({treatment}))


@pytest.mark.parametrize(
    ("words", "kinds"),
    [
        (messages.HOLD_CAUSES, HoldCause),
        (messages.INCIDENTS, IncidentKind),
        (hold_words.RELEASE_CAUSES, ReleaseCause),
        (hold_words.MARKS, Mark),
        (hold_words._RULES, Mark),
        (history_words.FATES, IncidentFate),
        (history_words._LOOKS, CheckKind),
        (history_words._FINDINGS, Finding),
        (history_words._BASES, ClimateBasis),
        (evidence_words._AMMUNITION, Ammunition),
        (label_words._MARKS, Mark),
    ],
)
def test_everything_told_of_holds_and_mishaps_has_words(
    words: dict[object, object], kinds: type[StrEnum]
) -> None:
    assert set(words) == set(kinds)


def test_all_that_may_be_unproven_has_words() -> None:
    with_a_day = {Lack.CENTRE, Lack.COOLING, Lack.THERMOMETER}  # said with day or place
    assert set(evidence_words._LACKS) == set(Lack) - with_a_day


@pytest.mark.parametrize("limit", Limit)
def test_every_limit_of_a_window_has_words(limit: Limit) -> None:
    assert LIMITS[str(limit)]


@pytest.mark.parametrize("reason", [*NoWindowReason, IN_DRYER, OUTSIDE_MODEL, None])
def test_every_reason_for_no_window_has_words(reason: str | None) -> None:
    assert NO_WINDOW[None if reason is None else str(reason)].endswith(".")


def test_no_limit_or_reason_has_words_without_existing() -> None:
    assert set(LIMITS) == {str(limit) for limit in Limit}
    reasons = {str(reason) for reason in NoWindowReason}
    assert set(NO_WINDOW) == {None, IN_DRYER, OUTSIDE_MODEL, *reasons}


@pytest.mark.parametrize("kind", ProblemKind)
def test_every_problem_has_a_sentence_with_its_amounts(app: Flask, kind: ProblemKind) -> None:
    with app.test_request_context():
        words = messages.sentence(Problem("mass_mg", kind, NUMBERS))
    assert re.fullmatch(r"[A-Z0-9].*[.]", words)
    for amount in AMOUNTS.get(kind, ()):
        assert amount in words


def test_nothing_left_is_said_plainly(app: Flask) -> None:
    problem = Problem("mass_mg", ProblemKind.NOT_ON_HAND, NUMBERS | {"on_hand_mg": 0})
    with app.test_request_context():
        assert messages.sentence(problem) == "None of this is left there."


def test_a_fat_out_of_reach_names_what_can_be_reached(app: Flask) -> None:
    problem = Problem("target_fat", ProblemKind.IMPOSSIBLE, {"low": 0.012, "high": 0.887})
    with app.test_request_context():
        words = messages.sentence(problem)
    assert "1.2 %" in words
    assert "88.7 %" in words


@pytest.mark.parametrize("fault", UnitFault)
def test_every_fault_of_a_typed_amount_has_a_sentence(fault: UnitFault) -> None:
    words = messages.unit_sentence(UnitProblem(fault, "12 stone"))
    assert words.endswith(".")
    assert fault is UnitFault.EMPTY or "12 stone" in words


def test_every_why_that_the_ledger_gives_has_words() -> None:
    given = _keywords("why", "reason")
    assert {"not_frozen", "run_is_over", "too_much_broth"} <= given  # the reading works
    assert given - {"no_fraction"} <= set(messages._WHY)


def _keywords(*names: str) -> set[object]:
    """Every text that the use-cases pass to refuse() by one of these names."""
    found: set[object] = set()
    for path in Path(app.ledger.__file__ or "").parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "refuse":
                found |= {
                    word.value.value
                    for word in node.keywords
                    if word.arg in names and isinstance(word.value, ast.Constant)
                }
    return found
