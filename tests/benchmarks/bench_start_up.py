"""How long does a start take, against importing the web and database libraries alone?

    python tests/benchmarks/bench_start_up.py

Prints the ratio of medians; 1.3 is the ceiling we set ourselves. Run it on a quiet machine.
"""

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ROUNDS = 15
BARE = "import flask, sqlalchemy.orm, wtforms"
START = """
import tempfile
from datetime import UTC, datetime
from pathlib import Path
import app.cli
from app.ledger import schema
from app.settings import Settings
from app.web.factory import create_app
settings = Settings(Path({folder!r}))
schema.bring_up(settings.data_file)
create_app(settings, lambda: datetime.now(UTC))
"""


def seconds(script: str) -> float:
    """One fresh interpreter running a script."""
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", script], cwd=ROOT, check=True)
    return time.perf_counter() - start


def main() -> None:
    """Measure by turns, so that a slow moment of the machine meets both."""
    with tempfile.TemporaryDirectory() as folder:
        start = START.format(folder=folder)
        seconds(start)  # makes the ledger and warms the caches of both
        seconds(BARE)
        pairs = [(seconds(BARE), seconds(start)) for _ in range(ROUNDS)]
    bare, ours = (statistics.median(times) for times in zip(*pairs, strict=True))
    print(f"bare imports {bare:.3f} s, our start {ours:.3f} s, ratio {ours / bare:.2f}")


if __name__ == "__main__":
    main()
