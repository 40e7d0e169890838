"""Absorbers, jars, pouches and what their labels must say."""

import re
from enum import StrEnum

from app.science import sources as s
from app.science.errors import require
from app.science.safety.rule import Outcome, Rule, Severity, Topic, Verdict, known
from app.science.sources import Evidence, Source, Sourced

_COPY, _TRADE, _OURS = Evidence.COPY, Evidence.TRADE, Evidence.JUDGEMENT


class AbsorberKind(StrEnum):
    """How an oxygen absorber gets the moisture it works with."""

    SELF_REACTING = "self-reacting"
    MOISTURE_DEPENDENT = "moisture-dependent"
    UNKNOWN = "unknown"


MOIST_AW = Sourced(0.65, "1", Evidence.UNCHECKED, s.OXYGEN_SCAVENGERS, low=0.65, high=0.85)
EXPOSED_MIN = Sourced(15, "min", _TRADE, s.ABSORBER_TRADE, low=15, high=60)
CHECK_HOURS = Sourced(24, "hour", _TRADE, s.ABSORBER_TRADE)
UNUSED_MONTHS = Sourced(6, "month", _TRADE, s.ABSORBER_TRADE)


def _rule(
    id: str,
    severity: Severity,
    applies_to: str,
    words: str,
    source: Source | None,
    evidence: Evidence,
    limits: tuple[Sourced, ...] = (),
    also: tuple[tuple[Outcome, str], ...] = (),
) -> Rule:
    return Rule(id, Topic.PACKAGES, severity, applies_to, words, source, evidence, limits, also)


ABS_NOEAT = _rule(
    "ABS-NOEAT",
    Severity.NOTE,
    "every pack with an absorber, on its label and on the run sheet",
    "Remove packet. Do not eat.",
    None,
    Evidence.COMMON_PRACTICE,
)
ABS_TYPE = _rule(
    "ABS-TYPE",
    Severity.CONFIRM,
    "an absorber in dry food",
    "A moisture-dependent packet does little in dry food: use a self-reacting one, which brings "
    "its own moisture.",
    s.OXYGEN_SCAVENGERS,
    _COPY,
    (MOIST_AW,),
    (
        (Outcome.PASS, "A self-reacting packet works in dry food."),
        (Outcome.NOTE, "A moisture-dependent packet can work in food this moist."),
        (Outcome.ASK, "Is this packet self-reacting or moisture-dependent? Its bag says so."),
    ),
)
ABS_EXPOSE = _rule(
    "ABS-EXPOSE",
    Severity.CONFIRM,
    "absorbers open for over 15 to 60 minutes before sealing, or a packet gone hot and hard",
    "This packet may be used up ({why}): take a fresh one.",
    s.ABSORBER_TRADE,
    _TRADE,
    (EXPOSED_MIN,),
)
ABS_24H = _rule(
    "ABS-24H",
    Severity.NOTE,
    "a day after sealing: the pouch drawn tight or the lid down, the packet no longer warm",
    "Still loose after a day. A full or stiff pack may not look tight, so that proves no failure: "
    "check its dryness again and repack it with a new absorber.",
    s.ABSORBER_TRADE,
    _TRADE,
    (CHECK_HOURS,),
    ((Outcome.PASS, "Drawn tight a day after sealing."),),
)
ABS_UNUSED = _rule(
    "ABS-UNUSED",
    Severity.NOTE,
    "absorbers in store",
    "Unopened bags of absorbers keep about 6 months; once opened, they need an airtight jar.",
    s.ABSORBER_TRADE,
    _TRADE,
    (UNUSED_MONTHS,),
)
JAR_VAC = _rule(
    "JAR-VAC",
    Severity.NOTE,
    "a jar sealed by a vacuum or an absorber",
    "A jar sealed like this is not canned: dry food only. If its lid comes up it counts as opened.",
    s.USU_STORAGE,
    _COPY,
)
PACK_RAW = _rule(
    "PACK-RAW",
    Severity.STOP,
    "the label of raw animal food",
    "The label must say RAW and what to cook it to: {target}.",
    None,
    _OURS,
    also=((Outcome.PASS, "The label says RAW and {target}."),),
)
PACK_HANDLE = _rule(
    "PACK-HANDLE",
    Severity.NOTE,
    "the label of a dry pack",
    "Keep cool, dry and dark. Once opened, it is dried food in the air.",
    None,
    _OURS,
)

