"""Read a logger's file: instants in UTC and degrees Celsius; whatever is missing stays missing."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from itertools import chain, groupby, pairwise
from math import isfinite

from app.ledger.loggers.cells import Stamp, Unit, is_error_word
from app.ledger.loggers.clock import to_utc
from app.ledger.loggers.columns import Mapping, order_matters, stamp_of, value_of
from app.ledger.loggers.table import NotATable, Row, Table
from app.science.safety.readings import to_celsius
from app.science.sources import Evidence, Sourced

#: What digital sensors give when the wire is broken, and when they have just been switched on.
BROKEN_C = Sourced(-127.0, "degC", Evidence.UNCHECKED)
SWITCHED_ON_C = Sourced(85.0, "degC", Evidence.UNCHECKED)
#: How far a neighbour must lie from SWITCHED_ON_C for it to be no reading.
JUMP_C = Sourced(10.0, "degC", Evidence.JUDGEMENT)
#: Beyond these no kitchen logger measures.
LOWEST_C = Sourced(-100.0, "degC", Evidence.JUDGEMENT)
HIGHEST_C = Sourced(350.0, "degC", Evidence.JUDGEMENT)
#: The same reading to the last digit for longer than this is worth a look at the sensor.
STUCK_HOURS = Sourced(6.0, "h", Evidence.JUDGEMENT)


class Unanswered(NotATable):
    """A question of `columns.questions` that decides the numbers is still open."""


class Why(StrEnum):
    """What is amiss with a row."""

    NO_TIME = "no_time"
    NO_TEMPERATURE = "no_temperature"
    BEYOND_BELIEF = "beyond_belief"
    NEVER_ON_THE_CLOCK = "never_on_the_clock"  # read as standard time


@dataclass(frozen=True, slots=True)
class RowNote:
    """A row of the file, by its line number, and what is amiss."""

    row: int
    why: Why


@dataclass(frozen=True, slots=True)
class LoggerReading:
    """One reading; `at` is in UTC, `row` the line of the file."""

    at: datetime
    temp_c: float
    relative_humidity: float | None  # fraction
    row: int


@dataclass(frozen=True, slots=True)
class Gap:
    """Rows in which the logger wrote no usable temperature, first and last time and line."""

    since: datetime
    until: datetime
    first_row: int
    last_row: int


@dataclass(frozen=True, slots=True)
class Stuck:
    """The same reading to the last digit for over six hours: sensor or very steady place?"""

    since: datetime
    until: datetime
    temp_c: float


@dataclass(frozen=True, slots=True)
class LoggerFile:
    """All that a file says, and all that it does not."""

    #: One run of readings for each time that the logger's clock went back; the first always stands.
    segments: tuple[tuple[LoggerReading, ...], ...]
    gaps: tuple[Gap, ...]
    repeated_rows: int
    unreadable: tuple[RowNote, ...]
    adjusted: tuple[RowNote, ...]  # read, with a time that had to be interpreted
    stuck: tuple[Stuck, ...]

    @property
    def readings(self) -> tuple[LoggerReading, ...]:
        """Every reading, in the order of the file."""
        return tuple(chain.from_iterable(self.segments))

    def history(self, since: datetime) -> list[tuple[float, float | None]]:
        """(hours since an instant, temp_c or None in a gap) in the order of the file.

        This is what the safety rules on cooling and cooking take: a gap is no evidence.
        """
        rows: list[tuple[int, datetime, float | None]] = [
            (reading.row, reading.at, reading.temp_c) for reading in self.readings
        ]
        for gap in self.gaps:
            rows += [(gap.first_row, gap.since, None), (gap.last_row, gap.until, None)]
        hour = timedelta(hours=1)
        return [
            ((at - since) / hour, t) for _, at, t in sorted(rows, key=lambda r: r[0]) if at >= since
        ]


@dataclass(frozen=True, slots=True)
class _Line:
    """A row whose time can be told."""

    at: datetime
    temp_c: float | None
    relative_humidity: float | None
    row: int


def read(table: Table, mapping: Mapping, zone: str) -> LoggerFile:
    """Read every row of a file.

    Args:
        table: as `sniff` found it. mapping: with all questions answered.
        zone: IANA name of the zone that the logger's clock keeps.
    Returns:
        Readings, and a note of every row that gave none. Nothing is filled in.
    Raises:
        Unanswered: unit, column, channel or the order of day and month is not told.
    Validity: sentinels are from memory, unchecked; limits of belief are our judgement.
    """
    _insist(table, mapping)
    dated, unreadable = _dated(table, mapping)
    stamps = [found for _, _, found in dated]
    instants, never = to_utc(stamps, zone, mapping.keeps_standard_time)
    adjusted = tuple(RowNote(dated[i][0], Why.NEVER_ON_THE_CLOCK) for i in never)
    seen: set[tuple[datetime, Row]] = set()
    lines: list[_Line] = []
    repeated = 0
    for at, (row_number, row, _) in zip(instants, dated, strict=True):
        if (at, row) in seen:
            repeated += 1
            continue
        seen.add((at, row))
        temp_c, why = _temperature(row, table, mapping)
        if why is not None:
            unreadable.append(RowNote(row_number, why))
        lines.append(_Line(at, temp_c, _humidity(row, table, mapping), row_number))
    return _assembled(_without_switch_on(lines), repeated, unreadable, adjusted)


def _insist(table: Table, mapping: Mapping) -> None:
    if mapping.temperature is None:
        raise Unanswered("which column holds the temperature")
    if mapping.unit is None:
        raise Unanswered("which unit the temperatures are in")
    if mapping.label is not None and mapping.label_value is None:
        raise Unanswered("which channel to read")
    if mapping.day_first is None and order_matters(table, mapping):
        raise Unanswered("whether the day or the month stands first")


def _dated(table: Table, mapping: Mapping) -> tuple[list[tuple[int, Row, Stamp]], list[RowNote]]:
    """Line number, cells and time of each row of the channel, and the rows without a time."""
    dated: list[tuple[int, Row, Stamp]] = []
    unreadable: list[RowNote] = []
    for row_number, row in enumerate(table.rows, start=table.first_row_number):
        if not row or not _of_channel(row, mapping):
            continue
        found = stamp_of(row, mapping)
        if found is None:
            unreadable.append(RowNote(row_number, Why.NO_TIME))
        else:
            dated.append((row_number, row, found))
    return dated, unreadable


def _of_channel(row: Row, mapping: Mapping) -> bool:
    if mapping.label is None:
        return True
    return mapping.label < len(row) and row[mapping.label] == mapping.label_value


def _temperature(row: Row, table: Table, mapping: Mapping) -> tuple[float | None, Why | None]:
    """Degrees Celsius, None in a gap, and what is amiss where the logger did not say so itself."""
    index, unit = mapping.temperature, mapping.unit
    if index is None or unit is None or index >= len(row):
        return None, Why.NO_TEMPERATURE
    value = value_of(row[index], table)
    if value is None:
        return None, None if is_error_word(row[index]) else Why.NO_TEMPERATURE
    if value == BROKEN_C.value or not isfinite(value):
        return None, None
    return _believed(value, unit)


def _believed(value: float, unit: Unit) -> tuple[float | None, Why | None]:
    temp_c = to_celsius(value, unit)
    if abs(temp_c - BROKEN_C.value) < 0.06:
        return None, None
    if not LOWEST_C.value <= temp_c <= HIGHEST_C.value:
        return None, Why.BEYOND_BELIEF
    return temp_c, None


def _humidity(row: Row, table: Table, mapping: Mapping) -> float | None:
    if mapping.humidity is None or mapping.humidity >= len(row):
        return None
    percent = value_of(row[mapping.humidity], table)
    return percent / 100.0 if percent is not None and 0.0 <= percent <= 100.0 else None


def _is_switch_on(temp_c: float | None) -> bool:
    return temp_c is not None and abs(temp_c - SWITCHED_ON_C.value) < 1e-6


def _without_switch_on(lines: list[_Line]) -> list[_Line]:
    """Exactly 85 °C between readings that lie far from it is a sensor just switched on."""
    kept: list[_Line] = []
    start = 0
    for switched, group in groupby(lines, key=lambda line: _is_switch_on(line.temp_c)):
        run = list(group)
        start += len(run)
        after = lines[start].temp_c if start < len(lines) else None
        beside = [t for t in (kept[-1].temp_c if kept else None, after) if t is not None]
        if switched and beside and all(abs(t - SWITCHED_ON_C.value) > JUMP_C.value for t in beside):
            run = [_Line(line.at, None, line.relative_humidity, line.row) for line in run]
        kept += run
    return kept


def _assembled(
    lines: list[_Line], repeated: int, unreadable: list[RowNote], adjusted: tuple[RowNote, ...]
) -> LoggerFile:
    runs = list(_runs(lines))
    segments = [tuple(_readings(run)) for run in runs]
    kept = tuple(segment for segment in segments if segment)
    return LoggerFile(
        segments=kept,
        gaps=tuple(gap for run in runs for gap in _gaps(run)),
        repeated_rows=repeated,
        unreadable=tuple(sorted(unreadable, key=lambda note: note.row)),
        adjusted=adjusted,
        stuck=tuple(stuck for segment in kept for stuck in _stuck(segment)),
    )


def _runs(lines: list[_Line]) -> Iterator[list[_Line]]:
    """The lines cut where the clock goes back."""
    cuts = [i for i, (a, b) in enumerate(pairwise(lines), start=1) if b.at < a.at]
    for begin, end in pairwise([0, *cuts, len(lines)]):
        yield lines[begin:end]


def _readings(run: Sequence[_Line]) -> Iterator[LoggerReading]:
    for line in run:
        if line.temp_c is not None:
            yield LoggerReading(line.at, line.temp_c, line.relative_humidity, line.row)


def _gaps(run: Sequence[_Line]) -> Iterator[Gap]:
    for missing, group in groupby(run, key=lambda line: line.temp_c is None):
        if missing:
            lines = list(group)
            yield Gap(lines[0].at, lines[-1].at, lines[0].row, lines[-1].row)


def _stuck(segment: Sequence[LoggerReading]) -> Iterator[Stuck]:
    for temp_c, group in groupby(segment, key=lambda reading: reading.temp_c):
        same = list(group)
        if same[-1].at - same[0].at > timedelta(hours=STUCK_HOURS.value):
            yield Stuck(same[0].at, same[-1].at, temp_c)
