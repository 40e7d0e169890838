"""The cautions that belong beside each step, each with its rule's own source."""

from dataclasses import dataclass

from app.language import N_, _
from app.ledger.game import WILD
from app.ledger.queries.stock import StockLine
from app.ledger.uncovered import not_covered_words
from app.ledger.words import Mark, OperationKind
from app.science.classes import FoodClass
from app.science.safety.catalogue import BY_ID
from app.science.safety.rule import DEFERENCE, Outcome, RuleSet
from app.science.safety.verdicts import cook_target
from app.web.papers.rules import sourced
from app.web.said import said


@dataclass(frozen=True, slots=True)
class StepCaution:
    """A note beside a step, as the caution macro takes it."""

    id: str
    sentence: str
    source_text: str
    severity: str = "note"


_COOLING = N_(
    "Cool cooked food fast: to 21 °C (70 °F) within 2 hours and to 5 °C (41 °F) within 6 hours in "
    "all. Shallow tubs or an ice bath do it; a deep pot in the refrigerator does not."
)
_DRY_ENOUGH = N_(
    "Seal without oxygen only what is dry enough: botulism grows in moist food without oxygen and "
    "cannot be seen or smelled."
)
_BESIDE: dict[OperationKind, tuple[tuple[str, str | None], ...]] = {
    OperationKind.THAW: (("THAW-WAY", None),),
    OperationKind.GRIND: (("BRUC", None),),
    OperationKind.COOK: (("COOK-COLOUR", None), ("THERMO", None)),
    OperationKind.CHILL: (("COOL-2STAGE", _COOLING),),
    OperationKind.LOAD: (("FD-RAW", None),),
    OperationKind.UNLOAD: (("FD-RAW", None),),
    OperationKind.PACK: (
        ("ROP-WET", _DRY_ENOUGH),
        ("VAC-NOT", None),
        ("ABS-NOEAT", None),
        ("ABS-UNUSED", None),
        ("JAR-VAC", None),
    ),
    OperationKind.OPEN: (("PACK-HANDLE", None),),
    OperationKind.BLANCH: (("FD-PRODUCE", None),),
    OperationKind.GIVE: (("GAME-LAW", None),),
}
_PORK = N_(
    "Freezing farmed pork against trichinella was a rule once, removed in 2018, and clears nothing "
    "here: cook it in any case."
)
_WILD_ONLY = frozenset({"BRUC", "GAME-LAW"})
_ANIMAL_ONLY = frozenset({"FD-RAW", "COOK-COLOUR", "THERMO"})
_LEAVES = (OperationKind.EAT, OperationKind.GIVE, OperationKind.GRIND)


def beside(
    kind: OperationKind, line: StockLine | None = None, rule_set: RuleSet = RuleSet.US
) -> tuple[StepCaution, ...]:
    """The cautions of a step; with its line of stock, those about that food and no others."""
    is_wild = line is not None and line.food_class in WILD
    is_animal = line is None or line.is_raw or line.food_class.is_animal
    left_out = (frozenset() if is_wild else _WILD_ONLY) | (
        frozenset() if is_animal else _ANIMAL_ONLY
    )
    always = tuple(
        caution(rule_id, words)
        for rule_id, words in _BESIDE.get(kind, ())
        if rule_id not in left_out
    )
    return always if line is None else (*always, *_of_line(kind, line, rule_set))


def _of_line(kind: OperationKind, line: StockLine, rule_set: RuleSet) -> tuple[StepCaution, ...]:
    found = []
    if kind is OperationKind.EAT and line.is_dried:
        found += [_still_raw(line, rule_set)] if _is_raw_animal(line) else []
        found.append(caution("REHY-2H", _said("REHY-2H", Outcome.NOTE)))
    if kind is OperationKind.THAW and line.food_class is FoodClass.PORK:
        found.append(caution("TRICH-PORK", _PORK))
    if kind in _LEAVES and Mark.LEAD in line.marks:
        found.append(caution("LEAD", _said("LEAD", Outcome.NOTE)))
    if kind is OperationKind.LOAD and line.food_class in (FoodClass.VEGETABLE, FoodClass.FRUIT):
        found.append(caution("FD-PRODUCE"))
    return tuple(found)


def _is_raw_animal(line: StockLine) -> bool:
    return line.is_raw and line.food_class.is_animal


def _still_raw(line: StockLine, rule_set: RuleSet) -> StepCaution:
    """Dried raw food is cooked after soaking, to the target of its kind."""
    target = cook_target([line.food_class], line.form, rule_set).words
    return caution("REHY-RAW", BY_ID["REHY-RAW"].words.format(target=target))


def _said(rule_id: str, outcome: Outcome) -> str:
    return BY_ID[rule_id].sentence_for(outcome)


def caution(rule_id: str, words: str | None = None) -> StepCaution:
    """A rule as a note; words replace its sentence where that one speaks of readings."""
    rule = BY_ID[rule_id]
    source = f"{sourced(rule)}. {_(DEFERENCE)}"
    return StepCaution(rule.id, words or rule.words, source)


def uncovered_words(note: str) -> str:
    """What to say after an entry whose note speaks of a process that is not covered here."""
    found = [f" {said(verdict.sentence)}" for verdict in not_covered_words(note)]
    return "".join([*found, _(" See Papers, Not covered.")]) if found else ""
