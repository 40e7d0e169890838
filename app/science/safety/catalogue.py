"""Every safety rule, in the order of the page that lists them."""

from app.science.safety import (
    absorbers,
    allergens,
    checks,
    cooking_rules,
    cooking_time,
    cooling_rules,
    drying_rules,
    fish,
    game,
    low_oxygen,
    outage,
    readings,
    refrigerated,
    rehydration,
    thawing,
    worn,
)
from app.science.safety.rule import Rule, RuleSet

ALL_RULES: tuple[Rule, ...] = (
    *readings.RULES,
    *cooking_rules.RULES,
    *cooking_time.RULES,
    *cooling_rules.RULES,
    *refrigerated.RULES,
    *thawing.RULES,
    *outage.RULES,
    *low_oxygen.RULES,
    *drying_rules.RULES,
    *game.RULES,
    *fish.RULES,
    *allergens.RULES,
    *absorbers.RULES,
    *rehydration.RULES,
    *worn.RULES,
    *checks.RULES,
)

BY_ID: dict[str, Rule] = {rule.id: rule for rule in ALL_RULES}


def rules_of(rule_set: RuleSet) -> tuple[Rule, ...]:
    """The rules that hold in one rule set.

    Example:
        >>> "OUT-24" in {rule.id for rule in rules_of(RuleSet.US)}
        False
    """
    return tuple(rule for rule in ALL_RULES if rule_set in rule.rule_sets)


def markdown_table() -> str:
    """All rules as the table of docs/science/safety.md: id, hardest outcome, when, source."""
    head = "| rule | hardest | when | source | evidence |\n| --- | --- | --- | --- | --- |"
    rows = (
        f"| {rule.id} | {rule.severity} | {rule.applies_to} | {_sources(rule)} | {rule.evidence} |"
        for rule in ALL_RULES
    )
    return "\n".join((head, *rows))


def _sources(rule: Rule) -> str:
    named = (rule.source, *rule.others) if rule.source else rule.others
    return "; ".join(map(str, named)) or "–"
