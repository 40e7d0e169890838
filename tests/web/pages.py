"""A page as a person meets it: its words, its forms as a browser would send them, its messages."""

import re
from dataclasses import dataclass, field
from functools import cached_property
from html.parser import HTMLParser
from typing import Any

from flask import Flask
from werkzeug.datastructures import MultiDict
from werkzeug.test import TestResponse

_VOID = frozenset({"input", "br", "img", "link", "meta", "line", "rect", "circle", "hr"})
_UNTYPED = frozenset({"submit", "button", "reset", "image"})


@dataclass
class Sent:
    """One form of a page: where it goes and what it would send if nothing were changed."""

    id: str
    action: str
    method: str
    values: MultiDict[str, str] = field(default_factory=MultiDict)


@dataclass
class _Select:
    name: str
    first: str | None = None
    chosen: str | None = None


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[tuple[str, dict[str, str]]] = []
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.forms: list[Sent] = []
        self.words: list[str] = []
        self.by_id: dict[str, list[str]] = {}
        self.titles: list[str] = []
        self._form: Sent | None = None
        self._select: _Select | None = None
        self._area: tuple[str, list[str]] | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        a = {name: value or "" for name, value in attrs}
        self.tags.append((tag, a))
        if tag not in _VOID:
            self.open.append((tag, a))
        if a.get("id"):
            self.by_id.setdefault(a["id"], [])
        if tag == "form":
            self._form = Sent(a.get("id", ""), a.get("action", ""), a.get("method", "get"))
            self.forms.append(self._form)
        elif tag == "input":
            self._input(a)
        elif tag == "select":
            self._select = _Select(a.get("name", ""))
        elif tag == "option" and self._select is not None:
            value = a.get("value", "")
            self._select.first = value if self._select.first is None else self._select.first
            self._select.chosen = value if "selected" in a else self._select.chosen
        elif tag == "textarea":
            self._area = (a.get("name", ""), [])

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in _VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        while self.open and any(name == tag for name, _ in self.open):
            name, _ = self.open.pop()
            if name == tag:
                break
        if tag == "form":
            self._form = None
        elif tag == "select" and self._select is not None:
            chosen = self._select.chosen
            self._put(self._select.name, self._select.first if chosen is None else chosen)
            self._select = None
        elif tag == "textarea" and self._area is not None:
            self._put(self._area[0], re.sub(r"\A\r?\n", "", "".join(self._area[1])))
            self._area = None

    def handle_data(self, data: str) -> None:
        if self._area is not None:
            self._area[1].append(data)
            return
        if any(tag in ("script", "style") for tag, _ in self.open):
            return
        if any(tag == "title" for tag, _ in self.open):
            self.titles.append(data)
            return
        self.words.append(data)
        for _, attributes in self.open:
            if attributes.get("id"):
                self.by_id[attributes["id"]].append(data)

    def _input(self, a: dict[str, str]) -> None:
        kind = a.get("type", "text")
        if kind in _UNTYPED or (kind in ("checkbox", "radio") and "checked" not in a):
            return
        self._put(a.get("name", ""), a.get("value", "on" if kind == "checkbox" else ""))

    def _put(self, name: str, value: str | None) -> None:
        if self._form is not None and name and value is not None:
            self._form.values.add(name, value)


class Page:
    """What came back for a request."""

    def __init__(self, response: TestResponse) -> None:
        """Read the page."""
        self.response = response
        self.status = response.status_code
        self.location = response.headers.get("Location", "")
        self.data = response.get_data()
        response.close()  # a file that was served stays open otherwise
        self.html = self.data.decode() if response.mimetype == "text/html" else ""

    @cached_property
    def _reader(self) -> _Reader:
        """What stands there, read when it is asked for: reading takes as long as writing it did."""
        reader = _Reader()
        reader.feed(self.html)
        return reader

    @property
    def words(self) -> str:
        """Everything there is to read, in one line."""
        return _line(self._reader.words)

    @property
    def tags(self) -> list[tuple[str, dict[str, str]]]:
        """Every element with its attributes."""
        return self._reader.tags

    @property
    def forms(self) -> list[Sent]:
        """Every form of the page."""
        return self._reader.forms

    def form(self, id_: str = "") -> Sent:
        """The form with an id; without one the entry form, which is the one that has a key."""
        found = [f for f in self.forms if (f.id == id_ if id_ else f.id and "key" in f.values)]
        assert found, f"no form {id_!r} on a page that says: {self.words[:300]}"
        return found[0]

    def beside(self, field_id: str) -> str:
        """The message beside a field, or "" when there is none."""
        return _line(self._reader.by_id.get(f"{field_id}-error", []))

    @property
    def summary(self) -> str:
        """The list of everything refused, at the top of the form."""
        return _line(self._reader.by_id.get("errors", []))

    def inside(self, id_: str) -> str:
        """The words of the element with an id, or "" when there is none."""
        return _line(self._reader.by_id.get(id_, []))

    def typed(self, name: str) -> list[str]:
        """What stands in the boxes of that name, wherever on the page."""
        return [value for form in self.forms for value in form.values.getlist(name)]


class Tablet:
    """One device of the household, with its own cookies."""

    def __init__(self, app: Flask) -> None:
        """Open a browser of its own."""
        self.client = app.test_client()

    def get(self, address: str) -> Page:
        """Open a page; redirects are not followed."""
        return Page(self.client.get(address))

    def post(self, address: str, values: Any) -> Page:
        """Send raw values."""
        return Page(self.client.post(address, data=values))

    def send(self, form: Sent, address: str, /, **changes: Any) -> Page:
        """Send a form of a page, with some boxes filled differently; None leaves one out.

        In names two underscores stand for a hyphen: bowls__0__gross is bowls-0-gross.
        """
        values = form.values.copy()
        for name, value in changes.items():
            key = name.replace("__", "-")
            values.poplist(key)
            for one in value if isinstance(value, list | tuple) else [value]:
                if one is not None:
                    values.add(key, str(one))
        return self.post(form.action or address, values)

    def fill(self, address: str, /, **changes: Any) -> Page:
        """Open a page, fill its entry form and send it."""
        return self.send(self.get(address).form(), address, **changes)


def _line(parts: list[str]) -> str:
    return re.sub(r"\s+", " ", " ".join(parts)).strip()
