"""Refrigerated food that is put to work after its days."""

from app.science import sources as s
from app.science.errors import require
from app.science.safety.rule import Outcome, Rule, Severity, Topic, Verdict
from app.science.sources import Evidence

FRIDGE_OVER = Rule(
    id="FRIDGE-OVER",
    topic=Topic.COOLING,
    severity=Severity.CONFIRM,
    applies_to="food ground, mixed, cooked or dried after its days in the fridge",
    words="Day {days}: its {limit} days in the fridge are over, and no work makes it fresh again. "
    "When in doubt, throw it out. What makes you sure of it?",
    source=s.FOODSAFETY_COLD,
    evidence=Evidence.COPY,
)

RULES = (FRIDGE_OVER,)


def worked_late(days: float, limit_days: float) -> tuple[Verdict, ...]:
    """Is food worked on after the last of its days in the refrigerator?

    Args:
        days: in the refrigerator or in hand, d. limit_days: the most that the table of its kind
            gives, d; see `app.science.frozen.refrigerator_days`.
    Returns:
        FRIDGE-OVER, or nothing while its days last.
    Raises:
        OutOfRange: a number below 0 or NaN.
    Source: Cold Food Storage Chart, FoodSafety.gov; that it holds before work too is our judgement.
    Example:
        >>> worked_late(2, 2), worked_late(3, 2)[0].outcome.value
        ((), 'confirm')
    """
    require("days", days, 0.0, None, "d")
    require("limit_days", limit_days, 0.0, None, "d")
    if days <= limit_days:
        return ()
    return (Verdict(FRIDGE_OVER, Outcome.CONFIRM, {"days": days, "limit": limit_days}),)
