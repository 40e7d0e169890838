"""Codes that were misread, misheard or mistyped: what may have been meant is proposed."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from app.ledger.codes import ALPHABET, code_of, heard_as_code, likely_lot_ids, lot_id_of
from app.ledger.errors import NotFound

NUMBERS = st.integers(0, 900_000)
PLACES = st.integers(0, 4)


@given(NUMBERS, PLACES, st.sampled_from(ALPHABET))
def test_one_wrong_character_leads_back_to_the_lot(lot_id: int, at: int, wrong: str) -> None:
    code = code_of(lot_id)
    assert lot_id in likely_lot_ids(code[:at] + wrong + code[at + 1 :])


@given(NUMBERS, st.integers(0, 3))
def test_swapped_neighbours_lead_back_to_the_lot(lot_id: int, at: int) -> None:
    code = code_of(lot_id)
    assume(code[at] != code[at + 1])
    swapped = code[:at] + code[at + 1] + code[at] + code[at + 2 :]
    assert lot_id in likely_lot_ids(swapped)


@given(NUMBERS, PLACES, st.sampled_from(ALPHABET))
def test_a_character_missing_or_too_many_leads_back_to_the_lot(
    lot_id: int, at: int, more: str
) -> None:
    code = code_of(lot_id)
    assert lot_id in likely_lot_ids(code[:at] + code[at + 1 :])
    assert lot_id in likely_lot_ids(code[:at] + more + code[at:])


@pytest.mark.parametrize(
    ("said", "heard"), [("8", "B"), ("5", "S"), ("2", "Z"), ("M", "N"), ("V", "U"), ("D", "T")]
)
def test_what_looks_or_sounds_alike_comes_first(said: str, heard: str) -> None:
    """Of all lots of a large ledger whose code has the character, at its first place."""
    codes = {number: code_of(number) for number in range(20_000)}
    tried = [(n, code) for n, code in codes.items() if said in code][:200]
    first = 0
    for number, code in tried:
        found = [n for n in likely_lot_ids(code.replace(said, heard, 1)) if n in codes]
        assert number in found
        first += found[0] == number
    assert first > 0.95 * len(tried)


@given(NUMBERS)
def test_every_proposal_is_a_code_whose_check_character_fits(lot_id: int) -> None:
    code = code_of(lot_id)
    wrong = code[1] + code[0] + code[2:]
    for found in likely_lot_ids(wrong):
        assert lot_id_of(code_of(found)) == found


@given(NUMBERS)
def test_letters_and_figures_may_be_spelled_out(lot_id: int) -> None:
    code = code_of(lot_id)
    names = {"M": "em", "N": "en", "K": "kay", "S": "ess", "7": "seven", "3": "three"}
    said = " ".join(names.get(letter, letter) for letter in code)
    assert heard_as_code(said) == code


@pytest.mark.parametrize("text", ["", "moose in the freezer", "K7", "1234567", "K7-M?", "Äpfel"])
def test_what_is_nothing_like_a_code_proposes_nothing(text: str) -> None:
    assert likely_lot_ids(text) == []


def test_a_proposal_is_never_taken_for_the_code_itself() -> None:
    code = code_of(41)
    with pytest.raises(NotFound):
        lot_id_of(code[:4])
