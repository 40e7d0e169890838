"""From the ledger's records to what pages show: words, windows, rows of lists."""

from dataclasses import dataclass, field
from datetime import date, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from app.ledger.codes import spoken
from app.ledger.queries.next_steps import is_stored, next_steps
from app.ledger.queries.stock import StockLine, WindowDates
from app.ledger.words import AdditionKind, LossKind, MeasuredBy, OperationKind, PlaceKind
from app.science.classes import Treatment
from app.units import format_mass, format_mass_pair
from app.web import scope
from app.web.holds.words import held_sentence, mark_words
from app.web.messages import day, told
from app.web.window_drawing import WindowView

LIMITS = {
    "oxygen_inside": "limited by the oxygen sealed in",
    "oxygen_ingress": "limited by oxygen getting in",
    "absorber_spent": "limited by the absorber running out",
    "oxidation_rate": "limited by fat turning in the air around it",
    "slow_change": "limited by slow change that needs no oxygen",
    "moisture_gain": "limited by moisture getting in",
    "air_life": "limited by its keeping time in air",
    "opened": "opened: air and moisture reach it",
    "freezer_quality": "limited by quality in the freezer",
    "refrigerator": "refrigerator limit",
}

NO_WINDOW = {
    "not_dry_enough": "Not shown to be dry enough for the shelf: dry it further, or freeze.",
    "perishable_at_room": "Perishable and warm: into the cold within 2 hours.",
    "refrigerator_too_warm": "The refrigerator is too warm for a date.",
    "too_fat": "Nearly all fat: no estimate. Keep it frozen.",
    "not_covered": "No published time and no model for this.",
    "outside_model": "Outside what the estimate covers.",
    "in_dryer": "In the dryer.",
    None: "No estimate yet.",
}

BEING_RECOMPUTED = "By an older model; it is being worked out anew."

VERBS = {
    OperationKind.INTAKE: "Take in",
    OperationKind.THAW: "Thaw",
    OperationKind.TRIM: "Trim",
    OperationKind.GRIND: "Grind",
    OperationKind.BLEND: "Blend",
    OperationKind.PORTION: "Split off",
    OperationKind.COOK: "Cook",
    OperationKind.CHILL: "Chill",
    OperationKind.SKIM: "Skim",
    OperationKind.DRAIN: "Drain",
    OperationKind.BLANCH: "Blanch",
    OperationKind.LOAD: "Load the dryer",
    OperationKind.UNLOAD: "Unload",
    OperationKind.PACK: "Pack",
    OperationKind.MOVE: "Move",
    OperationKind.OPEN: "Open",
    OperationKind.MEASURE: "Measure",
    OperationKind.EAT: "Eat",
    OperationKind.GIVE: "Give",
    OperationKind.DISCARD: "Discard",
    OperationKind.CORRECT: "Take back",
    OperationKind.HOLD: "Hold",
    OperationKind.RELEASE: "Release",
    OperationKind.INCIDENT: "Something went wrong",
    OperationKind.CHECK: "Look at it",
    OperationKind.CLIMATE: "How warm it is",
    OperationKind.STOCKTAKE: "Take stock",
}

DONE = {
    OperationKind.INTAKE: "Taken in",
    OperationKind.THAW: "Thawed",
    OperationKind.TRIM: "Trimmed",
    OperationKind.GRIND: "Ground",
    OperationKind.BLEND: "Blended",
    OperationKind.PORTION: "Split off",
    OperationKind.COOK: "Cooked",
    OperationKind.CHILL: "Chilled",
    OperationKind.SKIM: "Skimmed",
    OperationKind.DRAIN: "Drained",
    OperationKind.BLANCH: "Blanched",
    OperationKind.LOAD: "Loaded into the dryer",
    OperationKind.UNLOAD: "Unloaded",
    OperationKind.PACK: "Packed",
    OperationKind.MOVE: "Moved",
    OperationKind.OPEN: "Opened",
    OperationKind.MEASURE: "Measured",
    OperationKind.EAT: "Eaten",
    OperationKind.GIVE: "Given",
    OperationKind.DISCARD: "Discarded",
    OperationKind.CORRECT: "Taken back",
    OperationKind.HOLD: "Put on hold",
    OperationKind.RELEASE: "Released",
    OperationKind.INCIDENT: "Went wrong",
    OperationKind.CHECK: "Looked at",
    OperationKind.CLIMATE: "Place, how warm",
    OperationKind.STOCKTAKE: "Stock taken",
}

