"""Lot codes: spoken across a kitchen, typed wrong, and never taken for another lot's."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.ledger.codes import ALPHABET, CAPACITY, check_character, code_of, lot_id_of, spoken
from app.ledger.errors import NotFound

NUMBERS = st.integers(0, CAPACITY - 1)


def payload(digits: str) -> int:
    """Base 32 by Python's own arithmetic: its digits run 0-9 then A-V."""
    return int("".join("0123456789ABCDEFGHIJKLMNOPQRSTUV"[ALPHABET.index(d)] for d in digits), 32)


@pytest.mark.parametrize(
    ("number", "check"),
    [
        (
            payload("7K3M"),
            "C",
        ),  # 7·32³ + 19·32² + 3·32 + 20 = 248,948 = 37·6,728 + 12: worked by hand
        (payload("9Q2X"), "R"),
        (payload("26B0"), "Y"),
        (1234, "D"),
        (1_650_553_701, "J"),  # the example of Crockford's description, as handed on
    ],
)
def test_check_characters_match_worked_examples(number: int, check: str) -> None:
    assert check_character(number) == check


@given(NUMBERS)
def test_every_lot_has_one_code_and_reads_back(lot_id: int) -> None:
    code = code_of(lot_id)
    assert lot_id_of(code) == lot_id
    assert len(code) == 5
    assert not set(code) & set("ILOU*~$=")


@given(NUMBERS)
def test_a_code_is_read_as_people_say_and_type_it(lot_id: int) -> None:
    code = code_of(lot_id)
    heard = spoken(code).lower().replace("0", "o").replace("1", "l")
    assert lot_id_of(heard) == lot_id
    assert lot_id_of(f" {code[:3]} {code[3:]} ".replace("1", "i")) == lot_id


@given(NUMBERS, st.integers(0, 4), st.sampled_from(ALPHABET))
def test_one_wrong_character_is_never_another_lot(lot_id: int, at: int, wrong: str) -> None:
    code = code_of(lot_id)
    if code[at] == wrong:
        return
    with pytest.raises(NotFound):
        lot_id_of(code[:at] + wrong + code[at + 1 :])


@given(NUMBERS, st.integers(0, 3))
def test_two_neighbours_swapped_are_never_another_lot(lot_id: int, at: int) -> None:
    code = code_of(lot_id)
    swapped = code[:at] + code[at + 1] + code[at] + code[at + 2 :]
    if swapped == code:
        return
    with pytest.raises(NotFound):
        lot_id_of(swapped)


def test_neighbouring_lots_do_not_look_alike() -> None:
    codes = [code_of(lot_id) for lot_id in range(200)]
    assert len(set(codes)) == 200
    differing = [
        sum(a != b for a, b in zip(one[:4], two[:4], strict=True)) for one, two in pairwise(codes)
    ]
    assert min(differing) >= 2


@pytest.mark.parametrize("text", ["", "7K3M", "7K3MD", "7K3MCC", "7K3M*", "ÄK3MC", "7k3m-", "🐟"])
def test_what_is_no_code_is_not_found(text: str) -> None:
    with pytest.raises(NotFound):
        lot_id_of(text)


@pytest.mark.parametrize("text", ["7K3M-C", "7k3mc", "7K-3M-C"])
def test_a_good_code_is_read_in_every_spelling(text: str) -> None:
    assert code_of(lot_id_of(text)) == "7K3MC"


@pytest.mark.parametrize("lot_id", [-1, CAPACITY])
def test_outside_the_capacity_there_is_no_code(lot_id: int) -> None:
    with pytest.raises(ValueError, match="no code"):
        code_of(lot_id)


def test_codes_reach_to_the_last_lot() -> None:
    assert lot_id_of(code_of(CAPACITY - 1)) == CAPACITY - 1
    assert CAPACITY > 900_000
