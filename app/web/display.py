"""From the ledger's records to what pages show: words, windows, rows of lists."""

import re
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import NamedTuple
from zoneinfo import ZoneInfo

from app.language import N_, _, cached_by_language, figures, month_words, ngettext
from app.ledger.codes import spoken
from app.ledger.queries.next_steps import is_stored, next_steps
from app.ledger.queries.stock import StockLine, WindowDates
from app.ledger.words import AdditionKind, LossKind, Mark, MeasuredBy, OperationKind, PlaceKind
from app.science.classes import DRIED, Treatment
from app.units import format_mass, format_mass_pair, format_temperature
from app.web import scope
from app.web.holds.words import held_sentence, mark_words
from app.web.messages import day, told
from app.web.window_drawing import WindowView

LIMITS = {
    "oxygen_inside": N_("limited by the oxygen sealed in"),
    "oxygen_ingress": N_("limited by oxygen getting in"),
    "absorber_spent": N_("limited by the absorber running out"),
    "oxidation_rate": N_("limited by fat turning in the air around it"),
    "slow_change": N_("limited by slow change that needs no oxygen"),
    "moisture_gain": N_("limited by moisture getting in"),
    "air_life": N_("limited by its keeping time in air"),
    "opened": N_("opened: air and moisture reach it"),
    "freezer_quality": N_("limited by quality in the freezer"),
    "refrigerator": N_("refrigerator limit"),
}

NO_WINDOW = {
    "not_dry_enough": N_("Not shown to be dry enough for the shelf: dry it further, or freeze."),
    "perishable_at_room": N_("Perishable and warm: into the cold within 2 hours."),
    "refrigerator_too_warm": N_("The refrigerator is too warm for a date."),
    "too_fat": N_("Nearly all fat: no estimate. Keep it frozen."),
    "not_covered": N_("No published time and no model for this."),
    "outside_model": N_("Outside what the estimate covers."),
    "in_dryer": N_("In the dryer."),
    None: N_("No estimate yet."),
}

BEING_RECOMPUTED = N_("By an older model; it is being worked out anew.")

VERBS = {
    OperationKind.INTAKE: N_("Take in"),
    OperationKind.THAW: N_("Thaw"),
    OperationKind.TRIM: N_("Trim"),
    OperationKind.GRIND: N_("Grind"),
    OperationKind.BLEND: N_("Blend"),
    OperationKind.PORTION: N_("Split off"),
    OperationKind.COOK: N_("Cook"),
    OperationKind.CHILL: N_("Chill"),
    OperationKind.SKIM: N_("Skim"),
    OperationKind.DRAIN: N_("Drain"),
    OperationKind.BLANCH: N_("Blanch"),
    OperationKind.LOAD: N_("Load the dryer"),
    OperationKind.UNLOAD: N_("Unload"),
    OperationKind.PACK: N_("Pack"),
    OperationKind.MOVE: N_("Move"),
    OperationKind.OPEN: N_("Open"),
    OperationKind.MEASURE: N_("Measure"),
    OperationKind.EAT: N_("Eat"),
    OperationKind.GIVE: N_("Give"),
    OperationKind.DISCARD: N_("Discard"),
    OperationKind.CORRECT: N_("Take back"),
    OperationKind.HOLD: N_("Hold"),
    OperationKind.RELEASE: N_("Release"),
    OperationKind.INCIDENT: N_("Something went wrong"),
    OperationKind.CHECK: N_("Look at it"),
    OperationKind.CLIMATE: N_("How warm it is"),
    OperationKind.STOCKTAKE: N_("Take stock"),
}

DONE = {
    OperationKind.INTAKE: N_("Taken in"),
    OperationKind.THAW: N_("Thawed"),
    OperationKind.TRIM: N_("Trimmed"),
    OperationKind.GRIND: N_("Ground"),
    OperationKind.BLEND: N_("Blended"),
    OperationKind.PORTION: N_("Split off"),
    OperationKind.COOK: N_("Cooked"),
    OperationKind.CHILL: N_("Chilled"),
    OperationKind.SKIM: N_("Skimmed"),
    OperationKind.DRAIN: N_("Drained"),
    OperationKind.BLANCH: N_("Blanched"),
    OperationKind.LOAD: N_("Loaded into the dryer"),
    OperationKind.UNLOAD: N_("Unloaded"),
    OperationKind.PACK: N_("Packed"),
    OperationKind.MOVE: N_("Moved"),
    OperationKind.OPEN: N_("Opened"),
    OperationKind.MEASURE: N_("Measured"),
    OperationKind.EAT: N_("Eaten"),
    OperationKind.GIVE: N_("Given"),
    OperationKind.DISCARD: N_("Discarded"),
    OperationKind.CORRECT: N_("Taken back"),
    OperationKind.HOLD: N_("Put on hold"),
    OperationKind.RELEASE: N_("Released"),
    OperationKind.INCIDENT: N_("Went wrong"),
    OperationKind.CHECK: N_("Looked at"),
    OperationKind.CLIMATE: N_("Place, how warm"),
    OperationKind.STOCKTAKE: N_("Stock taken"),
}

