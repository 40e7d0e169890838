"""The cautions that belong beside each step, each with its rule's own source."""

from dataclasses import dataclass

from app.ledger.words import OperationKind
from app.science.safety.catalogue import BY_ID
from app.science.safety.rule import DEFERENCE


@dataclass(frozen=True, slots=True)
class StepCaution:
    """A note beside a step, as the caution macro takes it."""

    id: str
    sentence: str
    source_text: str
    severity: str = "note"


_COOLING = (
    "Cool cooked food fast: to 21 °C (70 °F) within 2 hours and to 5 °C (41 °F) within 6 hours in "
    "all. Shallow tubs or an ice bath do it; a deep pot in the refrigerator does not."
)
_DRY_ENOUGH = (
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
    OperationKind.PACK: (("ROP-WET", _DRY_ENOUGH), ("VAC-NOT", None), ("ABS-UNUSED", None)),
    OperationKind.OPEN: (("PACK-HANDLE", None),),
    OperationKind.BLANCH: (("FD-PRODUCE", None),),
    OperationKind.GIVE: (("GAME-LAW", None),),
}


def beside(kind: OperationKind, *, is_wild: bool = True) -> tuple[StepCaution, ...]:
    """The cautions of a step; those about wild game only where it is wild."""
    wild_only = {"BRUC", "GAME-LAW"}
    return tuple(
        caution(rule_id, words)
        for rule_id, words in _BESIDE.get(kind, ())
        if is_wild or rule_id not in wild_only
    )


def caution(rule_id: str, words: str | None = None) -> StepCaution:
    """A rule as a note; words replace its sentence where that one speaks of readings."""
    rule = BY_ID[rule_id]
    evidence = rule.evidence.value
    source = f"{rule.source} ({evidence})" if rule.source else evidence.capitalize()
    return StepCaution(rule.id, words or rule.words, f"{source}. {DEFERENCE}")
