"""The rows of the drying rules."""

from app.science import sources as s
from app.science.safety.rule import Outcome, Rule, Severity, Topic
from app.science.sources import Evidence, Source, Sourced

_COPY, _READ, _OURS = Evidence.COPY, Evidence.READ, Evidence.JUDGEMENT


def _jerky(value: float, unit: str, note: str = "", source: Source = s.FSIS_JERKY) -> Sourced:
    return Sourced(value, unit, _COPY, source, note=note)


JERKY_HEAT = Rule(
    id="JERKY-HEAT",
    topic=Topic.DRYING,
    severity=Severity.STOP,
    applies_to="meat dried in warm air that did not first reach 160 °F (71.1 °C), poultry and wild "
    "meat-eaters 165 °F (73.9 °C), in wet heat",
    words="Dry heat makes germs tougher: steam or simmer the strips to {target} first, then dry. "
    "It stays marked RAW.",
    also=(
        (Outcome.PASS, "Heated to {target} before drying."),
        (
            Outcome.CONFIRM,
            "Second best: 10 minutes in an oven at 275 °F (135 °C) after drying, for beef and "
            "venison strips only. Read the source before relying on it.",
        ),
        (Outcome.NOTE, "Dry heated strips at 130 to 140 °F (54 to 60 °C); this air was cooler."),
    ),
    source=s.FSIS_JERKY,
    others=(s.UMN_JERKY,),
    evidence=_COPY,
    limits=(
        _jerky(160, "degF"),
        _jerky(165, "degF", "poultry"),
        _jerky(54.4, "degC", "air, 130 °F"),
        Sourced(135, "degC", _READ, s.UMN_JERKY, note="275 °F oven after drying"),
        Sourced(10, "min", _READ, s.UMN_JERKY),
    ),
)
JERKY_AW = Rule(
    id="JERKY-AW",
    topic=Topic.DRYING,
    severity=Severity.STOP,
    applies_to="jerky meant for the shelf: water activity above 0.85, or not measured",
    words="Water activity {aw}: not for the shelf. Jerky is dried to 0.85 or below, or kept cold.",
    also=(
        (Outcome.PASS, "Water activity {aw}, 0.85 or below."),
        (Outcome.CONFIRM, "Water activity not measured: keep it in the fridge or freezer only."),
    ),
    source=s.FSIS_JERKY_2004,
    evidence=_READ,
    limits=(Sourced(0.85, "1", _COPY, s.FSIS_JERKY),),
)
JERKY_MPR = Rule(
    id="JERKY-MPR",
    topic=Topic.DRYING,
    severity=Severity.NOTE,
    applies_to="a ratio of moisture to protein given for jerky",
    words="{ratio}:1 of moisture to protein says what may be called jerky, not whether it is safe: "
    "measure the water activity.",
    source=s.FSIS_JERKY_2004,
    evidence=_READ,
    limits=(Sourced(0.75, "1", _READ, s.FSIS_JERKY_2004, note="product name only"),),
)
FD_RAW = Rule(
    id="FD-RAW",
    topic=Topic.DRYING,
    severity=Severity.STOP,
    applies_to="raw animal food that is freeze-dried or dried, and everything made of it",
    words="Drying does not cook: only a cook step that reaches its target takes RAW away.",
    also=((Outcome.NOTE, "Marked RAW: freeze-drying keeps germs alive. Cook before eating."),),
    source=s.KSTATE_FREEZE_DRYING,
    others=(s.IDAHO_FREEZE_DRYING, s.HEPATITIS_A_BERRIES),
    evidence=_READ,
)
FD_PRODUCE = Rule(
    id="FD-PRODUCE",
    topic=Topic.DRYING,
    severity=Severity.NOTE,
    applies_to="fruit and vegetables dried raw",
    words="Drying does not clean it: wash it well before.",
    source=s.HEPATITIS_A_BERRIES,
    evidence=_COPY,
    limits=(
        Sourced(1, "1", _COPY, s.HEPATITIS_A_BERRIES, note="log of virus lost in freeze-drying"),
    ),
)
RAW_SEPARATE = Rule(
    id="RAW-SEPARATE",
    topic=Topic.COOKING,
    severity=Severity.CONFIRM,
    applies_to="raw animal food with cooked or eat-as-is food in one dryer load, grinder, tray or "
    "board, without a clean-down",
    words="Raw and ready-to-eat food together: all of it becomes RAW ({marked}).",
    source=s.MMWR_TRICHINELLA,
    evidence=_READ,
)
TRICH_PORK = Rule(
    id="TRICH-PORK",
    topic=Topic.DRYING,
    severity=Severity.NOTE,
    applies_to="farmed pork frozen against trichinella; a former rule, removed in 2018",
    words="{answer} It stays RAW: cook it in any case.",
    source=s.CFR_318_10,
    evidence=_COPY,
)

RULES = (JERKY_HEAT, JERKY_AW, JERKY_MPR, FD_RAW, FD_PRODUCE, RAW_SEPARATE, TRICH_PORK)
