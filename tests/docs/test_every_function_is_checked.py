"""Every public function of the science meets a value from outside, or docs/science.md says why not.

The rules of safety have their own checks against the published texts, row by row, under
tests/published/test_safety_tables.py and tests/science/test_safety_*.py.
"""

import ast
import importlib
import inspect
import pkgutil
import re
from pathlib import Path

import app.science
from tests.docs.sources_page import ROOT

PREFIX = "app.science."
PUBLISHED = ROOT / "tests" / "published"
BEGIN, END = "<!-- begin: without an outside value -->", "<!-- end -->"


def _public(safety: bool) -> set[str]:
    found = set()
    for info in pkgutil.walk_packages(app.science.__path__, PREFIX):
        name = info.name.removeprefix(PREFIX)
        if name.startswith("safety") is not safety:
            continue
        module = importlib.import_module(info.name)
        for word, thing in vars(module).items():
            is_function = callable(thing) and not inspect.isclass(thing)
            if is_function and not word.startswith("_") and thing.__module__ == info.name:
                found.add(f"{name}.{word}")
    return found


def _used(path: Path) -> set[str]:
    """Functions of the science that a test file calls or passes on, not those it only imports."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    known: dict[str, str] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("app.science"):
            base = f"{node.module}.".removeprefix(PREFIX)
            known |= {a.asname or a.name: base + a.name for a in node.names}
    used = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and node.id in known:
            used.add(known[node.id])
        elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            used.add(f"{known.get(node.value.id, '?')}.{node.attr}")
    return used


def _checked(*paths: Path) -> set[str]:
    return set().union(*map(_used, paths))


def _excused() -> dict[str, str]:
    """Function -> reason, from the table in docs/science.md."""
    text = (ROOT / "docs" / "science.md").read_text(encoding="utf-8")
    table = text.split(BEGIN)[1].split(END)[0]
    rows = [line.strip("|").split("|") for line in table.splitlines() if line.startswith("| `")]
    return {
        name: reason.strip() for names, reason in rows for name in re.findall(r"`([^`]+)`", names)
    }


def test_every_public_function_meets_an_outside_value_or_the_page_says_why_not():
    checked = _checked(*PUBLISHED.glob("test_*.py"))
    assert sorted(_public(safety=False) - checked - _excused().keys()) == []


def test_the_list_of_exceptions_holds_no_function_that_is_checked_or_gone():
    checked = _checked(*PUBLISHED.glob("test_*.py"))
    assert sorted(name for name in _excused() if name in checked) == []
    public = _public(safety=False) | _public(safety=True)
    assert sorted(_excused().keys() - public) == []


def test_every_exception_has_a_reason():
    assert all(len(reason) > 10 for reason in _excused().values())


def test_every_function_of_the_safety_rules_is_named_in_their_tests():
    tests = ROOT / "tests" / "science"
    checked = _checked(PUBLISHED / "test_safety_tables.py", *tests.glob("test_safety_*.py"))
    assert sorted(_public(safety=True) - checked - _excused().keys()) == []
