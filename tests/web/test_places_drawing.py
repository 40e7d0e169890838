"""The drawing of how warm a place was, and how full a freezer is."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.ledger.climates import Stretch, Warmth
from app.ledger.queries.climate import DayRead, ReadingLine, Story
from app.web.places.drawing import HEIGHT, ClimateDrawing, climate_drawing
from app.web.places.fullness import filled_shares, fullness_words

ZONE = ZoneInfo("Europe/London")
TODAY = date(2025, 10, 20)


def at(on: date) -> datetime:
    return datetime(on.year, on.month, on.day, tzinfo=ZONE)


def drawn(*warmths: tuple[date, Warmth], days: tuple[DayRead, ...] = (), unit: str = "C",
          typed: tuple[ReadingLine, ...] = ()) -> ClimateDrawing:  # fmt: skip
    stretches = tuple(Stretch(at(on), warmth, None) for on, warmth in warmths)
    story = Story(warmths[0][0], stretches, (), days, typed, ())
    return climate_drawing(story, TODAY, "a sentence", unit, ZONE)


COLD, MILD = Warmth(-20.0, -18.0, -16.0, 0.5), Warmth(-14.0, -12.0, -10.0, 0.5)


def test_stretches_stand_side_by_side_over_the_whole_width() -> None:
    d = drawn((date(2024, 10, 21), COLD), (date(2025, 4, 21), MILD))
    first, second = d.bands
    assert (first.x, first.end, second.end) == (0.0, second.x, 100.0)
    assert second.x == pytest.approx(50.0, abs=0.2)  # half a year


def test_warmer_stands_higher() -> None:
    d = drawn((date(2025, 1, 1), COLD), (date(2025, 6, 1), MILD))
    cold, mild = d.bands
    assert 0 <= mild.high < mild.usual < mild.low < cold.high < cold.low <= HEIGHT


def test_lines_stand_at_round_degrees_that_enclose_everything() -> None:
    d = drawn((date(2025, 1, 1), COLD), days=(DayRead(date(2025, 5, 1), -21.4, -3.2, 90),))
    assert [line.word for line in d.lines] == [f"{t:g} °C".replace("-", "−") for t in
                                               (-25, -20, -15, -10, -5, 0)]  # fmt: skip
    assert (d.lines[0].at, d.lines[-1].at) == (HEIGHT, 0.0)


def test_a_household_of_us_units_sees_round_degrees_fahrenheit() -> None:
    words = [line.word for line in drawn((date(2025, 1, 1), COLD), unit="F").lines]
    assert words == ["−4 °F", "−2 °F", "0 °F", "2 °F", "4 °F"]


def test_the_months_of_a_narrow_drawing_do_not_crowd_the_year() -> None:
    d = drawn((date(2024, 10, 21), COLD))
    always = [mark.word for mark in d.months if not mark.is_minor]
    assert always == ["Nov", "Jan 2025", "Mar", "May", "Jul", "Sep", "today"]
    every = [mark.word for mark in d.months]
    assert every[:4] == ["Nov", "Dec", "Jan 2025", "Feb"]


def test_a_typed_reading_is_drawn_where_it_was_read() -> None:
    midday = datetime(2025, 10, 20, 12, tzinfo=ZONE)
    d = drawn((TODAY, COLD), typed=(ReadingLine(1, midday, -18.0, "-18"),))
    (stroke,) = d.strokes
    assert stroke.is_typed
    assert (stroke.x, stroke.high) == (50.0, d.bands[0].usual)


temps = st.floats(-40, 45)


@given(
    st.lists(st.tuples(st.integers(0, 364), temps, temps, temps), min_size=1, max_size=8),
    st.lists(st.tuples(st.integers(0, 364), temps, temps), max_size=8),
    st.sampled_from(["C", "F"]),
)
def test_nothing_is_drawn_outside_the_drawing(
    stated: list[tuple[int, float, float, float]],
    read: list[tuple[int, float, float]],
    unit: str,
) -> None:
    start = TODAY - timedelta(days=364)
    by_day = {0: stated[0][1:]} | {day: three for day, *three in sorted(stated)}
    warmths = [
        (start + timedelta(days=day), Warmth(*sorted(three), 0.5))  # type: ignore[arg-type, misc]
        for day, three in sorted(by_day.items())
    ]
    days = tuple(DayRead(start + timedelta(days=n), min(a, b), max(a, b), 2) for n, a, b in read)
    d = drawn(*warmths, days=days, unit=unit)
    assert all(0 <= x <= 100 for b in d.bands for x in (b.x, b.end))
    assert all(-0.1 <= y <= HEIGHT + 0.1 for b in d.bands for y in (b.high, b.usual, b.low))
    assert all(0 <= s.x <= 100 and -0.1 <= s.high <= s.low <= HEIGHT + 0.1 for s in d.strokes)
    assert 2 <= len(d.lines) <= 8


def test_a_cubic_foot_of_blocks_weighs_35_lb() -> None:
    # "One cubic foot of freezer space holds up to 35 pounds": Fraser and Lackey, What is a basic
    # measurement of freezer capacity?, North Carolina State University, 2004
    tight, _ = filled_shares(35 * 0.45359237, 28.316846592)
    assert tight == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("mass_kg", "words"),
    [
        (0.0, "empty"),
        (3.0, "nearly empty"),
        (20.0, "about a quarter full"),
        (56.0, "about half to two thirds full"),
        (75.0, "about two thirds to quite full"),
        (112.0, "full"),
        (200.0, "more than it should hold: check its size, or what lies in it"),
    ],
)
def test_a_freezer_of_200_l_says_in_words_how_full_it_is(mass_kg: float, words: str) -> None:
    assert fullness_words(mass_kg, 200.0) == words


@given(st.floats(0.1, 500), st.floats(20, 1000))
def test_more_food_never_takes_less_room(mass_kg: float, capacity_l: float) -> None:
    low, high = filled_shares(mass_kg, capacity_l)
    assert 0 < low < high
    assert filled_shares(mass_kg + 1.0, capacity_l)[0] > low
