"""Runs the migrations on the engine that app.ledger.schema hands over.

Foreign keys are off while tables are rebuilt, all steps are one transaction, and the foreign
keys are checked before it ends. Migrations never import the models.
"""

from alembic import context

engine = context.config.attributes["engine"]

with engine.connect() as connection:
    raw = connection.connection.driver_connection
    raw.execute("PRAGMA foreign_keys=OFF")  # no effect inside a transaction, so before BEGIN
    context.configure(connection=connection, transaction_per_migration=False)
    with connection.begin():
        with context.begin_transaction():
            context.run_migrations()
        broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
        if broken:
            raise RuntimeError(f"a migration broke foreign keys: {broken[:5]}")
    raw.execute("PRAGMA foreign_keys=ON")
engine.dispose()
