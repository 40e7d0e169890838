"""How warm a place is: changed from a day on, read by hand, and what it does to the food there."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import select

from app.ledger.book import Book
from app.ledger.climates import climate_at, warmth_at
from app.ledger.codes import code_of
from app.ledger.models import CheckDone, Climate, Household, Place, PlaceReading
from app.ledger.operations.incident import LotFate, WentWrong, went_wrong
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.stock import StockRef
from app.ledger.words import IncidentFate, IncidentKind
from tests import builders as b
from tests.web.pages import Page, Tablet

Unchanged = Callable[[], AbstractContextManager[None]]
WARM = f"/places/{b.FREEZER}/warm"
READINGS = f"/places/{b.FREEZER}/readings"
AUGUST = date(2025, 8, 1)


@pytest.fixture
def trim(book: Book) -> StockRef:
    """Moose trim in the chest freezer since August."""
    with book.writing() as session:
        return b.take_in(session, mass_g=2400, place=b.FREEZER, on=AUGUST)


def line_of(book: Book, ref: StockRef) -> StockLine:
    with book.reading() as session:
        return next(line for line in stock_lines(session) if line.lot_id == ref.lot_id)


def warmth(book: Book, on: date, place_id: int = b.FREEZER) -> tuple[float, float, float]:
    with book.reading() as session:
        found = warmth_at(session, session.get_one(Place, place_id), b.evening(on))
        low, usual, high = found.temp_low_c, found.temp_c, found.temp_high_c
        return round(low, 3), round(usual, 3), round(high, 3)


def undo(tablet: Tablet, page: Page) -> None:
    form = next(form for form in page.forms if form.action.endswith("/undo"))
    assert tablet.send(form, form.action).status == 303


def test_a_warmer_freezer_shortens_windows_from_then_on_and_the_lot_says_why(
    tablet: Tablet, book: Book, trim: StockRef
) -> None:
    before = line_of(book, trim).window
    asked = tablet.get(WARM)
    assert "works out anew the window of 1 lot that lies here" in asked.words
    answer = tablet.fill(
        WARM, since="2025-09-01T00:00", how="year", usual="-12", low="-14", high="-9"
    )
    page = tablet.get(answer.location)
    assert "from 1 September 2025, 00:00 on. The window of 1 lot was worked out anew." in page.words
    assert "−12 °C (−14 °C to −9 °C) , as told, since 1 September 2025" in page.words
    after = line_of(book, trim).window
    assert before is not None
    assert after is not None
    assert after.central < before.central
    lot = tablet.get(f"/lots/{code_of(trim.lot_id)}")
    assert (
        "Kept: Chest freezer since 1 August 2025, −18 °C; since 1 September 2025 told −12 °C."
        in lot.words
    )
    working = tablet.get(f"/lots/{code_of(trim.lot_id)}/worked-out")
    assert "1 August 2025 Chest freezer −18 °C (−20 °C to −16 °C) came here" in working.words
    told = "1 September 2025 Chest freezer −12 °C (−14 °C to −9 °C) as told from then on"
    assert told in working.words


def test_undo_brings_the_old_window_back(tablet: Tablet, book: Book, trim: StockRef) -> None:
    before = line_of(book, trim).window
    answer = tablet.fill(WARM, since="2025-09-01T00:00", usual="-10", low="", high="")
    assert line_of(book, trim).window != before
    undo(tablet, tablet.get(answer.location))
    assert line_of(book, trim).window == before
    assert warmth(book, b.TODAY) == (-20.0, -18.0, -16.0)


def test_a_change_of_today_leaves_what_was_before_as_it_was(tablet: Tablet, book: Book) -> None:
    assert tablet.fill(WARM, usual="-22", low="-24", high="-20").status == 303
    assert warmth(book, b.TODAY - timedelta(days=1)) == (-20.0, -18.0, -16.0)
    assert warmth(book, b.TODAY) == (-24.0, -22.0, -20.0)


def test_where_coldest_and_warmest_are_left_open_the_usual_spread_is_taken(
    tablet: Tablet, book: Book
) -> None:
    tablet.fill(WARM, usual="-24", low="", high="")
    assert warmth(book, b.TODAY) == (-26.0, -24.0, -21.0)


def test_a_cellar_told_month_by_month_follows_the_seasons(tablet: Tablet, book: Book) -> None:
    address = f"/places/{b.PANTRY}/warm"
    months = {f"months__{i}__usual": str(4 + i) for i in range(12)}
    answer = tablet.fill(
        address, since="2025-01-01T00:00", how="month", usual="", low="", high="",
        humidity="80", **months,
    )  # fmt: skip
    assert answer.status == 303
    assert [warmth(book, date(2025, n, 9), b.PANTRY)[1] for n in (1, 6, 10)] == [4.0, 9.0, 13.0]
    page = tablet.get(answer.location)
    assert "month by month, as told, since 1 January 2025; humidity 80 %" in page.words
    again = tablet.get(address)
    assert again.typed("how") == ["month"]
    assert again.typed("months-11-usual") == ["15"]


def test_every_month_can_start_like_the_boxes_above(
    tablet: Tablet, book: Book, unchanged: Unchanged
) -> None:
    address = f"/places/{b.PANTRY}/warm"
    with unchanged():
        copied = tablet.fill(address, usual="52 F", low="8", high="14", copy="1")
    assert copied.status == 200
    assert "Every month is now like the boxes above." in copied.words
    assert copied.typed("months-6-usual") == ["52 F"]
    assert copied.typed("how") == ["month"]
    answer = tablet.send(copied.form(), address, months__0__usual="9", months__0__low="6")
    assert answer.status == 303
    with book.reading() as session:
        stated = climate_at(session, session.get_one(Place, b.PANTRY), b.evening(b.TODAY))
    assert [round(w.temp_c, 2) for w in stated.by_month] == [9.0] + [11.11] * 11
    assert stated.by_month[5].temp_low_c == 8.0


@pytest.mark.parametrize(
    ("answers", "field", "words"),
    [
        ({"usual": ""}, "usual", "Say how warm it usually is."),
        ({"usual": "-18", "low": "-10", "high": "-9"}, "usual", "must rise in that order"),
        ({"usual": "cold"}, "usual", "is no amount"),
        ({"how": None}, "how", "Choose one."),
        ({"how": "month", "months__3__usual": "-18"}, "months", "Still missing: January, February"),
        ({"months__3__usual": "-18"}, "how", "Months are filled in below"),
        ({"how": "month", "months__3__low": "-18"}, "months-3-high", "Say the usual, too."),
        ({"since": "2025-10-21T09:00"}, "since", "21 October 2025 is still to come."),
        ({"since": "tomorrow"}, "since", "Write day and time as"),
        ({"humidity": "140"}, "humidity", "between 0 and 100"),
    ],
)
def test_a_climate_that_cannot_be_is_refused_beside_its_field(
    tablet: Tablet, unchanged: Unchanged, answers: dict[str, str], field: str, words: str
) -> None:
    with unchanged():
        answer = tablet.fill(WARM, **answers)
    assert answer.status == 422
    assert words in answer.beside(field)


def test_fahrenheit_typed_as_celsius_is_asked_about_and_may_be_insisted_on(
    tablet: Tablet, book: Book, unchanged: Unchanged
) -> None:
    with unchanged():
        asked = tablet.fill(WARM, usual="5", low="0", high="10")
    assert asked.status == 422
    assert "5 °C is unusual for a freezer. Did you mean 5 °F (-15 °C)?" in asked.words
    assert asked.typed("usual") == ["5"]
    told = tablet.send(asked.form(), WARM, reason="It is switched off and stands in the barn.")
    assert told.status == 303
    assert warmth(book, b.TODAY) == (0.0, 5.0, 10.0)
    history = tablet.get("/history").words
    assert "It is switched off and stands in the barn." in history


def test_a_household_of_us_units_types_and_reads_fahrenheit(tablet: Tablet, book: Book) -> None:
    tablet.fill("/household/settings", units="us")
    answer = tablet.fill(WARM, usual="0", low="-4", high="5")
    assert warmth(book, b.TODAY) == (-20.0, -17.778, -15.0)
    words = tablet.get(answer.location).words
    assert "0 °F (−4 °F to 5 °F)" in words
    assert "−4 °F to 3.2 °F" in words  # what was told when the place was added
    assert tablet.get(WARM).typed("usual") == ["0"]


def test_lots_that_lay_here_before_are_named_beside_those_that_lie_here(
    tablet: Tablet, book: Book
) -> None:
    with book.writing() as session:
        moved = b.take_in(session, b.APPLES, 900, place=b.PANTRY, on=AUGUST)
        b.take_in(session, b.APPLES, 700, place=b.PANTRY)
    tablet.fill(f"/write/move?from={moved}", place_id=str(b.FRIDGE))
    words = tablet.get(f"/places/{b.PANTRY}/warm").words
    assert "windows of 1 lot that lies here and of 1 lot that lay here earlier" in words


def test_an_outage_stands_among_the_places_with_its_cause(
    tablet: Tablet, book: Book, trim: StockRef
) -> None:
    begins = datetime(2025, 9, 3, 8, tzinfo=UTC)
    with book.writing() as session:
        request = WentWrong(
            kind=IncidentKind.POWER_OUT,
            done_on=b.TODAY,
            place_id=b.FREEZER,
            from_at=begins,
            to_at=begins + timedelta(hours=4),
            temp_c=2.0,
            lots=(LotFate(trim, IncidentFate.REFREEZE, (), is_icy=True),),
        )
        b.do(session, went_wrong, request)
    words = tablet.get(f"/lots/{code_of(trim.lot_id)}/worked-out").words
    out = "out of the cold 4 h on 3 September 2025 (the power was out, or it failed)"
    assert f"3 September 2025 Chest freezer 2 °C {out}" in words
    assert "3 September 2025 Chest freezer −18 °C (−20 °C to −16 °C) back as before" in words
    lot = tablet.get(f"/lots/{code_of(trim.lot_id)}").words
    assert f"Kept: Chest freezer since 1 August 2025, −18 °C; {out}." in lot


def test_a_reading_is_kept_as_typed_and_counts_as_the_look_at_the_thermometer(
    tablet: Tablet, book: Book
) -> None:
    answer = tablet.fill(READINGS, reading="2 F")
    page = tablet.get(answer.location)
    assert "Chest freezer reads −16.7 °C." in page.words
    with book.reading() as session:
        reading = session.scalars(select(PlaceReading)).one()
        check = session.scalars(select(CheckDone)).one()
        assert (reading.typed, round(reading.temp_c, 2)) == ("2 F", -16.67)
        assert (check.kind, check.finding, check.place_id) == ("thermometer", "fine", b.FREEZER)
    assert "20 October 2025, 19:00 −16.7 °C 2 F" in page.words
    assert warmth(book, b.TODAY) == (-20.0, -18.0, -16.0)
    undo(tablet, page)
    assert "2 F" not in tablet.get(f"/places/{b.FREEZER}").words


@pytest.mark.parametrize(
    ("place", "typed", "finding"),
    [
        # -15 °C: Directive 89/108/EEC on quick-frozen foodstuffs, -18 °C with 3 °C of deviation
        (b.FREEZER, "-15", "fine"),
        (b.FREEZER, "-14", "not_fine"),
        # 5 °C, 41 °F: Food Code, section 3-501.16, US Food and Drug Administration
        (b.FRIDGE, "5", "fine"),
        (b.FRIDGE, "41 F", "fine"),
        (b.PANTRY, "19", "fine"),
    ],
)
def test_a_reading_that_is_too_warm_is_not_called_well(
    tablet: Tablet, book: Book, place: int, typed: str, finding: str
) -> None:
    answer = tablet.fill(f"/places/{place}/readings", reading=typed)
    assert answer.status == 303
    with book.reading() as session:
        assert session.scalar(select(CheckDone.finding)) == finding
    says = "warmer than it should be" in tablet.get(answer.location).words
    assert says == (finding == "not_fine")


def test_a_warm_refrigerator_asks_what_was_done_and_its_page_warns(
    tablet: Tablet, book: Book, unchanged: Unchanged
) -> None:
    address = f"/places/{b.FRIDGE}/readings"
    with unchanged():
        asked = tablet.fill(address, reading="9")
    assert asked.status == 422
    assert "9 °C in the fridge, above 5 °C (41 °F): the two-hour clock runs." in asked.words
    assert "Something went wrong here" in asked.words
    answer = tablet.send(asked.form(), address, reason="The door stood ajar; shut it.")
    page = tablet.get(answer.location)
    assert "It read 9 °C on 20 October 2025, 19:00, above 5 °C" in page.words
    assert ("a", f"/went-wrong?place={b.FRIDGE}") in [
        (tag, attributes.get("href")) for tag, attributes in page.tags
    ]


def test_fahrenheit_read_off_a_freezer_as_celsius_is_asked_about(
    tablet: Tablet, unchanged: Unchanged
) -> None:
    with unchanged():
        asked = tablet.fill(READINGS, reading="0")
    assert "0 °C is unusual for a freezer. Did you mean 0 °F (-17.8 °C)?" in asked.words


def test_a_reading_of_tomorrow_is_refused(tablet: Tablet, unchanged: Unchanged) -> None:
    with unchanged():
        answer = tablet.fill(READINGS, reading="-18", since="2025-10-21T08:00")
    assert answer.beside("since") == "That is still to come."


def test_a_double_tap_writes_a_change_once(tablet: Tablet, book: Book) -> None:
    form = tablet.get(WARM).form()
    first, second = (tablet.send(form, WARM, usual="-20", low="-22", high="-18") for _ in range(2))
    assert first.location == second.location
    with book.reading() as session:
        assert len(session.scalars(select(Climate)).all()) == 1


def test_a_place_gets_another_name_and_size_and_says_how_full_it_is(
    tablet: Tablet, book: Book
) -> None:
    with book.writing() as session:
        b.take_in(session, mass_g=56_000, place=b.FREEZER)
    address = f"/places/{b.FREEZER}/edit"
    answer = tablet.fill(address, name="Barn freezer", capacity="200")
    page = tablet.get(answer.location)
    assert "It holds 200 l: about half to two thirds full." in page.words
    # 35 lb of block-shaped food to a cubic foot: Fraser and Lackey, North Carolina State
    # University, 2004; 56 kg then take 100 l
    assert "North Carolina State University" in page.words
    assert "Barn freezer" in page.words
    assert "about half to two thirds full" in tablet.get("/places").words
    assert tablet.get(address).typed("capacity") == ["200 l"]


@pytest.mark.parametrize(
    ("units", "typed", "litres"),
    [
        ("metric", "7 cu ft", 198.2), ("us", "7", 198.2), ("us", "200 l", 200.0),
        ("us", "7.1 cubic feet", 201.0), ("metric", "0,2 ft³", 5.7), ("metric", "150", 150.0),
    ],
)  # fmt: skip
def test_a_size_is_read_in_litres_or_cubic_feet(
    tablet: Tablet, book: Book, units: str, typed: str, litres: float
) -> None:
    tablet.fill("/household/settings", units=units)
    assert tablet.fill(f"/places/{b.FREEZER}/edit", capacity=typed).status == 303
    with book.reading() as session:
        capacity_ml = session.get_one(Place, b.FREEZER).capacity_ml
    assert capacity_ml is not None
    # a cubic foot is 28.316846592 l: an inch is 25.4 mm by the yard and pound agreement of 1959
    assert capacity_ml / 1000 == pytest.approx(litres, abs=0.06)
    shown = "cu ft" if units == "us" else " l"
    assert shown in tablet.get(f"/places/{b.FREEZER}").words


@pytest.mark.parametrize(
    ("answers", "field", "words"),
    [
        ({"name": "Pantry"}, "name", "There is a “Pantry” already."),
        ({"name": " "}, "name", "Give it a name."),
        ({"capacity": "0"}, "capacity", "more than nothing"),
        ({"capacity": "a lot"}, "capacity", "is no"),
    ],
)
def test_a_name_that_is_taken_or_a_size_that_cannot_be_is_refused(
    tablet: Tablet, unchanged: Unchanged, answers: dict[str, str], field: str, words: str
) -> None:
    with unchanged():
        answer = tablet.fill(f"/places/{b.FREEZER}/edit", **answers)
    assert answer.status == 422
    assert words in answer.beside(field)


@pytest.mark.parametrize("page", ["edit", "warm", "readings", "logger"])
def test_there_are_no_forms_for_a_place_that_is_not(tablet: Tablet, page: str) -> None:
    assert tablet.get(f"/places/99/{page}").status == 404
    assert tablet.post(f"/places/99/{page}", {}).status == 404


def test_the_pack_page_compares_at_what_the_place_is_now(
    tablet: Tablet, book: Book, trim: StockRef
) -> None:
    tablet.fill(WARM, usual="-22", low="-24", high="-20")
    page = tablet.get(f"/write/pack?from={trim}&place={b.FREEZER}")
    assert "Chest freezer, −22 °C (−24 °C to −20 °C)" in page.words


def test_the_drawing_is_told_in_words(tablet: Tablet, book: Book, trim: StockRef) -> None:
    tablet.fill(WARM, since="2025-09-01T00:00", usual="-15", low="-17", high="-12")
    page = tablet.get(f"/places/{b.FREEZER}")
    sentence = "Chest freezer from 1 August 2025 to today: between −20 °C and −12 °C, with 1 change"
    assert sentence in page.words
    assert any(tag == "svg" and a.get("role") == "img" for tag, a in page.tags)


def test_a_clock_change_between_two_statements_breaks_nothing(
    tablet: Tablet, book: Book, trim: StockRef
) -> None:
    with book.writing() as session:
        session.scalars(select(Household)).one().time_zone = "Europe/Berlin"
    # 30 March 2025, 02:30 never was in Berlin (IANA time zone database)
    for since in ("2025-03-30T02:30", "2025-03-30T03:30", "2025-08-05T10:00"):
        assert tablet.fill(WARM, since=since, usual="-20", low="-21", high="-19").status == 303
    assert tablet.get(f"/lots/{code_of(trim.lot_id)}/worked-out").status == 200
    assert tablet.get(f"/places/{b.FREEZER}").status == 200
