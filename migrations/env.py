"""Runs the migrations on the engine that app.ledger.schema hands over.

In a file, foreign keys are off while tables are rebuilt, all steps are one transaction, and the
foreign keys are checked before it ends. PostgreSQL alters its tables in place, in one transaction
as well. Migrations never import the models.
"""

from alembic import context
from sqlalchemy import Connection

LOCK = 0x57118  # one number for all who migrate in this database; chosen freely


def run(connection: Connection) -> None:
    context.configure(connection=connection, transaction_per_migration=False)
    with context.begin_transaction():
        context.run_migrations()


def migrate_file(connection: Connection) -> None:
    raw = connection.connection.driver_connection
    raw.execute("PRAGMA foreign_keys=OFF")  # no effect inside a transaction, so before BEGIN
    with connection.begin():
        run(connection)
        broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
        if broken:
            raise RuntimeError(f"a migration broke foreign keys: {broken[:5]}")
    raw.execute("PRAGMA foreign_keys=ON")


def migrate_database(connection: Connection) -> None:
    # each statement sees what was there when it began: also what a server that was first has done
    connection.execution_options(isolation_level="READ COMMITTED")
    with connection.begin():
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({LOCK})")
        run(connection)


engine = context.config.attributes["engine"]
with engine.connect() as connection:
    if engine.dialect.name == "sqlite":
        migrate_file(connection)
    else:
        migrate_database(connection)
engine.dispose()