LOSSES = {
    LossKind.TRIM: "trimmed away",
    LossKind.DRIP: "dripped off",
    LossKind.EVAPORATED: "evaporated",
    LossKind.SKIMMED: "skimmed off",
    LossKind.SPILLED: "spilled",
    LossKind.STUCK: "stuck in the machine",
    LossKind.UNEXPLAINED: "unexplained",
    LossKind.MISSING: "not found in a stocktake",
    LossKind.EATEN: "eaten",
    LossKind.GIVEN: "given away",
    LossKind.DISCARDED: "discarded",
    LossKind.REVERSED: "taken back",
}

ADDITIONS = {
    AdditionKind.INTAKE: "came in",
    AdditionKind.WATER: "water added",
    AdditionKind.SEASONING: "seasoning added",
    AdditionKind.FOUND: "found in a stocktake",
    AdditionKind.REVERSED: "taken back",
}

_TREATMENTS = {
    Treatment.THAWED: "thawed",
    Treatment.GROUND: "ground",
    Treatment.COOKED: "cooked",
    Treatment.CHILLED: "chilled",
    Treatment.BLANCHED: "blanched",
    Treatment.DRIED_AIR: "dried",
    Treatment.DRIED_FREEZE: "freeze-dried",
    Treatment.REHYDRATED: "rehydrated",
}


@dataclass(frozen=True, slots=True)
class Action:
    """The button at the end of a row."""

    label: str
    href: str
    is_post: bool = False
    fields: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class LotRow:
    """One row of a list, as the lot_line macro takes it."""

    code: str
    href: str
    name: str
    state: str
    window: WindowView | None
    words: str
    place: str
    action: Action | None
    hold: str = ""  # why it is not to be eaten, given or mixed: stands in the place of the words


def mass(mass_mg: int) -> str:
    """A mass in the household's units."""
    return format_mass(mass_mg, scope.units())


def mass_pair(mass_mg: int) -> str:
    """A mass in both unit systems, the household's first."""
    return format_mass_pair(mass_mg, scope.units())


def mass_exact(mass_mg: int) -> str:
    """A mass for columns that add up before the reader's eyes."""
    return format_mass(mass_mg, scope.units(), exact=True)


def moment(at: datetime) -> str:
    """An instant on the household's clock: "3 November 2026, 14:05"."""
    known = scope.household()
    local = at.astimezone(ZoneInfo(known.time_zone if known else "UTC"))
    return f"{day(local.date())}, {local:%H:%M}"


def kind_words(kind: str) -> str:
    """An operation as it is spoken of in passing: "put on hold"."""
    words = DONE[OperationKind(kind)]
    return words[:1].lower() + words[1:]


def percent(fraction: float) -> str:
    """A fraction as per cent, with the figures it deserves."""
    value = 100 * fraction
    return f"{value:.1f} %" if value < 10 else f"{value:.0f} %"


@lru_cache(maxsize=512)  # every row of a list says it, and most say the same
def treatment_words(is_raw: bool, treatments: frozenset[Treatment]) -> str:
    """Raw or cooked, and what has been done to keep it: "raw, thawed, ground".

    Once cooked, that it was thawed or ground tells nothing more; once dried, that it was chilled.
    """
    passed = frozenset[Treatment]()
    if Treatment.COOKED in treatments:
        passed |= {Treatment.THAWED, Treatment.GROUND}
    if treatments & {Treatment.DRIED_AIR, Treatment.DRIED_FREEZE}:
        passed |= {Treatment.THAWED, Treatment.CHILLED}
    words = [_TREATMENTS[t] for t in Treatment if t in treatments - passed]
    return ", ".join(["raw", *words] if is_raw else words or ["fresh"])


def state_words(line: StockLine) -> str:
    """What a line is, what it may carry, and how much there is of it."""
    words = [treatment_words(line.is_raw, line.treatments), mark_words(line.marks)]
    return f"{', '.join(word for word in words if word)} · {amount_words(line)}"


def amount_words(line: StockLine) -> str:
    """How much a line is: "3 packages, 1.12 kg"."""
    amount = mass(line.mass_mg)
    if line.package_count > 1:
        return f"{line.package_count} packages, {amount}"
    if line.package_number:
        opened = ", opened" if line.opened_on else ""
        return f"no. {line.package_number} of {line.of_count}{opened}, {amount}"
    return amount


