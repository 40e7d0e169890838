import pytest

from app.science.classes import FoodClass, Form
from app.science.errors import NotCovered, OutOfRange
from app.science.lethality import (
    LethalityTable,
    equivalent_minutes,
    hold_seconds,
    judge_history,
    target_table,
)

BEEF = {FoodClass.RED_MEAT}


def test_held_at_sixty_degrees_for_the_table_time_meets_it() -> None:
    judged = judge_history([(0, 60.0), (12.1, 60.0)], BEEF, Form.WHOLE)
    assert judged.met
    assert judged.table is LethalityTable.MEAT_6_5
    assert not judge_history([(0, 60.0), (8.0, 60.0)], BEEF, Form.WHOLE).met


def test_both_ways_are_computed_and_the_lower_one_is_credited() -> None:
    judged = judge_history([(0, 50), (10, 58), (20, 61), (30, 62), (40, 60)], BEEF, Form.WHOLE)
    assert judged.credited_logs == min(judged.logs_by_line, judged.share_of_table * 6.5)
    assert judged.highest_f == pytest.approx(143.6)


def test_lukewarm_hours_count_for_nothing_in_the_table() -> None:
    judged = judge_history([(0, 52.0), (600, 52.0)], BEEF, Form.WHOLE)
    assert judged.share_of_table == 0.0
    assert not judged.met


def test_a_steep_stretch_is_credited_at_its_colder_end() -> None:
    jump = equivalent_minutes([(0, 120), (10, 140)], 140.0, 10.0)
    assert jump == pytest.approx(10 * 0.01)


def test_between_whole_degrees_the_colder_row_counts() -> None:
    assert hold_seconds(LethalityTable.MEAT_6_5, 140.9) == 12 * 60
    assert hold_seconds(LethalityTable.MEAT_6_5, 200.0) == 14
    with pytest.raises(OutOfRange):
        hold_seconds(LethalityTable.MEAT_6_5, 129.9)


def test_game_takes_the_stricter_column_and_ground_meat_its_own_rule() -> None:
    assert target_table({FoodClass.GAME}, Form.WHOLE) is LethalityTable.MEAT_7
    assert target_table({FoodClass.GAME, FoodClass.PORK}, Form.GROUND) is LethalityTable.GROUND


@pytest.mark.parametrize(
    "food_classes",
    [{FoodClass.POULTRY}, {FoodClass.RED_MEAT, FoodClass.GAME_BIRD}, {FoodClass.FISH_LEAN}, set()],
)
def test_poultry_must_not_use_the_meat_table(food_classes: set[FoodClass]) -> None:
    with pytest.raises(NotCovered):
        target_table(food_classes, Form.WHOLE)


@pytest.mark.parametrize(
    "readings", [[(1, 60), (0, 60)], [(0, float("nan"))], [(float("nan"), 60)], [(0, 1000)]]
)
def test_a_history_that_cannot_be_true_is_refused(readings: list[tuple[float, float]]) -> None:
    with pytest.raises(OutOfRange):
        judge_history(readings, BEEF, Form.WHOLE)


def test_no_readings_are_worth_nothing() -> None:
    assert not judge_history([], BEEF, Form.WHOLE).met
