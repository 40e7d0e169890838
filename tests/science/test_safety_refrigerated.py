"""Refrigerated food put to work after its days.

The days are those of the Cold Food Storage Chart, FoodSafety.gov: ground meat 1 to 2, cooked meat
and stews 3 to 4, in the refrigerator.
"""

import math

import pytest

from app.science.classes import FoodClass, Form
from app.science.errors import OutOfRange
from app.science.frozen import State, refrigerator_days
from app.science.safety.refrigerated import worked_late


@pytest.mark.parametrize(
    ("state", "printed"),
    [
        (State(FoodClass.RED_MEAT, Form.GROUND), 2),
        (State(FoodClass.GAME, Form.GROUND), 2),
        (State(FoodClass.DISH, Form.PIECES), 4),
    ],
)
def test_the_last_printed_day_passes_and_the_next_one_asks(state, printed):
    most = refrigerator_days(state).span[1]
    assert most == printed
    assert worked_late(printed, most) == ()
    (verdict,) = worked_late(printed + 1, most)
    assert (verdict.id, verdict.outcome.value) == ("FRIDGE-OVER", "confirm")
    assert f"Day {printed + 1}: its {printed} days" in verdict.sentence
    assert "Cold Food Storage Chart" in verdict.source_text


@pytest.mark.parametrize(("days", "limit"), [(-1, 2), (math.nan, 2), (1, -1), (1, math.nan)])
def test_days_that_are_none_are_refused(days, limit):
    with pytest.raises(OutOfRange):
        worked_late(days, limit)
