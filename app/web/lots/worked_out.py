"""How a window was worked out: this lot's own numbers, each with its equation and its source."""

from dataclasses import dataclass

from app.ledger.queries.lot import LotPage
from app.ledger.stock import find_stock
from app.ledger.windows import keeping_of
from app.science.errors import ScienceError
from app.science.sources import Sourced
from app.science.working import Step, how_worked_out
from app.web import scope
from app.web.display import limit_words, state_words


@dataclass(frozen=True, slots=True)
class StepView:
    """One line of the working, in words."""

    name: str
    symbol: str
    value: str
    equation: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Working:
    """The working of one package or of the loose rest of a lot."""

    state: str
    place: str
    words: str
    steps: tuple[StepView, ...]


def worked_out(page: LotPage) -> list[Working]:
    """The working of everything of a lot that is on hand; alike packages share one."""
    found: dict[tuple[StepView, ...], Working] = {}
    for line in page.lines:
        row = find_stock(scope.reading(), line.ref)
        inputs = keeping_of(scope.reading(), row) if row else None
        if inputs is None:
            continue
        try:
            steps = tuple(_view(step) for step in how_worked_out(inputs[1]))
        except ScienceError:
            steps = ()
        words = limit_words(line, scope.today())
        found.setdefault(steps, Working(state_words(line), line.place, words, steps))
    return list(found.values())


def source_words(number: Sourced) -> str:
    """A parameter's range, where it comes from and how well it is known."""
    low, high = number.span
    spread = f"{number.value:g}" if low == high else f"{number.value:g} ({low:g} to {high:g})"
    origin = f"{number.source}; {number.evidence}" if number.source else str(number.evidence)
    note = f"; {number.note}" if number.note else ""
    return f"{spread} {number.unit}: {origin}{note}"


def _view(step: Step) -> StepView:
    return StepView(
        name=step.name,
        symbol=step.symbol,
        value=f"{step.value:.3g} {step.unit}".strip(),
        equation=step.equation,
        sources=tuple(source_words(number) for number in step.sources),
    )
