"""README, the contributor's guide and the links of docs/ say what is there."""

import re
import subprocess
from functools import cache
from hashlib import sha256
from itertools import pairwise
from pathlib import Path

import pytest

from app import cli
from tests.docs.sources_page import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").rglob("*.md"))]
TEXT = {".py", ".md", ".html", ".css", ".js", ".toml", ".csv", ".svg", ".mako", ".ini", ".txt", ""}
# Written in pieces, so that this file does not hold what it forbids.
FORBIDDEN = [
    r"(?<![\w.~-])/wo" + r"rk/",
    r"(?<![\w.])/ro" + r"ot/",
    r"\bissue" + r" #?\d",
]
# The first 16 hexadecimal digits of SHA-256 of names of makers and brands in lower case, so that
# no file of ours holds such a name, not even this one.
BRANDS = {
    "4e4600190616df3b",
    "c5b49d391ac1d65b",
    "1d52fc722532abf1",
    "cc11543e23270629",
    "47e069bfb650fe0b",
    "c31362beb0e75e4e",
    "b1979ebc4849a1b1",
    "161fcf00d7b6e922",
    "884c615372ab52e4",
    "55de780c6a7b5f3f",
}


@cache
def _tracked() -> tuple[Path, ...]:
    run = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if run.returncode:
        pytest.skip("not a checkout of the repository")
    names = [name for name in run.stdout.split("\0") if name]
    return tuple(ROOT / name for name in names if (ROOT / name).is_file())


def _subcommands() -> set[str]:
    return {name for name, *_ in cli._COMMANDS}


def test_readme_names_every_command_and_no_other():
    named = set(re.findall(r"^\| `stillroom (\w+)", README, re.MULTILINE))
    assert named == _subcommands()


def test_every_option_that_readme_gives_to_serve_exists(capsys):
    with pytest.raises(SystemExit):
        cli.main(["serve", "--help"])
    words = capsys.readouterr().out
    row = next(line for line in README.splitlines() if line.startswith("| `stillroom serve"))
    options = re.findall(r"--[a-z]+", row)
    assert len(options) >= 4
    assert [option for option in options if option not in words] == []


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_link_to_a_file_leads_somewhere(page):
    text = re.sub(r"```.*?```", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    links = re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", text)
    missing = [x for x in links if "://" not in x and not (page.parent / x).exists()]
    assert missing == []


def test_every_path_in_the_contributors_guide_exists():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    paths = re.findall(r"`((?:\.ci|app|tests|docs|migrations|seed_demo)/[\w./]*)(?:: \w+)?`", text)
    assert len(paths) > 10
    assert [path for path in paths if not (ROOT / path).exists()] == []


@cache
def _lines() -> tuple[tuple[str, str], ...]:
    """Place and words of every line of every tracked text."""
    return tuple(
        (f"{path.relative_to(ROOT)}:{number}", words)
        for path in _tracked()
        if path.suffix in TEXT
        for number, words in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
    )


@pytest.mark.parametrize("pattern", FORBIDDEN)
def test_no_tracked_file_holds_a_path_or_a_number_of_this_workplace(pattern):
    rule = re.compile(pattern, re.IGNORECASE)
    assert [place for place, words in _lines() if rule.search(words)] == []


def test_no_tracked_file_names_a_brand():
    found: dict[str, str] = {}
    for place, line in _lines():
        words = re.findall(r"[a-z]+", line.lower())
        for name in {*words, *(f"{a} {b}" for a, b in pairwise(words))}:
            found.setdefault(name, place)
    digests = {sha256(name.encode()).hexdigest()[:16]: place for name, place in found.items()}
    assert [digests[brand] for brand in BRANDS & digests.keys()] == []
