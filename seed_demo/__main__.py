"""Build the demo into a new data file: python -m seed_demo DATA_FILE [--today 2026-11-25]."""

import argparse
from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path

from app.ledger import schema
from app.ledger.book import Book
from seed_demo.year import build


def main(argv: Sequence[str] | None = None) -> None:
    """Parse, bring up, build."""
    parser = argparse.ArgumentParser(prog="python -m seed_demo", description=__doc__)
    parser.add_argument("data_file", type=Path, help="a file that does not exist yet")
    parser.add_argument(
        "--today",
        type=date.fromisoformat,
        default=datetime.now().astimezone().date(),
        help="the last day of the demo, as 2026-11-25 (default: today)",
    )
    arguments = parser.parse_args(argv)
    if arguments.data_file.exists():
        parser.error(f"{arguments.data_file} exists already")
    schema.bring_up(arguments.data_file)
    book = Book(arguments.data_file)
    try:
        build(book, arguments.today)
    finally:
        book.close()


if __name__ == "__main__":
    main()