RULES = (
    ABS_NOEAT, ABS_TYPE, ABS_EXPOSE, ABS_24H, ABS_UNUSED, JAR_VAC, PACK_RAW, PACK_HANDLE,
)  # fmt: skip


def absorber(
    kind: AbsorberKind,
    *,
    water_activity: float | None = None,
    minutes_open: float | None = None,
    is_hot_and_hard: bool = False,
) -> tuple[Verdict, ...]:
    """Will this absorber work in this pack?

    Args:
        kind: as its bag says. water_activity: of the food, 0 to 1; None counts as dry.
        minutes_open: between opening the bag and sealing, min ≥ 0; None unknown.
        is_hot_and_hard: the packet already reacted.
    Returns:
        ABS-TYPE, ABS-EXPOSE in doubt, and the line for the label.
    Raises:
        OutOfRange: water activity outside 0 to 1, minutes negative.
    Validity: trade advice; the moisture from which the other kind works is from memory.
    Source: oxygen scavenger article; absorber traders.
    Example:
        >>> absorber(AbsorberKind.MOISTURE_DEPENDENT, water_activity=0.2)[0].outcome.value
        'confirm'
    """
    aw, opened = known(water_activity), known(minutes_open)
    if aw is not None:
        require("water_activity", aw, 0.0, 1.0)
    found = [Verdict(ABS_TYPE, _type_outcome(kind, aw))]
    if opened is not None:
        require("minutes_open", opened, 0.0, None, "min")
    if is_hot_and_hard or (opened is not None and opened > EXPOSED_MIN.value):
        why = "hot and hard" if is_hot_and_hard else f"open for {opened:g} minutes"
        found.append(Verdict(ABS_EXPOSE, Outcome.CONFIRM, {"why": why}))
    found.append(Verdict(ABS_NOEAT, Outcome.NOTE))
    return tuple(found)


def checked_next_day(*, is_tight: bool | None) -> tuple[Verdict, ...]:
    """What a look at a pack a day after sealing means; not looked at is not a pass."""
    if is_tight is None:
        return ()
    return (Verdict(ABS_24H, Outcome.PASS if is_tight else Outcome.NOTE),)


def sealed_jar() -> tuple[Verdict, ...]:
    """The note on jars sealed by vacuum or absorber; the oxygen-free gates apply besides."""
    return (Verdict(JAR_VAC, Outcome.NOTE),)


def raw_label(printed_text: str, target_words: str) -> tuple[Verdict, ...]:
    """May the label of raw animal food be printed?

    Args:
        printed_text: everything the label says. target_words: `CookTarget.words`.
    Returns:
        PACK-RAW: a pass only when the word RAW and the target both stand on it.
    Example:
        >>> raw_label("Moose, ground", "160 °F (71.1 °C)")[0].outcome.value
        'stop'
    """
    says_raw = re.search(r"\bRAW\b", printed_text) is not None
    met = says_raw and bool(target_words) and target_words in printed_text
    numbers = {"target": target_words}
    return (Verdict(PACK_RAW, Outcome.PASS if met else Outcome.STOP, numbers),)


def _type_outcome(kind: AbsorberKind, aw: float | None) -> Outcome:
    if kind is AbsorberKind.UNKNOWN:
        return Outcome.ASK
    if kind is AbsorberKind.SELF_REACTING:
        return Outcome.PASS
    return Outcome.NOTE if aw is not None and aw >= MOIST_AW.value else Outcome.CONFIRM
