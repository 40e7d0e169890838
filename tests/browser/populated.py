"""A ledger with a year in it, and the day on which it is looked at."""

from datetime import UTC, date, datetime
from pathlib import Path

from app.ledger import schema
from app.ledger.book import Book
from app.settings import Settings
from seed_demo.year import build

TODAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 16, tzinfo=UTC)


def populate(data_dir: Path) -> Path:
    """Build the demo household in a folder."""
    file = Settings(data_dir).data_file
    schema.bring_up(file)
    book = Book(file)
    build(book, TODAY)
    book.close()
    return data_dir
