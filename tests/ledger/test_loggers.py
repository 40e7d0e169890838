"""Temperature loggers' files: dialects, questions, gaps, clocks that go back."""

# ruff: noqa: DTZ001 (a wall clock without its zone is what is tested)

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from app.ledger.loggers.columns import Question, questions, suggest, temperature_columns
from app.ledger.loggers.readings import LoggerFile, Unanswered, Why, read
from app.ledger.loggers.table import NotATable, Table, decode, sniff
from app.science.safety.verdicts import cooled

FILES = Path(__file__).parents[1] / "files" / "loggers"


def table(*lines: str, ends: str = "\n") -> Table:
    return sniff(ends.join(lines))


def read_lines(*lines: str, zone: str = "UTC") -> LoggerFile:
    found = table(*lines)
    return read(found, suggest(found), zone)


def temps(file: LoggerFile) -> list[float]:
    return [reading.temp_c for reading in file.readings]


def asked(*lines: str, zone: str = "UTC") -> tuple[Question, ...]:
    found = table(*lines)
    return questions(found, suggest(found), zone)


def at_utc(year: int, month: int, day: int, hour: int = 0, *rest: int) -> datetime:
    moment = datetime(year, month, day, hour, tzinfo=UTC)
    units = ("minutes", "seconds", "microseconds")
    return moment + timedelta(**dict(zip(units, rest, strict=False)))


def test_a_wide_file_with_preamble_units_row_serial_numbers_and_decimal_commas_is_read() -> None:
    found = sniff(decode((FILES / "cellar_wide.csv").read_bytes()))
    assert (found.delimiter, found.decimal_comma, found.first_row_number) == (";", True, 7)
    mapping = suggest(found)
    assert (mapping.time, mapping.temperature, mapping.humidity, mapping.unit) == ((1,), 2, 3, "C")
    assert questions(found, mapping, "Europe/Berlin") == ()
    file = read(found, mapping, "Europe/Berlin")
    assert temps(file) == [8.5, 8.4, 8.3]
    assert file.readings[0].at == at_utc(2026, 10, 1, 6, 0)
    assert file.readings[1].relative_humidity == pytest.approx(0.825)
    assert [(gap.first_row, gap.last_row) for gap in file.gaps] == [(9, 9)]
    assert file.unreadable == ()


def test_a_long_file_with_one_row_per_channel_reads_its_only_temperature() -> None:
    found = sniff(decode((FILES / "freezer_long.csv").read_bytes()))
    mapping = suggest(found)
    assert (mapping.label, mapping.label_value, mapping.unit) == (2, "Air", "C")
    assert (mapping.time, mapping.day_first) == ((0, 1), False)
    file = read(found, mapping, "UTC")
    assert [(r.at, r.temp_c) for r in file.readings] == [
        (at_utc(2026, 10, 13, 23, 30), -18.2),
        (at_utc(2026, 10, 14, 0, 0), -18.1),
    ]


def test_two_temperature_channels_ask_which() -> None:
    lines = ("date,time,channel,temp C", "2026-11-01,10:00,Top,4", "2026-11-01,10:00,Door,6")
    assert asked(*lines) == (Question.WHICH_CHANNEL,)
    found = table(*lines)
    assert temps(read(found, replace(suggest(found), label_value="Door"), "UTC")) == [6.0]
    with pytest.raises(Unanswered):
        read(found, suggest(found), "UTC")


def test_year_day_of_year_and_hhmm_after_a_station_number_ask_what_no_header_tells() -> None:
    found = sniff(decode((FILES / "smokehouse_ordinal.csv").read_bytes()))
    mapping = suggest(found)
    assert mapping.time == (1, 2, 3)
    assert questions(found, mapping, "UTC") == (Question.UNIT, Question.WHICH_COLUMN)
    file = read(found, replace(mapping, unit="C", temperature=4), "UTC")
    assert file.readings[0].at == at_utc(2026, 11, 1, 9, 30)  # day 305 of 2026
    assert temps(file) == [18.5, 18.75, 19.0]
    assert len(file.gaps) == 1


def test_a_column_of_am_and_pm_is_part_of_the_time() -> None:
    file = read_lines(
        "Date,Time,AM/PM,Temp C",
        "13/11/2026,11:50,AM,4",
        "13/11/2026,1:10,PM,5",
        "13/11/2026,2:10,,6",
    )
    assert [r.at.hour for r in file.readings] == [11, 13]
    assert [note.why for note in file.unreadable] == [Why.NO_TIME]


