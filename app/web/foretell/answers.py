"""What a prediction says: rows of low, central and high, where they come from, what is weak."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import isinf

from app.language import _, figures, from_to
from app.ledger.mass import to_mg
from app.science.errors import Impossible, NotCovered, OutOfRange, ScienceError
from app.science.ranges import Range
from app.science.sources import Source, Sourced
from app.units import format_mass_pair, format_temperature
from app.web import scope
from app.web.papers.numbers import unit_words
from app.web.said import said

INCH_M = 0.0254


@dataclass(frozen=True, slots=True)
class Row:
    """One predicted quantity in words."""

    what: str
    central: str
    span: str = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """A whole prediction."""

    said: str
    rows: tuple[Row, ...]
    weak: tuple[str, ...]
    sources: tuple[str, ...]


def ranged(what: str, values: Range, show: Callable[[float], str]) -> Row:
    """A range as a row: its central value, and low to high."""
    low, central, high = (show(value) for value in (values.low, values.central, values.high))
    return Row(what, central, "" if low == high else from_to(low, high))


def hours(value: float) -> str:
    """A time: minutes up to an hour and a half, days from three on."""
    if isinf(value):
        return _("never")
    if value < 1.5:
        return f"{round(60 * value)} min"
    if value < 72.0:
        return figures(f"{value:.1f} h") if value < 10.0 else f"{value:.0f} h"
    return _("{days} days", days=figures(f"{value / 24:.1f}"))


def kilograms(value: float) -> str:
    """A mass, the household's unit first and the other behind it."""
    return figures(format_mass_pair(to_mg(max(value, 0.0)), scope.units()))


def length(value_m: float) -> str:
    """A depth in millimetres and inches."""
    return _(
        "{value_m:.0f} mm ({value_m_2:.1f} in)", value_m=1000 * value_m, value_m_2=value_m / INCH_M
    )


def degrees(temp_c: float) -> str:
    """A temperature in both units."""
    return figures(f"{format_temperature(temp_c)} ({format_temperature(temp_c, 'us')})")


def cited(*numbers: Sourced | Source | str) -> tuple[str, ...]:
    """Where numbers come from and how well they are known, each once."""
    return tuple(dict.fromkeys(_citation(number) for number in numbers))


def _citation(number: Sourced | Source | str) -> str:
    if not isinstance(number, Sourced):
        return str(number)
    low, high = number.span
    span = (
        figures(f"{number.value:.4g}")
        if low == high
        else _("{value:.4g} ({low:.4g} to {high:.4g})", value=number.value, low=low, high=high)
    )
    evidence = _(number.evidence.value)
    known = f"{number.source}; {evidence}" if number.source else evidence
    note = f", {said(number.note)}" if number.note else ""
    return f"{f'{span} {unit_words(number.unit)}'.strip()}{note}: {known}"


def refusal(error: ScienceError) -> str:
    """Why the science gives no answer."""
    if isinstance(error, OutOfRange):
        name = error.name.replace("_", " ")
        ends: Iterable[tuple[str, float | None]] = (("from", error.low), ("to", error.high))
        limits = " ".join(f"{word} {end:g}" for word, end in ends if end is not None)
        return (
            _(
                "Outside what the model covers: {name} {limits} {unit}",
                name=name,
                limits=limits,
                unit=error.unit,
            ).strip()
            + "."
        )
    if isinstance(error, Impossible):
        return _("There is no answer: {reason}.", reason=error.reason)
    if isinstance(error, NotCovered):
        return _("Not covered here: {subject}.", subject=error.subject)
    return _("There is no answer for these numbers.")
