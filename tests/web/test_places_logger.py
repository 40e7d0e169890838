"""A logger's file: chosen, looked into, asked about where it does not tell, and read in once."""

import zlib
from base64 import b64encode
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from datetime import UTC, date, datetime, time, timedelta
from io import BytesIO
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import func, select
from werkzeug.datastructures import FileStorage
from werkzeug.test import encode_multipart

from app.ledger.book import Book
from app.ledger.climates import warmth_at
from app.ledger.codes import code_of
from app.ledger.models import LoggerFile, Place, PlaceReading
from app.web.places.carried import MOST_BYTES, taken, unpacked
from app.web.security import LARGER_BODY_BYTES
from tests import builders as b
from tests.web.pages import Page, Tablet

Unchanged = Callable[[], AbstractContextManager[None]]
LONDON = ZoneInfo("Europe/London")
ADDRESS = f"/places/{b.FREEZER}/logger"


def rows_of(first: date, last: date, temp_c: float = -15.0) -> Iterator[tuple[datetime, float]]:
    """A reading every six hours: one degree colder at night, one warmer at noon."""
    at = datetime.combine(first, time())
    while at.date() <= last:
        yield at, temp_c + {0: -1.0, 6: 0.0, 12: 1.0, 18: 0.0}[at.hour]
        at += timedelta(hours=6)


def table(
    rows: Any, *, header: str = "Time,Temperature (°C)", stamp: str = "%Y-%m-%d %H:%M"
) -> bytes:
    lines = [header, *(f"{at.strftime(stamp)},{temp:.1f}" for at, temp in rows)]
    return "\n".join(lines).encode()


AUTUMN = table(rows_of(date(2025, 9, 1), date(2025, 10, 19)))


def choose(tablet: Tablet, data: bytes, name: str = "freezer.csv", address: str = ADDRESS) -> Page:
    """Send a file, as a browser without scripts does."""
    token = tablet.get(address).form("logger").values["csrf_token"]
    sent = FileStorage(BytesIO(data), name)
    return send_file(tablet, address, {"csrf_token": token, "file": sent})


def send_file(tablet: Tablet, address: str, values: dict[str, Any]) -> Page:
    """In memory: werkzeug's client would leave a temporary file open."""
    boundary, body = encode_multipart(values)
    kind = f"multipart/form-data; boundary={boundary}"
    return Page(tablet.client.post(address, data=body, content_type=kind))


def write(tablet: Tablet, page: Page, address: str = ADDRESS, **changes: Any) -> Page:
    """Tap the main button of the page that shows how a file is read."""
    return tablet.send(page.form(), address, step="write", **changes)


def warmth(book: Book, on: date, place_id: int = b.FREEZER) -> tuple[float, float, float]:
    with book.reading() as session:
        found = warmth_at(session, session.get_one(Place, place_id), b.evening(on))
        low, usual, high = found.temp_low_c, found.temp_c, found.temp_high_c
        return round(low, 2), round(usual, 2), round(high, 2)


def test_a_file_is_shown_as_it_is_read_before_anything_is_written(
    tablet: Tablet, unchanged: Unchanged
) -> None:
    with unchanged():
        page = choose(tablet, AUTUMN)
    assert page.status == 200
    assert "196 readings. Nothing is written yet." in page.words
    assert "2 2025-09-01 00:00 -16.0 1 September 2025, 00:00 −16 °C" in page.words
    assert "Nothing: every row was read." in page.words
    assert "From 1 September 2025 on: −15 °C (−16 °C to −14 °C) 120 readings" in page.words
    assert page.typed("months") == ["2025-09", "2025-10"]
    assert page.typed("unit") == ["C"]


def test_a_file_read_in_changes_the_place_from_its_first_day_on(tablet: Tablet, book: Book) -> None:
    answer = write(tablet, choose(tablet, AUTUMN))
    assert answer.status == 303
    page = tablet.get(answer.location)
    assert "Read in: 196 readings of freezer.csv." in page.words
    assert "by the readings of a logger, since 1 October 2025" in page.words
    assert warmth(book, date(2025, 8, 31)) == (-20.0, -18.0, -16.0)
    assert warmth(book, date(2025, 9, 20)) == (-16.0, -15.0, -14.0)
    with book.reading() as session:
        first = session.scalar(select(func.min(PlaceReading.at)))
        file = session.scalars(select(LoggerFile)).one()
        kept = (file.reading_count, file.gap_count, file.name)
    assert first == datetime(2025, 8, 31, 23, tzinfo=UTC)  # midnight in British Summer Time
    assert kept == (196, 0, "freezer.csv")


