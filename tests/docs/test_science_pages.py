"""What the pages of science print is what the tests and the models give today."""

import subprocess
import sys

import pytest

from app.science.keeping import Window
from app.science.slow import YEAR_D
from app.science.window import estimate
from tests.docs.sources_page import ROOT
from tests.published.plots import FIGURES, FOLDER, MONTH_D, window_cases
from tests.published.report import SCIENCE, with_crosscheck


def test_the_table_of_published_values_is_what_the_tests_compare():
    """In a process of its own: it runs the tests under tests/published once more."""
    code = (
        "from tests.published import record, report\n"
        "found = record.recorded()\n"
        "alone = [c for c in found.printed if c.module != 'test_foods']\n"
        "text = (report.SCIENCE / 'published.md').read_text(encoding='utf-8')\n"
        "print(text == report.page(found), len(found.printed), len(alone))\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    same, printed, alone = run.stdout.split()[-3:]
    assert int(printed) >= 150
    assert int(alone) >= 150, "without the two composition tables, which alone give 360"
    assert same == "True", "run python -m tests.published.report"


def test_the_disagreements_of_the_two_composition_tables_are_listed():
    text = (SCIENCE / "composition.md").read_text(encoding="utf-8")
    assert text == with_crosscheck(text)


@pytest.mark.parametrize("name", FIGURES)
def test_a_drawing_is_the_one_that_the_models_give(name):
    drawn = (FOLDER / f"{name}.svg").read_text(encoding="utf-8")
    assert drawn == FIGURES[name]().text(), "run python -m tests.published.plots"


def test_every_drawing_is_shown_on_a_page_and_none_is_left_over():
    pages = [page.read_text(encoding="utf-8") for page in SCIENCE.glob("*.md")]
    pages.append((ROOT / "docs" / "science.md").read_text(encoding="utf-8"))
    assert {path.stem for path in FOLDER.glob("*.svg")} == set(FIGURES)
    for name in FIGURES:
        assert any(f"plots/{name}.svg)" in page for page in pages), name


@pytest.mark.parametrize(
    ("words", "unit_d", "digits"),
    [
        ("lean, foil, absorber (its anchor)", YEAR_D, 0),
        ("20 % blend, foil, absorber (anchor)", YEAR_D, 1),
        ("dried apricots, 21 °C", MONTH_D, 1),
    ],
)
def test_the_windows_that_the_page_prints_are_those_of_the_model(words, unit_d, digits):
    keeping = next(case[1] for case in window_cases() if case[0] == words)
    found = estimate(keeping)
    assert isinstance(found, Window)
    days = found.early_days, found.central_days, found.late_days
    printed = " – ".join(f"{day / unit_d:.{digits}f}" for day in days)
    assert printed in (ROOT / "docs" / "science.md").read_text(encoding="utf-8")
