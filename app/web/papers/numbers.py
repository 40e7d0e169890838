"""Every sourced number of the science, found by walking its modules: a list that cannot lag."""

import ast
import dataclasses
import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import ModuleType

import app.science
from app.language import _
from app.science import sources
from app.science.safety.rule import Rule
from app.science.sources import Source, Sourced

_UNITS = {"1": "", "degC": "°C", "degF": "°F", "degK": "K"}


@dataclass(frozen=True, slots=True)
class Number:
    """One number as the page shows it."""

    name: str
    value: str
    span: str
    evidence: str
    source: str
    note: str


@dataclass(frozen=True, slots=True)
class Subject:
    """A module of the science with its numbers."""

    id: str
    title: str
    numbers: tuple[Number, ...]

    @property
    def short(self) -> str:
        """The title up to its first pause, for the links at the top."""
        return re.split(r"[:,;?]", self.title)[0]


@lru_cache(maxsize=1)
def subjects() -> tuple[Subject, ...]:
    """Every module that holds numbers, each number once, where it is defined."""
    seen: set[int] = set()
    found = (_subject(module, seen) for module in _modules())
    return tuple(subject for subject in found if subject.numbers)


@lru_cache(maxsize=1)
def bibliography() -> tuple[Source, ...]:
    """Every publication, by title."""
    known = {value for value in vars(sources).values() if isinstance(value, Source)}
    return tuple(sorted(known, key=lambda source: str(source).casefold()))


def amount(value: float, unit: str) -> str:
    """A number with its unit, without a tail of digits."""
    return f"{value:.6g} {_(_UNITS.get(unit, unit))}".replace(
        "-", "−", 1 if value < 0 else 0
    ).strip()


def number_of(name: str, found: Sourced) -> Number:
    """A sourced number as the page shows it."""
    span = ""
    if found.low is not None and found.high is not None:
        span = f"{found.low:.4g} to {found.high:.4g}".replace("-", "−")
    return Number(
        name,
        amount(found.value, found.unit),
        span,
        found.evidence.value,
        str(found.source) if found.source else "",
        found.note,
    )


def _modules() -> Iterator[ModuleType]:
    for info in pkgutil.walk_packages(app.science.__path__, "app.science."):
        yield importlib.import_module(info.name)


def _subject(module: ModuleType, seen: set[int]) -> Subject:
    numbers = []
    for name in _own_names(module):
        for path, found in _within(getattr(module, name, None), _words(name)):
            if id(found) not in seen:
                seen.add(id(found))
                numbers.append(number_of(path, found))
    title = (module.__doc__ or module.__name__).strip().splitlines()[0].rstrip(".")
    short = module.__name__.removeprefix("app.science.").replace(".", "-")
    return Subject(short, title, tuple(numbers))


def _own_names(module: ModuleType) -> list[str]:
    """What a module assigns itself; imported names belong to the module they come from."""
    names = []
    for statement in ast.parse(inspect.getsource(module)).body:
        targets = statement.targets if isinstance(statement, ast.Assign) else []
        if isinstance(statement, ast.AnnAssign):
            targets = [statement.target]
        for target in targets:
            names += [node.id for node in ast.walk(target) if isinstance(node, ast.Name)]
    return names


def _within(thing: object, path: str) -> Iterator[tuple[str, Sourced]]:
    if isinstance(thing, Sourced):
        yield path, thing
    elif isinstance(thing, Mapping):
        for key, value in thing.items():
            yield from _within(value, f"{path}, {_words(str(key))}")
    elif isinstance(thing, tuple | list | frozenset):
        for value in thing:
            yield from _within(value, path)
    elif isinstance(thing, Rule):
        return  # its limits stand beside it on the page of cautions
    elif dataclasses.is_dataclass(thing) and not isinstance(thing, type):
        own = getattr(thing, "id", None) or getattr(thing, "label", None)
        base = f"{path}, {own}" if own else path
        for field in dataclasses.fields(thing):
            yield from _within(getattr(thing, field.name), f"{base}, {_words(field.name)}")


def _words(name: str) -> str:
    return name.strip("_").replace("_", " ").lower()
