"""Rehydration: raw food is still cooked, and rehydrated food is fresh food."""

from collections.abc import Collection

from app.science import sources as s
from app.science.safety.cooking import clears_raw
from app.science.safety.cooling import Readings, cooled
from app.science.safety.rule import Outcome, Rule, Severity, Topic, Verdict, known
from app.science.sources import Evidence, Sourced

REHY_RAW = Rule(
    id="REHY-RAW",
    topic=Topic.REHYDRATION,
    severity=Severity.STOP,
    applies_to="raw dried animal food that is rehydrated",
    words="Still raw: soak it in hot water, or in cold water in the fridge, then cook it until the "
    "centre reads {target}. Boiling water poured on does not cook it.",
    also=((Outcome.PASS, "Rehydrated raw, then cooked to its target."),),
    source=s.IOWA_FREEZE_DRYING,
    evidence=Evidence.READ,
)
REHY_2H = Rule(
    id="REHY-2H",
    topic=Topic.REHYDRATION,
    severity=Severity.STOP,
    applies_to="rehydrated food, which is fresh: out 2 hours at most, else below 5 °C within 4",
    words="Rehydrated {hours} h ago and still above 5 °C: over 2 hours out, discard it.",
    also=(
        (Outcome.NOTE, "Eat it within 2 hours, or have it below 5 °C within 4."),
        (
            Outcome.CONFIRM,
            "Soaked for over 2 hours: was it in the fridge? Longer soaks belong there.",
        ),
    ),
    source=s.STATE_FOOD_CODES_COOLING,
    others=(s.FSIS_TWO_HOURS,),
    evidence=Evidence.COPY,
    limits=(
        Sourced(2, "hour", Evidence.COPY, s.FSIS_TWO_HOURS),
        Sourced(4, "hour", Evidence.COPY, s.STATE_FOOD_CODES_COOLING),
        Sourced(5, "degC", Evidence.COPY, s.STATE_FOOD_CODES_COOLING),
    ),
)
REHY_REDRY = Rule(
    id="REHY-REDRY",
    topic=Topic.REHYDRATION,
    severity=Severity.CONFIRM,
    applies_to="drying or sealing rehydrated food again",
    words="Rehydrated food is fresh food: eat it or freeze it, do not dry or seal it again.",
    source=None,
    evidence=Evidence.JUDGEMENT,
)

RULES = (REHY_RAW, REHY_2H, REHY_REDRY)


def rehydrate(
    raw: bool,
    *,
    target_words: str = "its cooking target",
    cook: Collection[Verdict] = (),
    soak_hours: float | None = None,
    soaked_in_fridge: bool | None = None,
    readings: Readings = (),
    dried_or_sealed_again: bool = False,
) -> tuple[Verdict, ...]:
    """What rehydrating a lot asks for.

    Args:
        raw: carries the RAW mark. target_words: `CookTarget.words` for the sentence.
        cook: verdicts of a cook step afterwards; only one that clears RAW passes.
        soak_hours, soaked_in_fridge: None unknown. readings: (hours since rehydrated, temp_c).
        dried_or_sealed_again: it went back to the dryer or a pouch.
    Returns:
        Verdicts; REHY-2H always, as a note at least.
    Source: Iowa State University; Food Code 3-501.14(B).
    Example:
        >>> rehydrate(True)[0].outcome.value
        'stop'
    """
    found = []
    if raw:
        outcome = Outcome.PASS if clears_raw(cook) else Outcome.STOP
        found.append(Verdict(REHY_RAW, outcome, {"target": target_words}))
    found += _clock(readings)
    soak = known(soak_hours)
    if soak is not None and soak > REHY_2H.limits[0].value and not soaked_in_fridge:
        found.append(Verdict(REHY_2H, Outcome.CONFIRM))
    if dried_or_sealed_again:
        found.append(Verdict(REHY_REDRY, Outcome.CONFIRM))
    return tuple(found)


def _clock(readings: Readings) -> list[Verdict]:
    """Chilled within 4 hours by its readings, or not yet out for 2."""
    if not readings:
        return [Verdict(REHY_2H, Outcome.NOTE)]
    chilled = list(cooled(readings, reconstituted=True))
    last = max((at for at, value in readings if known(value) is not None), default=0.0)
    unfinished = all(verdict.outcome is Outcome.CONFIRM for verdict in chilled)
    if unfinished and last > REHY_2H.limits[0].value:
        return [*chilled, Verdict(REHY_2H, Outcome.STOP, {"hours": last})]
    return chilled