LOSSES = {
    LossKind.TRIM: N_("trimmed away"),
    LossKind.DRIP: N_("dripped off"),
    LossKind.EVAPORATED: N_("evaporated"),
    LossKind.SKIMMED: N_("skimmed off"),
    LossKind.SPILLED: N_("spilled"),
    LossKind.STUCK: N_("stuck in the machine"),
    LossKind.UNEXPLAINED: N_("unexplained"),
    LossKind.MISSING: N_("not found in a stocktake"),
    LossKind.EATEN: N_("eaten"),
    LossKind.GIVEN: N_("given away"),
    LossKind.DISCARDED: N_("discarded"),
    LossKind.REVERSED: N_("taken back"),
}

ADDITIONS = {
    AdditionKind.INTAKE: N_("came in"),
    AdditionKind.WATER: N_("water added"),
    AdditionKind.SEASONING: N_("seasoning added"),
    AdditionKind.FOUND: N_("found in a stocktake"),
    AdditionKind.REVERSED: N_("taken back"),
}

_TREATMENTS = {
    Treatment.THAWED: N_("thawed"),
    Treatment.GROUND: N_("ground"),
    Treatment.COOKED: N_("cooked"),
    Treatment.CHILLED: N_("chilled"),
    Treatment.BLANCHED: N_("blanched"),
    Treatment.DRIED_AIR: N_("dried"),
    Treatment.DRIED_FREEZE: N_("freeze-dried"),
    Treatment.REHYDRATED: N_("rehydrated"),
}


_UNIT_AFTER = re.compile(r"(?<=\d) (?=(?:g|kg|oz|lb)\b)")


@dataclass(frozen=True, slots=True)
class Action:
    """The button at the end of a row."""

    label: str
    href: str
    is_post: bool = False
    fields: dict[str, str] = field(default_factory=dict)


class LotRow(NamedTuple):
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
    return figures(format_mass(mass_mg, scope.units()))


def mass_pair(mass_mg: int) -> str:
    """A mass in both unit systems, the household's first."""
    return figures(format_mass_pair(mass_mg, scope.units()))


def mass_exact(mass_mg: int) -> str:
    """A mass for columns that add up before the reader's eyes."""
    return figures(format_mass(mass_mg, scope.units(), exact=True))


def temperature(temp_c: float) -> str:
    """A temperature in the household's unit."""
    return figures(format_temperature(temp_c, scope.units()))


def moment(at: datetime) -> str:
    """An instant on the household's clock: "3 November 2026, 14:05"."""
    local_day, hour = local_hour(at)
    return f"{day(local_day)}, {hour}"


def local_hour(at: datetime) -> tuple[date, str]:
    """The household's day and hour of an instant: 3 November 2026 and "14:05"."""
    known = scope.household()
    local = at.astimezone(ZoneInfo(known.time_zone if known else "UTC"))
    return local.date(), f"{local:%H:%M}"


def kind_words(kind: str) -> str:
    """An operation as it is spoken of in passing: "put on hold"."""
    words = _(DONE[OperationKind(kind)])
    return words[:1].lower() + words[1:]


def package_words(package: tuple[int, int]) -> str:
    """A package by its number: "2 of 5"."""
    number, count = package
    return _("{number} of {count}", number=number, count=count)


def percent(fraction: float) -> str:
    """A fraction as per cent, with the figures it deserves."""
    value = 100 * fraction
    return figures(f"{value:.1f} %") if value < 10 else f"{value:.0f} %"


def treatment_words(is_raw: bool, treatments: frozenset[Treatment]) -> str:
    """Raw or cooked, and what has been done to keep it: "raw, thawed, ground".

    Once cooked, that it was thawed or ground tells nothing more; once dried, that it was chilled.
    """
    passed = frozenset[Treatment]()
    if Treatment.COOKED in treatments:
        passed |= {Treatment.THAWED, Treatment.GROUND}
    if treatments & DRIED:
        passed |= {Treatment.THAWED, Treatment.CHILLED}
    words = [_(_TREATMENTS[t]) for t in Treatment if t in treatments - passed]
    return ", ".join([_("raw"), *words] if is_raw else words or [_("fresh")])


