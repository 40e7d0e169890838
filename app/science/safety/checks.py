"""Looks that come due: how long after what, and what each is for."""

from app.science import sources as s
from app.science.safety.absorbers import CHECK_HOURS
from app.science.safety.rule import Outcome, Rule, Severity, Topic, Verdict, known
from app.science.sources import Evidence, Source, Sourced

_OURS = Evidence.JUDGEMENT

THERMOMETER_DAYS = Sourced(7, "day", _OURS, note="more often while the weather is hot")
YEARLY_DAYS = Sourced(365, "day", _OURS)
RESULT_DAYS = Sourced(14, "day", _OURS, note="then ask the laboratory")
TRAY_FIRST_HOURS = Sourced(1, "hour", _OURS)
TRAY_LAST_HOURS = Sourced(12, "hour", _OURS)
TRAY_UNKNOWN_HOURS = Sourced(2, "hour", _OURS, note="where the weighings explain nothing yet")
LOOK_FIRST_DAYS = Sourced(0, "day", _OURS)
FREEZER_WARM_C = Sourced(
    -15, "degC", Evidence.COPY, s.EU_QUICK_FROZEN, note="3 °C above the -18 °C of the trade"
)


def _rule(
    id: str,
    topic: Topic,
    applies_to: str,
    words: str,
    limits: tuple[Sourced, ...],
    source: Source | None = None,
    evidence: Evidence = _OURS,
    also: tuple[tuple[Outcome, str], ...] = (),
) -> Rule:
    return Rule(id, topic, Severity.NOTE, applies_to, words, source, evidence, limits, also)


CHECK_COLD = _rule(
    "CHECK-COLD",
    Topic.READINGS,
    "the thermometer of a freezer or refrigerator that holds food",
    "Read the thermometer once a week, so that a fault is found before the food shows it.",
    (THERMOMETER_DAYS,),
)
CHECK_FREEZER = _rule(
    "CHECK-FREEZER",
    Topic.READINGS,
    "a reading of a freezer",
    "{reading} in the freezer, warmer than −15 °C (5 °F): see to its door and its setting, and "
    "read it again today. Food that stayed frozen hard loses quality sooner.",
    (FREEZER_WARM_C,),
    s.EU_QUICK_FROZEN,
    Evidence.COPY,
    ((Outcome.PASS, "{reading} in the freezer."),),
)
CHECK_TRAY = _rule(
    "CHECK-TRAY",
    Topic.DRYING,
    "a tray that was weighed back and is not shown to be dry",
    "Weigh the tray again when its weight can have told something new: 1 to 12 hours on, from the "
    "rate at which it falls. One weighing alone proves nothing.",
    (TRAY_FIRST_HOURS, TRAY_LAST_HOURS, TRAY_UNKNOWN_HOURS),
)
CHECK_SEAL = _rule(
    "CHECK-SEAL",
    Topic.PACKAGES,
    "packs with an absorber or a vacuum, and sealed jars, the day after packing",
    "Look whether each pack is drawn tight and each lid is down. Not looked at is no pass. Asked "
    "for a year; then dried packs have their yearly look.",
    (CHECK_HOURS,),
    s.ABSORBER_TRADE,
    Evidence.TRADE,
)
CHECK_YEARLY = _rule(
    "CHECK-YEARLY",
    Topic.PACKAGES,
    "sealed packs of dried food, a year after packing or the last such look",
    "Look at what is stored for years: still tight, dry, of good colour, no sign of pests. A pack "
    "that looks wrong is opened and judged, not put back.",
    (YEARLY_DAYS,),
)
CHECK_TEST = _rule(
    "CHECK-TEST",
    Topic.GAME,
    "food on hold for a test whose result has not been written down",
    "After two weeks without a result, ask the laboratory. Until then the food stays on hold.",
    (RESULT_DAYS,),
)
CHECK_LOOK = _rule(
    "CHECK-LOOK",
    Topic.OUTAGE,
    "food on hold until somebody has looked at it",
    "Look at it today: what may be kept, refrozen or must go is decided the sooner the better.",
    (LOOK_FIRST_DAYS,),
)

RULES = (
    CHECK_COLD, CHECK_FREEZER, CHECK_TRAY, CHECK_SEAL, CHECK_YEARLY, CHECK_TEST, CHECK_LOOK,
)  # fmt: skip


def freezer_cold(temp: float | None, unit: str = "C") -> tuple[Verdict, ...]:
    """Is a freezer as cold as frozen food wants it? No reading is no pass.

    Args:
        temp: as typed. unit: "C" or "F"; the limit is the same in both, -15 °C or 5 °F.
    Validity: quality, not safety: the trade's limit for frozen food on its way to the household.
    Source: Directive 89/108/EEC: -18 °C or colder, deviations of at most 3 °C.
    Example:
        >>> [freezer_cold(t)[0].outcome.value for t in (-18.0, -15.0, -10.0)]
        ['pass', 'pass', 'note']
    """
    reading = known(temp)
    if reading is None:
        return ()
    limit = FREEZER_WARM_C.value if unit == "C" else 1.8 * FREEZER_WARM_C.value + 32.0
    outcome = Outcome.PASS if reading <= limit else Outcome.NOTE
    return (Verdict(CHECK_FREEZER, outcome, {"reading": f"{reading:g} °{unit}"}),)
