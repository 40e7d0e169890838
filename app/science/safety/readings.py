"""Does a temperature look mistyped? Fahrenheit typed as Celsius is caught before the rules."""

from enum import StrEnum

from app.science.safety.rule import Outcome, Rule, Severity, Topic, Verdict, known
from app.science.sources import Evidence, Sourced


class Reading(StrEnum):
    """What a temperature was read of."""

    COOK_CENTRE = "the centre of cooked food"
    FRIDGE = "a fridge"
    FREEZER = "a freezer"
    ROOM = "a room"
    DRYER_AIR = "the air of a dryer"


def _limit(value: float) -> Sourced:
    return Sourced(value, "degC", Evidence.JUDGEMENT)


#: Lowest and highest believable reading.
WINDOWS: dict[Reading, tuple[Sourced, Sourced]] = {
    Reading.COOK_CENTRE: (_limit(40), _limit(105)),
    Reading.FRIDGE: (_limit(-5), _limit(20)),
    Reading.FREEZER: (_limit(-45), _limit(-5)),
    Reading.ROOM: (_limit(-30), _limit(50)),
    Reading.DRYER_AIR: (_limit(30), _limit(90)),
}

UNIT_ASK = Rule(
    id="UNIT-ASK",
    topic=Topic.READINGS,
    severity=Severity.ASK,
    applies_to="a typed temperature outside what its place can have; typed again, it stands",
    words="{typed} is unusual for {place}. {question}",
    source=None,
    evidence=Evidence.JUDGEMENT,
    limits=tuple(limit for window in WINDOWS.values() for limit in window),
)

RULES = (UNIT_ASK,)


def to_celsius(value: float, unit: str) -> float:
    """Degrees Celsius of a reading typed in "C" or "F".

    Example:
        >>> to_celsius(212.0, "F")
        100.0
    """
    if unit not in ("C", "F"):
        raise ValueError(f"unit {unit!r} is neither C nor F")
    return (value - 32.0) / 1.8 if unit == "F" else value


def unit_ask(reading: Reading, value: float | None, unit: str) -> Verdict | None:
    """Ask when a reading is unbelievable, with the other unit filled in where that would fit.

    Args:
        reading: what was measured. value: as typed; None or NaN is no reading, and not asked about.
        unit: "C" or "F", as typed.
    Returns:
        A verdict that asks, or None when the reading is believable.
    Validity: the windows are our judgement; the person may insist, and then the value stands.
    Example:
        >>> unit_ask(Reading.COOK_CENTRE, 160.0, "C").sentence
        '160 °C is unusual for the centre of cooked food. Did you mean 160 °F (71.1 °C)?'
    """
    number = known(value)
    if number is None or _believable(reading, to_celsius(number, unit)):
        return None
    other = "F" if unit == "C" else "C"
    question = "Please read it again."
    if _believable(reading, to_celsius(number, other)):
        question = f"Did you mean {_both(number, other)}?"
    typed = f"{number:g} °{unit}"
    return Verdict(
        UNIT_ASK, Outcome.ASK, {"typed": typed, "place": reading.value, "question": question}
    )


def _believable(reading: Reading, temp_c: float) -> bool:
    low, high = WINDOWS[reading]
    return low.value <= temp_c <= high.value


def _both(value: float, unit: str) -> str:
    if unit == "F":
        return f"{value:g} °F ({round(to_celsius(value, 'F'), 1):g} °C)"
    return f"{value:g} °C"
