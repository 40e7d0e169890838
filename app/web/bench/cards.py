"""The cards of the bench: food or a dryer, its clock, and the step it needs next."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from app.language import _, ngettext
from app.ledger.codes import spoken
from app.ledger.models import Lot
from app.ledger.queries.bench import Arrival, RunLine, Stage
from app.ledger.queries.due import weigh_again_at
from app.ledger.queries.stock import StockLine
from app.ledger.runs import TrayState, hours_between
from app.ledger.words import OperationKind
from app.science.dryness import Verdict
from app.science.safety.rule import RuleSet
from app.web import scope
from app.web.bench.clocks import Clock, Target, clock_of, span_words
from app.web.display import (
    VERBS,
    Action,
    limit_words,
    local_hour,
    moment,
    place_words,
    state_words,
    step_href,
)
from app.web.due.words import trays_words
from app.web.holds.words import held_sentence
from app.web.lots.steps import Proposals
from app.web.messages import day
from app.web.runs.words import dryness_words, hours_expected

MOST_OTHER_STEPS = 6
_NEVER = datetime.max.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class TargetView:
    """Something to be reached: what, by when, and how far it is to there."""

    words: str
    when: str
    at: datetime
    span: str
    is_over: bool


@dataclass(frozen=True, slots=True)
class Card:
    """One thing on the bench as the page shows it."""

    id: str
    name: str
    href: str
    code: str
    state: str
    place: str
    is_raw: bool
    hold: str
    since: str
    since_at: datetime | None
    elapsed: str
    targets: list[TargetView]
    words: list[str]
    source: str
    step: Action
    steps: list[Action]


def lot_card(
    line: StockLine, stage: Stage, arrival: Arrival | None, ask: Proposals, here: RuleSet
) -> Card:
    """Food between two steps; here: whose advice counts."""
    clock = clock_of(line, stage, arrival, here, scope.units())
    first, *others = ask.steps(line)
    return Card(
        id=line.code,
        name=line.name,
        href=f"/lots/{line.code}",
        code=spoken(line.code),
        state=state_words(line),
        place=place_words(line),
        is_raw=line.is_raw,
        hold=held_sentence(line.holds, line.lot_id),
        since=_since_words(arrival),
        since_at=arrival.at if arrival else None,
        elapsed=_elapsed(arrival),
        targets=[_target(target) for target in clock.targets],
        words=[words for words in (clock.words, _keeps(line, clock)) if words],
        source=clock.source,
        step=_action(first, line),
        steps=[_action(step, line) for step in others[:MOST_OTHER_STEPS]],
    )


def _keeps(line: StockLine, clock: Clock) -> str:
    """Until when it keeps where it is; a running clock says more than a date."""
    return "" if clock.targets else limit_words(line, scope.today())


def _action(step: OperationKind, line: StockLine) -> Action:
    return Action(_(VERBS[step]), step_href(step, line))


def _since_words(arrival: Arrival | None) -> str:
    if arrival is None:
        return ""
    if arrival.at is None:
        return _("Here since {day}", day=day(arrival.on))
    return _("Here since {moment}", moment=_hour(arrival.at))


def _hour(at: datetime) -> str:
    """An hour of today, or the day with its hour."""
    local_day, hour = local_hour(at)
    return hour if local_day == scope.today() else moment(at)


def _elapsed(arrival: Arrival | None) -> str:
    return span_words(arrival.at, scope.now()) if arrival and arrival.at else ""


def _target(target: Target) -> TargetView:
    now = scope.now()
    over = target.at <= now
    span = span_words(target.at, now) if over else span_words(now, target.at)
    return TargetView(target.words, _hour(target.at), target.at, span, over)


# -- dryers --------------------------------------------------------------------------------------


def run_card(line: RunLine, held: Collection[int]) -> Card:
    """A dryer at work: hours run, when it may end, and what to weigh next."""
    names = ", ".join(dict.fromkeys(state.lot.name for state in line.trays))
    href = f"/runs/{line.run.id}"
    first, *others = _run_steps(line, href)
    return Card(
        id=f"run-{line.run.id}",
        name=line.place.name,
        href=href,
        code="",
        state=names,
        place=_trays(len(line.trays)),
        is_raw=any(state.lot.is_raw for state in line.trays),
        hold=_("Food on hold is in it.") if _is_held(line, held) else "",
        since=_("Running since {moment}", moment=_hour(line.started_at)),
        since_at=line.started_at,
        elapsed=span_words(line.started_at, scope.now()),
        targets=[_target(target) for target in _next_weighings(line)],
        words=[words for words in (_due_words(line), _dryness(line), _expected(line)) if words],
        source="",
        step=first,
        steps=others,
    )


def _trays(number: int) -> str:
    return ngettext("{number} tray", "{number} trays", number)


def _is_held(line: RunLine, held: Collection[int]) -> bool:
    return any(state.lot.id in held for state in line.trays)


def _due_words(line: RunLine) -> str:
    """Which trays are to be weighed again now; "" for none."""
    times = [(state.tray.number, weigh_again_at(state)) for state in line.trays]
    numbers = [number for number, at in times if at is not None and at <= scope.now()]
    return _("Weigh {trays_words} again now.", trays_words=trays_words(numbers)) if numbers else ""


def _dryness(line: RunLine) -> str:
    judged = [state.dryness for state in line.trays if state.dryness is not None]
    if not judged:
        return _("Not weighed back yet.")
    wettest = max(judged, key=lambda dryness: dryness.residual_water.central)
    return ": ".join(dryness_words(wettest))


def _expected(line: RunLine) -> str:
    """Between which hours the load may be dry; an estimate, and said as one."""
    loaded: dict[int, tuple[Lot, int]] = {}
    for state in line.trays:
        net_mg = state.tray.gross_mg - state.tray.tare_mg
        loaded[state.lot.id] = (state.lot, loaded.get(state.lot.id, (state.lot, 0))[1] + net_mg)
    hours = hours_expected(list(loaded.values()), line.place)
    if hours is None:
        return ""
    if hours_between(line.started_at, scope.now()) > hours.high:
        return _(
            "It runs longer than the estimate of {low:.0f} to {high:.0f} hours: weigh rather than "
            "wait.",
            low=hours.low,
            high=hours.high,
        )
    early, late = (line.started_at + timedelta(hours=round(h)) for h in (hours.low, hours.high))
    return _(
        "Dry between {early} and {late}, by estimate; machines differ, so weigh rather than wait.",
        early=_hour(early),
        late=_hour(late),
    )


def _next_weighings(line: RunLine) -> list[Target]:
    """The next weighing that will tell something, of the tray that is due first."""
    times = [(at, state) for state in line.trays if (at := weigh_again_at(state)) is not None]
    if not times:
        return []
    at, state = min(times, key=lambda pair: (pair[0], pair[1].tray.number))
    return [Target(_("weigh tray {number} again", number=state.tray.number), at)]


def _run_steps(line: RunLine, href: str) -> list[Action]:
    """Weigh the tray that is due first, or unload once every tray is dry."""
    unload = Action(_(VERBS[OperationKind.UNLOAD]), f"{href}#unload-title")
    wet = [state for state in line.trays if not _is_dry(state)]
    if not wet:
        return [unload]
    state = min(wet, key=_urgency)
    number = state.tray.number
    weigh = Action(_("Weigh tray {number}", number=number), f"{href}?tray={number}")
    return [weigh, unload]


def _is_dry(state: TrayState) -> bool:
    return state.dryness is not None and state.dryness.verdict is Verdict.DRY


def _urgency(state: TrayState) -> tuple[bool, datetime, int]:
    """Trays with a time to be weighed again come first, by that time; then by their numbers."""
    at = weigh_again_at(state)
    return at is None, at or _NEVER, state.tray.number
