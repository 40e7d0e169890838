"""Checks of the database itself: the file, or what PostgreSQL says of its own tables."""

from sqlalchemy import ForeignKeyConstraint, Table, and_, select, text
from sqlalchemy.orm import Session

from app.ledger.checks.finding import Finding
from app.ledger.models import Base
from migrations import postgresql
from migrations.triggers import newest


def _is_file(session: Session) -> bool:
    return session.get_bind().dialect.name == "sqlite"


def file_is_whole(session: Session) -> list[Finding]:
    """The database finds no damage, and every CHECK of the tables holds.

    SQLite reads the whole file. PostgreSQL looks after its files itself and holds to what it has
    promised; here every promise that the tables need must have been made, and none be in doubt.
    """
    if _is_file(session):
        rows = session.execute(text("PRAGMA integrity_check")).scalars()
        words = [row for row in rows if row != "ok"]
    else:
        words = _missing_promises(session)
    return [Finding("file_is_whole", "data file", "{why}", {"why": why}) for why in words]


def _missing_promises(session: Session) -> list[str]:
    kept = set(
        session.scalars(
            text(
                "SELECT conname FROM pg_constraint "
                "WHERE connamespace = current_schema()::regnamespace AND convalidated "
                "UNION ALL SELECT indexrelid::regclass::text FROM pg_index "
                "JOIN pg_class ON pg_class.oid = indexrelid "
                "WHERE relnamespace = current_schema()::regnamespace AND indisvalid"
            )
        )
    )
    tables = Base.metadata.tables.values()
    named = {str(rule.name) for table in tables for rule in table.constraints}
    named |= {str(index.name) for table in tables for index in table.indexes}
    return [f"{name} is missing or in doubt" for name in sorted(named - kept)]


def references_lead_somewhere(session: Session) -> list[Finding]:
    """Every row that points to another one finds it."""
    words = "points to a row of {parent} that does not exist"
    if _is_file(session):
        rows = [
            (f"{table} row {row}", parent)
            for table, row, parent, _ in session.execute(text("PRAGMA foreign_key_check"))
        ]
    else:
        rows = [
            (f"{table.name} row {row}", rule.referred_table.name)
            for table in Base.metadata.tables.values()
            for rule in table.foreign_key_constraints
            for row in _leading_nowhere(session, table, rule)
        ]
    return [
        Finding("references_lead_somewhere", row, words, {"parent": parent}) for row, parent in rows
    ]


def _leading_nowhere(
    session: Session, table: Table, rule: ForeignKeyConstraint
) -> list[tuple[object, ...]]:
    parent = rule.referred_table.alias()
    pairs = [(key.parent, parent.c[key.column.name]) for key in rule.elements]
    found = (
        select(*table.primary_key)
        .outerjoin(parent, and_(*(child == there for child, there in pairs)))
        .where(*(child.is_not(None) for child, _ in pairs), pairs[0][1].is_(None))
    )
    return [tuple(row) for row in session.execute(found)]


def guards_are_in_place(session: Session) -> list[Finding]:
    """The triggers that refuse edits and unbalanced operations are as the migrations wrote them."""
    missing = _missing_in_file(session) if _is_file(session) else _missing_in_database(session)
    return [
        Finding("guards_are_in_place", f"trigger {name}", "is missing or was changed")
        for name in missing
    ]


def _missing_in_file(session: Session) -> list[str]:
    present = set(session.scalars(text("SELECT sql FROM sqlite_master WHERE type = 'trigger'")))
    return [guard.split()[2] for guard in newest() if guard not in present]


def _missing_in_database(session: Session) -> list[str]:
    found = session.execute(
        text(
            "SELECT tgname, pg_get_triggerdef(pg_trigger.oid), prosrc FROM pg_trigger "
            "JOIN pg_class ON pg_class.oid = tgrelid JOIN pg_proc ON pg_proc.oid = tgfoid "
            "WHERE relnamespace = current_schema()::regnamespace AND tgenabled IN ('O', 'A')"
        )
    ).all()
    room = str(session.scalar(text("SELECT current_schema()")))
    present = {(name, said.replace(f"{room}.", ""), body) for name, said, body in found}
    return [
        name
        for name, rest in postgresql.triggers().items()
        if (
            name,
            f"CREATE TRIGGER {name} {rest}",
            postgresql.FUNCTIONS[rest.rsplit(" ", 1)[1].removesuffix("()")],
        )
        not in present
    ]
