"""What would help: sentences on the lot and pack pages, about quality and never about safety."""

from collections.abc import Callable
from typing import Any

import pytest
from flask import Flask

from app.ledger.codes import code_of
from app.science.window import HelpKind, estimate, what_would_help
from app.web.what_helps import MOST, WORDS, help_lines, length_words
from tests import builders as b
from tests.keepings import pouch
from tests.web.conftest import HandClock
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]


def told(page: Page) -> int:
    """How many changes the page names."""
    return page.words.count("Assumes:")


@pytest.mark.parametrize("kind", HelpKind)
def test_every_change_has_words_and_says_what_it_assumes(kind: HelpKind) -> None:
    change, assumption = WORDS[kind]
    assert change[0].isupper()
    assert len(assumption) > 20
    assert "safe" not in (change + assumption)


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (1, "1 day"),
        (9, "9 days"),
        (21, "3 weeks"),
        (122, "4 months"),
        (913, "2½ years"),
        (1096, "3 years"),
        (5479, "15 years"),
    ],
)
def test_lengths_are_no_more_exact_than_an_estimate(days: float, words: str) -> None:
    assert length_words(days) == words


def test_the_sentences_are_the_largest_gains_of_the_science(app: Flask) -> None:
    lot = pouch()
    helps = what_would_help(lot)
    with app.test_request_context():
        lines = help_lines(lot, has_window=True)
    assert len(lines) == min(MOST, len(helps))
    for found, line in zip(helps, lines, strict=False):
        assert length_words(found.gain_days) in line.sentence
        gained = estimate(found.changed).central_days - estimate(lot).central_days
        assert found.gain_days == pytest.approx(gained)


def test_a_cellar_is_named_for_the_shelf_and_never_for_the_freezer(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    frozen = given(b.take_in, place=b.FREEZER)
    words = tablet.get(f"/lots/{code_of(frozen.lot_id)}").words
    assert "A place 6 °C cooler would add about" in words
    assert "cellar" not in words
    bare = given(b.pouches)[0]
    clock.forward(days=30)
    assert "such as a cold cellar, would add" in tablet.get(f"/lots/{code_of(bare.lot_id)}").words


def test_a_pouch_on_the_shelf_is_told_at_most_three_changes(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    pouch = given(b.pouches)[0]
    clock.forward(days=30)
    page = tablet.get(f"/lots/{code_of(pouch.lot_id)}")
    assert 1 <= told(page) <= MOST
    assert "it says nothing of safety" in page.words


def test_food_that_perishes_in_the_warmth_is_offered_no_cure(tablet: Tablet, given: Given) -> None:
    warm = given(b.cooked)
    assert told(tablet.get(f"/lots/{code_of(warm.lot_id)}")) == 0


def test_food_past_its_window_is_offered_no_cure(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    meat = given(b.take_in)
    assert told(tablet.get(f"/lots/{code_of(meat.lot_id)}")) == 1
    clock.forward(days=60)
    assert told(tablet.get(f"/lots/{code_of(meat.lot_id)}")) == 0


def test_the_pack_page_says_what_would_help_the_chosen_package(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    dry = given(b.dried)
    clock.forward(days=1)
    page = tablet.get(f"/write/pack?from={dry}")
    assert 1 <= told(page) <= MOST
