"""What the app says past the catalogue: `python -m tests.language.unspoken [part of an address]`.

Every page of the demonstration ledger is asked for in a language whose every text stands in
brackets. What is left outside brackets, and is no name, number or unit, was never marked.
"""

import re
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable, Iterator
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from flask import Flask
from sqlalchemy import String, select

import app.language as language
from app.ledger.models.base import Base
from app.settings import Settings
from app.web.factory import create_app
from app.web.papers.numbers import bibliography
from tests.browser.populated import NOW, populate
from tests.language.brackets import CODE, speak_in_brackets

PAGES_OF_A_KIND = 3  # of lots, packages, operations there are hundreds, all made alike
SPOKEN = ("aria-label", "title", "placeholder", "alt", "content")
UNITS = frozenset(["kg", "lb", "cm²", "°C", "°F", "min", "meq"])
_SKIPPED = frozenset({"script", "style", "template"})
_CUT = re.compile(r"([^⟦⟧]+)…")
_WORD = re.compile(r"[^\W\d_]{3,}")


class Heard(HTMLParser):
    """The text of a page, as it is seen and as it is read aloud, and where its links lead."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self.links: list[str] = []
        self._skipped = 0
        self._depth = 0  # of brackets that began before a link or the like inside a sentence

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note what an element says in its attributes, and where it leads."""
        self._skipped += tag in _SKIPPED
        found = dict(attrs)
        if tag == "a" and found.get("href"):
            self.links.append(str(found["href"]))
        if tag != "meta":
            self.texts += [str(found[name]) for name in SPOKEN if found.get(name)]

    def handle_endtag(self, tag: str) -> None:
        """Leave an element that says nothing."""
        self._skipped -= tag in _SKIPPED

    def handle_data(self, data: str) -> None:
        """Note what an element says."""
        if not self._skipped and data.strip():
            self.texts.append("⟦" * self._depth + data)
            self._depth += data.count("⟦") - data.count("⟧")


def outside(text: str) -> str:
    """What of a text stands in no brackets, however deep they lie.

    Example:
        >>> outside("one ⟦two ⟦three⟧⟧ four")
        'one  four'
    """
    depth, kept = 0, []
    for letter in text:
        depth += letter == "⟦"
        if depth == 0:
            kept.append(letter)
        depth -= letter == "⟧" and depth > 0
    return "".join(kept)


def unspoken(texts: Iterable[str], names: list[str]) -> Iterator[str]:
    """Each text that says words past the catalogue; names: what people call things."""
    for text in texts:
        rest = _CUT.sub(lambda cut: "" if _begins(cut[1], names) else cut[0], outside(text))
        for name in names:
            if name in rest:
                rest = rest.replace(name, " ")
        if any(word not in UNITS for word in _WORD.findall(rest)):
            yield " ".join(text.split())


def _begins(words: str, names: list[str]) -> bool:
    """Is this where a name was cut short? A picture has little room for them."""
    return any(name.startswith(words.rpartition(", ")[2]) for name in names)


def names_of(served: Flask) -> list[str]:
    """Everything that people typed or that is called by a code, longest first."""
    found: set[str] = set()
    with served.extensions["stillroom.book"].reading() as session:
        for table in Base.metadata.tables.values():
            for column in table.columns:
                if isinstance(column.type, String) and not column.foreign_keys:
                    found |= {
                        str(value) for value in session.scalars(select(column).distinct()) if value
                    }
    found.add("Stillroom")
    for source in bibliography():  # publications keep their own language
        found |= {str(source), source.title, source.publisher, source.year}
    return sorted((name for name in found if len(name) > 1), key=len, reverse=True)


def every_page(served: Flask) -> Iterator[tuple[str, Heard]]:
    """The pages that can be reached by links from the first, a few of each kind."""
    client, waiting, seen, kinds = (
        served.test_client(),
        ["/", "/lots"],
        {"/", "/lots"},
        Counter[str](),
    )
    while waiting:
        address = waiting.pop(0)
        answer = client.get(address)
        if answer.status_code != 200 or answer.mimetype != "text/html":
            continue
        heard = Heard()
        heard.feed(answer.get_data(as_text=True))
        yield address, heard
        for link in heard.links:
            parts = urlsplit(link)
            if parts.netloc or link.startswith("#") or link in seen:
                continue
            kind = re.sub(r"\d+|[0-9A-Z]{4,}(-[0-9A-Z]+)*", "n", parts.path) + "?" * bool(
                parts.query
            )
            if kinds[kind] < PAGES_OF_A_KIND:
                kinds[kind] += 1
                seen.add(link)
                waiting.append(link.split("#")[0])


def demonstration(folder: Path) -> Flask:
    """The app on the demonstration ledger, speaking in brackets."""
    served = create_app(Settings(populate(folder)), lambda: NOW)
    served.before_request(lambda: language.speak(CODE))
    return served


def main() -> None:
    """Print each text that is said past the catalogue, once, with the first page that says it."""
    wanted = sys.argv[1] if len(sys.argv) > 1 else ""
    speak_in_brackets(pytest.MonkeyPatch())
    with tempfile.TemporaryDirectory() as folder:
        served = demonstration(Path(folder))
        names, told, pages = names_of(served), set[str](), 0
        for address, heard in every_page(served):
            pages += 1
            for text in unspoken(heard.texts, names):
                if text not in told and wanted in address:
                    told.add(text)
                    print(f"{address}\t{text[:200]}")
        print(f"{pages} pages, {len(told)} texts past the catalogue")


if __name__ == "__main__":
    main()
