"""The page of readings, and where they show."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import pytest

from app.ledger.codes import code_of
from tests import builders as b
from tests.web.pages import Tablet

Given = Callable[..., Any]
Unchanged = Callable[[], AbstractContextManager[None]]


def test_what_was_measured_and_what_was_computed_both_show(tablet: Tablet, given: Given) -> None:
    ref = given(b.take_in)
    done = tablet.fill(f"/write/measure?from={ref}", fat="6,5", protein="21")
    assert (done.status, done.location) == (303, f"/lots/{code_of(ref.lot_id)}")
    for address in (done.location, f"{done.location}/worked-out"):
        words = tablet.get(address).words
        assert "Fat, measured 6.5 % by a fat test, 20 October 2025; computed before: 0.7 %" in words
        assert "Protein, measured 21 % by a nutrition panel" in words
    assert "what the household measured" in words


def test_a_meter_without_its_own_precision_is_taken_as_one_point(
    tablet: Tablet, given: Given
) -> None:
    ref = given(b.take_in)
    done = tablet.fill(f"/write/measure?from={ref}", water="72")
    assert "Water, measured 72 % ± 1.0 % by a moisture meter" in tablet.get(done.location).words


def test_a_measure_is_offered_for_loose_food_and_taken_back_by_undo(
    tablet: Tablet, given: Given
) -> None:
    ref = given(b.take_in)
    lot = f"/lots/{code_of(ref.lot_id)}"
    offered = {a.get("href", "") for tag, a in tablet.get(lot).tags if tag == "a"}
    assert f"/write/measure?from={ref}" in offered
    tablet.fill(f"/write/measure?from={ref}", fat="6.5")
    page = tablet.get(lot)
    (undo,) = {form.action for form in page.forms if form.action.endswith("/undo")}
    sent = next(form for form in page.forms if form.action == undo)
    assert tablet.send(sent, lot).status == 303
    assert "Fat, measured" not in tablet.get(lot).words


@pytest.mark.parametrize(
    ("values", "field", "words"),
    [
        ({"water": "80", "fat": "30"}, "fat", "more than the whole"),
        ({"fat": "120"}, "fat", "between 0 and 100"),
        ({"fat": "lean"}, "fat", "a number"),
        ({}, "water", "needed"),
    ],
)
def test_readings_that_cannot_be_are_refused_beside_their_field(
    tablet: Tablet,
    given: Given,
    unchanged: Unchanged,
    values: dict[str, str],
    field: str,
    words: str,
) -> None:
    ref = given(b.take_in)
    with unchanged():
        page = tablet.fill(f"/write/measure?from={ref}", **values)
    assert page.status == 422
    assert words in page.beside(field)
