"""What the rules said, said again in the reader's language.

The rules speak English, with their numbers inside the sentence, and so the ledger keeps what was
said. A page finds the shape of such a sentence again and says that shape, with the same numbers, in
the language of who reads it; a sentence of an older rule whose shape is gone stays as it was said.
"""

import re
from collections.abc import Iterable, Iterator
from functools import cache
from itertools import chain

from app.language import N_, SOURCE, _, cached_by_language, figures, language

#: What the rules put into the blanks of their sentences, and what the science says of itself.
SHAPES = (
    N_("{temperature}, kept for {minutes} minutes"),
    N_("not measured"),
    N_("No reading"),
    N_("over {hours}"),
    N_("21 °C within 2 hours, or reheat to 74 °C now and chill faster."),
    N_("5 °C within 6 hours in all."),
    N_("below 5 °C within 4 hours of soaking, or eat it."),
    N_("No reading of the cooling"),
    N_("No two readings of the food"),
    N_("A reading has no time"),
    N_("The clock of the readings goes back"),
    N_("Readings are missing for over half an hour"),
    N_("It was out too long"),
    N_("It was out for {hours} h, in air of unknown warmth"),
    N_("This one thawed by way of {way}"),
    N_("Its {days} fridge days are over"),
    N_("It reached {temperature}"),
    N_("Its days in the fridge are not known"),
    N_("hot and hard"),
    N_("open for {minutes} minutes"),
    N_("found used up in its pack"),
    N_("{water} water in the fat-free part, water activity {activity}"),
    N_("{water} water in the fat-free part"),
    N_("water activity {activity}"),
    N_("An unknown dose of"),
    N_("{dose} mg/kg of"),
    N_("Not cold enough for the former rule (−15 °C or colder)."),
    N_("Met the former freezing rule for farmed pork, shown as history."),
    N_("Not met: the former freezing rule asks {days} days at this cold."),
    N_("Please read it again."),
    N_("Did you mean {temperature}?"),
    N_("its cooking target"),
    N_("done right through"),
    N_("Contains {allergens}."),
    N_("May contain {allergens}."),
    N_("Allergens not fully known."),
    N_("May contain {allergens}. Allergens not fully known."),
    N_("{food}: may be frozen again."),
    N_("{food}: may be frozen again. {note}"),
    N_("{food}: may be kept."),
    N_("{food}: may be kept. {note}"),
    N_("{food}: discard it."),
    N_("{food}: discard it. {note}"),
    N_("{food}: decide by looking."),
    N_("{food}: decide by looking. {note}"),
    N_("{reason}; widened by half for the fat (our judgement)"),
)
_BARE = ("{name} ({kinds})",)  # an allergen and its kinds, a source and how well it is known
_LISTS = frozenset({"allergens", "others", "kinds"})  # blanks that hold several names
_HOLE = re.compile(r"\{(\w+)\}")
_FIGURES = re.compile(r"[\d.,\s°CF()%−-]*\d[\d.,\s°CF()%−-]*")
_OUTER_COMMA = re.compile(r", (?![^()]*\))")


def said(text: str) -> str:
    """A sentence of the science or of the ledger, in the reader's language.

    Args:
        text: English, as the rule said it or as the ledger kept it; anything else passes through.
    """
    return text if language() == SOURCE or not text else _said(text)


@cached_by_language(4096)  # the same few sentences stand in many rows
def _said(text: str) -> str:
    known = _(text)
    if known != text:
        return known
    if not text or _FIGURES.fullmatch(text):
        return figures(text)
    found = (m for m in _matches(text) if all(map(_is_whole, m[1].groups())))
    for shape, match in chain(found, _matches(text)):  # a name may hold half a bracket
        return _(shape, **{name: _value(name, v) for name, v in match.groupdict().items()})
    return text


def _matches(text: str) -> Iterator[tuple[str, re.Match[str]]]:
    for shape, pattern in _patterns():
        match = pattern.fullmatch(text)
        if match:
            yield shape, match


def _is_whole(part: str) -> bool:
    """Is no bracket cut in two? What stands in brackets belongs to the sentence around them."""
    return part.count("(") == part.count(")")


def _value(name: str, text: str) -> str:
    if name not in _LISTS:
        return _said(text)
    known = _(text)
    return known if known != text else said_list(text)


def said_list(names: str) -> str:
    """Names with commas between them, each in the reader's language: "fish (trout), milk"."""
    if language() == SOURCE:
        return names
    parts = (name.partition(":") for name in _OUTER_COMMA.split(names))
    return ", ".join(_said(group) + colon + _said(kind) for group, colon, kind in parts)


@cache
def _patterns() -> tuple[tuple[str, re.Pattern[str]], ...]:
    """Every shape with blanks, those with most words of their own first."""
    shapes = {*_blanks(SHAPES), *_blanks(_of_rules())}
    ranked = [*sorted(shapes, key=_own_letters, reverse=True), *_BARE]
    return tuple((shape, _pattern(shape)) for shape in ranked)


def _of_rules() -> Iterable[str]:
    from app.science.safety.catalogue import ALL_RULES

    for rule in ALL_RULES:
        yield rule.words
        yield from (words for _outcome, words in rule.also)


def _blanks(shapes: Iterable[str]) -> Iterable[str]:
    return (shape for shape in shapes if _HOLE.search(shape) and _own_letters(shape))


def _own_letters(shape: str) -> int:
    return len(_HOLE.sub("", shape).strip())


def _pattern(shape: str) -> re.Pattern[str]:
    parts = _HOLE.split(shape)  # text, name, text, name, ... text
    words = [
        f"(?P<{part}>.+?)" if number % 2 else re.escape(part) for number, part in enumerate(parts)
    ]
    return re.compile("".join(words))
