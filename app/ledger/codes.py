"""Lot codes that can be spoken across a kitchen: four characters and one to check them.

The payload is a one-to-one scramble of the lot's row number, written with 32 digits and letters
(no I, L, O, U); the check character is the payload modulo 37. Both follow the public description
of Douglas Crockford's base 32. Payloads whose check would be a punctuation mark are skipped, so
every code is digits and letters only.
"""

from functools import lru_cache

from app.ledger.errors import NotFound

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_CHECKS = ALPHABET + "*~$=U"
_PAIRS = tuple(first + second for first in ALPHABET for second in ALPHABET)
_BASE, _MODULUS = 32, 37
_PAYLOADS = _BASE**4
CAPACITY = _PAYLOADS // _MODULUS * _BASE + min(_PAYLOADS % _MODULUS, _BASE)
_MULTIPLIER = 640_453  # odd, so multiplying modulo 2^20 is one-to-one; it spreads neighbours
_INVERSE = pow(_MULTIPLIER, -1, _PAYLOADS)
_OFFSET = 307_211
_HEARD_AS = str.maketrans({"I": "1", "L": "1", "O": "0", "-": None, " ": None})


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
    if len(heard) != 5 or any(letter not in ALPHABET for letter in heard):
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


def check_character(payload: int) -> str:
    """The check character of a payload; the five beyond the alphabet are never used in a code."""
    return _CHECKS[payload % _MODULUS]


def spoken(code: str) -> str:
    """Group a code for reading aloud: 7K3MC becomes 7K-3M-C."""
    return f"{code[:2]}-{code[2:4]}-{code[4:]}"


def _spell(payload: int) -> str:
    return _PAIRS[payload >> 10] + _PAIRS[payload & 1023] + check_character(payload)
