"""The shelf drawing: columns as high as their amounts, none lost, none outside its frame."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.web.season.drawing import HEIGHT, Span, month_marks, shelf

amounts = st.one_of(st.just(0.0), st.floats(1e-6, 1e8))  # a milligram in kg, up to tonnes in mg


def test_half_as_much_is_half_as_high() -> None:
    drawn = shelf([10.0, 5.0, 0.0], [0.0, 0.0, 0.0], "")
    assert [(c.top, c.full, c.new) for c in drawn.columns] == [
        (0.0, HEIGHT, 0.0),
        (HEIGHT / 2, HEIGHT / 2, 0.0),
    ]
    assert [c.x for c in drawn.columns] == [pytest.approx(100 / 3 * 0.19, abs=0.001),
                                            pytest.approx(100 / 3 * 1.19, abs=0.001)]  # fmt: skip
    assert drawn.today is None


def test_what_came_in_stands_on_what_was_there() -> None:
    (column,) = shelf([8.0], [2.0], "").columns
    assert (column.top, column.new, column.foot) == (0.0, HEIGHT / 4, HEIGHT / 4)
    assert column.full == HEIGHT * 3 / 4


def test_of_more_than_is_left_no_more_is_hatched_than_is_left() -> None:
    (column,) = shelf([3.0], [20.0], "").columns
    assert (column.new, column.full) == (HEIGHT, 0.0)


def test_what_may_be_left_hangs_between_its_least_and_its_most() -> None:
    drawn = shelf([8.0], [0.0], "", [Span(2.0, 4.0, 6.0)], months_ahead=1)
    (ahead,) = drawn.ahead
    assert (ahead.most, ahead.central, ahead.least) == (HEIGHT / 4, HEIGHT / 2, HEIGHT * 3 / 4)
    assert ahead.height == HEIGHT / 2
    assert drawn.today == 50.0


def test_without_a_rate_the_room_of_the_months_ahead_stays_empty() -> None:
    drawn = shelf([8.0], [0.0], "", months_ahead=1)
    assert drawn.ahead == ()
    assert drawn.today == 50.0
    assert drawn.width < 50.0


def test_nothing_at_all_draws_nothing() -> None:
    assert shelf([0.0, 0.0], [0.0, 0.0], "").columns == ()


@given(st.lists(st.tuples(amounts, amounts), min_size=1, max_size=13))
def test_no_column_leaves_its_frame_and_none_that_is_there_is_lost(
    pairs: list[tuple[float, float]],
) -> None:
    ends, new = zip(*pairs, strict=True)
    drawn = shelf(ends, new, "")
    assert len(drawn.columns) == sum(end > 0 for end in ends)
    for column in drawn.columns:
        assert column.top >= -0.01
        assert min(column.full, column.new) >= 0.0
        assert column.full + column.new >= 1.0
        assert column.foot + column.full == pytest.approx(HEIGHT, abs=0.03)
        assert 0.0 <= column.x <= column.x + drawn.width <= 100.0


def test_the_present_month_is_called_now() -> None:
    marks = month_marks(date(2025, 11, 1), 13, ahead=6)
    assert [mark.word for mark in marks][-8:] == [
        *("Oct", "now", "Dec", "Jan", "Feb", "Mar", "Apr", "May"),
    ]
    assert [mark.word for mark in marks if not mark.is_minor] == [
        *("Nov", "Feb", "May", "Aug", "now", "Feb", "May"),
    ]
