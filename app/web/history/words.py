"""What an operation was about that moved no mass, in words with links to its lots."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from app.language import N_, _, from_to, ngettext
from app.ledger.codes import spoken
from app.ledger.queries.about import (
    CheckTold,
    ClimateTold,
    FateTold,
    FileTold,
    HoldTold,
    IncidentTold,
    ReadTold,
)
from app.ledger.queries.history import OperationLine
from app.ledger.words import CheckKind, ClimateBasis, Finding, IncidentFate
from app.web.display import moment, package_words, temperature
from app.web.holds.words import RELEASE_CAUSES, why_words
from app.web.messages import INCIDENTS, day
from app.web.went_wrong.words import hours_words

FRIDGE_C = 4.4  # 40 °F, the limit that the hours of an incident are counted from
FATES = {
    IncidentFate.REFREEZE: N_("refrozen"),
    IncidentFate.KEEP: N_("kept"),
    IncidentFate.LOOK: N_("on hold until somebody has looked"),
    IncidentFate.USE_NOW: N_("to be used at once"),
    IncidentFate.OPENED: N_("counts as opened"),
    IncidentFate.WORN: N_("past its best"),
    IncidentFate.DISCARD: N_("discarded"),
}
_LOOKS = {
    CheckKind.SEAL: N_("Absorber and seal"),
    CheckKind.THERMOMETER: N_("Thermometer"),
    CheckKind.LOOK: N_("Looked through"),
}
_FINDINGS = {Finding.FINE: N_("all well"), Finding.NOT_FINE: N_("not well")}
_BASES = {ClimateBasis.STATED: N_("as told"), ClimateBasis.LOGGED: N_("as logged")}


@dataclass(frozen=True, slots=True)
class AboutLine:
    """One line: words, a lot with its code if there is one, and what is said of it."""

    words: str
    code: str = ""
    name: str = ""
    more: str = ""


def about_lines(op: OperationLine, code: str = "") -> list[AboutLine]:
    """What an operation was about, as lines.

    Args:
        op: the operation. code: of the lot whose page this is; of an incident with many lots only
            that one is told, and holds on others are said to have reached it.
    """
    found = op.about
    lines = [_hold(held, code) for held in found.holds]
    if found.incident is not None:
        lines += _incident(found.incident, code)
    if found.check is not None:
        lines.append(_check(found.check))
    lines += [AboutLine(_climate(told)) for told in found.climates]
    if found.file is not None:
        lines.append(AboutLine(_file(found.file)))
    return lines + [AboutLine(_read(told)) for told in found.read]


def incident_words(incident: IncidentTold) -> str:
    """What went wrong, where, from when to when, how warm it became."""
    words = _(INCIDENTS[incident.kind])
    parts = [f"{incident.place}: {words}" if incident.place else words[:1].upper() + words[1:]]
    if incident.from_at and incident.to_at:
        parts.append(_span(incident.from_at, incident.to_at))
    if incident.warm_hours is not None:
        parts.append(_warm(incident.warm_hours))
    if incident.temp_c is not None:
        parts.append(_("{degrees} at most", degrees=temperature(incident.temp_c)))
    return ", ".join(parts)


def fate_words(fate: FateTold) -> str:
    """What became of one lot or package, and what was seen of it."""
    words = _(FATES[fate.fate])
    if fate.since is not None:
        words = _("{words} since {day}", words=words, day=day(fate.since))
    seen = {True: [_("still icy")], False: [_("no ice left")], None: []}[fate.is_icy]
    if fate.warm_hours is not None:
        seen.append(_warm(fate.warm_hours))
    if fate.temp_c is not None:
        seen.append(_("{degrees} at most", degrees=temperature(fate.temp_c)))
    return f"{words} ({', '.join(seen)})" if seen else words


def _hold(held: HoldTold, code: str) -> AboutLine:
    why = why_words(held.cause, held.words)
    reached = _(", which went into this lot") if code and held.code != code else ""
    if held.lifted is None:
        return AboutLine(_("Held: "), held.code, _named(held), f"{reached}: {why}.")
    lifted = _(RELEASE_CAUSES[held.lifted])
    return AboutLine(
        _("Free again: "),
        held.code,
        _named(held),
        _("{reached}: {lifted}. Held: {why}.", reached=reached, lifted=lifted, why=why),
    )


def _incident(incident: IncidentTold, code: str) -> Iterator[AboutLine]:
    yield AboutLine(f"{incident_words(incident)}.")
    for fate in incident.fates:
        if code in ("", fate.code):
            number = (
                _(", no. {package}", package=package_words(fate.package)) if fate.package else ""
            )
            yield AboutLine("", fate.code, _named(fate), f"{number}: {fate_words(fate)}.")


def _check(check: CheckTold) -> AboutLine:
    words, finding = _(_LOOKS[check.kind]), _(_FINDINGS[check.finding])
    if not check.code:
        return AboutLine(f"{words}, {check.place}: {finding}.")
    return AboutLine(
        f"{words}: ", check.code, f"{check.name}, {spoken(check.code)}", f": {finding}."
    )


def _climate(told: ClimateTold) -> str:
    low, high = temperature(told.temp_low_c), temperature(told.temp_high_c)
    season = _(", month by month") if told.is_by_month else ""
    return _(
        "{place}, from {moment} on: {low} to {high}, usually {degrees}{season}; "
        "humidity {relative_humidity} %; {bases}.",
        place=told.place,
        moment=moment(told.since),
        low=low,
        high=high,
        degrees=temperature(told.temp_c),
        season=season,
        relative_humidity=round(100 * told.relative_humidity),
        bases=_(_BASES[told.basis]),
    )


def _file(file: FileTold) -> str:
    gaps = ngettext("{number} gap", "{number} gaps", file.gap_count)
    gaps = gaps if file.gap_count else _("no gap")
    return _(
        "{place}: {reading_count:,} readings from {name}, {gaps}.",
        place=file.place,
        reading_count=file.reading_count,
        name=file.name,
        gaps=gaps,
    )


def _read(told: ReadTold) -> str:
    return _(
        "{place}, {moment}: {degrees}, typed “{typed}”.",
        place=told.place,
        moment=moment(told.at),
        degrees=temperature(told.temp_c),
        typed=told.typed,
    )


def _warm(hours: float) -> str:
    limit = temperature(FRIDGE_C)
    return (
        _("above {limit} for {hours_words}", limit=limit, hours_words=hours_words(hours))
        if hours
        else _("never above {limit}", limit=limit)
    )


def _span(since: datetime, until: datetime) -> str:
    return from_to(moment(since), moment(until))


def _named(lot: HoldTold | FateTold) -> str:
    return f"{lot.name}, {spoken(lot.code)}"
