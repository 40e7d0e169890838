"""How a window was worked out: this lot's own numbers, each with its equation and its source."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from math import floor

from app.language import N_, _, figures
from app.ledger.queries.climate import SAME_DAY, Turn, turns_of
from app.ledger.queries.lot import LotPage
from app.ledger.stock import StockRef, find_stock
from app.ledger.windows import keeping_of, late_end, latest_keeping_of
from app.science.errors import ScienceError
from app.science.history import Stay, Storage
from app.science.keeping import Keeping, Window
from app.science.slow import YEAR_D
from app.science.sources import Evidence, Sourced
from app.science.window import estimate
from app.science.working import Part, Step, how_worked_out
from app.web import scope
from app.web.display import LIMITS, limit_words, state_words, temperature
from app.web.messages import day
from app.web.places.words import turn_words
from app.web.said import said

PARTS: dict[Part, tuple[str, str]] = {
    Part.GATE: (N_("Is it dry enough?"), ""),
    Part.OXYGEN: (N_("The oxygen in the package"), ""),
    Part.OXIDATION: (
        N_("Fat turning rancid"),
        N_(
            "days = time the absorber lasts + the longer of: until enough oxygen is there, "
            "until the food has taken it up"
        ),
    ),
    Part.SLOW_CHANGE: (
        N_("Slow change without oxygen"),
        N_("days = S · fat · temperature · dryness"),
    ),
    Part.MOISTURE: (
        N_("Moisture getting in"),
        N_("days = water it may gain ÷ water that comes in"),
    ),
    Part.COLD: (N_("In the cold, by published tables"), ""),
}
_SYMBOLS = {
    Part.GATE: N_("m0, C and K belong to the food's water curve; a is its water activity."),
    Part.OXYGEN: N_(
        "T is the temperature in kelvin; pressure is that of the air, times what a pump left."
    ),
    Part.OXIDATION: N_(
        "OTR is what the film lets through; g says how uptake slows as oxygen grows "
        "thin; k is the rate at the place's temperature."
    ),
    Part.SLOW_CHANGE: N_(
        "S is the life at 21 °C and a water activity of 0.2; F is the part of fat; "
        "T in °C; δ halves the life."
    ),
    Part.MOISTURE: N_(
        "RH is the humidity of the place, k what the film lets through, A its surface, "
        "p0 the pressure of saturated vapour."
    ),
}
_LONG_D = 100 * YEAR_D
_UNSURE = (Evidence.JUDGEMENT, Evidence.UNCHECKED)
_STORAGES = {
    Storage.FREEZER: N_("freezer"),
    Storage.FRIDGE: N_("refrigerator"),
    Storage.ROOM: N_("room"),
}


@dataclass(frozen=True, slots=True)
class SourceView:
    """One parameter in words; is_unsure: our judgement, or from memory."""

    words: str
    is_unsure: bool


@dataclass(frozen=True, slots=True)
class StepView:
    """One line of the working, in words."""

    name: str
    symbol: str
    value: str
    equation: str
    sources: tuple[SourceView, ...]


@dataclass(frozen=True, slots=True)
class PartView:
    """One part of the argument."""

    title: str
    equation: str
    symbols: str
    steps: tuple[StepView, ...]


@dataclass(frozen=True, slots=True)
class Share:
    """How often a limit ended the window first, among all runs of the model."""

    words: str
    percent: int

    @property
    def said(self) -> str:
        """In words: "62 % of runs"."""
        return (
            _("{percent} % of runs", percent=self.percent)
            if self.percent
            else _("under 1 % of runs")
        )


@dataclass(frozen=True, slots=True)
class StayView:
    """A stretch at one place as the model took it."""

    since: str
    kind: str
    temperature: str
    why: str


@dataclass(frozen=True, slots=True)
class Working:
    """The working of one package or of the loose rest of a lot."""

    state: str
    place: str
    words: str
    dates: tuple[tuple[str, str], ...]
    shares: tuple[Share, ...]
    stays: tuple[StayView, ...]
    parts: tuple[PartView, ...]
    count: int
    unsure: tuple[str, ...]


def worked_out(page: LotPage) -> list[Working]:
    """The working of everything of a lot that is on hand; alike packages share one."""
    found: dict[tuple[object, ...], Working] = {}
    for line in page.lines:
        row = find_stock(scope.reading(), line.ref)
        inputs = keeping_of(scope.reading(), row) if row else None
        if row is None or inputs is None:
            continue
        start, keeping = inputs
        try:
            steps, answer = how_worked_out(keeping), estimate(keeping)
        except ScienceError:
            steps, answer = (), None
        parts = tuple(_parts(steps))
        window = answer if isinstance(answer, Window) else None
        working = Working(
            state=state_words(line),
            place=line.place,
            words=limit_words(line, scope.today()),
            dates=_dates(start, window, latest_keeping_of(scope.reading(), row)),
            shares=_shares(window),
            stays=tuple(_stays(start, keeping, line.ref)),
            parts=parts,
            count=len(_numbers(steps)),
            unsure=_unsure(steps),
        )
        found.setdefault((working.stays, parts), working)
    return list(found.values())


def source_words(number: Sourced) -> str:
    """A parameter's range, where it comes from and how well it is known."""
    low, high = number.span
    spread = figures(f"{number.value:.4g}")
    if low != high:
        spread += _(" ({low:.4g} to {high:.4g})", low=low, high=high)
    evidence = _(number.evidence.value)
    origin = f"{number.source}; {evidence}" if number.source else evidence
    note = f"; {said(number.note)}" if number.note else ""
    return f"{f'{spread} {_(number.unit)}'.strip()}: {origin}{note}"


