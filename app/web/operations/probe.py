"""What a probe wrote down, pasted: pairs of minutes and temperature, or rows of a logger's file."""

from dataclasses import dataclass
from math import isfinite
from typing import Any

from wtforms.widgets import TextArea

from app.language import _
from app.ledger.loggers.cells import is_error_word
from app.units import UnitProblem, parse_temperature
from app.web import scope
from app.web.fields import _TypedField

MOST_ROWS = 720  # six hours, twice a minute


@dataclass(frozen=True, slots=True)
class ProbeReading:
    """Minutes since the first reading, and the temperature as typed; None where it failed."""

    minutes: float
    value: float | None
    unit: str
    temp_c: float | None
    typed: str


class ProbeField(_TypedField):
    """A pasted history of temperatures; data is a tuple of readings, in the order given."""

    widget = TextArea()
    data: Any

    def parse(self, text: str) -> tuple[ProbeReading, ...]:
        """Pairs if every line is one, else a table with times of day."""
        lines = [line.strip() for line in text.splitlines() if line.strip()]
        if len(lines) > MOST_ROWS:
            raise ValueError(_("At most {most:,} rows.", most=MOST_ROWS))
        try:
            return tuple(_pair(line) for line in lines)
        except (ValueError, UnitProblem) as fault:
            from app.web.operations.logged import of_table  # only when somebody pastes a file

            return of_table(text, fault)


def _pair(line: str) -> ProbeReading:
    """One line: "12 63.5", "12; 145 °F", "12, ---"."""
    minutes, typed = _halves(line)
    at = float(minutes.replace(",", ".").removesuffix("min").strip())
    if not (isfinite(at) and at >= 0.0):
        raise ValueError(_("“{line}”: minutes count from the first reading.", line=line))
    if is_error_word(typed):
        return ProbeReading(at, None, "C", None, typed)
    read_as = parse_temperature(typed, "C" if scope.units() == "metric" else "F")
    return ProbeReading(at, read_as.value, read_as.unit, read_as.temp_c, typed)


def _halves(line: str) -> tuple[str, str]:
    for mark in ("\t", ";"):
        if mark in line:
            first, _, rest = line.partition(mark)
            return first.strip(), rest.strip()
    first, _, rest = line.replace(", ", " ").partition(" ")
    return (first, rest.strip()) if rest else tuple(line.split(",", 1))  # type: ignore[return-value]
