"""A language for tests: every text of the catalogue is the English one in brackets."""

import gettext
from contextvars import ContextVar
from functools import cache

import pytest

import app.language as language
from tests.language.catalogue import gathered

CODE, NAME = "xx", "Brackets"


class Bracketed(gettext.NullTranslations):
    """Texts in brackets, as far as the catalogue has them."""

    def __init__(self) -> None:
        super().__init__()
        self.texts = frozenset(message.id for message in gathered() if message.id)

    def gettext(self, message: str) -> str:
        """The text in brackets, if the catalogue has it."""
        return f"⟦{message}⟧" if message in self.texts else message

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        """One of both in brackets."""
        is_known = (msgid1, msgid2) in self.texts
        text = msgid1 if n == 1 else msgid2
        return f"⟦{text}⟧" if is_known else text


@cache
def _brackets() -> Bracketed:
    return Bracketed()


def speak_in_brackets(patch: pytest.MonkeyPatch) -> None:
    """From here on there is that language."""
    usual, brackets = language._catalogue, _brackets()
    # a variable of its own: what a test speaks ends with the test
    spoken = ContextVar("language", default=language.SOURCE)
    patch.setattr(language, "_language", spoken)
    patch.setitem(language.LANGUAGES, CODE, NAME)
    patch.setattr(language, "_catalogue", lambda c: brackets if c == CODE else usual(c))
    patch.setattr(language, "_decimal_sign", lambda c: ".")
    patch.setattr(language, "_formatted", lambda day, pattern: f"⟦{day}⟧")
