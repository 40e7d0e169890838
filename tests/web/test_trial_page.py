"""The page of a rehydration trial, the list of trials, and where the better line shows."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

from app.ledger.book import Book
from app.ledger.codes import code_of
from app.ledger.operations.trial import Side, TrialIn, record_trial
from app.ledger.queries.labels import label_records
from app.web.labels.words import label_text
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Tablet

Given = Callable[..., Any]
Unchanged = Callable[[], AbstractContextManager[None]]


def bowls(ref: object, **changes: str) -> dict[str, str]:
    values = {}
    for i, drained in enumerate(("140", "120")):
        row = {"ref": str(ref), "dry": "50", "water": "150", "temp": "60", "minutes": "20"}
        row["drained"] = drained
        values |= {f"sides__{i}__{name}": value for name, value in row.items()}
    return values | changes


def test_a_trial_is_written_listed_and_shown_on_the_lot(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    ref = given(b.dried)
    clock.forward(days=1)
    done = tablet.fill("/write/trial", **bowls(ref))
    assert (done.status, done.location) == (303, "/papers/trials"), done.summary
    listed = tablet.get("/papers/trials").words
    assert "Repeat the first: 300 g of water to 100 g dry." in listed
    assert "2.80" in listed  # 140 g over 50 g
    lot = tablet.get(f"/lots/{code_of(ref.lot_id)}").words
    assert "300 g of water to 100 g dry, at 60 °C for 20 minutes" in lot


def test_the_better_line_stands_on_the_next_label(given: Given, book: Book) -> None:
    ref = given(b.dried)
    sides = tuple(Side(ref, 50 * b.G, 150 * b.G, g * b.G, 20.0, 60.0) for g in (140, 120))
    given(b.do, record_trial, TrialIn(sides, b.TODAY))
    with book.reading() as session:
        (record,) = label_records(session, ref.lot_id)
        words = label_text(record, "http://localhost/", "Birkbrae", "metric").rehydrate_words
    # 260 g dry at 150 g to 50 g: 780 g
    assert words == ("add 780 g of water at 60 °C, 20 min (300 g to 100 g, trial 2025-10-20)")


def test_more_drained_than_went_in_is_refused_beside_it(
    tablet: Tablet, given: Given, clock: HandClock, unchanged: Unchanged
) -> None:
    ref = given(b.dried)
    clock.forward(days=1)
    with unchanged():
        page = tablet.fill("/write/trial", **bowls(ref, sides__1__drained="250"))
    assert page.status == 422
    assert "Only 200 g went in" in page.beside("sides-1-drained")


def test_one_bowl_is_no_trial(tablet: Tablet, given: Given, unchanged: Unchanged) -> None:
    ref = given(b.dried)
    with unchanged():
        page = tablet.fill("/write/trial", **bowls(ref, sides__1__dry=""))
    assert page.status == 422
    assert "needs both bowls" in page.summary
