"""Whatever the dialect, readings come back whole; whatever the text, nothing but a refusal."""

# ruff: noqa: DTZ001 (a wall clock without its zone is what is tested)

import csv
import io
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from app.ledger.loggers.columns import Question, questions, suggest
from app.ledger.loggers.readings import read
from app.ledger.loggers.summaries import by_month, hours_above
from app.ledger.loggers.table import NotATable, decode, sniff

ZONES = st.sampled_from(["UTC", "Europe/Berlin", "America/New_York", "Australia/Lord_Howe"])
CELLS = st.one_of(
    st.text(max_size=8),
    st.sampled_from(["2026-11-01 01:30", "03/04/26", "10:00", "24:00", "4,5", "-127", "85", "---"]),
    st.sampled_from(
        ["time", "temp °C", "label", "units", "2026", "305", "930", "4.5 F", "1e999", "%"]
    ),
    st.sampled_from(["2100-12-31 24:00", "1990-01-01 00:00+23:59", "01-Sep-2026 1:00", "٣"]),
)
ROWS = st.lists(st.lists(CELLS, max_size=6), max_size=8)


def take_in(data: bytes, zone: str) -> None:
    with suppress(NotATable):
        table = sniff(decode(data))
        mapping = suggest(table)
        questions(table, mapping, zone)
        answered = replace(
            mapping,
            unit=mapping.unit or "F",
            temperature=mapping.temperature if mapping.temperature is not None else 1,
            label_value=mapping.label_value or "x",
            day_first=bool(mapping.day_first),
        )
        for keeps in (None, True):
            file = read(table, replace(answered, keeps_standard_time=keeps), zone)
            by_month(file.readings, zone)
            hours_above(file.readings, 5.0)
        read(table, mapping, zone)


@settings(max_examples=150, deadline=None)
@given(ROWS, st.sampled_from(",;\t"), ZONES)
def test_any_rows_of_any_text_raise_nothing_but_a_refusal(
    rows: list[list[str]], delimiter: str, zone: str
) -> None:
    take_in("\n".join(delimiter.join(row) for row in rows).encode("utf-8", "replace"), zone)


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=200), ZONES)
def test_any_bytes_raise_nothing_but_a_refusal(data: bytes, zone: str) -> None:
    take_in(data, zone)


@settings(max_examples=100, deadline=None)
@given(
    temps=st.lists(st.integers(-400, 840).map(lambda tenths: tenths / 10), min_size=2, max_size=40),
    start=st.datetimes(datetime(2000, 1, 1), datetime(2090, 1, 1)),
    dialect=st.sampled_from([(",", "."), (";", "."), (";", ","), ("\t", "."), ("\t", ",")]),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]),
    order=st.sampled_from(["%d/%m/%Y", "%m/%d/%Y", "%d.%m.%Y", "%Y-%m-%d", "%d/%m/%y"]),
    clock=st.sampled_from(["%H:%M:%S", "%I:%M:%S %p"]),
    fahrenheit=st.booleans(),
)
def test_a_well_formed_file_comes_back_whole_whatever_its_dialect(
    temps: list[float],
    start: datetime,
    dialect: tuple[str, str],
    encoding: str,
    order: str,
    clock: str,
    fahrenheit: bool,
) -> None:
    delimiter, mark = dialect
    times = [start.replace(microsecond=0) + timedelta(minutes=10 * i) for i in range(len(temps))]
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter)
    writer.writerow(["When", "Temperature °F" if fahrenheit else "Temperature °C"])
    for at, temp_c in zip(times, temps, strict=True):
        shown = f"{temp_c * 1.8 + 32:.2f}" if fahrenheit else f"{temp_c:.1f}"
        writer.writerow([at.strftime(f"{order} {clock}"), shown.replace(".", mark)])
    table = sniff(decode(out.getvalue().encode(encoding)))
    mapping = suggest(table)
    if Question.DAY_OR_MONTH_FIRST in questions(table, mapping, "UTC"):
        mapping = replace(mapping, day_first=order.startswith("%d"))
    file = read(table, mapping, "UTC")
    assert [reading.at for reading in file.readings] == [at.replace(tzinfo=UTC) for at in times]
    for reading, temp_c in zip(file.readings, temps, strict=True):
        assert abs(reading.temp_c - temp_c) < 0.01
    assert (file.gaps, file.unreadable, file.repeated_rows) == ((), (), 0)
