"""Every row of a ledger as it is stored, carried from one database to another.

Both databases store the same texts and whole numbers, so nothing is converted. Tables come in an
order in which each row finds what it points to.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence

from sqlalchemy import Connection, Table, func, select, text
from sqlalchemy.schema import sort_tables

from app.ledger.models import Base

Progress = Callable[[str, int], None]
_BATCH = 1000
_LAST = ("balance",)  # the database compares it with its lines, which must be there before


def tables() -> list[Table]:
    """The tables of the newest revision, in the order in which they can be filled."""
    ordered = sort_tables(Base.metadata.tables.values())
    return [t for t in ordered if t.name not in _LAST] + [t for t in ordered if t.name in _LAST]


def rows_of(
    connection: Connection, table: str, order: Sequence[str]
) -> Iterator[dict[str, object]]:
    """The rows of a table as they are stored, older ones first; read a batch at a time."""
    by = ", ".join(f'"{column}"' for column in order)
    streaming = connection.execution_options(yield_per=_BATCH)
    found = streaming.exec_driver_sql(f'SELECT * FROM "{table}" ORDER BY {by}')  # noqa: S608 (ours)
    for row in found.mappings():
        yield dict(row)


def copy_all(source: Connection, target: Connection, progress: Progress | None = None) -> int:
    """Copy every row of one ledger into another that has the same tables and no row.

    Args:
        source, target: inside transactions, at the newest revision. progress: is told each table
            and its number of rows.
    Returns:
        How many rows there are.
    """
    total = 0
    for table in tables():
        count = 0
        batch: list[dict[str, object]] = []
        for row in rows_of(source, table.name, [column.name for column in table.primary_key]):
            batch.append(row)
            count += 1
            if len(batch) == _BATCH:
                put(target, table, batch)
                batch = []
        put(target, table, batch)
        if progress is not None:
            progress(table.name, count)
        total += count
    count_on(target)
    return total


def put(target: Connection, table: Table, rows: Sequence[Mapping[str, object]]) -> None:
    """Insert rows as they are stored, past the types of the models."""
    if not rows:
        return
    listed = ", ".join(f'"{name}"' for name in rows[0])
    marks = ", ".join(f":{name}" for name in rows[0])
    statement = f'INSERT INTO "{table.name}" ({listed}) VALUES ({marks})'  # noqa: S608 (ours)
    target.execute(text(statement), [dict(row) for row in rows])


def count_on(connection: Connection) -> None:
    """Let new rows get the numbers after those that were copied; SQLite does so by itself."""
    if connection.dialect.name != "postgresql":
        return
    for table in tables():
        if "id" not in table.columns:
            continue
        greatest = select(func.max(table.c.id)).scalar_subquery()
        sequence = func.pg_get_serial_sequence(table.name, "id")
        known = func.setval(sequence, func.coalesce(greatest, 1), greatest.is_not(None))
        connection.execute(select(known))
