"""Text that stands in data, where no call marks it: rules, foods, tables.

A web page translates it where it shows it, with `_` or with `said` of app/web/said.py.
"""

import ast
import inspect
import re
from collections.abc import Iterable, Iterator
from types import ModuleType

from app.ledger.food_kinds import every_kind
from app.science import foods, packaging, working
from app.science.safety import (
    allergens,
    cooking,
    fish,
    outage,
    outage_lots,
    readings,
    thawing,
    worn,
)
from app.science.safety.catalogue import ALL_RULES
from app.science.safety.not_computed import NOT_COMPUTED
from app.science.safety.rule import DEFERENCE
from app.science.sources import Evidence
from app.web.papers.numbers import subjects

_WORD = re.compile(r"[^\W\d_]{3,}")


def kept_text() -> Iterator[tuple[str, str]]:
    """Pairs of the file a text stands in and the text, each text once."""
    seen: set[str] = set()
    for place, texts in _kept():
        for text in texts:
            if text not in seen and _WORD.search(text):  # units and formulas are no words
                seen.add(text)
                yield place, text


def _kept() -> Iterator[tuple[str, Iterable[str]]]:
    yield "app/science/safety/rule.py", [DEFERENCE]
    yield "app/science/sources.py", [text for e in Evidence for text in _both(e.value)]
    yield "app/science/safety/catalogue.py", _rules()
    yield "app/science/safety/cooking.py", _targets()
    yield "app/science/safety/not_computed.py", _questions()
    yield "app/science/safety/outage.py", _outages()
    yield "app/science/safety/allergens.py", _allergens()
    yield "app/science/safety/worn.py", [worn._DRY, worn._COLD, worn._WARM]
    yield "app/science/safety/readings.py", [reading.value for reading in readings.Reading]
    yield "app/science/safety/thawing.py", [way.value for way in thawing.ThawWay]
    yield "app/science/safety/fish.py", [use.value for use in fish.FishUse]
    yield (
        "app/science/packaging.py",
        [text for kind in packaging.PACKAGINGS.values() for text in _both(kind.words)],
    )
    yield "app/science/working.py", _working()
    yield "app/ledger/food_kinds.py", every_kind()
    yield "app/science/foods.py", [food.name for food in foods.all_foods()]
    yield from _numbers()


def _both(text: str) -> tuple[str, str]:
    """A text inside a sentence, and where it begins one."""
    return text, text[:1].upper() + text[1:]


def _rules() -> Iterator[str]:
    for rule in ALL_RULES:
        yield _both(rule.applies_to)[1]
        yield rule.words
        yield from (words for _outcome, words in rule.also)
        yield from (limit.note for limit in rule.limits)


def _targets() -> Iterator[str]:
    for row in cooking.COOK_TABLE:
        yield from _both(row.label)
        yield row.observation
    yield from _both("all food")


def _questions() -> Iterator[str]:
    for row in NOT_COMPUTED:
        yield row.question
        yield row.instead


def _outages() -> Iterator[str]:
    ours = (outage_lots.PANTRY_ROW, outage_lots._DRY_FROZEN)
    for row in (*outage.FREEZER_TABLE, *outage.FRIDGE_TABLE, *ours):
        yield from (_both(row.food)[1], row.icy_note, row.warm_note)
    yield from (outage_lots._OURS, outage_lots._SEALED, outage._TEXTURE)
    yield from _words_of(outage, "note")
    yield from ("Raw meat juice touched it.", "Look at it first.")


def _allergens() -> Iterator[str]:
    for group in allergens.AllergenGroup:
        yield from _both(group.value)
        yield allergens._WORDS.get(group, group.value)
        yield from allergens.KINDS.get(group, ())


def _working() -> Iterator[str]:
    """What each line of a working is called and its equation, if that holds words."""
    for call in ast.walk(ast.parse(inspect.getsource(working))):
        if isinstance(call, ast.Call) and getattr(call.func, "id", "") == "Step":
            yield from (text for text in _strings(call) if len(text) > 3)
    yield from (text for text in _words_of(working, "tables") if len(text) > 6)


def _numbers() -> Iterator[tuple[str, Iterable[str]]]:
    for subject in subjects():
        place = f"app/science/{subject.id.replace('-', '/')}.py"
        yield place, (subject.title, subject.short)
        for number in subject.numbers:
            yield place, (*number.parts, number.unit, number.note)


def _words_of(module: ModuleType, name: str) -> list[str]:
    """The texts in what is assigned to one name in a module's code."""
    found = []
    for node in ast.walk(ast.parse(inspect.getsource(module))):
        is_named = isinstance(node, ast.Assign) and name in [
            target.id for target in node.targets if isinstance(target, ast.Name)
        ]
        if is_named:
            found += _strings(node)
    return found


def _strings(node: ast.AST) -> list[str]:
    return [
        part.value
        for part in ast.walk(node)
        if isinstance(part, ast.Constant) and isinstance(part.value, str)
    ]