def state_words(line: StockLine) -> str:
    """What a line is, what it may carry, and how much there is of it."""
    return f"{_sort_words(line.is_raw, line.treatments, line.marks)} · {amount_words(line)}"


@cached_by_language(512)  # every row of a list says it, and most say the same
def _sort_words(is_raw: bool, treatments: frozenset[Treatment], marks: frozenset[Mark]) -> str:
    words = [treatment_words(is_raw, treatments), mark_words(marks)]
    return ", ".join(word for word in words if word)


def amount_words(line: StockLine) -> str:
    """How much a line is: "3 packages, 1.12 kg"."""
    amount = mass(line.mass_mg)
    if line.package_count > 1:
        return ngettext(
            "{number} package, {amount}",
            "{number} packages, {amount}",
            line.package_count,
            amount=amount,
        )
    if line.package_number:
        words = (
            _("no. {number} of {count}, opened, {amount}")
            if line.opened_on
            else _("no. {number} of {count}, {amount}")
        )
        return words.format(number=line.package_number, count=line.of_count, amount=amount)
    return amount


def span_words(early: date, late: date, today: date, *, is_capped: bool = False) -> str:
    """A span of dates, as exact as it deserves: days this month, months this year, then years."""
    if is_capped and (late - today).days > 365 * 3:
        return _("{early} to {late} or longer", early=early.year, late=late.year)
    if (early - today).days > 365 * 3:
        return f"{early.year}" if early.year == late.year else _span(early.year, late.year)
    if (late - early).days > 45:
        return _span(month_words(early), month_words(late))
    return day(early) if early == late else _span(day(early), day(late))


def _span(early: object, late: object) -> str:
    return _("{early} to {late}", early=early, late=late)


def limit_words(line: StockLine, today: date) -> str:
    """The sentence that matters about a line: until when, and what ends it."""
    if line.window is None:
        words = _(NO_WINDOW.get(line.limit_word, NO_WINDOW[None]))
    else:
        words = window_words(line.window, line.limit_word, today)
    return f"{words} {_(BEING_RECOMPUTED)}" if line.is_outdated else words


@cached_by_language(4096)  # a list is looked at again and again, and dates are slow to spell
def window_words(window: WindowDates, limit_word: str | None, today: date) -> str:
    """Until when, and what ends it."""
    why = _(LIMITS.get(limit_word or "", ""))
    if window.is_fixed:
        begin = f"{why[:1].upper()}{why[1:]}"
        if window.early < today:
            return _("{limit}: past its use-by {day}.", limit=begin, day=day(window.early))
        return _("{limit}: use by {day}.", limit=begin, day=day(window.early))
    span = span_words(window.early, window.late, today, is_capped=window.is_capped)
    if window.late < today and not window.is_capped:
        return _("Past its best since {late}, {why}.", late=day(window.late), why=why)
    return _("Best before {span}, {why}.", span=span, why=why)


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
        action = Action(_("See why"), f"/lots/{line.code}")
    elif action is None:
        step = first_step(line, today)
        action = Action(_(VERBS[step]), step_href(step, line))
    words = limit_words(line, today)
    return LotRow(
        code=spoken(line.code),
        href=f"/lots/{line.code}",
        name=line.name,
        state=_unbroken(state_words(line)),
        window=window_view(line, today, words),
        words=words,
        place=place_words(line),
        action=action,
        hold=held_sentence(line.holds, line.lot_id),
    )


def _unbroken(words: str) -> str:
    """A number stays on one line with its unit, however narrow the column is."""
    return _UNIT_AFTER.sub("\N{NO-BREAK SPACE}", words)


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
    return _(DONE[OperationKind(kind)])


def loss_words(kind: str) -> str:
    """Where lost mass went: "stuck in the machine"."""
    return _(LOSSES[LossKind(kind)])


def told_words(words: str) -> str:
    """A reason as it was typed, or the incident it stands for."""
    return told(words)


def addition_words(kind: str) -> str:
    """Where added mass came from: "water added"."""
    return _(ADDITIONS[AdditionKind(kind)])


MEASURED_BY = {
    MeasuredBy.METER: N_("a moisture meter"),
    MeasuredBy.OVEN: N_("drying in the oven to constant weight"),
    MeasuredBy.PANEL: N_("a nutrition panel"),
    MeasuredBy.FAT_TEST: N_("a fat test"),
}


def measured_words(by: str) -> str:
    """How a reading was taken: "a fat test"."""
    return _(MEASURED_BY[MeasuredBy(by)])
