"""Write docs/sources.md from the one bibliography: `python -m tests.docs.sources_page`."""

import ast
from pathlib import Path

from app.science import sources

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "sources.md"
HEAD = """# Sources

Written by `python -m tests.docs.sources_page` from `app/science/sources.py`; a test compares the
two. How well each *number* is known stands at the number, on the app's page *Papers › Numbers*:
many of these publications were read only in a copy or an excerpt. Sources of checks alone are
named beside the check, in [science/published.md](science/published.md).

| title | publisher | year | cited by |
| --- | --- | --- | --- |
"""

# The packaged tables are data, so no line of code names their publication.
TABLES = {
    "USDA_SR28": ["composition_sr.csv", "composition_sr_factors.csv"],
    "USDA_COOKING_YIELDS": ["cooking_yields_usda.csv"],
}


def constants() -> dict[str, sources.Source]:
    """Every publication of the bibliography by its constant, in the order of the file."""
    return {
        name: value for name, value in vars(sources).items() if isinstance(value, sources.Source)
    }


def citations() -> dict[str, list[str]]:
    """Constant -> modules under app/ that use it, not those that merely import it."""
    found: dict[str, list[str]] = {
        name: [f"data/{table}" for table in TABLES.get(name, [])] for name in constants()
    }
    for path in sorted((ROOT / "app").rglob("*.py")):
        if path.name == "sources.py" and path.parent.name == "science":
            continue
        module = ".".join(path.relative_to(ROOT / "app").with_suffix("").parts)
        used = {
            node.id if isinstance(node, ast.Name) else node.attr
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
            if isinstance(node, ast.Name | ast.Attribute)
        }
        for name in used & found.keys():
            found[name].append(module.removeprefix("science."))
    return found


def page() -> str:
    """The text of docs/sources.md, sorted by title."""
    cited = citations()
    lines = [
        f"| {source.title} | {source.publisher} | {source.year} | {', '.join(cited[name])} |"
        for name, source in constants().items()
    ]
    return HEAD + "\n".join(sorted(lines, key=str.casefold)) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
