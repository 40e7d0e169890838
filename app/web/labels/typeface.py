"""The label's typeface: measured from the font file, so that sizes are x-heights, not points."""

import re
import struct
import unicodedata
from functools import cache, lru_cache
from pathlib import Path

FONTS = Path(__file__).resolve().parents[1] / "static" / "fonts"
REGULAR = "AtkinsonHyperlegibleNext-Regular"
BOLD = "AtkinsonHyperlegibleNext-Bold"

# In ems. A line leaves room for an accented capital above and a descender below.
LINE_EM = 1.2
BASELINE_EM = 0.9

SEPARATOR = " · "
_NUMBER_AND_UNIT = re.compile(r"(?<=[\d¼½¾]) (?=(?:g|kg|oz|lb|ml|l|cc|cups?|min|h|°C|°F|%)(?!\w))")


def register() -> None:
    """Make both weights known to the PDF library."""
    _glyphs(REGULAR)
    _glyphs(BOLD)


@cache
def x_height_em() -> float:
    """x-height of the typeface in ems, from the OS/2 table; both weights share it."""
    return min(_design_height(weight, 86) for weight in (REGULAR, BOLD))


@cache
def cap_height_em() -> float:
    """Height of the capitals in ems, from the OS/2 table."""
    return max(_design_height(weight, 88) for weight in (REGULAR, BOLD))


@lru_cache(maxsize=4096)  # the labels of one batch share most of their words
def width_em(text: str, weight: str) -> float:
    """Width of a text in ems."""
    from reportlab.pdfbase import pdfmetrics

    register()
    return float(pdfmetrics.stringWidth(text, weight, 1.0))


def printable(text: str) -> str:
    """The text in signs the font has: an unknown sign loses its accent, else becomes "?".

    A number and its unit are tied by a no-break space.
    """
    known = _glyphs(BOLD)
    tidy = " ".join(unicodedata.normalize("NFC", text).split())
    signs = (sign if ord(sign) in known else _nearest(sign, known) for sign in tidy)
    return _NUMBER_AND_UNIT.sub("\u00a0", "".join(signs))


def wrap(text: str, weight: str, width: float) -> list[str]:
    """Lines of at most `width` ems, about equally long.

    Parts joined by SEPARATOR go on lines of their own where one line does not hold them; only a
    word longer than a line is broken inside.
    """
    if width_em(text, weight) <= width:
        return [text]
    return [
        line for part in text.split(SEPARATOR) for line in _balanced(part.split(" "), weight, width)
    ]


def _balanced(words: list[str], weight: str, width: float) -> list[str]:
    """The fewest lines, then the narrowest of them: no word is left over on the last."""
    lines = _greedy(words, weight, width)
    widest = max(width_em(word, weight) for word in words)
    for narrower in (0.9, 0.8, 0.7, 0.6):
        tried = _greedy(words, weight, narrower * width)
        if narrower * width < widest or len(tried) > len(lines):
            break
        lines = tried
    return lines


def _greedy(words: list[str], weight: str, width: float) -> list[str]:
    lines: list[str] = []
    line = ""
    for word in (piece for whole in words for piece in _pieces(whole, weight, width)):
        longer = f"{line} {word}" if line else word
        if not line or width_em(longer, weight) <= width:
            line = longer
        else:
            lines.append(line)
            line = word
    return [*lines, line]


def _pieces(word: str, weight: str, width: float) -> list[str]:
    pieces = []
    while width_em(word, weight) > width and len(word) > 1:
        cut = len(word) - 1
        while cut > 1 and width_em(word[:cut], weight) > width:
            cut -= 1
        pieces.append(word[:cut])
        word = word[cut:]
    return [*pieces, word]


def _nearest(sign: str, known: frozenset[int]) -> str:
    plain = unicodedata.normalize("NFKD", sign).replace("\u2044", "/")
    kept = "".join(part for part in plain if ord(part) in known)
    return kept or ("" if unicodedata.category(sign) in {"Cc", "Cf", "Mn"} else "?")


@cache
def _glyphs(weight: str) -> frozenset[int]:
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    font = TTFont(weight, str(FONTS / f"{weight}.ttf"))
    pdfmetrics.registerFont(font)
    return frozenset(font.face.charToGlyph)


def _design_height(weight: str, offset: int) -> float:
    """A height of the OS/2 table (sxHeight at byte 86, sCapHeight at 88) over the em."""
    data = (FONTS / f"{weight}.ttf").read_bytes()
    (tables,) = struct.unpack_from(">H", data, 4)
    at = {}
    for entry in range(12, 12 + 16 * tables, 16):
        at[data[entry : entry + 4]] = struct.unpack_from(">I", data, entry + 8)[0]
    (height,) = struct.unpack_from(">h", data, at[b"OS/2"] + offset)
    (units_per_em,) = struct.unpack_from(">H", data, at[b"head"] + 18)
    return float(height / units_per_em)
