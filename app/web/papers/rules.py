"""The safety rules and cooking targets as the pages show them."""

import re
from dataclasses import dataclass

from app.language import N_, _, figures
from app.science.classes import FoodClass, Form
from app.science.safety.catalogue import ALL_RULES, BY_ID
from app.science.safety.cooking import COOK_TABLE, UK_HOLDS, CookRow, cook_target
from app.science.safety.rule import Outcome, Rule, RuleSet, Topic
from app.web.papers.numbers import Number, evidence_alone

SEVERITIES = {
    "stop": N_("Stops"),
    "confirm": N_("Asks for a reason"),
    "note": N_("Notes"),
    "ask": N_("Asks"),
    "pass": N_("When met"),
}
TOPICS = {
    Topic.READINGS: N_("Readings"),
    Topic.COOKING: N_("Cooking"),
    Topic.COOLING: N_("Cooling and keeping cold"),
    Topic.THAWING: N_("Thawing and freezing again"),
    Topic.OUTAGE: N_("Power cuts"),
    Topic.LOW_OXYGEN: N_("Packing without oxygen"),
    Topic.DRYING: N_("Drying"),
    Topic.GAME: N_("Game"),
    Topic.FISH: N_("Fish"),
    Topic.ALLERGENS: N_("Allergens"),
    Topic.PACKAGES: N_("Packages and absorbers"),
    Topic.REHYDRATION: N_("Rehydration"),
}
_SETS = {
    RuleSet.US: N_("the United States"),
    RuleSet.CA: N_("Canada"),
    RuleSet.UK: N_("the United Kingdom"),
    RuleSet.AU: N_("Australia and New Zealand"),
}
_BLANK = re.compile(r"\{\w+\}")


@dataclass(frozen=True, slots=True)
class RuleRow:
    """One rule as the page shows it; blanks stand for the numbers of a lot."""

    id: str
    severity: str
    when: str
    words: str
    also: tuple[tuple[str, str], ...]
    limits: tuple[Number, ...]
    sources: tuple[str, ...]
    evidence: str
    evidence_alone: str
    only_in: str
    version: str


@dataclass(frozen=True, slots=True)
class Target:
    """A cooking target: a temperature in both units, as published, or what to look for."""

    food: str
    words: str
    source: str
    evidence: str


def rules_by_topic() -> list[tuple[str, str, list[RuleRow]]]:
    """Every rule: id of the topic, its heading, its rules."""
    return [
        (
            topic.value.replace(" ", "-"),
            _(heading),
            [_row(rule) for rule in ALL_RULES if rule.topic is topic],
        )
        for topic, heading in TOPICS.items()
        if any(rule.topic is topic for rule in ALL_RULES)
    ]


def targets(rule_set: RuleSet, *, only_ours: bool = False) -> list[Target]:
    """The cooking targets of a rule set, in the order of the published tables.

    only_ours leaves out the rows that no food of this ledger falls under.
    """
    rows = [
        _target(row)
        for row in COOK_TABLE
        if rule_set in row.rule_sets and (row.classes or not only_ours)
    ]
    if rule_set is RuleSet.UK:
        rows.insert(0, _uk_target())
    return list(dict.fromkeys(rows))


def sentence(rule_id: str, outcome: Outcome | None = None) -> tuple[str, str]:
    """A rule's own sentence, and its source with how well it is known."""
    rule = BY_ID[rule_id]
    words = rule.sentence_for(outcome) if outcome else rule.words
    return _BLANK.sub("…", _(words)), sourced(rule)


def sourced(rule: Rule) -> str:
    """Source and evidence as people read them."""
    if rule.source is None:
        return evidence_alone(rule.evidence)
    return f"{rule.source} ({_(rule.evidence.value)})"


def _row(rule: Rule) -> RuleRow:
    named = (rule.source, *rule.others) if rule.source else rule.others
    everywhere = len(rule.rule_sets) == len(RuleSet)
    return RuleRow(
        id=rule.id,
        severity=_(SEVERITIES[rule.severity]),
        when=_(rule.applies_to[:1].upper() + rule.applies_to[1:]),
        words=_BLANK.sub("…", _(rule.words)),
        also=tuple((_(SEVERITIES[o]), _BLANK.sub("…", _(words))) for o, words in rule.also),
        limits=tuple(Number((), limit) for limit in rule.limits),
        sources=tuple(map(str, named)),
        evidence=_(rule.evidence.value),
        evidence_alone=evidence_alone(rule.evidence),
        only_in="" if everywhere else ", ".join(_(_SETS[s]) for s in rule.rule_sets),
        version=rule.version,
    )


def _uk_target() -> Target:
    """One target for all food: the shorter, the hotter."""
    holds = [
        figures(f"{temp_c:g} °C ({temp_c * 1.8 + 32:.0f} °F)")
        + (_(" for {minutes:g} seconds", minutes=minutes * 60) if minutes else "")
        for temp_c, minutes in UK_HOLDS
    ]
    target = cook_target([FoodClass.RED_MEAT], Form.WHOLE, RuleSet.UK)
    evidence = _(target.evidence.value)
    return Target(_("All food"), _(", or ").join(holds), str(target.source), evidence)


def _target(row: CookRow) -> Target:
    parts = []
    if row.temp_f is not None and row.temp_c is not None:
        parts.append(figures(f"{row.temp_f:g} °F ({row.temp_c:g} °C)"))
        if row.hold_minutes:
            parts.append(
                _("held or rested {hold_minutes:g} minutes", hold_minutes=row.hold_minutes)
            )
    if row.observation:
        parts.append(_(row.observation))
    food = _(row.label[:1].upper() + row.label[1:])
    return Target(food, ", ".join(parts), str(row.source), _(row.evidence.value))
