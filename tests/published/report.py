"""Write the pages of published against computed: `python -m tests.published.report`.

docs/science/published.md, and the disagreements of two composition tables in
docs/science/composition.md. A test compares both with what this writes.
"""

from collections.abc import Iterable
from itertools import groupby
from operator import attrgetter
from pathlib import Path

from app.science.foods import food
from tests.published.record import Comparison, Record, recorded
from tests.published.test_foods import BOUNDS, cofid_rows

SCIENCE = Path(__file__).parents[2] / "docs" / "science"
LONG = 40  # a longer group prints its count and the rows that lie farthest off
FARTHEST = 5
BEGIN, END = "<!-- begin: written by tests.published.report -->", "<!-- end -->"
NOTABLE = 0.5  # a difference above half of what other animals and soils explain

SUBJECTS = {
    "test_composition": "Composition and energy",
    "test_foods": "The table of foods",
    "test_blending": "Blending",
    "test_cooking": "Cooking and boiling",
    "test_rehydration": "Rehydration",
    "test_vapour": "Water as vapour",
    "test_thermal": "Heat in food",
    "test_cooling": "Cooling",
    "test_freezing": "Freezing and thawing",
    "test_lethality": "Heat that kills",
    "test_drying": "A batch of drying",
    "test_freezedrying": "Freeze-drying",
    "test_hotair": "Warm air",
    "test_sorption": "Water in dry food",
    "test_oxidation": "Oxidation",
    "test_oxygen": "Oxygen in packages",
    "test_packaging": "Packages",
    "test_frozen": "Freezer and refrigerator",
    "test_history": "Places and seasons",
    "test_window": "Storage windows",
    "test_draws": "The fixed draws",
    "test_kitchen_sums": "Sums of the kitchen",
    "test_safety_tables": "Safety tables",
    "test_safety_limits": "Safety limits",
}
HEAD = """# Published against computed

Written by `python -m tests.published.report` while the tests under `tests/published` run; a test
compares this page with what they compare, so no number here is kept by hand. *Within* is the
tolerance that the source justifies, in the unit of the value. Where ours is a range, the published
value must lie inside it, and that is all that is claimed. Trade facts are marked *common practice,
no source*.

"""


def _figure(value: float, tolerance: float) -> str:
    """A number of ours; noise far below its tolerance is 0, as no two processors make the same."""
    return "0" if 0 < abs(value) < 1e-3 * tolerance else f"{value:.4g}"


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


def _line(item: Comparison) -> str:
    ours = " – ".join(_figure(value, item.row.tolerance) for value in item.ours)
    within = "range" if len(item.ours) > 1 else f"{item.row.tolerance:.2g}"
    # A library's answer depends in its last figures on the processor that gave it.
    expected = f"{item.row.expected:{'.6g' if item.is_printed else '.4g'}}"
    cells = item.row.where, expected, ours, within, item.row.source
    return f"| {' | '.join(map(_cell, cells))} |"


def _table(items: Iterable[Comparison]) -> list[str]:
    return [
        "| what | published | ours | within | source |",
        "| --- | --- | --- | --- | --- |",
        *(_line(item) for item in items),
        "",
    ]


def _subject(module: str, items: list[Comparison]) -> list[str]:
    lines, short = [f"## {SUBJECTS[module]} (`{module}.py`)", ""], []
    for test, group in groupby(items, attrgetter("test")):
        rows = list(group)
        if len(rows) <= LONG:
            short += rows
            continue
        name = test.removeprefix("test_").replace("_", " ")
        lines += [f"*{name}*: {len(rows)} values; the {FARTHEST} farthest off:", ""]
        farthest = sorted(rows, key=lambda item: (-item.off, item.row.where))[:FARTHEST]
        lines += _table(farthest)
    return lines + (_table(short) if short else [])


def _inline(record: Record) -> list[str]:
    lines = [
        "## Checks without a row of this table",
        "",
        "Their outside value stands in the test itself: whole printed tables given as lines,",
        "bounds that a result must not pass, functions compared with a solver or a library.",
        "",
        "| test | cases |",
        "| --- | --- |",
    ]
    for (module, test), cases in sorted(record.inline.items()):
        if cases:
            words = test.removeprefix("test_").replace("_", " ")
            lines.append(f"| {SUBJECTS[module]}: {words} | {cases} |")
    return [*lines, ""]


def page(record: Record) -> str:
    """The text of docs/science/published.md."""
    printed, total = len(record.printed), len(record.comparisons)
    count = (
        f"**{printed}** printed values are compared, {total - printed} more are exact or come from "
        f"a reference library, and {sum(record.inline.values())} cases state theirs in the test "
        "(last table)."
    )
    lines = [count, ""]
    order = list(SUBJECTS)
    items = sorted(record.comparisons, key=lambda item: order.index(item.module))
    for module, group in groupby(items, attrgetter("module")):
        lines += _subject(module, list(group))
    return HEAD + "\n".join(lines + _inline(record))


def crosscheck() -> str:
    """Where the two composition tables differ by more than half of what is allowed for."""
    lines = [
        "| food | | SR28 | British | difference | allowed |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    for ndb_no, component, row in cofid_rows():
        ours = 100.0 * getattr(food(ndb_no).composition, component)
        difference, bound = ours - row.expected, BOUNDS[component]
        if abs(difference) > NOTABLE * bound:
            mark = " **beyond**" if abs(difference) > bound else ""
            lines.append(
                f"| {food(ndb_no).name} | {component} | {ours:.1f} | {row.expected:.1f} | "
                f"{difference:+.1f}{mark} | ± {bound:g} |"
            )
    return "\n".join(lines)


def with_crosscheck(text: str) -> str:
    """The page on composition with its table of disagreements renewed."""
    before, rest = text.split(BEGIN)
    after = rest.split(END)[1]
    return f"{before}{BEGIN}\n{crosscheck()}\n{END}{after}"


def main() -> None:
    """Write both pages."""
    (SCIENCE / "published.md").write_text(page(recorded()), encoding="utf-8")
    composition = SCIENCE / "composition.md"
    text = composition.read_text(encoding="utf-8")
    composition.write_text(with_crosscheck(text), encoding="utf-8")


if __name__ == "__main__":
    main()