def test_undo_brings_back_what_was_said_and_lets_the_file_be_read_in_again(
    tablet: Tablet, book: Book
) -> None:
    answer = write(tablet, choose(tablet, AUTUMN))
    page = tablet.get(answer.location)
    undo = next(form for form in page.forms if form.action.endswith("/undo"))
    tablet.send(undo, undo.action)
    assert warmth(book, date(2025, 9, 20)) == (-20.0, -18.0, -16.0)
    assert write(tablet, choose(tablet, AUTUMN)).status == 303


def test_only_the_months_that_are_ticked_count(tablet: Tablet, book: Book) -> None:
    write(tablet, choose(tablet, AUTUMN), months=["2025-10"])
    assert warmth(book, date(2025, 9, 20)) == (-20.0, -18.0, -16.0)
    assert warmth(book, date(2025, 10, 5))[1] == -15.0
    with book.reading() as session:
        assert session.scalar(select(func.count(PlaceReading.id))) == 196


def test_the_same_file_is_not_read_in_twice(tablet: Tablet, unchanged: Unchanged) -> None:
    first, second = choose(tablet, AUTUMN), choose(tablet, AUTUMN)
    write(tablet, first)
    with unchanged():
        late = write(tablet, second)
        again = choose(tablet, AUTUMN, "another name.csv")
    assert (late.status, again.status) == (422, 422)
    assert "freezer.csv was read in before; nothing was added." in late.words
    assert "another name.csv was read in before" in again.beside("file")


def test_a_double_tap_writes_once(tablet: Tablet, book: Book) -> None:
    page = choose(tablet, AUTUMN)
    write(tablet, page)
    again = write(tablet, page)
    assert again.status == 303
    with book.reading() as session:
        assert session.scalar(select(func.count(LoggerFile.operation_id))) == 1


def test_day_and_month_are_asked_where_every_date_can_be_read_both_ways(
    tablet: Tablet, book: Book, unchanged: Unchanged
) -> None:
    rows = list(rows_of(date(2025, 10, 3), date(2025, 10, 9)))
    data = table(rows, stamp="%d/%m/%Y %H:%M")
    page = choose(tablet, data)
    assert "The file does not tell; please say." in page.beside("day_first")
    assert "March" not in page.words
    with unchanged():
        refused = write(tablet, page)
    assert refused.status == 422
    assert "please say" in refused.beside("day_first")
    wrong = tablet.send(
        page.form(), ADDRESS, step="look", day_first="no", keeps_standard_time="yes"
    )
    assert "From 10 March 2025 on" in wrong.words
    right = tablet.send(wrong.form(), ADDRESS, step="look", day_first="yes")
    assert "From 3 October 2025 on: −15 °C" in right.words
    assert right.typed("months") == ["2025-10"]
    assert write(tablet, right).status == 303
    assert warmth(book, date(2025, 10, 5))[1] == -15.0


def test_a_file_without_a_unit_asks_and_fahrenheit_is_kept_in_celsius(
    tablet: Tablet, book: Book
) -> None:
    rows = [(at, 1.8 * t + 32.0) for at, t in rows_of(date(2025, 9, 1), date(2025, 9, 30))]
    page = choose(tablet, table(rows, header="Time,Reading"))
    assert "please say" in page.beside("unit")
    wrong = tablet.send(page.form(), ADDRESS, step="look", unit="C")
    assert "5 °C is unusual for a freezer. Did you mean 5 °F (-15 °C)?" in wrong.words
    refused = write(tablet, wrong)
    assert (refused.status, refused.beside("reason")) == (422, "Give a reason to go on.")
    right = tablet.send(wrong.form(), ADDRESS, step="look", unit="F")
    assert "unusual" not in right.words
    write(tablet, right)
    assert warmth(book, date(2025, 9, 20)) == (-16.0, -15.0, -14.0)


def test_an_unusual_month_may_be_insisted_on_with_a_reason(tablet: Tablet, book: Book) -> None:
    page = choose(tablet, table(rows_of(date(2025, 9, 1), date(2025, 9, 30), -3.0)))
    assert write(tablet, page).status == 422
    assert write(tablet, page, reason="Its seal was torn.").status == 303
    assert warmth(book, date(2025, 9, 20))[1] == -3.0


