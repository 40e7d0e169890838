"""Words that were misspelled: how far apart two are, and which known ones may have been meant."""

import unicodedata
from collections.abc import Iterable

_SHORTEST = 4  # letters; shorter words have too many neighbours
_LONG = 6  # letters from which on two slips are forgiven


def folded(text: str) -> str:
    """Text as it is compared: without case and without the marks above letters.

    Example:
        >>> folded("Äpfel")
        'apfel'
    """
    parts = unicodedata.normalize("NFKD", text.casefold())
    return "".join(letter for letter in parts if not unicodedata.combining(letter))


def words_of(text: str) -> list[str]:
    """The words of a text, folded; what is neither letter nor figure parts them."""
    return "".join(c if c.isalnum() else " " for c in folded(text)).split()


def slips_between(one: str, other: str, most: int) -> int:
    """How many letters must be put in, left out, changed or swapped with a neighbour.

    Args:
        most: counting stops there.
    Returns:
        The number of slips, or `most` + 1 where there are more.
    Source: the optimal string alignment distance, after Damerau 1964 (from memory, unchecked).
    Example:
        >>> slips_between("mose", "moose", 2), slips_between("appel", "apple", 2)
        (1, 1)
    """
    if abs(len(one) - len(other)) > most:
        return most + 1
    earlier: list[int] = []
    row = list(range(len(other) + 1))
    for i, letter in enumerate(one, 1):
        earlier, last, row = row, earlier, [i]
        for j, wanted in enumerate(other, 1):
            cost = min(earlier[j] + 1, row[j - 1] + 1, earlier[j - 1] + (letter != wanted))
            if i > 1 and j > 1 and letter == other[j - 2] and one[i - 2] == wanted:
                cost = min(cost, last[j - 2] + 1)
            row.append(cost)
        if min(row) > most:
            return most + 1
    return min(row[-1], most + 1)


def nearest(word: str, known: Iterable[str]) -> list[str]:
    """The known words that may have been meant by one that is not known, the nearest first.

    Up to five letters one slip is forgiven, from six on two; the first letter may be wrong too.

    Args:
        word: as typed. known: words as they are written; each is compared folded.
    Returns:
        The nearest alone, or several where they are as near; empty where nothing is.
    Example:
        >>> nearest("curant", ["Currant", "carrot", "black"])
        ['Currant']
    """
    typed = folded(word)
    if len(typed) < _SHORTEST:
        return []
    most = 2 if len(typed) >= _LONG else 1
    found: dict[int, list[str]] = {}
    for spelled, other in {folded(other): other for other in known}.items():
        slips = min(slips_between(typed, form, most) for form in _forms(spelled))
        if slips <= most and len(spelled) >= _SHORTEST:
            found.setdefault(slips, []).append(other)
    best = found[min(found)] if found else []
    same = [other for other in best if folded(other)[0] == typed[0]]
    return same or best


def _forms(word: str) -> tuple[str, ...]:
    """A word as it is, and without the s of many."""
    return (word, word[:-1]) if word.endswith("s") else (word,)
