"""A text is marked so that the gathering finds it: in no f-string, and in no other call."""

import ast
from collections.abc import Iterator
from pathlib import Path

from tests.language.catalogue import gathered

APP = Path(__file__).parents[2] / "app"
MARKS = {"_": 1, "N_": 1, "ngettext": 2}


def marked(tree: ast.AST) -> Iterator[tuple[int, list[ast.expr]]]:
    """The lines on which something is marked, and what."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            texts = node.args[: MARKS.get(node.func.id, 0)]
            if texts:
                yield node.lineno, texts


def texts_of(part: ast.expr) -> list[str]:
    """The texts in what is marked; calls inside it mark for themselves."""
    found: list[str] = []
    waiting: list[ast.AST] = [part]
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            found.append(node.value)
        elif not isinstance(node, ast.Call | ast.Subscript):
            waiting += ast.iter_child_nodes(node)
    return found


def test_every_text_that_is_marked_is_gathered() -> None:
    known = {text for m in gathered() for text in ([m.id] if isinstance(m.id, str) else m.id)}
    lost = [
        f"{file.relative_to(APP)}:{line}: {text}"
        for file in sorted(APP.rglob("*.py"))
        for line, parts in marked(ast.parse(file.read_text()))
        for part in parts
        for text in texts_of(part)
        if text and text not in known
    ]
    assert lost == []
