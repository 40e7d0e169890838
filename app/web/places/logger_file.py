"""What a logger's file says once the questions about it are answered, before it is written."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time
from zoneinfo import ZoneInfo

from app.language import _
from app.ledger.climates import StatedClimate, Warmth
from app.ledger.loggers.cells import Unit
from app.ledger.loggers.columns import (
    Mapping,
    Question,
    channels,
    order_matters,
    questions,
    suggest,
)
from app.ledger.loggers.readings import LoggerFile, LoggerReading, read
from app.ledger.loggers.summaries import MonthSummary, by_month
from app.ledger.loggers.table import Table, decode, sniff
from app.ledger.operations.climate import ChangeClimate, LoggerIn, ReadingIn, SaidClimate
from app.ledger.words import ClimateBasis
from app.web.places.carried import Carried


@dataclass(frozen=True, slots=True)
class Answers:
    """What the household told about a file; None: not told."""

    temperature: int | None = None
    humidity: int | None = None
    label_value: str | None = None
    unit: Unit | None = None
    day_first: bool | None = None
    keeps_standard_time: bool | None = None


@dataclass(frozen=True, slots=True)
class Looked:
    """A file that was looked into: its table, what is asked of it, and what it says so far."""

    table: Table
    mapping: Mapping
    asks: frozenset[Question]  # worth asking of this file, answered or not
    open: tuple[Question, ...]  # not answered yet
    channels: tuple[str, ...]
    file: LoggerFile | None  # None while a question is open
    months: tuple[MonthSummary, ...]

    @property
    def ordered(self) -> Sequence[LoggerReading]:
        """Every reading, by time."""
        return sorted(self.file.readings, key=lambda r: r.at) if self.file else ()

    def columns(self) -> list[tuple[int, str]]:
        """The columns that may hold a temperature or a humidity, by their titles."""
        return [
            (i, self.table.title(i) or _("column {number}", number=i + 1))
            for i in range(self.table.width)
            if i not in self.mapping.time
        ]


def guessed(data: bytes) -> tuple[Table, Mapping]:
    """The table of a file, and what can be told about it without asking; may raise NotATable."""
    table = sniff(decode(data))
    return table, suggest(table)


def look_into(table: Table, guess: Mapping, answers: Answers, zone: ZoneInfo) -> Looked:
    """Read a file as far as its questions are answered."""
    mapping = replace(
        guess,
        temperature=answers.temperature,
        humidity=answers.humidity,
        label_value=answers.label_value,
        unit=answers.unit,
        day_first=answers.day_first,
        keeps_standard_time=answers.keeps_standard_time,
    )
    still_open = questions(table, mapping, zone.key)
    clueless = replace(mapping, keeps_standard_time=None, label_value=None)
    asks = {*still_open, *questions(table, clueless, zone.key)}
    asks |= {Question.UNIT, Question.WHICH_COLUMN}
    if order_matters(table, mapping):
        asks.add(Question.DAY_OR_MONTH_FIRST)
    file = None if still_open else read(table, mapping, zone.key)
    return Looked(
        table=table,
        mapping=mapping,
        asks=frozenset(asks),
        open=still_open,
        channels=channels(table, mapping.label) if mapping.label is not None else (),
        file=file,
        months=by_month(file.readings, zone.key) if file else (),
    )


def warmth_of(month: MonthSummary, relative_humidity: float) -> Warmth:
    """A month of readings as the climate it speaks for: 10th percentile, mean, 90th percentile."""
    damp = month.relative_humidity
    return Warmth(
        temp_low_c=min(month.low_c, month.mean_c),
        temp_c=month.mean_c,
        temp_high_c=max(month.high_c, month.mean_c),
        relative_humidity=relative_humidity if damp is None else min(max(damp, 0.0), 1.0),
    )


def name_of(month: MonthSummary) -> str:
    """By which a month is ticked: "2026-10"."""
    return f"{month.first_day:%Y-%m}"


def request_of(
    looked: Looked,
    carried: Carried,
    *,
    place_id: int,
    months: Sequence[str],
    before: StatedClimate,
    returns: bool,
    zone: ZoneInfo,
    now: datetime,
    note: str,
) -> ChangeClimate:
    """Everything that a file changes, as one request.

    Args:
        months: those whose readings are to count as the place's climate. before: what was said of
            the place. returns: that holds again once the file ends.
    """
    gaps = looked.file.gaps if looked.file else ()
    readings = looked.file.readings if looked.file else ()
    damp = before.by_month[0].relative_humidity
    said = [
        SaidClimate(
            datetime.combine(month.first_day, time.min, zone),
            (warmth_of(month, damp),),
            ClimateBasis.LOGGED,
        )
        for month in looked.months
        if name_of(month) in months
    ]
    if returns and said:
        basis = before.basis or ClimateBasis.STATED
        said.append(SaidClimate(looked.ordered[-1].at, before.by_month, basis))
    return ChangeClimate(
        place_id=place_id,
        done_on=now.astimezone(zone).date(),
        climates=tuple(said),
        readings=tuple(
            ReadingIn(reading.at, reading.temp_c, reading.relative_humidity) for reading in readings
        ),
        logger=LoggerIn(carried.name, carried.sha256, len(gaps)),
        note=note,
    )