def test_which_column_is_asked_where_several_may_be_it(tablet: Tablet, book: Book) -> None:
    lines = ["Time,Temperature top (°C),Temperature basket (°C)"]
    lines += [f"{at:%Y-%m-%d %H:%M},{t:.1f},{t + 5:.1f}" for at, t in
              rows_of(date(2025, 9, 1), date(2025, 9, 9))]  # fmt: skip
    page = choose(tablet, "\n".join(lines).encode())
    assert "please say" in page.beside("temperature")
    read = tablet.send(page.form(), ADDRESS, step="look", temperature="2")
    write(tablet, read)
    assert warmth(book, date(2025, 9, 5))[1] == -10.0


def test_standard_time_is_asked_where_the_clocks_change_within_the_file(
    tablet: Tablet, book: Book
) -> None:
    # 30 March 2025: British Summer Time began (IANA time zone database, by zoneinfo)
    before, after = (b.evening(date(2025, 3, n)).astimezone(LONDON) for n in (29, 30))
    assert (before.utcoffset(), after.utcoffset()) == (timedelta(0), timedelta(hours=1))
    data = table(rows_of(date(2025, 3, 20), date(2025, 4, 10)))
    page = choose(tablet, data)
    assert "please say" in page.beside("keeps_standard_time")
    read = tablet.send(page.form(), ADDRESS, step="look", keeps_standard_time="yes")
    write(tablet, read)
    with book.reading() as session:
        last = session.scalar(select(func.max(PlaceReading.at)))
    assert last == datetime(2025, 4, 10, 18, tzinfo=UTC)


def test_gaps_repeats_and_unreadable_rows_are_named_with_their_lines(tablet: Tablet) -> None:
    lines = AUTUMN.decode().splitlines()
    lines[5] = lines[5].split(",")[0] + ",ERR"
    lines[9] = "not a time,-15.0"
    lines.insert(20, lines[19])
    page = choose(tablet, "\n".join(lines).encode())
    assert "1 gap without a usable reading" in page.words
    assert "1 row written twice" in page.words
    assert "1 row with no time that can be read: line 10" in page.words


def test_humidity_is_taken_where_the_logger_wrote_it(tablet: Tablet, book: Book) -> None:
    lines = ["Time,Temperature (°C),Humidity (%)"]
    lines += [f"{at:%Y-%m-%d %H:%M},{t:.1f},71" for at, t in
              rows_of(date(2025, 9, 1), date(2025, 9, 9), 12.0)]  # fmt: skip
    address = f"/places/{b.PANTRY}/logger"
    page = choose(tablet, "\n".join(lines).encode(), address=address)
    assert "71 %" in page.words
    write(tablet, page, address)
    with book.reading() as session:
        found = warmth_at(session, session.get_one(Place, b.PANTRY), b.evening(b.TODAY))
    assert found.relative_humidity == pytest.approx(0.71)


def test_after_the_file_a_place_with_seasons_goes_back_to_them(tablet: Tablet, book: Book) -> None:
    address = f"/places/{b.PANTRY}/logger"
    months = {f"months__{i}__usual": str(i + 3) for i in range(12)}
    tablet.fill(f"/places/{b.PANTRY}/warm", how="month", since="2025-01-01T00:00", **months)
    page = choose(
        tablet, table(rows_of(date(2025, 8, 1), date(2025, 8, 31), 17.0)), address=address
    )
    assert page.typed("after") == ["returns"]
    write(tablet, page, address)
    assert warmth(book, date(2025, 8, 20), b.PANTRY)[1] == 17.0
    assert warmth(book, date(2025, 9, 20), b.PANTRY)[1] == 11.0


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "This file is empty."),
        (b"Dear neighbour,\nthe freezer is fine.\n", "This file could not be read"),
        (bytes(range(256)) * 20, "This file could not be read"),
        (b"Time,Temperature\n", "This file could not be read"),
        (b"x" * (MOST_BYTES + 1), "larger than 4 MB"),
    ],
)
def test_what_is_no_logger_file_is_refused_in_plain_words(
    tablet: Tablet, unchanged: Unchanged, data: bytes, words: str
) -> None:
    with unchanged():
        page = choose(tablet, data)
    assert page.status == 422
    assert words in page.beside("file")


def test_no_file_chosen_says_so(tablet: Tablet) -> None:
    token = tablet.get(ADDRESS).form("logger").values["csrf_token"]
    page = send_file(tablet, ADDRESS, {"csrf_token": token, "file": FileStorage(BytesIO(), "")})
    assert page.beside("file") == "Choose a file first."


