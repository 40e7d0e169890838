"""The rows themselves: complete, sourced, worded, versioned."""

import string
from pathlib import Path

import pytest

from app.science.safety import checks, verdicts, worn
from app.science.safety.allergens import EU_14
from app.science.safety.catalogue import ALL_RULES, BY_ID, markdown_table, rules_of
from app.science.safety.not_computed import NOT_COMPUTED
from app.science.safety.rule import (
    RULES_VERSION,
    Outcome,
    Rule,
    RuleSet,
    Severity,
    Topic,
    Verdict,
    allows,
    worst,
)
from app.science.sources import Evidence

# The ids of the gates and cautions that this book promises.
PROMISED = [
    "COOK-FORM",
    "COOK-GAME-STRICT",
    "COOK-TT",
    "COOK-COLOUR",
    "COOK-MIXED",
    "COOK-NOREAD",
    "COOK-PARTIAL",
    "THERMO",
    "RAW-SEPARATE",
    "COOL-2STAGE",
    "COOL-AMBIENT",
    "COOL-APPB",
    "COOL-AU",
    "HOLD-COLD",
    "HOLD-HOT",
    "OUT-2H",
    "OUT-24",
    "OUT-TPHC",
    "THAW-WAY",
    "REFREEZE",
    "THAW-VACFISH",
    "OUT-FREEZER",
    "OUT-FRIDGE",
    "ROP-WET",
    "ROP-UNKNOWN",
    "ROP-MARGIN",
    "ROP-COMPUTED",
    "ROP-ACID",
    "ROP-FAT",
    "ROP-FISH",
    "ROP-FRIDGE",
    "OIL-GARLIC",
    "VAC-NOT",
    "CAN-NONE",
    "JERKY-HEAT",
    "JERKY-AW",
    "JERKY-MPR",
    "FD-RAW",
    "FD-PRODUCE",
    "TRICH-PORK",
    "TRICH-WILD",
    "CWD-HOLD",
    "CWD-POS",
    "CWD-NEG",
    "GAME-SICK",
    "TULAR",
    "BRUC",
    "LEAD",
    "FIELD-COOL",
    "GAME-LAW",
    "FISH-PARA",
    "FISH-HIST",
    "ALG-UNION",
    "ALG-NEVER",
    "ALG-UNKNOWN",
    "ALG-NONE",
    "ALG-CROSS",
    "ALG-SO2",
    "ABS-NOEAT",
    "ABS-TYPE",
    "ABS-EXPOSE",
    "ABS-24H",
    "ABS-UNUSED",
    "JAR-VAC",
    "PACK-RAW",
    "PACK-HANDLE",
    "REHY-RAW",
    "REHY-2H",
    "REHY-REDRY",
    "UNIT-ASK",
]

_NO_SOURCE = (Evidence.JUDGEMENT, Evidence.COMMON_PRACTICE, Evidence.UNCHECKED)


def test_every_promised_rule_is_there_once():
    ids = [rule.id for rule in ALL_RULES]
    assert len(ids) == len(set(ids)) == len(BY_ID)
    assert set(PROMISED) <= set(ids)
    more = (*checks.RULES, *worn.RULES)
    ours = {rule.id for rule in more} | {"COOL-UNPROVEN", "FRIDGE-DAYS", "FRIDGE-OVER"}
    assert set(ids) - set(PROMISED) == ours


@pytest.mark.parametrize("rule", ALL_RULES, ids=lambda rule: rule.id)
def test_every_rule_names_its_source_or_says_it_is_ours(rule):
    assert rule.version
    assert rule.applies_to
    assert isinstance(rule.topic, Topic)
    assert rule.rule_sets
    assert (rule.source is not None) or rule.evidence in _NO_SOURCE
    if rule.evidence not in _NO_SOURCE:
        assert rule.source is not None


@pytest.mark.parametrize("rule", ALL_RULES, ids=lambda rule: rule.id)
def test_every_sentence_is_brief_plain_and_ends(rule):
    for words in (rule.words, *(text for _, text in rule.also)):
        assert words.endswith((".", "?", "{question}", "{advice}")), words
        assert len(words) <= 260, words
        assert "!" not in words
        assert "guarantee" not in words or "no guarantee" in words


@pytest.mark.parametrize("rule", ALL_RULES, ids=lambda rule: rule.id)
def test_no_outcome_of_a_rule_is_harder_than_its_severity(rule):
    rank = {"note": 1, "confirm": 2, "stop": 3, "ask": 9}
    for outcome, _ in rule.also:
        if outcome not in (Outcome.PASS, Outcome.ASK):
            assert rank[outcome.value] < rank[rule.severity.value]


def test_every_rule_set_holds_the_common_rules_and_only_its_own_clocks():
    ids = {one: {rule.id for rule in rules_of(one)} for one in RuleSet}
    assert ids[RuleSet.AU] - ids[RuleSet.US] == {"OUT-24", "COOL-AU"}
    assert ids[RuleSet.US] - ids[RuleSet.AU] == {"OUT-2H", "COOL-2STAGE"}


def test_a_verdict_keeps_the_version_it_was_made_with_when_guidance_changes():
    old = BY_ID["OUT-2H"]
    verdict = Verdict(old, Outcome.STOP, {"hours": 2.5})
    newer = Rule(
        old.id, old.topic, old.severity, old.applies_to, "New words.", old.source, old.evidence,
        version="2",
    )  # fmt: skip
    assert newer.version != verdict.rule_version == "1"
    assert verdict.sentence == "Out too long (2.5 h together). Discard."
    assert RULES_VERSION


def test_a_sentence_without_its_numbers_is_an_error_and_never_a_half_sentence():
    with pytest.raises(KeyError):
        _ = Verdict(BY_ID["OUT-2H"], Outcome.STOP).sentence


def test_silence_is_not_a_pass():
    assert worst([]) is None


def test_a_confirm_waits_for_its_reason_and_a_stop_takes_none():
    confirm = Verdict(BY_ID["ROP-FAT"], Outcome.CONFIRM)
    stop = Verdict(BY_ID["ROP-FISH"], Outcome.STOP)
    assert not allows([confirm])
    assert allows([confirm], {"ROP-FAT"})
    assert not allows([confirm, stop], {"ROP-FAT", "ROP-FISH"})
    assert worst([confirm, stop]) is Outcome.STOP


def test_an_unread_question_is_never_allowed():
    ask = Verdict(BY_ID["CWD-HOLD"], Outcome.ASK)
    assert not allows([ask], {"CWD-HOLD"})


def test_what_is_not_computed_has_an_answer_each():
    assert len(NOT_COMPUTED) >= 18
    assert len({row.question for row in NOT_COMPUTED}) == len(NOT_COMPUTED)
    assert all(row.instead.endswith(".") for row in NOT_COMPUTED)


def test_the_european_list_has_fourteen_groups():
    # Regulation (EU) 1169/2011, Annex II.
    assert len(EU_14) == 14


def test_placeholders_are_plain_names():
    for rule in ALL_RULES:
        for _, name, spec, conversion in string.Formatter().parse(rule.words):
            assert name is None or name.isidentifier()
            assert not spec
            assert not conversion


def test_the_docs_list_every_rule_as_it_is():
    docs = Path(__file__).parents[2] / "docs" / "science" / "safety.md"
    assert markdown_table() in docs.read_text(encoding="utf-8")


def test_the_door_opens_on_everything_it_names():
    assert all(getattr(verdicts, name) is not None for name in verdicts.__all__)


def test_severities_are_the_four():
    assert {rule.severity for rule in ALL_RULES} == set(Severity)
