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
from app.language import _, figures, from_to
from app.science import sources
from app.science.safety.rule import Rule
from app.science.sources import Evidence, Source, Sourced

_UNITS = {"1": "", "degC": "°C", "degF": "°F", "degK": "K"}


@dataclass(frozen=True, slots=True)
class Number:
    """One number as the page shows it: what it is called, and what is known of it."""

    parts: tuple[str, ...]  # of its name, from the table to the cell
    sourced: Sourced

    @property
    def name(self) -> str:
        """What it is called, in the reader's language."""
        return ", ".join(_(part) for part in self.parts)

    @property
    def unit(self) -> str:
        """Its unit as people write it, in English."""
        return _UNITS.get(self.sourced.unit, self.sourced.unit)

    @property
    def value(self) -> str:
        """How much, with its unit."""
        return amount(self.sourced.value, self.sourced.unit)

    @property
    def span(self) -> str:
        """The likely range, or nothing."""
        low, high = self.sourced.low, self.sourced.high
        if low is None or high is None:
            return ""
        return from_to(_end(low), _end(high))

    @property
    def evidence(self) -> str:
        """How well it is known."""
        return _(self.sourced.evidence.value)

    @property
    def evidence_alone(self) -> str:
        """The same where it begins a sentence."""
        return evidence_alone(self.sourced.evidence)

    @property
    def source(self) -> str:
        """The publication, in its own language."""
        return str(self.sourced.source) if self.sourced.source else ""

    @property
    def note(self) -> str:
        """What else there is to say of it."""
        return _(self.sourced.note)


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
    figure = f"{value:.6g}".replace("-", "−", 1 if value < 0 else 0)
    return f"{figures(figure)} {unit_words(unit)}".strip()


def unit_words(unit: str) -> str:
    """A unit of the science as people write it: "°C" for "degC"."""
    return _(_UNITS.get(unit, unit))


def evidence_alone(evidence: Evidence) -> str:
    """How well something is known, as a sentence of its own: "Read in the source"."""
    return _(evidence.value.capitalize())


def _end(value: float) -> str:
    return figures(f"{value:.4g}".replace("-", "−"))


def _modules() -> Iterator[ModuleType]:
    for info in pkgutil.walk_packages(app.science.__path__, "app.science."):
        yield importlib.import_module(info.name)


def _subject(module: ModuleType, seen: set[int]) -> Subject:
    numbers = []
    for name in _own_names(module):
        for path, found in _within(getattr(module, name, None), _words(name)):
            if id(found) not in seen:
                seen.add(id(found))
                numbers.append(Number(_parts(path), found))
    title = (module.__doc__ or module.__name__).strip().splitlines()[0].rstrip(".")
    short = module.__name__.removeprefix("app.science.").replace(".", "-")
    return Subject(short, title, tuple(numbers))


def _parts(path: str) -> tuple[str, ...]:
    first, *others = path.split(", ")
    return (first[:1].upper() + first[1:], *others)


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
