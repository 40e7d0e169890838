"""Rows of the package comparison, in words."""

from dataclasses import dataclass
from datetime import date, timedelta

from app.language import _, figures, from_to, ngettext
from app.ledger.queries.packages import PackageOption
from app.science.window import NoWindow, Window
from app.web.display import LIMITS, NO_WINDOW
from app.web.window_drawing import WindowView

YEAR_DAYS, MONTH_DAYS = 365.25, 30.44


@dataclass(frozen=True, slots=True)
class OptionRow:
    """One package compared, as the package_line macro takes it."""

    name: str
    note: str
    window: WindowView | None
    life: str
    why: str
    is_chosen: bool
    href: str


def option_row(option: PackageOption, today: date, is_chosen: bool, href: str) -> OptionRow:
    """A package option in words, with its window drawn from the packing day."""
    life, why = _answer_words(option)
    return OptionRow(
        name=option.packaging.name,
        note=_note(option),
        window=_view(option.answer, today, life) if isinstance(option.answer, Window) else None,
        life=life,
        why=why,
        is_chosen=is_chosen,
        href=href if option.answer is not None else "",
    )


def life_words(days: float, *, is_capped: bool = False) -> str:
    """A length of time as exact as it deserves: days, weeks, months, half years, years."""
    if is_capped:
        return _("25 years or longer")
    if days < 14:
        return ngettext("{number} day", "{number} days", max(1, round(days)))
    if days < 60:
        return ngettext("{number} week", "{number} weeks", round(days / 7))
    if days < 24 * MONTH_DAYS:
        return ngettext("{number} month", "{number} months", round(days / MONTH_DAYS))
    years = days / YEAR_DAYS
    number = f"{round(2 * years) / 2:g}" if years < 10 else f"{round(years)}"
    return _("{number} years", number=figures(number))


def span_words(window: Window) -> str:
    """Early to late end: "5.5 to 25 years"."""
    early = life_words(window.early_days)
    late = life_words(window.late_days, is_capped=window.late_capped)
    if early == late:
        return early
    number, _space, unit = early.partition(" ")
    same = late.partition(" ")[2].startswith(unit.removesuffix("s"))
    return from_to(number if same else early, late)


def _note(option: PackageOption) -> str:
    if option.absorber is not None:
        return option.absorber.name
    return _("pumped down, no absorber") if option.is_pumped_down else _("no absorber")


def _answer_words(option: PackageOption) -> tuple[str, str]:
    answer = option.answer
    if answer is None:
        too_small = (
            _("One of these is too small for this lot.")
            if option.count == 1
            else _("{count} of these are too few or too small for this lot.", count=option.count)
        )
        return _("Does not fit"), too_small
    if isinstance(answer, NoWindow):
        return _("No date"), _(NO_WINDOW.get(str(answer.reason), NO_WINDOW[None]))
    limit = _(LIMITS[str(answer.limit)])
    why = f"{limit[:1].upper()}{limit[1:]}" + _(
        " ({limit_share} % of runs).", limit_share=round(100 * answer.limit_share)
    )
    return span_words(answer), " ".join([why, *_oxygen_words(option)])


def _oxygen_words(option: PackageOption) -> list[str]:
    """What absorber it takes; moist food gets no such advice, an absorber there can do harm."""
    if option.keeping is None or not option.keeping.is_dried:
        return []
    needed, inside = option.absorber_needed_ml, option.oxygen_inside_ml
    if needed is None or inside is None:
        return []
    size = _("{low:.0f} to {high:.0f} cc", low=round(needed.low, -1), high=round(needed.high, -1))
    if option.absorber is None:
        return [
            _(
                "Oxygen inside: about {inside:.0f} cc; an absorber of {size} would take it.",
                inside=inside,
                size=size,
            )
        ]
    if not option.absorber_is_enough:
        return [_("This absorber is too small: {size} are needed.", size=size)]
    return [_("Needs {size}.", size=size)]


def _view(window: Window, today: date, life: str) -> WindowView:
    early, central, late = (
        today + timedelta(days=int(days))
        for days in (window.early_days, window.central_days, window.late_days)
    )
    return WindowView(today, early, central, late, today, window.late_capped, life)
