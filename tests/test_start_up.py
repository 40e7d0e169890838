"""Starting is quick: what computes, converts or draws is imported where it is used."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
LATE = {"numpy", "scipy", "pint", "reportlab", "alembic", "segno"}


def loaded_by(*lines: str) -> set[str]:
    """The top-level modules a fresh interpreter holds after these lines."""
    script = "\n".join(
        [*lines, "import json, sys", "print(json.dumps([m.split('.')[0] for m in sys.modules]))"]
    )
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return set(json.loads(done.stdout.splitlines()[-1]))


def test_the_probe_sees_what_is_imported() -> None:
    assert "segno" in loaded_by("import segno")


@pytest.mark.parametrize("module", ["app.cli", "app.web.factory"])
def test_importing_the_edges_loads_nothing_heavy(module: str) -> None:
    assert loaded_by(f"import {module}") & LATE == set()


def test_importing_the_command_line_does_not_even_load_the_web_or_the_ledger() -> None:
    assert loaded_by("import app.cli") & {"flask", "sqlalchemy", "wtforms", "waitress"} == set()


def test_building_the_application_loads_nothing_heavy(tmp_path: Path) -> None:
    assert (
        loaded_by(
            "from datetime import UTC, datetime",
            "from pathlib import Path",
            "from app.settings import Settings",
            "from app.web.factory import create_app",
            f"create_app(Settings(Path({str(tmp_path)!r})), lambda: datetime.now(UTC))",
        )
        & LATE
        == set()
    )


def test_checking_a_ledger_at_the_newest_step_needs_no_migration_tool(tmp_path: Path) -> None:
    subprocess.run(
        [
            sys.executable,
            "-c",
            "from pathlib import Path; from app.ledger import schema; "
            f"schema.bring_up(Path({str(tmp_path)!r}) / 'stillroom.db')",
        ],
        cwd=ROOT,
        check=True,
    )
    assert (
        loaded_by("from app.cli import main", f"main(['check', '--data', {str(tmp_path)!r}])")
        & LATE
        == set()
    )