def test_two_temperature_columns_ask_which() -> None:
    lines = ("time,Temp top (°C),Temp door (°C)", "2026-11-01 10:00,4,6")
    assert asked(*lines) == (Question.WHICH_COLUMN,)
    found = table(*lines)
    assert temperature_columns(found, suggest(found)) == (1, 2)


def test_days_and_months_up_to_twelve_are_asked_never_guessed() -> None:
    lines = ("time,temp (°C)", "03/04/2026 10:00,4", "04/04/2026 10:00,5", "05/04/2026 10:00,5")
    assert asked(*lines) == (Question.DAY_OR_MONTH_FIRST,)
    found = table(*lines)
    with pytest.raises(Unanswered):
        read(found, suggest(found), "UTC")
    for day_first, month, day in ((True, 4, 3), (False, 3, 4)):
        file = read(found, replace(suggest(found), day_first=day_first), "UTC")
        assert file.readings[0].at == at_utc(2026, month, day, 10)


@pytest.mark.parametrize(
    ("date", "day_first"),
    [("13/04/2026 10:00", True), ("04/13/26 10:00", False), ("2026-04-13T10:00", None)],
)
def test_a_number_above_twelve_or_an_iso_date_needs_no_question(
    date: str, day_first: bool | None
) -> None:
    found = table("time,temp (°C)", f"{date},4")
    assert suggest(found).day_first is day_first
    assert questions(found, suggest(found), "UTC") == ()
    assert read(found, suggest(found), "UTC").readings[0].at == at_utc(2026, 4, 13, 10)


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("2026-11-01 12:05 AM", at_utc(2026, 11, 1, 0, 5)),
        ("2026-11-01 12:05:06 p.m.", at_utc(2026, 11, 1, 12, 5, 6)),
        ("2026-11-01 24:00", at_utc(2026, 11, 2)),
        ("2026-11-01T10:00:00.25Z", at_utc(2026, 11, 1, 10, 0, 0, 250000)),
        ("2026-11-01T10:00:00+02:00", at_utc(2026, 11, 1, 8)),
        ("1.11.26 10:00", at_utc(2026, 11, 1, 10)),
        ("01-Nov-2026 10:00", at_utc(2026, 11, 1, 10)),
    ],
)
def test_a_time_is_read_as_written(written: str, expected: datetime) -> None:
    assert read_lines("time;temp (°C)", f"{written};4").readings[0].at == expected


@pytest.mark.parametrize("written", ["2026-02-30 10:00", "2026-11-01 25:00", "2026-11-01 13:00 PM"])
def test_a_time_that_cannot_be_is_unreadable_and_keeps_its_line_number(written: str) -> None:
    file = read_lines("time,temp (°C)", "2026-11-01 09:00,4", "", f"{written},4")
    assert [(note.row, note.why) for note in file.unreadable] == [(4, Why.NO_TIME)]
    assert len(file.readings) == 1


def test_fahrenheit_without_a_unit_is_asked_and_with_one_converted() -> None:
    assert asked("time,temp", "2026-11-01 10:00,38") == (Question.UNIT,)
    for lines in (
        ("time,temp (F)", "2026-11-01 10:00,39.2"),
        ("time,temp", "2026-11-01 10:00,39.2 °F"),
        ("time,Temperature °F", "2026-11-01 10:00,39.2"),
    ):
        assert asked(*lines) == ()
        assert temps(read_lines(*lines)) == [pytest.approx(4.0)]


@pytest.mark.parametrize(
    "word", ["ERR", "---", "-127", "-127.0", "NaN", "", "open", "Short", "1e999"]
)
def test_an_error_word_is_a_gap_and_never_zero(word: str) -> None:
    file = read_lines(
        "time,temp (°C)", "2026-11-01 10:00,4.1", f"2026-11-01 10:10,{word}", "2026-11-01 10:20,4.2"
    )
    assert temps(file) == [4.1, 4.2]
    assert [(gap.since, gap.last_row) for gap in file.gaps] == [(at_utc(2026, 11, 1, 10, 10), 3)]


def test_exactly_85_is_a_gap_only_where_its_neighbours_lie_far_from_it() -> None:
    cold = (
        "2026-11-01 10:00,85",
        "2026-11-01 10:10,4.1",
        "2026-11-01 10:20,85",
        "2026-11-01 10:30,4",
    )
    assert temps(read_lines("time,temp (°C)", *cold)) == [4.1, 4.0]
    oven = ("2026-11-01 10:00,84", "2026-11-01 10:10,85", "2026-11-01 10:20,86")
    assert temps(read_lines("time,temp (°C)", *oven)) == [84.0, 85.0, 86.0]
    assert temps(read_lines("time,temp (°F)", "2026-07-01 10:00,60", "2026-07-01 11:00,85"))[1] < 30


