"""Text that stands in data, where no call marks it: rules, foods, tables."""

from collections.abc import Iterator


def kept_text() -> Iterator[tuple[str, str]]:
    """Pairs of the file a text stands in and the text."""
    yield from ()
