"""The step a lot needs next stands first."""

import pytest
from sqlalchemy.orm import Session

from app.ledger.queries.next_steps import next_steps
from app.ledger.queries.stock import find_line
from app.ledger.stock import StockRef
from app.science.classes import Form
from tests.builders import FREEZER, FRIDGE, cooked, dried, pouches, take_in

TROUT = "15115"  # rainbow trout, wild, raw (USDA SR28)


def steps_of(session: Session, ref: StockRef) -> list[str]:
    line = find_line(session, ref)
    assert line is not None
    return [str(step) for step in next_steps(line)]


@pytest.mark.parametrize(
    ("food", "form", "place", "first"),
    [
        ("17172", Form.PIECES, FRIDGE, "grind"),
        ("17172", Form.GROUND, FRIDGE, "cook"),
        ("17172", Form.WHOLE, FRIDGE, "cook"),
        (TROUT, Form.PIECES, FRIDGE, "cook"),
        ("17172", Form.PIECES, FREEZER, "thaw"),
        ("11167", Form.PIECES, FRIDGE, "blanch"),
        ("10004", Form.WHOLE, FRIDGE, "blend"),
    ],
)
def test_raw_food_is_offered_its_likeliest_step(
    session: Session, food: str, form: Form, place: int, first: str
) -> None:
    ref = take_in(session, food, place=place, form=form)
    assert steps_of(session, ref)[0] == first


def test_what_was_cooked_is_chilled_next(session: Session) -> None:
    assert steps_of(session, cooked(session))[0] == "chill"


def test_what_is_dry_is_packed_next_and_a_pouch_is_eaten(session: Session) -> None:
    assert steps_of(session, dried(session))[0] == "pack"
    assert steps_of(session, pouches(session, 100)[0])[0] == "eat"


def test_no_step_is_offered_twice(session: Session) -> None:
    for ref in (take_in(session), cooked(session), pouches(session, 100)[0]):
        steps = steps_of(session, ref)
        assert len(steps) == len(set(steps))
