"""A temperature as somebody typed it, and whether it looks mistyped."""

from dataclasses import dataclass

from app.science.safety.readings import Reading, unit_ask
from app.science.safety.rule import Verdict


@dataclass(frozen=True, slots=True)
class Typed:
    """A temperature in the unit it was typed in, "C" or "F", and in degrees Celsius."""

    value: float
    unit: str
    temp_c: float


def mistyped(reading: Reading, typed: Typed | None, reason: str) -> tuple[Verdict, ...]:
    """Ask about a temperature that its place cannot have, unless a reason was given for it."""
    if typed is None or reason.strip():
        return ()
    ask = unit_ask(reading, typed.value, typed.unit)
    return (ask,) if ask else ()
