"""Which column is which, and what has to be asked before a file can be read."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from app.ledger.loggers.cells import (
    YEARS,
    Stamp,
    Unit,
    day_and_month,
    is_date,
    is_number,
    is_reading,
    is_stamp,
    is_time,
    number,
    ordinal_stamp,
    stamp,
    unit_of,
)
from app.ledger.loggers.clock import spans_change
from app.ledger.loggers.table import NotATable, Row, Table

_TEMPERATURE = re.compile(r"temp|°\s*[CF]|celsius|fahrenheit|℃|℉", re.IGNORECASE)
_HUMIDITY = re.compile(r"humid|\brh\b|%", re.IGNORECASE)
_OTHER = re.compile(
    r"dew|batt|volt|signal|serial|alarm|limit|quality|press|^(?:no|nr|#|id|index|record|row)\b\.?",
    re.IGNORECASE,
)
_LABEL = re.compile(r"^(?:label|channel|sensor|probe|name|parameter|quantity)s?\b", re.IGNORECASE)
_UNITS = re.compile(r"^units?\b", re.IGNORECASE)
_DAY_FIRST = re.compile(r"\bd{1,2}[-/]m", re.IGNORECASE)
_MONTH_FIRST = re.compile(r"\bm{1,2}[-/]d", re.IGNORECASE)


class Question(StrEnum):
    """What only the household can tell about a file."""

    DAY_OR_MONTH_FIRST = "day_or_month_first"
    UNIT = "unit"
    WHICH_COLUMN = "which_column"
    WHICH_CHANNEL = "which_channel"
    STANDARD_TIME = "standard_time"


@dataclass(frozen=True, slots=True)
class Mapping:
    """Which column holds what, counted from 0; None is what could not be told."""

    #: Date and time in one column; or a date, a time and perhaps AM or PM; or year, day of the
    #: year and hhmm.
    time: tuple[int, ...]
    temperature: int | None  # in the long form, the column of values
    humidity: int | None = None
    label: int | None = None  # in the long form, the column that names the channel of each row
    label_value: str | None = None
    unit: Unit | None = None
    day_first: bool | None = None
    keeps_standard_time: bool | None = None


def suggest(table: Table) -> Mapping:
    """What the header and the cells tell about the columns.

    Raises:
        NotATable: no column holds times, or none holds numbers.
    """
    time = _time_columns(table)
    numeric = [i for i in range(table.width) if i not in time and _is_numeric(table, i)]
    if not numeric:
        raise NotATable("no column holds temperatures")
    label = _titled(table, _LABEL, [i for i in range(table.width) if i not in (*time, *numeric)])
    warm = _temperatures(table, numeric)
    humid = [i for i in numeric if _HUMIDITY.search(table.title(i)) and i not in warm]
    temperature = warm[0] if len(warm) == 1 else None
    label_value = _temperature_channel(table, label)
    return Mapping(
        time=time,
        temperature=temperature,
        humidity=humid[0] if len(humid) == 1 and label is None else None,
        label=label,
        label_value=label_value,
        unit=_only({_unit(table, index, label, label_value) for index in warm}),
        day_first=_day_first(table, time),
    )


def questions(table: Table, mapping: Mapping, zone: str) -> tuple[Question, ...]:
    """What still has to be asked before `read` may be called.

    Args:
        zone: IANA name of the household's time zone; files that span a change of its clocks make
            the app ask whether the logger keeps standard time.
    """
    asked = {
        Question.DAY_OR_MONTH_FIRST: mapping.day_first is None and order_matters(table, mapping),
        Question.UNIT: mapping.unit is None,
        Question.WHICH_COLUMN: mapping.temperature is None,
        Question.WHICH_CHANNEL: mapping.label is not None and mapping.label_value is None,
        Question.STANDARD_TIME: mapping.keeps_standard_time is None
        and spans_change(_unzoned(table, mapping), zone),
    }
    return tuple(question for question, open_ in asked.items() if open_)


def channels(table: Table, label: int) -> tuple[str, ...]:
    """The names of the channels of a file in the long form, in the order they appear."""
    return tuple(dict.fromkeys(table.column(label, most=None)))


def order_matters(table: Table, mapping: Mapping) -> bool:
    """Is there a date that means another day when day and month change places?"""
    pairs = _days_and_months(table, mapping.time)
    return any(first != second for first, second in pairs)


def stamp_of(row: Row, mapping: Mapping) -> Stamp | None:
    """The time of a row; None where a cell is missing or is no time."""
    if max(mapping.time) >= len(row):
        return None
    cells = [row[index] for index in mapping.time]
    if len(cells) == 3 and not _is_half(cells[2]):
        return ordinal_stamp(*cells)
    return stamp(" ".join(cells), mapping.day_first)


def _time_columns(table: Table) -> tuple[int, ...]:
    columns = range(table.width)
    stamps = [i for i in columns if _mostly(table, i, is_stamp)]
    if stamps:
        return (stamps[0],)
    dates = [i for i in columns if _mostly(table, i, is_date)]
    times = [i for i in columns if _mostly(table, i, is_time)]
    if dates and times:
        halves = [i for i in columns if _mostly(table, i, _is_half)]
        return (dates[0], times[0], *halves[:1])
    for i in range(table.width - 3):
        if all(_mostly(table, i + n, test) for n, test in enumerate((_is_year, _is_day, _is_hhmm))):
            return (i, i + 1, i + 2)
    raise NotATable("no column holds dates and times")


def _mostly(table: Table, index: int, test: Callable[[str], bool]) -> bool:
    cells = table.column(index)
    return bool(cells) and 2 * sum(test(cell) for cell in cells) > len(cells)


def _whole(cell: str) -> int:
    return int(cell) if cell.isascii() and cell.isdigit() and len(cell) < 5 else -1


def _is_half(cell: str) -> bool:
    return cell.lower().replace(".", "") in ("am", "pm")


def _is_year(cell: str) -> bool:
    return _whole(cell) in YEARS


def _is_day(cell: str) -> bool:
    return 1 <= _whole(cell) <= 366


def _is_hhmm(cell: str) -> bool:
    return 0 <= _whole(cell) <= 2400 and _whole(cell) % 100 < 60


def _is_numeric(table: Table, index: int) -> bool:
    cells = table.column(index)
    return any(map(is_number, cells)) and _mostly(table, index, is_reading)


def _temperatures(table: Table, numeric: list[int]) -> list[int]:
    """The columns that may hold the temperature: those named so, else all that might be."""
    useful = [i for i in numeric if not _OTHER.search(table.title(i)) and not _counts(table, i)]
    named = [i for i in useful if _TEMPERATURE.search(table.title(i))]
    rest = [i for i in useful if not _HUMIDITY.search(table.title(i))]
    return named or [i for i in rest if not _is_percent(table, i)] or rest or useful or numeric


def _is_percent(table: Table, index: int) -> bool:
    return any("%" in cell for cell in table.column(index))


def _counts(table: Table, index: int) -> bool:
    """A serial number: the first column, whole numbers that rise by one."""
    cells = [_whole(cell) for cell in table.column(index)]
    return index == 0 and len(cells) > 1 and cells == list(range(cells[0], cells[0] + len(cells)))


def _titled(table: Table, pattern: re.Pattern[str], columns: list[int]) -> int | None:
    return next((i for i in columns if pattern.search(table.title(i))), None)


def _temperature_channel(table: Table, label: int | None) -> str | None:
    """The only channel, or the only one that is named or measured as a temperature."""
    if label is None:
        return None
    names = channels(table, label)
    units = _titled(table, _UNITS, list(range(table.width)))
    warm = [
        name
        for name in names
        if _TEMPERATURE.search(name) or (units is not None and _unit_in(table, units, label, name))
    ]
    likely = warm if len(names) > 1 else list(names)
    return likely[0] if len(likely) == 1 else None


def _unit(
    table: Table, temperature: int, label: int | None, label_value: str | None
) -> Unit | None:
    if named := unit_of(table.title(temperature)):
        return named
    units = _titled(table, _UNITS, list(range(table.width)))
    if units is not None:
        return _unit_in(table, units, label, label_value)
    return _only({unit_of(cell) for cell in table.column(temperature, None) if is_number(cell)})


def _unit_in(table: Table, column: int, label: int | None, name: str | None) -> Unit | None:
    rows = [row for row in table.rows if column < len(row)]
    if label is not None and name is not None:
        rows = [row for row in rows if label < len(row) and row[label] == name]
    return _only({unit_of(row[column]) for row in rows if row[column]})


def _only(units: set[Unit | None]) -> Unit | None:
    """The unit, where every cell names the same."""
    return units.pop() if len(units) == 1 else None


def _day_first(table: Table, time: tuple[int, ...]) -> bool | None:
    """Told by the header, or by a number above 12; never by what seems likely."""
    title = table.title(time[0])
    if _DAY_FIRST.search(title) or _MONTH_FIRST.search(title):
        return bool(_DAY_FIRST.search(title))
    pairs = list(_days_and_months(table, time))
    day_first = any(first > 12 for first, _ in pairs)
    month_first = any(second > 12 for _, second in pairs)
    return day_first if day_first != month_first else None


def _days_and_months(table: Table, time: tuple[int, ...]) -> Iterator[tuple[int, int]]:
    dates = dict.fromkeys(cell[:10] for cell in table.column(time[0], most=None))
    for cell in dates:
        pair = day_and_month(cell)
        if pair is not None:
            yield pair


def _unzoned(table: Table, mapping: Mapping) -> list[datetime]:
    stamps = (stamp_of(row, mapping) for row in table.rows)
    return [found.local for found in stamps if found is not None and found.offset is None]


def temperature_columns(table: Table, mapping: Mapping) -> tuple[int, ...]:
    """The columns to choose from when WHICH_COLUMN is asked."""
    numeric = [i for i in range(table.width) if i not in mapping.time and _is_numeric(table, i)]
    return tuple(_temperatures(table, numeric))


def value_of(cell: str, table: Table) -> float | None:
    """The number of a cell in the table's own decimal mark."""
    return number(cell, table.decimal_comma)
