"""Eat, give, discard: food that leaves, and where it went."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.models import Loss
from app.ledger.operations.leave import Leave, discard, eat, give
from app.ledger.stock import StockRef
from tests.builders import (
    FRIDGE,
    PANTRY,
    TODAY,
    G,
    do,
    estimate_of,
    lost,
    on_hand,
    pouches,
    refusal,
    take_in,
)

LATER = TODAY + timedelta(days=30)
WAYS = [(eat, "eaten"), (give, "given"), (discard, "discarded")]


@pytest.mark.parametrize(("use_case", "loss"), WAYS)
def test_a_whole_pouch_leaves_and_the_others_stay(
    session: Session, use_case: Callable[..., Any], loss: str
) -> None:
    one, two, three = pouches(session, 80, 81, 82)
    posted = do(session, use_case, Leave((two,), LATER, words="Morag"))
    assert lost(session, posted) == {loss: 81 * G}
    assert [on_hand(session, ref) for ref in (one, two, three)] == [80 * G, 0, 82 * G]
    assert estimate_of(session, two) is None


def test_who_got_it_is_kept_for_a_recall(session: Session) -> None:
    one, two, _ = pouches(session)
    posted = do(session, give, Leave((one, two), LATER, words="Morag at the mill"))
    loss = session.scalars(select(Loss).where(Loss.operation_id == posted.operation_id)).one()
    assert (loss.words, loss.mass_mg) == ("Morag at the mill", 160 * G)


@pytest.mark.parametrize("use_case", [give, discard])
@pytest.mark.parametrize("words", ["", "   "])
def test_giving_needs_a_name_and_discarding_a_reason(
    session: Session, use_case: Callable[..., Any], words: str
) -> None:
    request = Leave((take_in(session),), TODAY, words=words)
    assert refusal(session, use_case, request).field == "words"


def test_part_of_a_lot_is_eaten(session: Session) -> None:
    ref = take_in(session)
    do(session, eat, Leave((ref,), TODAY, mass_mg=1))
    assert on_hand(session, ref) == 1000 * G - 1


@pytest.mark.parametrize(
    ("refs", "mass_mg", "field", "kind"),
    [
        ((), None, "refs", "missing"),
        ((StockRef(1, FRIDGE),), 0, "mass_mg", "not_positive"),
        ((StockRef(1, FRIDGE),), -1, "mass_mg", "not_positive"),
        ((StockRef(1, FRIDGE),), 1000 * G + 1, "mass_mg", "not_on_hand"),
        ((StockRef(1, PANTRY),), None, "refs", "not_on_hand"),
        ((StockRef(99, FRIDGE),), None, "refs", "unknown_lot"),
        ((StockRef(1, FRIDGE), StockRef(1, FRIDGE)), None, "refs", "not_on_hand"),
    ],
)
def test_what_cannot_be_is_refused(
    session: Session, refs: tuple[StockRef, ...], mass_mg: int | None, field: str, kind: str
) -> None:
    assert take_in(session).lot_id == 1
    problem = refusal(session, eat, Leave(refs, TODAY, mass_mg=mass_mg))
    assert (problem.field, problem.kind) == (field, kind)


def test_what_is_gone_cannot_be_eaten_again(session: Session) -> None:
    one, *_ = pouches(session)
    do(session, eat, Leave((one,), LATER))
    assert refusal(session, eat, Leave((one,), LATER)).kind == "not_on_hand"


def test_a_new_lot_after_everything_was_eaten_gets_a_window_of_its_own(session: Session) -> None:
    """The row numbers of stock are used again; windows must not be."""
    ref = take_in(session)
    kept = estimate_of(session, ref)
    assert kept is not None
    do(session, eat, Leave((ref,), TODAY))
    later = take_in(session, on=LATER, kept_since=LATER)
    fresh = estimate_of(session, later)
    assert fresh is not None
    assert fresh.start == LATER
