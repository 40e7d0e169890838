"""The page that blends several lots."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import pytest

from app.ledger.book import Book
from app.ledger.codes import lot_id_of
from app.ledger.models import Lot
from tests import builders as b
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]
Unchanged = Callable[[], AbstractContextManager[None]]


def chosen(given: Given) -> dict[str, str]:
    """Lean moose, pork and back-fat, in the first three rows."""
    refs = [
        given(b.take_in, mass_g=2000),
        given(b.take_in, b.PORK, 1500),
        given(b.take_in, b.BACK_FAT, 800),
    ]
    return {f"parts__{i}__ref": str(ref) for i, ref in enumerate(refs)}


def work_out(tablet: Tablet, **values: str) -> Page:
    return tablet.fill("/write/mix", work_out="1", **values)


def test_the_weights_are_worked_out_and_then_written(
    tablet: Tablet, book: Book, given: Given, unchanged: Unchanged
) -> None:
    values = chosen(given)
    with unchanged():
        page = work_out(
            tablet,
            **values,
            target="20",
            total_mg="2 kg",
            seasonings__0__stuff="salt",
            seasonings__0__percent="1.8",
        )
    assert page.status == 200
    assert "36 g of Salt" in page.words  # 1.8 % of 2 kg of meat
    done = tablet.send(page.form(), "/write/mix", name="Sausage")
    assert done.status == 303, done.summary
    with book.reading() as session:
        lot = session.get_one(Lot, lot_id_of(done.location.rsplit("/", 1)[1]))
        assert lot.fat == pytest.approx(0.20 * 2000 / 2036, abs=0.0005)


def test_a_target_out_of_reach_is_explained_with_the_nearest(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    values = chosen(given)
    with unchanged():
        page = work_out(tablet, **values, target="95")
    assert page.status == 422
    assert "95.0 % fat cannot be reached" in page.beside("target")
    assert "the nearest is 88.7 %" in page.beside("target")  # back-fat, USDA SR28, 2015


def test_a_curing_salt_is_refused_beside_its_name(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    values = chosen(given)
    seasoning = {
        "seasonings__0__stuff": "salt",
        "seasonings__0__name": "Curing salt",
        "seasonings__0__percent": "1.8",
    }
    with unchanged():
        page = work_out(tablet, **values, **seasoning, target="20")
    assert page.status == 422
    assert "use the current official guide (rule CAN-NONE" in page.beside("seasonings-0-name")


def test_choosing_nothing_is_refused_in_words(tablet: Tablet, unchanged: Unchanged) -> None:
    with unchanged():
        page = work_out(tablet, target="20")
        assert (page.status, bool(page.summary)) == (422, True)
        assert work_out(tablet).beside("target") == "Say how much is wanted."
