"""The season page: the year in words beside its pictures, what lasts how long, what comes up."""

import re
from collections.abc import Callable
from datetime import date
from typing import Any

from app.ledger.codes import code_of
from app.ledger.operations.leave import Leave, eat
from app.ledger.operations.move import Move, move
from tests import builders
from tests.builders import APPLES, FREEZER, FRIDGE, KG, PANTRY, do, take_in
from tests.web.conftest import HandClock
from tests.web.pages import Tablet

Given = Callable[..., Any]


def apples(session: Any) -> Any:
    """Ten kilograms on 20 October, on the shelf; one eaten on the 22nd of each of four months."""
    ref = take_in(session, APPLES, 10_000, place=PANTRY, name="Apples", on=date(2025, 10, 20))
    for day in (date(2025, 10, 22), date(2025, 11, 22), date(2025, 12, 22), date(2026, 1, 22)):
        do(session, eat, Leave((ref,), day, mass_mg=1 * KG))
    return ref


def later(clock: HandClock, day: date) -> None:
    """Let it become the evening of a day."""
    clock.now = builders.evening(day)


def squeezed(words: str) -> str:
    """With plain spaces, as somebody reads it."""
    return re.sub(r"\s+", " ", words)


def test_a_new_household_is_told_what_begins_the_year(tablet: Tablet) -> None:
    page = tablet.get("/season")
    assert "Nothing has been taken in yet." in page.words
    assert "/write/intake" in {a.get("href") for tag, a in page.tags if tag == "a"}
    assert not [a for tag, a in page.tags if a.get("role") == "img"]


def test_the_season_is_a_section_of_its_own(tablet: Tablet) -> None:
    (here,) = [a for tag, a in tablet.get("/season").tags if a.get("aria-current") == "page"]
    assert here["href"] == "/season"


def test_the_year_of_a_food_is_said_in_words_and_figures(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    given(apples)
    later(clock, date(2026, 2, 10))
    page = tablet.get("/season")
    words = squeezed(page.words)
    assert "6.00 kg is on hand. In the last twelve months 10.0 kg came in and 4.00 kg" in words
    assert "Least: 6.00 kg at the end of January 2026." in words
    assert "10.0 kg came in, 4.00 kg was eaten." in words
    picture = "Apples: none at the end of February 2025, most 9.00 kg in October 2025"
    assert picture in squeezed(page.data.decode())


def test_that_a_food_ran_out_is_said(tablet: Tablet, given: Given, clock: HandClock) -> None:
    ref = given(take_in, APPLES, 2_000, place=PANTRY, name="Apples", on=date(2025, 10, 20))
    given(do, eat, Leave((ref,), date(2025, 12, 5)))
    later(clock, date(2026, 2, 10))
    words = squeezed(tablet.get("/season").words)
    assert "None was left at 2 months’ ends, first in December 2025." in words
    assert "none now" in words


def test_six_months_ahead_is_a_range_with_what_it_is_known_from(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    # 4 kg in the 114 days from 20 October to 10 February, by 4 takings of 1 kg: 4 ± 2 kg.
    # In the 72 days since 1 December 2 kg: 2 ± 1.41 kg. So 0.0081 to 0.0526 kg a day, that is
    # 0.248 to 1.60 kg a month, and by 31 August, 202 days on, nothing to 4.36 kg.
    given(apples)
    later(clock, date(2026, 2, 10))
    words = squeezed(tablet.get("/season").words)
    assert "248 g to 1.60 kg a month, known from 4 takings in 4 months." in words
    assert "At the end of August 2026: nothing to 4.36 kg." in words


def test_without_a_taking_no_rate_is_made_up(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    given(take_in, APPLES, 2_000, place=PANTRY, name="Apples", on=date(2025, 10, 20))
    later(clock, date(2026, 2, 10))
    words = squeezed(tablet.get("/season").words)
    assert "Nothing was taken out yet: no rate is known." in words
    assert "At the end of August 2026" not in words


def test_less_than_four_weeks_make_no_rate(tablet: Tablet, given: Given, clock: HandClock) -> None:
    ref = given(take_in, APPLES, 2_000, place=PANTRY, name="Apples", on=date(2025, 10, 20))
    given(do, eat, Leave((ref,), date(2025, 10, 25), mass_mg=KG))
    later(clock, date(2025, 11, 5))
    assert "Here for less than four weeks: no rate is known yet." in tablet.get("/season").words


def test_a_lot_that_would_outlast_its_window_is_named_with_a_link(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    ref = given(take_in, mass_g=20_000, place=FREEZER, name="Moose trim", on=date(2025, 10, 20))
    given(do, eat, Leave((ref,), date(2025, 11, 20), mass_mg=KG))
    later(clock, date(2026, 1, 20))
    page = tablet.get("/season")
    words = squeezed(page.words)
    assert "would still be there when its window ends in" in words
    assert f"/lots/{code_of(ref.lot_id)}" in {a.get("href") for tag, a in page.tags if tag == "a"}


def test_the_refrigerator_is_not_reckoned_months_ahead(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    ref = given(take_in, APPLES, 2_000, place=FRIDGE, name="Apples", on=date(2025, 10, 20))
    page = tablet.get("/season")
    assert "No freezer, pantry or cellar holds anything now." in page.words
    given(do, move, Move((ref,), PANTRY, date(2025, 10, 20)))
    assert "No freezer, pantry or cellar" not in tablet.get("/season").words


def test_the_calendar_tells_whose_window_ends_and_what_came_in_a_year_before(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    given(take_in, APPLES, 14_000, place=PANTRY, name="Apples", on=date(2025, 10, 20))
    given(take_in, mass_g=3_000, place=FREEZER, name="Moose trim", on=date(2025, 11, 2))
    later(clock, date(2025, 11, 10))
    rows = squeezed(tablet.get("/season").words)
    later(clock, date(2026, 10, 1))
    after = squeezed(tablet.get("/season").words)
    assert "October 2026 In October 2025 came in: Apples 14.0 kg." in rows
    assert "In October 2025 came in: Apples 14.0 kg." in after
    assert "In November 2025 came in: Moose trim 3.00 kg." in after
    assert "1 lot" in rows


def test_names_people_typed_are_shown_as_text(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    ref = given(take_in, mass_g=20_000, place=FREEZER, name="<b>Trim</b>", on=date(2025, 10, 20))
    given(do, eat, Leave((ref,), date(2025, 11, 20), mass_mg=KG))
    later(clock, date(2026, 1, 20))
    page = tablet.get("/season")
    assert "<b>Trim</b>" in page.words
    assert "b" not in {tag for tag, _a in page.tags}


def test_masses_are_in_the_units_of_who_reads(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    given(apples)
    later(clock, date(2026, 2, 10))
    tablet.fill("/household/settings", units="us")
    words = squeezed(tablet.get("/season").words)
    assert "13.2 lb is on hand." in words
    assert not re.search(r"\d\.\d+ kg", words)
