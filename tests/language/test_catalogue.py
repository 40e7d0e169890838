"""The catalogues hold every text of the app, and what the app reads is what was translated."""

import io
import re

import pytest
from babel.messages.catalog import Message
from babel.messages.mofile import read_mo

from app.language import CATALOGUES, LANGUAGES, SOURCE
from tests.language import catalogue

_HOLE = re.compile(r"\{(\w+)[^}]*\}")


@pytest.mark.parametrize("language", catalogue.languages())
def test_a_catalogue_has_every_text_of_the_app_and_no_other(language: str) -> None:
    found = (CATALOGUES / f"{language}.po").read_bytes()
    assert found == catalogue.as_po(catalogue.brought_up(language))


@pytest.mark.parametrize("language", catalogue.languages())
def test_what_the_app_reads_was_made_of_what_people_translated(language: str) -> None:
    compiled = (CATALOGUES / f"{language}.mo").read_bytes()
    assert _read(compiled) == _read(catalogue.as_mo(catalogue.written(language)))


def test_a_language_that_is_offered_is_whole() -> None:
    offered = set(LANGUAGES) - {SOURCE}
    assert {language: catalogue.missing(catalogue.written(language)) for language in offered} == {
        language: [] for language in offered
    }


@pytest.mark.parametrize("language", catalogue.languages())
def test_a_translation_names_the_same_values_as_the_text(language: str) -> None:
    odd = [message.id for message in catalogue.written(language) if not _same_holes(message)]
    assert odd == []


def _read(compiled: bytes) -> tuple[str, list[tuple[object, object]]]:
    """The rule of its plurals and its texts; the header names the library that compiled them."""
    read = read_mo(io.BytesIO(compiled))
    return read.plural_expr, [(message.id, message.string) for message in read if message.id]


def _same_holes(message: Message) -> bool:
    one = [message.id] if isinstance(message.id, str) else list(message.id)
    other = [message.string] if isinstance(message.string, str) else list(message.string)
    wanted = set(_HOLE.findall(" ".join(one)))
    # a plural may leave the number out where one word says it
    return all(
        not text or set(_HOLE.findall(text)) | {"number"} == wanted | {"number"} for text in other
    )
