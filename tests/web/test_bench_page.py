"""The bench: since when food lies there, which limit runs, and the one step it needs next."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from app.ledger.book import Book
from app.ledger.codes import code_of
from app.ledger.operations.cook import cook
from app.ledger.operations.move import Move, move
from app.ledger.stock import StockRef
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]


def cards(page: Page) -> list[str]:
    """The ids of the cards, from the top."""
    return [a["id"] for tag, a in page.tags if tag == "li" and a.get("class") == "card"]


def card(page: Page, ref: StockRef) -> str:
    """What the card of a lot says."""
    return page.inside(code_of(ref.lot_id))


def first_step(page: Page, card_id: str) -> str:
    """Where the one large button of a card leads."""
    here = ""
    for tag, a in page.tags:
        here = a["id"] if tag == "li" and a.get("class") == "card" else here
        if tag == "a" and a.get("class") == "button main" and here == card_id:
            return a["href"]
    return ""


def until(page: Page) -> list[str]:
    """The instants that clocks of the page run to."""
    return [a["data-until"] for _, a in page.tags if "data-until" in a]


def test_an_empty_bench_says_what_would_fill_it(tablet: Tablet) -> None:
    page = tablet.get("/bench")
    assert "Nothing is in progress." in page.words
    assert ("a", "/write") in [(tag, a.get("href")) for tag, a in page.tags]


def test_a_hot_pot_has_two_hours_to_21_and_six_to_5_degrees(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    """Food Code 3-501.14 (FDA, 2022): 57 to 21 °C within 2 hours, to 5 °C within 6 hours in all."""
    pot = given(b.cooked)
    clock.forward(minutes=75)
    page = tablet.get("/bench")
    cooked_at = b.evening(b.TODAY)
    assert until(page) == [(cooked_at + timedelta(hours=hours)).isoformat() for hours in (2, 6)]
    words = card(page, pot)
    assert "Here since 19:00 1 h 15 min" in words  # an hour before UTC in a British October
    assert "21:00: 21 °C or colder in 45 min" in words
    assert "5 °C or colder in 4 h 45 min" in words
    assert "Local rules and your licensed processor or health office come first." in words
    assert first_step(page, code_of(pot.lot_id)) == f"/write/chill?from={pot}"


def test_a_limit_that_is_past_is_said_to_be_and_proves_nothing(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    pot = given(b.cooked)
    clock.forward(hours=2, minutes=1)
    words = card(tablet.get("/bench"), pot)
    assert "21 °C or colder 1 min ago" in words
    assert "5 °C or colder in 3 h 59 min" in words
    assert "discard" not in words.casefold().split("another step")[0]


def test_in_australia_the_second_stage_has_four_hours_of_its_own(
    tablet: Tablet, given: Given
) -> None:
    """FSANZ Standard 3.2.2 clause 7: 60 to 21 °C within 2 hours, to 5 °C within 4 hours more."""
    tablet.fill("/household/settings", rule_set="au")
    pot = given(b.cooked)
    page = tablet.get("/bench")
    assert until(page)[1] == (b.evening(b.TODAY) + timedelta(hours=6)).isoformat()
    assert "Standard 3.2.2" in card(page, pot)


def test_a_pot_that_was_written_a_day_late_has_no_hour_to_count_from(
    tablet: Tablet, book: Book
) -> None:
    with book.writing() as session:
        meat = b.take_in(session)
        late = b.evening(b.TODAY) + timedelta(days=1)
        pot = b.made(cook(session, b.a_cook(meat, 1000, 1000), at=late, by=b.AILSA), b.BENCH)
    page = tablet.get("/bench")
    assert until(page) == []
    assert "Its hour was not written down" in card(page, pot)
    assert "Here since 20 October 2025" in card(page, pot)


def test_once_chilled_the_clock_is_gone_and_skimming_comes_next(
    tablet: Tablet, given: Given
) -> None:
    pot = given(b.a_pot)
    page = tablet.get("/bench")
    assert until(page) == []
    assert first_step(page, code_of(pot.lot_id)) == f"/write/skim?from={pot}"


def test_the_clock_counts_from_when_food_came_to_where_it_lies(
    tablet: Tablet, given: Given, book: Book
) -> None:
    """FSIS, the two-hour rule: perishable food is out of the cold for two hours at most."""
    corn = given(b.take_in, b.MOOSE, place=b.FRIDGE)
    out = b.evening(b.TODAY) + timedelta(hours=3)
    with book.writing() as session:
        move(session, Move((corn,), b.BENCH, b.TODAY), at=out, by=b.AILSA)
    page = tablet.get("/bench")
    assert until(page) == [(out + timedelta(hours=2)).isoformat()]
    assert "back in the cold" in card(page, StockRef(corn.lot_id, b.BENCH))


def test_the_page_tells_the_time_it_was_made_by_the_server(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    given(b.cooked)
    page = tablet.get("/bench")
    assert clock.now.isoformat() in [a.get("data-now") for _, a in page.tags]


def test_dry_food_waits_to_be_packed(tablet: Tablet, given: Given, clock: HandClock) -> None:
    dry = given(b.dried)
    clock.forward(days=1, hours=5)
    page = tablet.get("/bench")
    assert "Dry, waiting to be packed" in page.words
    assert first_step(page, code_of(dry.lot_id)) == f"/write/pack?from={dry}"
    assert "5 h 00 min" in card(page, dry)


def test_a_dryer_says_how_long_it_runs_and_which_tray_to_weigh(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    def work(session: Any) -> int:
        ref = b.cooked(session)
        run = b.loaded(session, b.a_tray(ref, 600), b.a_tray(ref, 400))
        b.weigh(session, run, 1, 900, 1)
        return run

    run = given(work)
    clock.forward(hours=3)
    page = tablet.get("/bench")
    words = page.inside(f"run-{run}")
    assert "3 h 00 min" in words
    assert "by estimate; machines differ, so weigh rather than wait." in words
    assert first_step(page, f"run-{run}") == f"/runs/{run}?tray=1"  # it has a time, tray 2 has none
    opened = tablet.get(f"/runs/{run}?tray=2")
    assert opened.form(f"weigh-{run}").values["number"] == "2"
    gross = [a for tag, a in opened.tags if tag == "input" and a.get("name") == "gross"]
    assert ["autofocus" in a for a in gross] == [True]


def test_a_dryer_past_its_estimate_gives_no_hours_that_are_over(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    def work(session: Any) -> int:
        ref = b.cooked(session)
        return b.loaded(session, b.a_tray(ref, 600))

    run = given(work)
    clock.forward(days=20)
    assert "It runs longer than the estimate" in tablet.get("/bench").inside(f"run-{run}")


@pytest.mark.parametrize("tray", ["9", "x", "-1", "9" * 400])
def test_a_tray_that_is_none_is_not_asked_for(tablet: Tablet, given: Given, tray: str) -> None:
    run = given(lambda s: b.loaded(s, b.a_tray(b.cooked(s), 600)))
    assert tablet.get(f"/runs/{run}?tray={tray}").form(f"weigh-{run}").values["number"] == "1"


def test_the_strictest_clock_stands_on_top(tablet: Tablet, given: Given) -> None:
    given(b.dried)
    given(lambda s: b.loaded(s, b.a_tray(b.cooked(s, 700), 600)))
    hot = given(b.cooked, 500)
    ids = cards(tablet.get("/bench"))
    assert ids[0] in {code_of(hot.lot_id), code_of(hot.lot_id - 2)}
    assert ids.index(code_of(hot.lot_id)) < min(i for i, x in enumerate(ids) if "run-" in x)
