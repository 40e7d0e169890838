"""A food of the table is found by its name in the reader's language, and by the English one."""

import pytest

from app.language import SOURCE, speak
from app.science.foods import all_foods, food
from app.web.table_of_foods import food_choices, food_of, foods_by_words
from tests.language.brackets import CODE, speak_in_brackets


@pytest.fixture
def _in_brackets(monkeypatch: pytest.MonkeyPatch) -> None:
    speak_in_brackets(monkeypatch)
    speak(CODE)


@pytest.fixture
def _in_english() -> None:
    speak(SOURCE)


@pytest.mark.usefixtures("_in_brackets")
def test_the_list_calls_each_food_by_the_name_the_reader_knows() -> None:
    assert len(food_choices()) == len(all_foods())
    assert "⟦Game meat, moose, raw⟧ (17172)" in food_choices()


@pytest.mark.usefixtures("_in_brackets")
@pytest.mark.parametrize(
    "typed", ["⟦Game meat, moose, raw⟧ (17172)", "moose, raw", "raw moose", "mooze"]
)
def test_a_food_is_found_by_what_was_chosen_or_typed(typed: str) -> None:
    assert food_of(typed) == food("17172")


@pytest.mark.usefixtures("_in_brackets")
def test_a_word_inside_a_longer_one_counts_less_than_a_whole_one() -> None:
    names = [found.name for found in foods_by_words("corn", 40)]
    assert names[0].startswith("Corn")
    assert foods_by_words("", 5) == []


@pytest.mark.usefixtures("_in_english")
def test_in_english_the_words_are_those_of_the_table() -> None:
    assert "Game meat, moose, raw (17172)" in food_choices()
    assert food_of("moose, raw") == food("17172")
    assert food_of("Game meat, moose, raw (99999)") is None
