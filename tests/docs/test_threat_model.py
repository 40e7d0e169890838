"""Every line of the threat model names a test, and the tests are there."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "threat-model.md").read_text("utf-8")


def test_every_line_of_the_threat_model_has_its_test() -> None:
    lines = [line for line in PAGE.splitlines() if line.startswith("| ")][2:]
    assert len(lines) > 10
    assert [line for line in lines if "`test_" not in line] == []


def test_every_test_that_the_threat_model_names_exists() -> None:
    written = {
        name
        for path in (ROOT / "tests").rglob("test_*.py")
        for name in re.findall(r"^def (test_\w+)", path.read_text("utf-8"), re.M)
    }
    assert set(re.findall(r"`(test_\w+)`", PAGE)) - written == set()