def span_words(early: date, late: date, today: date, *, is_capped: bool = False) -> str:
    """A span of dates, as exact as it deserves: days this month, months this year, then years."""
    if is_capped and (late - today).days > 365 * 3:
        return f"{early.year} to {late.year} or longer"
    if (early - today).days > 365 * 3:
        same = early.year == late.year
        return f"{early.year}" if same else f"{early.year} to {late.year}"
    if (late - early).days > 45:
        return f"{early:%B %Y} to {late:%B %Y}"
    return day(early) if early == late else f"{day(early)} to {day(late)}"


def limit_words(line: StockLine, today: date) -> str:
    """The sentence that matters about a line: until when, and what ends it."""
    if line.window is None:
        words = NO_WINDOW.get(line.limit_word, NO_WINDOW[None])
    else:
        words = window_words(line.window, line.limit_word, today)
    return f"{words} {BEING_RECOMPUTED}" if line.is_outdated else words


@lru_cache(maxsize=4096)  # a list is looked at again and again, and dates are slow to spell
def window_words(window: WindowDates, limit_word: str | None, today: date) -> str:
    """Until when, and what ends it."""
    why = LIMITS.get(limit_word or "", "")
    if window.is_fixed:
        over = "past its use-by" if window.early < today else "use by"
        return f"{why[:1].upper()}{why[1:]}: {over} {day(window.early)}."
    span = span_words(window.early, window.late, today, is_capped=window.is_capped)
    if window.late < today and not window.is_capped:
        return f"Past its best since {day(window.late)}, {why}."
    return f"Best before {span}, {why}."


def window_view(line: StockLine, today: date, words: str = "") -> WindowView | None:
    """The drawing of a line's window; words: its limit_words, if they are at hand."""
    window = line.window
    if window is None:
        return None
    return WindowView(
        start=min(window.start, window.early),
        early=window.early,
        central=window.central,
        late=window.late,
        today=today,
        late_is_capped=window.is_capped,
        sentence=f"{line.name}: {words or limit_words(line, today)}",
    )


def place_words(line: StockLine) -> str:
    """Where it is."""
    return f"{line.place}, {line.packaging}" if line.packaging else line.place


def step_href(kind: OperationKind, line: StockLine) -> str:
    """The page of a step for a line of stock."""
    if kind is OperationKind.UNLOAD:
        return "/bench"
    return f"/write/{kind}?from={line.ref}"


def lot_row(line: StockLine, today: date, action: Action | None = None) -> LotRow:
    """A line of stock as a row of a list, with the verb it needs next."""
    if action is None and line.holds and is_stored(line):
        action = Action("See why", f"/lots/{line.code}")
    elif action is None:
        step = first_step(line, today)
        action = Action(VERBS[step], step_href(step, line))
    words = limit_words(line, today)
    return LotRow(
        code=spoken(line.code),
        href=f"/lots/{line.code}",
        name=line.name,
        state=state_words(line),
        window=window_view(line, today, words),
        words=words,
        place=place_words(line),
        action=action,
        hold=held_sentence(line.holds, line.lot_id),
    )


def first_step(line: StockLine, today: date) -> OperationKind:
    """The verb for a line; what is sealed or keeps well is simply eaten, unless it is held."""
    if line.window is not None and line.window.is_fixed and line.window.late < today:
        return OperationKind.DISCARD
    if line.holds:
        return next_steps(line)[0]
    if line.limit_word == "not_dry_enough" and line.package_count:
        return OperationKind.MOVE  # into the cold, or out of its package and dried further
    step = next_steps(line)[0]
    settled = line.place_kind is PlaceKind.FREEZER and line.window is not None
    if settled and line.window is not None and (line.window.early - today).days > 60:
        return OperationKind.EAT if not line.is_raw else OperationKind.THAW
    return step


def done_words(kind: str) -> str:
    """An operation as something that happened: "Ground"."""
    return DONE[OperationKind(kind)]


def loss_words(kind: str) -> str:
    """Where lost mass went: "stuck in the machine"."""
    return LOSSES[LossKind(kind)]


def told_words(words: str) -> str:
    """A reason as it was typed, or the incident it stands for."""
    return told(words)


def addition_words(kind: str) -> str:
    """Where added mass came from: "water added"."""
    return ADDITIONS[AdditionKind(kind)]


MEASURED_BY = {
    MeasuredBy.METER: "a moisture meter",
    MeasuredBy.OVEN: "drying in the oven to constant weight",
    MeasuredBy.PANEL: "a nutrition panel",
    MeasuredBy.FAT_TEST: "a fat test",
}


def measured_words(by: str) -> str:
    """How a reading was taken: "a fat test"."""
    return MEASURED_BY[MeasuredBy(by)]
