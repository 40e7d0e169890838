"""Checks of the data file itself, as SQLite sees it."""

from sqlalchemy import text
from sqlalchemy.orm import Session

from app.ledger.checks.finding import Finding
from migrations.triggers import newest


def file_is_whole(session: Session) -> list[Finding]:
    """SQLite finds no damage in the file, and every CHECK of the tables holds."""
    rows = session.execute(text("PRAGMA integrity_check")).scalars()
    return [
        Finding("file_is_whole", "data file", "{why}", {"why": row}) for row in rows if row != "ok"
    ]


def references_lead_somewhere(session: Session) -> list[Finding]:
    """Every row that points to another one finds it."""
    rows = session.execute(text("PRAGMA foreign_key_check")).all()
    words = "points to a row of {parent} that does not exist"
    return [
        Finding("references_lead_somewhere", f"{table} row {row}", words, {"parent": parent})
        for table, row, parent, _ in rows
    ]


def guards_are_in_place(session: Session) -> list[Finding]:
    """The triggers that refuse edits and unbalanced operations are as the migrations wrote them."""
    present = set(
        session.scalars(text("SELECT sql FROM sqlite_master WHERE type = 'trigger'")).all()
    )
    return [
        Finding("guards_are_in_place", f"trigger {guard.split()[2]}", "is missing or was changed")
        for guard in newest()
        if guard not in present
    ]
