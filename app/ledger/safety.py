"""Between the safety rules and the ledger: verdicts become checkpoints, or refuse the entry."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.errors import Problem, ProblemKind, Refused
from app.ledger.models import Household
from app.science.safety.rule import Outcome, RuleSet, Verdict


@dataclass(frozen=True, slots=True)
class Applied:
    """A safety verdict with the reason the person gave, if one was asked for.

    `lot_id` is the lot it was said of, where an operation speaks of several.
    """

    verdict: Verdict
    reason: str = ""
    lot_id: int | None = None


def rule_set_of(session: Session) -> RuleSet:
    """Whose advice this household follows; the default before it is set up."""
    return RuleSet(session.scalar(select(Household.rule_set)) or RuleSet.US)


def gate(
    verdicts: Iterable[Verdict], reason: str = "", *, stops_refuse: bool = True
) -> list[Applied]:
    """Turn safety verdicts into checkpoints, or refuse.

    Args:
        verdicts: what the rules say. reason: what the person wrote, or "".
        stops_refuse: False where a stop keeps a mark instead of refusing the entry (cooking).
    Returns:
        The checkpoints to record; passes are recorded too, as evidence.
    Raises:
        Refused: a rule stops the step, or asks for a reason that was not given.
    """
    found = list(verdicts)
    problems = [
        Problem(*_refusal(verdict), _numbers(verdict))
        for verdict in found
        if (verdict.outcome is Outcome.STOP and stops_refuse)
        or (_wants_reason(verdict) and not reason.strip())
    ]
    if problems:
        raise Refused(*problems)
    return [Applied(v, reason if _wants_reason(v) else "") for v in found]


def together(*questions: Callable[[], Iterable[Applied]]) -> list[Applied]:
    """The checkpoints of several questions; what they refuse is said at once.

    One reason answers all that was asked, so that nothing may be asked only after it was given.

    Raises:
        Refused: with every problem of every question.
    """
    applied: list[Applied] = []
    problems: list[Problem] = []
    for question in questions:
        try:
            applied += question()
        except Refused as refused:
            problems += refused.problems
    if problems:
        raise Refused(*problems)
    return applied


def noted(verdicts: Iterable[Verdict]) -> list[Applied]:
    """Checkpoints that only inform: nothing is refused and no reason is asked for."""
    return [Applied(verdict) for verdict in verdicts]


def _wants_reason(verdict: Verdict) -> bool:
    return verdict.outcome in (Outcome.CONFIRM, Outcome.ASK)


def _refusal(verdict: Verdict) -> tuple[str, ProblemKind]:
    if verdict.outcome is Outcome.STOP:
        return "gate", ProblemKind.GATE
    return "reason", ProblemKind.NEEDS_REASON


def _numbers(verdict: Verdict) -> dict[str, object]:
    return {
        "rule": verdict.id,
        "sentence": verdict.sentence,
        "source": verdict.source_text,
    }