@pytest.mark.parametrize(
    "packed",
    ["", "no base64!", "x" * 1_500_000, b64encode(b"not packed").decode(),
     b64encode(zlib.compress(b"x" * (MOST_BYTES + 9))).decode(),
     b64encode(zlib.compress(AUTUMN)[:-5]).decode()],
)  # fmt: skip
def test_a_file_tampered_with_on_its_way_is_refused(
    tablet: Tablet, unchanged: Unchanged, packed: str
) -> None:
    page = choose(tablet, AUTUMN)
    with unchanged():
        answer = write(tablet, page, carried=packed)
    assert answer.status == 422
    assert "file" in answer.beside("file")


def test_a_year_of_hourly_readings_travels_with_its_form(tablet: Tablet) -> None:
    page = choose(tablet, a_year(timedelta(hours=1)))
    assert page.status == 200
    again = tablet.send(page.form(), ADDRESS, step="look", keeps_standard_time="yes")
    assert again.status == 200
    assert "8,760 readings" in again.words


def test_a_year_of_readings_every_five_minutes_fits_into_the_form() -> None:
    data = a_year(timedelta(minutes=5))
    carried = taken("freezer.csv", data)
    assert len(carried.packed) < LARGER_BODY_BYTES["places.logger"] / 2
    assert unpacked("freezer.csv", carried.packed).data == data


def a_year(step: timedelta) -> bytes:
    lines, at = ["Time,Temperature (°C),Humidity (%)"], datetime.combine(date(2024, 10, 1), time())
    for n in range(timedelta(days=365) // step):
        when = at + n * step
        lines.append(f"{when:%Y-%m-%d %H:%M:%S},{-18 + (n * 7919 % 31) / 10:.2f},{n * 31 % 90}")
    return "\n".join(lines).encode()


def test_readings_still_to_come_are_refused(tablet: Tablet, unchanged: Unchanged) -> None:
    page = choose(tablet, table(rows_of(date(2025, 10, 1), date(2025, 10, 24))))
    with unchanged():
        answer = write(tablet, page)
    assert answer.status == 422
    assert "is still to come" in answer.summary


def test_hours_too_warm_are_told_with_the_rule_before_anything_is_written(tablet: Tablet) -> None:
    # 5 °C: Food Code, section 3-501.16, US Food and Drug Administration
    start = datetime.combine(date(2025, 10, 5), time(8))
    temps = [4.0] * 4 + [7.0] * 9 + [4.0] * 3
    rows = [(start + n * timedelta(minutes=15), t) for n, t in enumerate(temps)]
    address = f"/places/{b.FRIDGE}/logger"
    page = choose(tablet, table(rows), address=address)
    said = "above 5 °C for 2 h 30 min in all, at most 2 h 30 min at a time."
    assert said in page.words
    assert ("a", f"/went-wrong?place={b.FRIDGE}") in [
        (tag, attributes.get("href")) for tag, attributes in page.tags
    ]


def test_hours_between_readings_far_apart_are_not_called_cold(tablet: Tablet) -> None:
    start = datetime.combine(date(2025, 10, 5), time(8))
    minutes = (0, 15, 30, 330, 345)
    rows = [(start + timedelta(minutes=m), 7.0 if m == 15 else 4.0) for m in minutes]
    page = choose(tablet, table(rows), address=f"/places/{b.FRIDGE}/logger")
    assert "for 30 min in all, at most 30 min at a time; of 5 h nothing is known" in page.words


def test_a_household_of_us_units_sees_fahrenheit(tablet: Tablet) -> None:
    tablet.fill("/household/settings", units="us")
    page = choose(tablet, AUTUMN)
    assert "From 1 September 2025 on: 5 °F (3.2 °F to 6.8 °F)" in page.words
    answer = write(tablet, page)
    assert "5 °F (3.2 °F to 6.8 °F)" in tablet.get(answer.location).words


def test_the_lot_tells_the_newest_changes_of_a_long_log(tablet: Tablet, book: Book) -> None:
    with book.writing() as session:
        ref = b.take_in(session, place=b.FREEZER, on=date(2025, 4, 1))
    rows = [(at, t + at.month / 2) for at, t in rows_of(date(2025, 4, 1), date(2025, 10, 19), -20)]
    write(tablet, choose(tablet, table(rows)))
    words = tablet.get(f"/lots/{code_of(ref.lot_id)}").words
    assert (
        "Kept: Chest freezer since 1 April 2025, −18 °C; 3 earlier changes; since 1 August 2025 "
        "logged −16 °C; since 1 September 2025 logged −15.5 °C; since 1 October 2025 logged −15 °C."
    ) in words
