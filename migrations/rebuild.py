"""Changing what SQLite cannot alter: a table is made anew, filled, and takes the old one's name.

The caller removes the triggers first and installs those of the new version last: a rebuilt table
loses its own, and none of them may stand in the way. Foreign keys are off meanwhile (env.py).
"""

from collections.abc import Callable, Collection, Iterable

from alembic import op
from sqlalchemy import text


def remove_triggers() -> None:
    """Drop every trigger of the file."""
    connection = op.get_bind()
    names = connection.scalars(text("SELECT name FROM sqlite_master WHERE type = 'trigger'"))
    for name in names.all():
        op.execute(f'DROP TRIGGER "{name}"')


def install(triggers: Iterable[str]) -> None:
    """Create the triggers of a version."""
    for trigger in triggers:
        op.execute(trigger)


def rebuild(table: str, change: Callable[[str], str], *, leave_out: Collection[str] = ()) -> None:
    """Make a table anew with a changed definition; its rows and indexes are kept.

    Args:
        table: its name. change: from the CREATE statement it has to the one it gets.
        leave_out: columns that the new one has no more.
    Raises:
        ValueError: the change changes nothing.
    """
    connection = op.get_bind()
    old = connection.scalar(_sql("table", table))
    indexes = connection.scalars(
        text("SELECT sql FROM sqlite_master WHERE tbl_name = :t AND type = 'index' AND sql <> ''"),
        {"t": table},
    ).all()
    new = change(old)
    if new == old:
        raise ValueError(f"the definition of {table} stays as it is")
    columns = [
        row[1]
        for row in connection.execute(text(f'PRAGMA table_info("{table}")'))
        if row[1] not in leave_out
    ]
    listed = ", ".join(f'"{column}"' for column in columns)
    opening = new.index("(")
    op.execute(f'CREATE TABLE "{table}_anew" {new[opening:]}')
    op.execute(f'INSERT INTO "{table}_anew" ({listed}) SELECT {listed} FROM "{table}"')
    op.execute(f'DROP TABLE "{table}"')
    op.execute(f'ALTER TABLE "{table}_anew" RENAME TO "{table}"')
    for index in indexes:
        op.execute(index)


def _sql(kind: str, name: str) -> object:
    query = text("SELECT sql FROM sqlite_master WHERE type = :kind AND name = :name")
    return query.bindparams(kind=kind, name=name)
