"""Bring the catalogues up to the text of the app: `python -m tests.language.catalogue`.

What is translated already stays; what is gone from the app goes; what is new is left empty for a
person to fill in, in app/language/catalogues/<language>.po. Run it once more to compile.
"""

import io
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from app.language import CATALOGUES, SOURCE, speak
from tests.language.kept_text import kept_text

WRITTEN = datetime(2026, 1, 1, tzinfo=UTC)
ROOT = Path(__file__).parents[2]
METHODS = [
    ("web/static/js/vendor/**", "ignore"),
    ("**.py", "python"),
    ("**.html", "jinja2"),
    ("**.js", "javascript"),
]
KEYWORDS = {"_": None, "N_": None, "ngettext": (1, 2), "say": None, "sayCount": (1, 2)}


def languages() -> list[str]:
    """Every language that has a catalogue, whole or not."""
    return sorted(path.stem for path in CATALOGUES.glob("*.po"))


def gathered(language: str | None = None) -> Catalog:
    """Every text of the app, without a translation."""
    speak(SOURCE)  # texts in tables are looked at as English pages show them
    catalogue = Catalog(locale=language, charset="utf-8", project="Stillroom")
    for file, text in _texts():
        catalogue.add(text, locations=[(file, 0)])
    return catalogue


def _texts() -> Iterator[tuple[str, str | tuple[str, ...]]]:
    found = extract_from_dir(ROOT / "app", METHODS, {"**.html": {"trimmed": "true"}}, KEYWORDS)
    for file, _line, message, _comments, _context in found:
        if message and (not isinstance(message, tuple) or all(message)):
            yield f"app/{file}", message
    yield from kept_text()


def written(language: str) -> Catalog:
    """The catalogue as it stands in its file."""
    with (CATALOGUES / f"{language}.po").open("rb") as file:
        return read_po(file, locale=language)


def brought_up(language: str) -> Catalog:
    """The catalogue with the text of today: nothing guessed, nothing kept that is not used."""
    catalogue = written(language)
    catalogue.update(gathered(language), no_fuzzy_matching=True)
    catalogue.obsolete.clear()
    return catalogue


def as_po(catalogue: Catalog) -> bytes:
    """The catalogue as people edit it, in the order of its texts, so that changes are seen."""
    out = io.BytesIO()
    write_po(out, catalogue, width=100, omit_header=True, sort_output=True, include_lineno=False)
    return out.getvalue()


def as_mo(catalogue: Catalog) -> bytes:
    """The catalogue as the app reads it; the same text gives the same bytes."""
    catalogue.creation_date = catalogue.revision_date = WRITTEN
    out = io.BytesIO()
    write_mo(out, catalogue)
    return out.getvalue()


def missing(catalogue: Catalog) -> list[str]:
    """The texts that are not translated yet."""
    return [
        str(message.id) for message in catalogue if message.id and not _is_whole(message.string)
    ]


def _is_whole(text: str | tuple[str, ...] | list[str] | None) -> bool:
    return bool(text) if text is None or isinstance(text, str) else all(text)


def main() -> None:
    """Bring every catalogue up to date and say how much of it is translated."""
    for language in languages():
        catalogue = brought_up(language)
        (CATALOGUES / f"{language}.po").write_bytes(as_po(catalogue))
        (CATALOGUES / f"{language}.mo").write_bytes(as_mo(catalogue))
        left = len(missing(catalogue))
        print(f"{language}: {len(catalogue)} texts, {left} not translated yet")


if __name__ == "__main__":
    main()
