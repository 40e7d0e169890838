"""What an operation was about that moved no mass, in words with links to its lots."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

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
from app.units import format_temperature
from app.web import scope
from app.web.display import moment
from app.web.holds.words import RELEASE_CAUSES, why_words
from app.web.messages import INCIDENTS, day
from app.web.went_wrong.words import hours_words

FRIDGE_C = 4.4  # 40 °F, the limit that the hours of an incident are counted from
FATES = {
    IncidentFate.REFREEZE: "refrozen",
    IncidentFate.KEEP: "kept",
    IncidentFate.LOOK: "on hold until somebody has looked",
    IncidentFate.USE_NOW: "to be used at once",
    IncidentFate.OPENED: "counts as opened",
    IncidentFate.WORN: "past its best",
    IncidentFate.DISCARD: "discarded",
}
_LOOKS = {
    CheckKind.SEAL: "Absorber and seal",
    CheckKind.THERMOMETER: "Thermometer",
    CheckKind.LOOK: "Looked through",
}
_FINDINGS = {Finding.FINE: "all well", Finding.NOT_FINE: "not well"}
_BASES = {ClimateBasis.STATED: "as told", ClimateBasis.LOGGED: "as logged"}


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
    words = INCIDENTS[incident.kind]
    parts = [f"{incident.place}: {words}" if incident.place else words[:1].upper() + words[1:]]
    if incident.from_at and incident.to_at:
        parts.append(_span(incident.from_at, incident.to_at))
    if incident.warm_hours is not None:
        parts.append(_warm(incident.warm_hours))
    if incident.temp_c is not None:
        parts.append(f"{_degrees(incident.temp_c)} at most")
    return ", ".join(parts)


def fate_words(fate: FateTold) -> str:
    """What became of one lot or package, and what was seen of it."""
    words = FATES[fate.fate]
    if fate.since is not None:
        words += f" since {day(fate.since)}"
    seen = {True: ["still icy"], False: ["no ice left"], None: []}[fate.is_icy]
    if fate.warm_hours is not None:
        seen.append(_warm(fate.warm_hours))
    if fate.temp_c is not None:
        seen.append(f"{_degrees(fate.temp_c)} at most")
    return f"{words} ({', '.join(seen)})" if seen else words


def _hold(held: HoldTold, code: str) -> AboutLine:
    why = why_words(held.cause, held.words)
    reached = ", which went into this lot" if code and held.code != code else ""
    if held.lifted is None:
        return AboutLine("Held: ", held.code, _named(held), f"{reached}: {why}.")
    lifted = RELEASE_CAUSES[held.lifted]
    return AboutLine("Free again: ", held.code, _named(held), f"{reached}: {lifted}. Held: {why}.")


def _incident(incident: IncidentTold, code: str) -> Iterator[AboutLine]:
    yield AboutLine(f"{incident_words(incident)}.")
    for fate in incident.fates:
        if code in ("", fate.code):
            number = f", no. {fate.package}" if fate.package else ""
            yield AboutLine("", fate.code, _named(fate), f"{number}: {fate_words(fate)}.")


def _check(check: CheckTold) -> AboutLine:
    words, finding = _LOOKS[check.kind], _FINDINGS[check.finding]
    if not check.code:
        return AboutLine(f"{words}, {check.place}: {finding}.")
    return AboutLine(
        f"{words}: ", check.code, f"{check.name}, {spoken(check.code)}", f": {finding}."
    )


def _climate(told: ClimateTold) -> str:
    low, high = _degrees(told.temp_low_c), _degrees(told.temp_high_c)
    season = ", month by month" if told.is_by_month else ""
    return (
        f"{told.place}, from {moment(told.since)} on: {low} to {high}, usually "
        f"{_degrees(told.temp_c)}{season}; humidity {round(100 * told.relative_humidity)} %; "
        f"{_BASES[told.basis]}."
    )


def _file(file: FileTold) -> str:
    gaps = {0: "no gap", 1: "1 gap"}.get(file.gap_count, f"{file.gap_count} gaps")
    return f"{file.place}: {file.reading_count:,} readings from {file.name}, {gaps}."


def _read(told: ReadTold) -> str:
    return f"{told.place}, {moment(told.at)}: {_degrees(told.temp_c)}, typed “{told.typed}”."


def _warm(hours: float) -> str:
    limit = _degrees(FRIDGE_C)
    return f"above {limit} for {hours_words(hours)}" if hours else f"never above {limit}"


def _span(since: datetime, until: datetime) -> str:
    return f"{moment(since)} to {moment(until)}"


def _named(lot: HoldTold | FateTold) -> str:
    return f"{lot.name}, {spoken(lot.code)}"


def _degrees(temp_c: float) -> str:
    return format_temperature(temp_c, scope.units())
