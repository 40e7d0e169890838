"""Misspelt words: how far apart two are, and what may have been meant."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.ledger.spelling import folded, nearest, slips_between, words_of

WORD = st.text("abcdefgh", max_size=8)
KNOWN = ["Moose", "mince", "Rabbit", "Apple", "rings", "Blackcurrants", "Trout", "Äpfel", "Lamb"]


def slips_counted(one: str, other: str) -> int:
    """The same distance by the definition's own recursion, without any table."""
    if not one or not other:
        return len(one) + len(other)
    found = [
        slips_counted(one[1:], other) + 1,
        slips_counted(one, other[1:]) + 1,
        slips_counted(one[1:], other[1:]) + (one[0] != other[0]),
    ]
    if one[:2] == other[1::-1] and len(one) > 1 and len(other) > 1:
        found.append(slips_counted(one[2:], other[2:]) + 1)
    return min(found)


@given(st.text("abc", max_size=5), st.text("abc", max_size=5))
def test_slips_are_those_of_the_definition(one: str, other: str) -> None:
    assert slips_between(one, other, 10) == slips_counted(one, other)


@given(WORD, WORD, st.integers(0, 3))
def test_counting_stops_at_the_most_and_takes_either_way_alike(
    one: str, other: str, most: int
) -> None:
    found = slips_between(one, other, most)
    assert found == slips_between(other, one, most)
    assert found == min(slips_between(one, other, 20), most + 1)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("mose", "Moose"),
        ("MOOOSE", "Moose"),
        ("aple", "Apple"),
        ("lmab", "Lamb"),
        ("rabit", "Rabbit"),
        ("rabbits", "Rabbit"),
        ("blackcurant", "Blackcurrants"),
        ("blakcurant", "Blackcurrants"),
        ("troot", "Trout"),
        ("apfel", "Äpfel"),
    ],
)
def test_what_is_nearly_a_known_word_is_taken_for_it(typed: str, meant: str) -> None:
    assert nearest(typed, KNOWN) == [meant]


@pytest.mark.parametrize("typed", ["", "lam", "xyz", "venison", "strawberry", "12345", "☃☃☃☃"])
def test_what_is_nothing_like_a_known_word_is_left_alone(typed: str) -> None:
    assert nearest(typed, KNOWN) == []


def test_words_that_are_as_near_are_all_proposed_and_those_with_the_same_first_letter_alone() -> (
    None
):
    assert nearest("beaf", ["Beef", "Beam", "Leaf"]) == ["Beef", "Beam"]
    assert nearest("zoose", ["Moose", "Goose"]) == ["Moose", "Goose"]


def test_words_are_compared_without_case_and_marks() -> None:
    assert folded("Crème FRAÎCHE ﬁg") == "creme fraiche fig"
    assert words_of("Green beans, to dry (2025)") == ["green", "beans", "to", "dry", "2025"]
