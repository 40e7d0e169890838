"""From a label record to the words of one label, in the household's units."""

from datetime import date

from app.language import N_, _, figures
from app.ledger.codes import spoken
from app.ledger.mass import to_mg
from app.ledger.queries.labels import LabelRecord
from app.ledger.queries.stock import WindowDates
from app.ledger.words import Mark, PlaceKind
from app.science.rehydration import us_cups
from app.units import System, format_mass, format_temperature, format_volume
from app.web.display import treatment_words
from app.web.holds.words import why_words
from app.web.labels.wording import LabelText
from app.web.said import said

_MARKS = {
    Mark.LEAD: N_("may hold lead: not under 6 years, not when pregnant"),
    Mark.PARASITE: N_("parasite risk: heat alone ends it"),
}
YEAR_ALONE_AFTER_DAYS = 548  # 18 months: then the year is exact enough (EU 1169/2011, Annex X)


def label_text(record: LabelRecord, base_url: str, household: str, units: System) -> LabelText:
    """The words of one label; base_url is the address the codes lead to, with its slash."""
    line = record.line
    return LabelText(
        name=line.name,
        is_raw=line.is_raw,
        cook_target=_("cook to {cook_target}", cook_target=said(record.cook_target))
        if record.cook_target
        else None,
        cooked_words="" if line.is_raw else treatment_words(False, line.treatments),
        code=spoken(line.code),
        package_number=line.package_number or 1,
        package_count=line.of_count or 1,
        harvest_words=harvest_words(record.harvest),
        packed_on=record.packed_on.isoformat(),
        window_words=window_words(line.window),
        net_mass_mg=line.mass_mg,
        storage_words=_storage(record, units),
        rehydrate_words=_rehydrate(record, units),
        absorber_words=_absorber(record),
        allergens_words=said(record.allergens),
        may_contain_words=said(record.may_contain),
        url=f"{base_url}L/{line.code}",
        household=household,
        kept_frozen=record.place_kind is PlaceKind.FREEZER,
        hold_words=_hold(record),
        marks_words="; ".join(_(_MARKS[mark]) for mark in Mark if mark in line.marks),
    )


def harvest_words(harvest: tuple[date, date] | None) -> str:
    """When it was harvested, as exactly as it is known."""
    if harvest is None:
        return _("harvest date not known")
    first, last = harvest
    if first == last:
        return _("harvest {day}", day=first.isoformat())
    if (first.month, first.day, last.month, last.day) == (1, 1, 12, 31) and first.year == last.year:
        return _("harvest {day}", day=first.year)
    return _(
        "harvest {isoformat} to {isoformat_2}",
        isoformat=first.isoformat(),
        isoformat_2=last.isoformat(),
    )


def window_words(window: WindowDates | None) -> str:
    """The dates a label carries: what can be relied on first, then how far it may go."""
    if window is None:
        return _("no keeping date: see the ledger")
    if window.is_fixed:
        return _("use by {isoformat}", isoformat=window.early.isoformat())
    if (window.early - window.start).days > YEAR_ALONE_AFTER_DAYS:
        late = (
            _("{year} or longer", year=window.late.year)
            if window.is_capped
            else f"{window.late.year}"
        )
        return _("best before end {year}, estimate to {late}", year=window.early.year, late=late)
    return _(
        "best before {early}, estimate to {late}",
        early=f"{window.early:%Y-%m-%d}",
        late=f"{window.late:%Y-%m-%d}",
    )


def _hold(record: LabelRecord) -> str:
    """Why it is held, the gravest reason first; a label has room for one."""
    holds = sorted(record.line.holds, key=lambda hold: hold.cause.can_be_released)
    if not holds:
        return ""
    return _(
        "do not eat, give or mix: {why_words}", why_words=why_words(holds[0].cause, holds[0].words)
    )


def _storage(record: LabelRecord, units: System) -> str:
    if record.place_kind is PlaceKind.FREEZER:
        return _("keep frozen")
    high = figures(format_temperature(record.temps_c[1], units))
    if record.place_kind is PlaceKind.FRIDGE:
        return _("keep below {high}", high=high)
    return _("keep dry, dark and below {high}", high=high)


def _rehydrate(record: LabelRecord, units: System) -> str:
    if record.soaked_best is not None:
        return _soaked_best(record, units)
    if record.water_to_add_kg is None:
        return ""
    water_kg = record.water_to_add_kg.central
    cups = round(us_cups(water_kg) * 4) / 4
    amount = (
        format_volume(water_kg / 1000, "us")
        if units == "us"
        else format_mass(to_mg(round(water_kg, 2)))
    )
    hot = _("hot water, then cook it") if record.line.is_raw else _("water")
    return _(
        "add about {amount} ({cups} cups) of {hot}",
        amount=figures(amount),
        cups=figures(f"{cups:g}"),
        hot=hot,
    )


def _soaked_best(record: LabelRecord, units: System) -> str:
    """The better line of the newest trial, for this package's weight."""
    if record.soaked_best is None:
        return ""
    trial, side = record.soaked_best
    water_kg = record.line.mass_mg / 1e6 * side.soaking.water_per_dry
    per_100_g = round(100 * side.soaking.water_per_dry)
    hot = figures(format_temperature(side.soaking.temp_c, units))
    then = _(", then cook it") if record.line.is_raw else ""
    amount = figures(format_mass(to_mg(round(water_kg, 3)), units))
    return _(
        "add {amount} of water at {hot}, {hours} min{then} ({per_100_g} g to 100 g, "
        "trial {isoformat})",
        amount=amount,
        hot=hot,
        hours=round(60 * side.soaking.hours),
        then=then,
        per_100_g=per_100_g,
        isoformat=trial.done_on.isoformat(),
    )


def _absorber(record: LabelRecord) -> str:
    if record.absorber_ml is None:
        return ""
    return _(
        "oxygen absorber {absorber_ml:g} cc: remove it, do not eat", absorber_ml=record.absorber_ml
    )
