"""Long lists in parts: the first of them, how many there are, and links to the others."""

from dataclasses import dataclass
from urllib.parse import urlencode

from flask import request

ROWS = 200  # of one part; our judgement: more than a household's longest list, quick on a phone
_MOST_DIGITS = 6


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a list; `name` is its parameter in the address, which counts from 1."""

    name: str
    number: int
    count: int
    size: int

    @property
    def first(self) -> int:
        """How many rows come before it."""
        return (self.number - 1) * self.size

    @property
    def last(self) -> int:
        """How many rows are done with it."""
        return min(self.first + self.size, self.count)

    @property
    def of(self) -> int:
        """How many parts there are."""
        return max(1, -(-self.count // self.size))

    @property
    def earlier(self) -> str:
        """The address of the part before; "" for the first."""
        return self._href(min(self.number, self.of + 1) - 1) if self.number > 1 else ""

    @property
    def later(self) -> str:
        """The address of the part that follows; "" for the last."""
        return self._href(self.number + 1) if self.number < self.of else ""

    def _href(self, number: int) -> str:
        """This page as it was asked for, with another part of this list."""
        others = [(k, v) for k, v in request.args.items(multi=True) if k != self.name]
        return f"?{urlencode([*others, (self.name, number)])}#{self.name}"


def asked(name: str, count: int = 0) -> Part:
    """The part of a list that the address asks for; the first for anything that is no number.

    Args:
        name: parameter and anchor of the list. count: how many rows it has, if that is known.
    """
    text = request.args.get(name, "")
    is_number = text.isascii() and text.isdigit() and len(text) <= _MOST_DIGITS
    return Part(name, max(1, int(text)) if is_number else 1, count, ROWS)