def test_what_no_kitchen_has_and_rows_cut_short_are_noted_not_read() -> None:
    file = read_lines(
        "time,temp (°C)", "2026-11-01 10:00,4", "2026-11-01 10:10", "2026-11-01 10:20,9999", "x,5"
    )
    assert temps(file) == [4.0]
    assert [note.why for note in file.unreadable] == [
        Why.NO_TEMPERATURE,
        Why.BEYOND_BELIEF,
        Why.NO_TIME,
    ]
    assert len(file.gaps) == 1


def test_a_clock_that_goes_back_mid_file_begins_a_segment_and_loses_nothing() -> None:
    times = ["10:00", "10:30", "11:00", "10:15", "10:45", "11:15"]
    file = read_lines("time,temp (°C)", *(f"2026-11-02 {t},{4 + i}" for i, t in enumerate(times)))
    assert [len(segment) for segment in file.segments] == [3, 3]
    assert temps(file) == [4.0, 5.0, 6.0, 7.0, 8.0, 9.0]
    assert file.repeated_rows == 0


def test_the_same_file_twice_in_one_is_read_once_and_the_rest_counted() -> None:
    rows = [f"2026-11-02 {hour:02}:00,{hour}.5" for hour in range(24)]
    file = read_lines("time,temp (°C)", *rows, "time,temp (°C)", *rows)
    assert (len(file.readings), file.repeated_rows, len(file.segments)) == (24, 24, 1)
    assert [note.row for note in file.unreadable] == [26]  # the second header


def test_the_same_reading_for_over_six_hours_is_noted() -> None:
    def rows(last: int) -> list[str]:
        return [f"2026-11-02 {hour:02}:00,-18.0" for hour in range(last + 1)]

    assert read_lines("time,temp (°C)", *rows(6)).stuck == ()
    stuck = read_lines("time,temp (°C)", *rows(7)).stuck
    assert [(s.until - s.since, s.temp_c) for s in stuck] == [(timedelta(hours=7), -18.0)]


def test_a_drop_out_of_fifty_minutes_leaves_cooling_unproven() -> None:
    start = at_utc(2026, 11, 2, 18)
    minutes = range(0, 360, 10)

    def rows(lost: range) -> list[str]:
        return [
            f"{start + timedelta(minutes=m):%Y-%m-%d %H:%M},"
            + ("---" if m in lost else f"{max(4.0, 60.0 - 0.45 * m):.1f}")
            for m in minutes
        ]

    whole = read_lines("time,temp (°C)", *rows(range(0)))
    assert cooled(whole.history(start))[0].outcome.value == "pass"
    holed = read_lines("time,temp (°C)", *rows(range(40, 81)))
    assert [verdict.id for verdict in cooled(holed.history(start))] == ["COOL-UNPROVEN"]


@pytest.mark.parametrize(
    "data", [b"", b"\n\r\n", b"\x00\x01\x02PK", b"\xff\xfe\x00", b"just words"]
)
def test_what_is_no_table_is_refused_with_a_reason(data: bytes) -> None:
    with pytest.raises(NotATable) as refused:
        sniff(decode(data))
    assert refused.value.reason


def test_only_a_header_is_a_table_without_rows_and_cannot_be_mapped() -> None:
    found = table("time,temp (°C)")
    assert found.rows == ()
    with pytest.raises(NotATable):
        suggest(found)


def test_one_row_without_a_header_is_read() -> None:
    assert temps(read_lines("2026-11-01 10:00,4.5 °C")) == [4.5]


def test_mixed_line_ends_and_quoted_delimiters_are_read() -> None:
    text = '"time","note, with comma","temp (°C)"\r\n"2026-11-01 10:00","door, open",4\r'
    found = sniff(text + '2026-11-01 10:10,"a ""b""",5\n2026-11-01 10:20,"stray,6\n')
    file = read(found, suggest(found), "UTC")
    assert temps(file) == [4.0, 5.0]
    assert [note.row for note in file.unreadable] == [4]


def test_two_hundred_thousand_rows_are_all_read() -> None:
    start = datetime(2026, 1, 1)
    rows = [
        f"{start + timedelta(minutes=minute)},{4 + minute % 7 / 10}" for minute in range(200_000)
    ]
    found = table("time,temp (°C)", *rows)
    file = read(found, replace(suggest(found), keeps_standard_time=True), "Europe/Berlin")
    assert len(file.readings) == 200_000
    assert len(file.segments) == 1
