"""Rows of a probe's own file, pasted: read as any temperature logger's file is."""

from app.language import N_, _
from app.ledger.calendar import zone_of
from app.ledger.loggers.columns import Question, questions, suggest
from app.ledger.loggers.readings import read
from app.ledger.loggers.table import NotATable, sniff
from app.web import scope
from app.web.operations.probe import ProbeReading

_HOW = N_("Write minutes and temperature, one pair a line: 12 63.5")
_ASKED = {
    Question.UNIT: N_("Is this in °C or °F? Write it into the header or behind each temperature."),
    Question.DAY_OR_MONTH_FIRST: N_("Which number is the day? Write the dates as 2026-11-01."),
    Question.WHICH_COLUMN: N_("Which column is it? Paste only the time and that temperature."),
    Question.WHICH_CHANNEL: N_("Which probe is it? Paste only its rows."),
}


def of_table(text: str, fault: Exception) -> tuple[ProbeReading, ...]:
    """The rows of a logger's file, as far as it tells everything by itself."""
    zone = zone_of(scope.reading()).key
    try:
        table = sniff(text)
        mapping = suggest(table)
        open_questions = [q for q in questions(table, mapping, zone) if q in _ASKED]
        if open_questions:
            raise ValueError(_(_ASKED[open_questions[0]]))
        found = read(table, mapping, zone)
    except NotATable:
        words = str(fault) if str(fault).startswith("“") else _("This cannot be read.")
        raise ValueError(f"{words} {_(_HOW)}") from fault
    if not found.readings:
        raise ValueError(_("No row has a time and a temperature. {how}", how=_(_HOW)))
    since = min(one.at for one in found.readings)
    return tuple(_logged(hours, temp_c) for hours, temp_c in found.history(since))


def _logged(hours: float, temp_c: float | None) -> ProbeReading:
    typed = "" if temp_c is None else f"{temp_c:g} °C"
    return ProbeReading(60.0 * hours, temp_c, "C", temp_c, typed)
