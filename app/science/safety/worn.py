"""Freezer burn, food past its best, and seals that did not hold: quality, told from safety."""

from app.science import sources as s
from app.science.safety.rule import Outcome, Rule, Severity, Topic, Verdict
from app.science.sources import Evidence

FREEZER_BURN = Rule(
    id="FREEZER-BURN",
    topic=Topic.PACKAGES,
    severity=Severity.NOTE,
    applies_to="dry, pale or brown patches on frozen food that air reached",
    words="Freezer burn dries the surface and costs taste; it is no fault of safety. Cut those "
    "parts off, before or after cooking.",
    source=s.FSIS_FREEZING,
    evidence=Evidence.COPY,
)
WORN = Rule(
    id="WORN",
    topic=Topic.PACKAGES,
    severity=Severity.NOTE,
    applies_to="food that looks, smells or tastes stale, rancid or pale",
    words="Stale or pale is a matter of quality. Mould, gas, slime or a smell of rot is not: "
    "discard that, and never taste to decide.",
    source=None,
    evidence=Evidence.JUDGEMENT,
)
SEAL_LOST = Rule(
    id="SEAL-LOST",
    topic=Topic.PACKAGES,
    severity=Severity.NOTE,
    applies_to="a seal that leaks, a pouch gone loose, a lid that came up, an absorber used up",
    words="The air got in. {advice}",
    source=None,
    evidence=Evidence.JUDGEMENT,
)

RULES = (FREEZER_BURN, WORN, SEAL_LOST)

_DRY = (
    "Dry food counts as opened since it was last seen whole: feel whether it is crisp, dry it "
    "further if it is not, and pack it anew with a fresh absorber."
)
_COLD = (
    "The cold keeps this food, not its pack: its time in the cold runs on, and as opened. Wrap it "
    "anew."
)
_WARM = "This food is not dry, so without the cold it counts as left out since then."


def freezer_burnt() -> tuple[Verdict, ...]:
    """What freezer burn means.

    Source: Freezing and Food Safety, FSIS.
    Example:
        >>> freezer_burnt()[0].outcome.value
        'note'
    """
    return (Verdict(FREEZER_BURN, Outcome.NOTE),)


def past_its_best() -> tuple[Verdict, ...]:
    """What staleness means, and what is no staleness."""
    return (Verdict(WORN, Outcome.NOTE),)


def seal_lost(*, is_dry: bool, is_cold: bool) -> tuple[Verdict, ...]:
    """What a seal that did not hold means; moist food in the warm is judged as left out besides.

    Args:
        is_dry: dried, and dry enough for the shelf. is_cold: in a refrigerator or freezer.
    Validity: our judgement; that a lid which came up counts as opened is JAR-VAC's.
    Example:
        >>> seal_lost(is_dry=False, is_cold=True)[0].sentence.startswith("The air got in. The cold")
        True
    """
    advice = _COLD if is_cold and not is_dry else _DRY if is_dry else _WARM
    return (Verdict(SEAL_LOST, Outcome.NOTE, {"advice": advice}),)
