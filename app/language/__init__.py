"""The reader's language: one catalogue of all text, looked up while a page is made.

The English text stands where it is used and is its own key. `_` translates it now; `N_` only marks
text that is kept (in a table, as the label of a field) and translated where it is shown. Values are
named in braces, so that a translation may put them in another order::

    _("{code} has {mass} left.", code=spoken(code), mass=mass(on_hand_mg))

`python -m tests.language.catalogue` gathers the text and writes the catalogues anew.
"""

import gettext
from collections.abc import Callable, Hashable
from contextvars import ContextVar
from datetime import date
from functools import cache, lru_cache, wraps
from pathlib import Path
from typing import ParamSpec, TypeVar

from markupsafe import Markup, escape

CATALOGUES = Path(__file__).parent / "catalogues"
LANGUAGES = {"en": "English", "de": "Deutsch"}  # those whose catalogue is whole, by their own names
_SKELETONS = ("MMMd", "MMMMd")  # a day and its month, in the order of the language
SOURCE = "en"  # the language the text is written in

_language: ContextVar[str] = ContextVar("language", default=SOURCE)
P = ParamSpec("P")
R = TypeVar("R")


def speak(language: str) -> None:
    """From here on this request is answered in that language; an unknown one is English."""
    _language.set(language if language in LANGUAGES else SOURCE)


def language() -> str:
    """The code of the language in which this request is answered: "en"."""
    return _language.get()


def N_(text: str) -> str:  # noqa: N802 (the name every gettext tool knows)
    """Mark a text for the catalogue; it is translated with `_` where it is shown."""
    return text


def _(text: str, /, **values: object) -> str:
    """The text in the reader's language, with its named values put in.

    Args:
        text: the English text; empty text stays empty. values: what stands in its braces; where
            one is markup, the result is markup and the others are escaped.
    """
    if _language.get() != SOURCE:
        text = _found(text)
    return _filled(text, values) if values else text


class Later(str):
    """A marked text that a page translates when it writes it: the words of a choice."""

    __slots__ = ()

    def __html__(self) -> str:
        """As a page writes it, in the reader's language."""
        return escape(_(str(self)))


def ngettext(one: str, many: str, number: int, /, **values: object) -> str:
    """One of two texts by the number, which may stand in them as {number}."""
    catalogue = _catalogue(_language.get())
    found = (
        (one if number == 1 else many)
        if catalogue is None
        else catalogue.ngettext(one, many, number)
    )
    return _filled(found, {"number": number, **values})


def cached_by_language(maxsize: int) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """As functools.lru_cache, for a function whose words depend on the reader's language."""

    def decorate(function: Callable[P, R]) -> Callable[P, R]:
        @lru_cache(maxsize)
        def kept(_language: str, /, *args: Hashable, **kwargs: Hashable) -> R:
            return function(*args, **kwargs)  # type: ignore[arg-type]

        @wraps(function)
        def call(*args: P.args, **kwargs: P.kwargs) -> R:
            return kept(_language.get(), *args, **kwargs)  # type: ignore[arg-type]

        return call

    return decorate


def from_to(low: object, high: object) -> str:
    """A span: "12 to 15 %", "3 May to 7 June"."""
    return _("{low} to {high}", low=low, high=high)


def figures(text: str) -> str:
    """Figures as the language writes them: its own sign for the decimal point.

    Example:
        >>> figures("1.38 kg")
        '1.38 kg'
    """
    sign = _decimal_sign(_language.get())
    return text if sign == "." else text.replace(".", sign)


def day_words(day: date) -> str:
    """A day as people say it: "11 October 2026"."""
    if _language.get() == SOURCE:
        return f"{day.day} {day:%B %Y}"
    return _formatted(day, "long")


def weekday_words(day: date) -> str:
    """The day of the week: "Thursday"."""
    return f"{day:%A}" if _language.get() == SOURCE else _formatted(day, "EEEE")


def month_words(day: date) -> str:
    """The month a day lies in, as people say it: "October 2026"."""
    return f"{day:%B %Y}" if _language.get() == SOURCE else _formatted(day, "LLLL y")


def short_day_words(day: date) -> str:
    """A day of this year where there is little room: "11 Oct"."""
    return f"{day.day} {day:%b}" if _language.get() == SOURCE else _formatted(day, "MMMd")


def day_and_month(day: date) -> str:
    """A day of the year, whichever year: "11 October"."""
    return f"{day.day} {day:%B}" if _language.get() == SOURCE else _formatted(day, "MMMMd")


def month_mark(day: date) -> str:
    """The name of a month on an axis: "Oct"."""
    return f"{day:%b}" if _language.get() == SOURCE else _formatted(day, "LLL")


def short_month_words(day: date) -> str:
    """A month where there is little room: "Oct 2026"."""
    return f"{day:%b} {day.year}" if _language.get() == SOURCE else _formatted(day, "LLL y")


def _formatted(day: date, pattern: str) -> str:
    from babel.dates import format_date, format_skeleton

    if pattern in _SKELETONS:
        return format_skeleton(pattern, day, locale=_language.get())
    return format_date(day, pattern, locale=_language.get())


def _found(text: str) -> str:
    catalogue = _catalogue(_language.get())
    return text if catalogue is None or not text else catalogue.gettext(text)


class _Figures(float):
    """A number that a text formats, with the language's own sign for the decimal point."""

    __slots__ = ()

    def __format__(self, how: str) -> str:
        return figures(super().__format__(how))


def _filled(text: str, values: dict[str, object]) -> str:
    if _decimal_sign(_language.get()) != ".":
        values = {n: _Figures(v) if isinstance(v, float) else v for n, v in values.items()}
    if any(isinstance(value, Markup) for value in values.values()):
        return Markup(escape(text)).format(**values)  # noqa: S704 (the text is escaped here)
    return text.format(**values)


@cache
def _catalogue(language: str) -> gettext.NullTranslations | None:
    if language == SOURCE:
        return None
    with (CATALOGUES / f"{language}.mo").open("rb") as file:
        return gettext.GNUTranslations(file)


@cache
def _decimal_sign(language: str) -> str:
    if language == SOURCE:
        return "."
    from babel.numbers import get_decimal_symbol

    return get_decimal_symbol(language)


IN_PAGES = {"_": _, "ngettext": ngettext, "language": language}  # by these names in templates
