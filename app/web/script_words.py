"""The words of the scripts in the reader's language, as js/words.js takes them from the page."""

import re
from functools import cache
from pathlib import Path

from app.language import _, cached_by_language, ngettext

_SCRIPTS = Path(__file__).parent / "static" / "js"
_TEXT = r'"((?:[^"\\]|\\.)*)"'
_ONE = re.compile(rf"\bsay\(\s*{_TEXT}")
_COUNTED = re.compile(rf"\bsayCount\(\s*{_TEXT},\s*{_TEXT}")
_PARTS = ("bowl", "gross", "tare")  # of a weighing, named by the page that is scripted


@cached_by_language(8)
def script_words() -> dict[str, str]:
    """What a script may say, each English text with its translation."""
    ones, counted = _texts()
    words = {text: _(text) for text in (*ones, *_PARTS)}
    for one, many in counted:  # a script fills the number in itself
        words[one], words[many] = (ngettext(one, many, n, number="{number}") for n in (1, 2))
    return words


@cache
def _texts() -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    code = "".join(path.read_text("utf-8") for path in sorted(_SCRIPTS.glob("*.js")))
    return tuple(_ONE.findall(code)), tuple(_COUNTED.findall(code))