def _parts(steps: Iterable[Step]) -> Iterable[PartView]:
    for part, (title, equation) in PARTS.items():
        views = tuple(_view(step) for step in steps if step.part is part)
        if views:
            yield PartView(_(title), _(equation), _(_SYMBOLS.get(part, "")), views)


def _dates(
    start: date, window: Window | None, latest: tuple[date, Keeping] | None
) -> tuple[tuple[str, str], ...]:
    if window is None:
        return ()
    if window.is_fixed:
        return ((_("use by, a published limit in days"), _end(start, window.early_days, False)),)
    rows = (
        (_("early: one run in ten has ended"), _end(start, window.early_days, window.early_capped)),
        (_("central: half have ended"), _end(start, window.central_days, window.central_capped)),
        (_("late: nine in ten have ended"), _end(start, window.late_days, window.late_capped)),
    )
    return rows if latest is None else (*rows, *_later(start, window, latest))


def _later(start: date, window: Window, latest: tuple[date, Keeping]) -> Iterable[tuple[str, str]]:
    """The late end where the day it was put there is not known."""
    late = start + timedelta(days=int(window.late_days))
    moved = late_end(late, window, latest)
    if moved > late:
        words = _(
            "{moved}: it may have been put there as late as {latest}",
            moved=day(moved),
            latest=day(latest[0]),
        )
        yield _("late end shown, as the day is not known"), words


def _end(start: date, days: float, is_capped: bool) -> str:
    end = day(start + timedelta(days=int(days)))
    return _("{end} or later; the model looks no further", end=end) if is_capped else end


def _shares(window: Window | None) -> tuple[Share, ...]:
    if window is None or window.is_fixed:
        return ()
    named = [(_(LIMITS[str(limit)]), round(100 * share)) for limit, share in window.shares]
    return tuple(Share(words[:1].upper() + words[1:], percent) for words, percent in named)


def _stays(start: date, keeping: Keeping, ref: StockRef) -> Iterable[StayView]:
    turns = turns_of(scope.reading(), ref, start, keeping.history)
    for stay, turn in zip(keeping.history, turns, strict=True):
        since = start + timedelta(days=floor(stay.start_day + SAME_DAY))
        words = turn_words(turn, since.month)
        yield StayView(day(since), _place(turn, stay.storage), _temperature(stay), words)


def _place(turn: Turn | None, storage: Storage) -> str:
    """Its name, and what kind of place it is where the name does not say so."""
    kind = _(_STORAGES[storage])
    if turn is None:
        return kind
    return turn.place if kind in turn.place.lower() else f"{turn.place} ({kind})"


def _temperature(stay: Stay) -> str:
    low, central, high = (temperature(temp_c) for temp_c in (stay.low_c, stay.temp_c, stay.high_c))
    return (
        central
        if low == high
        else _("{central} ({low} to {high})", central=central, low=low, high=high)
    )


def _numbers(steps: Iterable[Step]) -> set[int]:
    return {id(number) for step in steps for number in step.sources}


def _unsure(steps: Iterable[Step]) -> tuple[str, ...]:
    """The steps that rest on our judgement or on memory."""
    names = (_(s.name) for s in steps if any(n.evidence in _UNSURE for n in s.sources))
    return tuple(dict.fromkeys(names))


def _view(step: Step) -> StepView:
    return StepView(
        name=_(step.name),
        symbol=step.symbol,
        value=_value(step),
        equation=_(step.equation),
        sources=tuple(
            SourceView(source_words(number), number.evidence in _UNSURE) for number in step.sources
        ),
    )


def _value(step: Step) -> str:
    """Three figures and the unit; a number of days also in years, if they are many."""
    if step.unit == "d" and step.value > _LONG_D:
        return _("over 100 years")
    digits = max(0, len(f"{abs(step.value):.0f}") - 3)
    shown = f"{step.value:.3g}" if abs(step.value) < 1000 else f"{round(step.value, -digits):,.0f}"
    years = step.value / YEAR_D
    more = _(" ({years:.0f} years)", years=years) if step.unit == "d" and years >= 2.0 else ""
    return f"{figures(shown)} {_(step.unit)}".strip() + more
