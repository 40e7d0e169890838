"""A text is marked so that the gathering finds it: alone in its call, and in no f-string."""

import ast
from collections.abc import Iterator
from pathlib import Path

APP = Path(__file__).parents[2] / "app"
MARKS = {"_": 1, "N_": 1, "ngettext": 2}


def _odd(tree: ast.AST) -> Iterator[ast.Call]:
    """Calls that mark something else than a text as it stands, or a name that holds one."""
    hidden = {id(n) for f in ast.walk(tree) if isinstance(f, ast.JoinedStr) for n in ast.walk(f)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            for text in node.args[: MARKS.get(node.func.id, 0)]:
                alone = isinstance(text, ast.Constant)
                pieces = [p for p in ast.walk(text) if isinstance(p, ast.Constant)]
                glued = isinstance(text, ast.IfExp | ast.BinOp | ast.JoinedStr) and any(
                    isinstance(piece.value, str) for piece in pieces
                )
                if glued or (alone and id(node) in hidden):
                    yield node


def test_every_marked_text_is_found_when_the_texts_are_gathered() -> None:
    odd = [
        f"{file.relative_to(APP)}:{call.lineno}"
        for file in sorted(APP.rglob("*.py"))
        for call in _odd(ast.parse(file.read_text()))
    ]
    assert odd == []
