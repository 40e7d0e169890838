"""The row types of the safety rules, and what a rule says about one piece of work.

A rule is data: its limits, its sentence, its source and its version. A verdict keeps the rule it
was made with, so that changed guidance never rewrites what was said before.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from math import isfinite

from app.science.sources import Evidence, Source, Sourced

#: Raised with any change of a row, in limits, words or sources.
RULES_VERSION = "2026.3"

#: Shown once under every group of verdicts.
DEFERENCE = "Local rules and your licensed processor or health office come first."


class Severity(StrEnum):
    """The hardest thing a rule can say."""

    STOP = "stop"  # the step is refused; the sentence offers what would make it right
    CONFIRM = "confirm"  # the person gives a reason, kept in the ledger
    NOTE = "note"  # shown, nothing asked
    ASK = "ask"  # the input looks mistyped, or something must be told first


class Outcome(StrEnum):
    """What a rule says about one piece of work, from best to worst; ask is answered first."""

    PASS = "pass"  # noqa: S105 (not a password)
    NOTE = "note"
    CONFIRM = "confirm"
    STOP = "stop"
    ASK = "ask"


class RuleSet(StrEnum):
    """Whose household advice comes first; chosen once per household."""

    US = "us"
    CA = "ca"
    UK = "uk"
    AU = "au"


class Topic(StrEnum):
    """Where a rule is listed."""

    READINGS = "readings"
    COOKING = "cooking"
    COOLING = "cooling"
    THAWING = "thawing"
    OUTAGE = "outage"
    LOW_OXYGEN = "low oxygen"
    DRYING = "drying"
    GAME = "game"
    FISH = "fish"
    ALLERGENS = "allergens"
    PACKAGES = "packages"
    REHYDRATION = "rehydration"


@dataclass(frozen=True, slots=True)
class Rule:
    """One safety rule as a row.

    `words` is the sentence where the rule fires, `also` the sentences of its other outcomes; both
    hold {placeholders} that a verdict fills. `source` is None only for our own judgement.
    """

    id: str
    topic: Topic
    severity: Severity
    applies_to: str
    words: str
    source: Source | None
    evidence: Evidence
    limits: tuple[Sourced, ...] = ()
    also: tuple[tuple[Outcome, str], ...] = ()
    others: tuple[Source, ...] = ()
    rule_sets: tuple[RuleSet, ...] = tuple(RuleSet)
    version: str = "1"

    def sentence_for(self, outcome: Outcome) -> str:
        """The sentence of an outcome, with its placeholders."""
        return dict(self.also).get(outcome, self.words)


@dataclass(frozen=True, slots=True)
class Verdict:
    """What one rule said about one piece of work, with the numbers it looked at."""

    rule: Rule
    outcome: Outcome
    numbers: Mapping[str, float | str] = field(default_factory=dict)

    @property
    def sentence(self) -> str:
        """The rule's sentence with the numbers in it."""
        shown = {name: _shown(value) for name, value in self.numbers.items()}
        return self.rule.sentence_for(self.outcome).format_map(shown)

    @property
    def id(self) -> str:
        """The rule's id."""
        return self.rule.id

    @property
    def severity(self) -> str:
        """The outcome as a word, for the caution beside a step."""
        return self.outcome.value

    @property
    def rule_version(self) -> str:
        """Version of the rule that spoke; the ledger keeps it."""
        return self.rule.version

    @property
    def source_text(self) -> str:
        """Source and evidence as people read them."""
        evidence = self.rule.evidence.value
        return f"{self.rule.source} ({evidence})" if self.rule.source else evidence.capitalize()


_RANK = {outcome: rank for rank, outcome in enumerate(Outcome)}


def worst(verdicts: Iterable[Verdict]) -> Outcome | None:
    """The hardest outcome, None when nothing was said: silence is not a pass."""
    return max((v.outcome for v in verdicts), key=_RANK.__getitem__, default=None)


def allows(verdicts: Collection[Verdict], confirmed: Collection[str] = ()) -> bool:
    """May the step go on?

    Args:
        verdicts: what the rules said. confirmed: ids of rules for which a reason was given.
    Returns:
        False while a verdict stops or asks, or awaits a reason.
    """
    return not any(
        v.outcome in (Outcome.STOP, Outcome.ASK)
        or (v.outcome is Outcome.CONFIRM and v.id not in confirmed)
        for v in verdicts
    )


def known(value: float | None) -> float | None:
    """The value if it is a finite number, else None: a drop-out is never a reading."""
    return value if value is not None and isfinite(value) else None


def _shown(value: float | str) -> str:
    """Numbers without a tail of digits."""
    return value if isinstance(value, str) else f"{round(value, 2):g}"
