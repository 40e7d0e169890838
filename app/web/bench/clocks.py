"""The clocks of the bench: since when, and what has to be reached by which hour.

A clock only counts. Whether food was cooled in time is decided by readings, when they are written.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from app.language import N_, _, figures
from app.ledger.queries.bench import Arrival, Stage
from app.ledger.queries.stock import StockLine
from app.science.keeping import NoWindowReason
from app.science.safety.cooling_rules import AU_COOLING, COOL_2STAGE, COOL_AU, OUT_2H, OUT_24
from app.science.safety.rule import DEFERENCE, Rule, RuleSet
from app.units import System, format_temperature

_WARM = str(NoWindowReason.PERISHABLE_AT_ROOM)
_DAY_HOURS = 48.0  # from here on days are said


@dataclass(frozen=True, slots=True)
class Target:
    """Something that is to be reached by an instant."""

    words: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Clock:
    """When it began, what it runs to, and what is to be known about it."""

    arrival: Arrival | None
    targets: tuple[Target, ...] = ()
    words: str = ""
    source: str = ""


def clock_of(
    line: StockLine, stage: Stage, arrival: Arrival | None, here: RuleSet, units: System
) -> Clock:
    """The clock of a lot on the bench.

    Args:
        line: the food. stage: what it waits for. arrival: when it came to where it lies.
        here: whose advice counts. units: the reader's unit system.
    Returns:
        Two-stage cooling for cooked food without readings; the two hours for perishable food out of
        the cold; else only since when.
    """
    if stage is Stage.COOLING:
        return _cooling(arrival, here, units)
    if line.limit_word == _WARM:
        return _out(arrival, here)
    return Clock(arrival)


def _cooling(arrival: Arrival | None, here: RuleSet, units: System) -> Clock:
    rule = COOL_AU if here is RuleSet.AU else COOL_2STAGE
    _start, middle, end, first, second = (limit.value for limit in rule.limits)
    total = AU_COOLING.latest_end(first) if here is RuleSet.AU else second
    if arrival is None or arrival.at is None:
        return Clock(arrival, (), _(_NO_HOUR), _sourced(rule))
    targets = tuple(
        Target(
            _("{temp} or colder", temp=figures(format_temperature(temp_c, units))),
            _after(arrival, hours),
        )
        for temp_c, hours in ((middle, first), (end, total))
    )
    return Clock(arrival, targets, _(_COUNTED), _sourced(rule))


_COUNTED = N_(
    "Counted from when the cooking was written down: if it ended earlier, these hours end earlier "
    "too. Read the temperature and write it under Chill; without readings it goes into the fridge "
    "within two hours."
)
_NO_HOUR = N_(
    "Its hour was not written down, so no clock can run. Write the readings under Chill; without "
    "any, what was not in the fridge within two hours is not kept."
)
_OUT = N_(
    "Counted from when it was written to be here; time out before counts too. Above 32 °C (90 °F) "
    "one hour is the limit."
)
_OUT_AU = N_("Counted from when it was written to be here; time out before counts too.")
_OUT_NO_HOUR = N_("Perishable and warm, and its hour was not written down: look at it now.")


def _out(arrival: Arrival | None, here: RuleSet) -> Clock:
    rule = OUT_24 if here is RuleSet.AU else OUT_2H
    if arrival is None or arrival.at is None:
        return Clock(arrival, (), _(_OUT_NO_HOUR), _sourced(rule))
    first = Target(_("back in the cold"), _after(arrival, rule.limits[0].value))
    if here is RuleSet.AU:
        last = Target(_("eaten, or thrown away"), _after(arrival, rule.limits[1].value))
        return Clock(arrival, (first, last), _(_OUT_AU), _sourced(rule))
    return Clock(arrival, (first,), _(_OUT), _sourced(rule))


def _after(arrival: Arrival, hours: float) -> datetime:
    if arrival.at is None:
        raise ValueError("no hour to count from")
    return arrival.at + timedelta(hours=hours)


def _sourced(rule: Rule) -> str:
    return f"{rule.source} ({_(rule.evidence.value)}). {_(DEFERENCE)}"


def span_words(begin: datetime, end: datetime) -> str:
    """How long it is from one instant to another, as the page's own script says it too.

    Example:
        >>> span_words(datetime(2026, 10, 11, 14), datetime(2026, 10, 11, 16, 5))
        '2 h 05 min'
        >>> span_words(datetime(2026, 10, 11, 14), datetime(2026, 10, 15, 17, 5))
        '4 d 3 h'
    """
    minutes = max(0, int((end - begin).total_seconds() // 60))
    hours, rest = divmod(minutes, 60)
    if hours >= _DAY_HOURS:
        days, hours = divmod(hours, 24)
        return f"{days} d {hours} h"
    return f"{hours} h {rest:02} min" if hours else f"{rest} min"
