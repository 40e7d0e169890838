"""Lot codes that can be spoken across a kitchen: four characters and one to check them.

The payload is a one-to-one scramble of the lot's row number, written with 32 digits and letters
(no I, L, O, U); the check character is the payload modulo 37. Both follow the public description
of Douglas Crockford's base 32. Payloads whose check would be a punctuation mark are skipped, so
every code is digits and letters only.
"""

import re
from collections.abc import Iterable, Iterator
from functools import lru_cache

from app.ledger.errors import NotFound

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
CODE_LENGTH = 5
_CHECKS = ALPHABET + "*~$=U"
_PAIRS = tuple(first + second for first in ALPHABET for second in ALPHABET)
_BASE, _MODULUS = 32, 37
_PAYLOADS = _BASE**4
CAPACITY = _PAYLOADS // _MODULUS * _BASE + min(_PAYLOADS % _MODULUS, _BASE)
_MULTIPLIER = 640_453  # odd, so multiplying modulo 2^20 is one-to-one; it spreads neighbours
_INVERSE = pow(_MULTIPLIER, -1, _PAYLOADS)
_OFFSET = 307_211
_HEARD_AS = str.maketrans({"I": "1", "L": "1", "O": "0", "-": None, " ": None})

# What is taken for one another, by the eye or by the ear across a kitchen: our judgement.
_ALIKE = ("8B", "5S", "2Z", "0DQ", "17", "VYU", "6G", "MN", "FS", "AHK8", "BDPTEVGCZ3", "JGK", "59")
_LIKELY, _ANY, _TURNED, _MISSED, _EXTRA = 1, 6, 2, 4, 4  # what one slip of each kind weighs
_SPELLED = {
    "EM": "M",
    "EN": "N",
    "EF": "F",
    "ESS": "S",
    "BEE": "B",
    "CEE": "C",
    "DEE": "D",
    "GEE": "G",
    "PEE": "P",
    "TEE": "T",
    "VEE": "V",
    "JAY": "J",
    "KAY": "K",
    "AR": "R",
    "CUE": "Q",
    "EX": "X",
    "WHY": "Y",
    "ZED": "Z",
    "ZEE": "Z",
    "ZERO": "0",
    "ONE": "1",
    "TWO": "2",
    "THREE": "3",
    "FOUR": "4",
    "FIVE": "5",
    "SIX": "6",
    "SEVEN": "7",
    "EIGHT": "8",
    "NINE": "9",
}


@lru_cache(maxsize=16_384)  # lists spell the same codes again and again
def code_of(lot_id: int) -> str:
    """Give the code of a lot from its row number.

    Args:
        lot_id: row number, 0 ≤ lot_id < CAPACITY (906,880).
    Returns:
        Five characters, payload and check, upper case, without hyphens; see `spoken`.
    Raises:
        ValueError: lot_id outside the range.
    Source: check character, Crockford, Base 32 (public description, undated).
    Example:
        >>> lot_id_of(code_of(41))
        41
    """
    if not 0 <= lot_id < CAPACITY:
        raise ValueError(f"no code for lot number {lot_id}")
    payload = lot_id // _BASE * _MODULUS + lot_id % _BASE
    while True:  # walk the cycle of the scramble until the check character is plain
        payload = (payload * _MULTIPLIER + _OFFSET) % _PAYLOADS
        if payload % _MODULUS < _BASE:
            return _spell(payload)


def lot_id_of(text: str) -> int:
    """Read a code as typed or heard: any case, hyphens and spaces ignored, O as 0, I and L as 1.

    Args:
        text: what was typed, scanned or heard.
    Returns:
        The row number of the lot (which may not exist).
    Raises:
        NotFound: wrong length, a letter that no code has, or a check character that does not fit.
    """
    heard = text.upper().translate(_HEARD_AS)
    if len(heard) != CODE_LENGTH or any(letter not in ALPHABET for letter in heard):
        raise NotFound(text)
    payload = 0
    for letter in heard[:4]:
        payload = payload * _BASE + ALPHABET.index(letter)
    if check_character(payload) != heard[4]:
        raise NotFound(text)
    while True:
        payload = (payload - _OFFSET) * _INVERSE % _PAYLOADS
        if payload % _MODULUS < _BASE:
            return payload // _MODULUS * _BASE + payload % _MODULUS


def likely_lot_ids(text: str) -> list[int]:
    """The lots whose codes may have been meant by a code that was misread, misheard or mistyped.

    One character wrong, missing or too many, two neighbours swapped, or two characters taken for
    others that look or sound alike; only where the check character fits. Only a proposal: which
    of them exist is for the ledger to say, and which was meant is for the person.

    Args:
        text: as typed; letters may be spelled out ("en" for N), and digits too.
    Returns:
        Row numbers, most likely first; empty for what is nothing like a code.
    Example:
        >>> code = code_of(41)
        >>> 41 in likely_lot_ids(code[1] + code[0] + code[2:])
        True
    """
    heard = heard_as_code(text)
    if abs(len(heard) - CODE_LENGTH) > 1:
        return []
    weights: dict[int, int] = {}
    for weight, code in _slips(heard):
        try:
            lot_id = lot_id_of(code)
        except NotFound:
            continue
        weights[lot_id] = min(weight, weights.get(lot_id, weight))
    return sorted(weights, key=lambda lot_id: (weights[lot_id], lot_id))


def heard_as_code(text: str) -> str:
    """The characters of what may be a code, spelled-out ones as one; "" if it can be none.

    Example:
        >>> heard_as_code("seven kay three em c")
        '7K3MC'
    """
    words = re.split(r"[\s-]+", text.strip().upper())
    heard = "".join(_SPELLED.get(word, word) for word in words).translate(_HEARD_AS)
    return heard if all(letter in ALPHABET or letter == "U" for letter in heard) else ""


def _slips(heard: str) -> Iterator[tuple[int, str]]:
    """What may have been meant, each with its weight: the lighter, the likelier."""
    yield 0, heard
    for place in range(len(heard)):
        before, letter, after = heard[:place], heard[place], heard[place + 1 :]
        yield _EXTRA, before + after
        if after:
            yield _TURNED, before + after[0] + letter + after[1:]
        yield from ((_ANY, before + other + after) for other in ALPHABET)
        for one in _alike(letter):
            changed = before + one + after
            yield _LIKELY, changed
            for later in range(place + 1, len(heard)):
                yield from (
                    (2 * _LIKELY + 1, changed[:later] + two + changed[later + 1 :])
                    for two in _alike(changed[later])
                )
    for place in range(len(heard) + 1):
        yield from ((_MISSED, heard[:place] + one + heard[place:]) for one in ALPHABET)


def _alike(letter: str) -> Iterable[str]:
    return {other for group in _ALIKE if letter in group for other in group} - {letter, "U"}


def check_character(payload: int) -> str:
    """The check character of a payload; the five beyond the alphabet are never used in a code."""
    return _CHECKS[payload % _MODULUS]


def spoken(code: str) -> str:
    """Group a code for reading aloud: 7K3MC becomes 7K-3M-C."""
    return f"{code[:2]}-{code[2:4]}-{code[4:]}"


def _spell(payload: int) -> str:
    return _PAIRS[payload >> 10] + _PAIRS[payload & 1023] + check_character(payload)
