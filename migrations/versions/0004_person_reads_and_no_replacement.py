"""What each person reads, and no row of history replaced by another program.

Revision ID: 0004
"""

import sqlalchemy as sa
from alembic import op

from migrations.rebuild import install
from migrations.triggers import HISTORY_0002, KEYS_0004, no_replacement

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

_NEW = ("units", "language")  # of a person; empty where they read what the household does


def upgrade() -> None:
    for column in _NEW:
        op.add_column("person", sa.Column(column, _text(), nullable=True))
    if _is_file():  # PostgreSQL has no INSERT OR REPLACE, and its upsert is an update
        install(no_replacement(table, KEYS_0004.get(table, (("id",),))) for table in HISTORY_0002)


def downgrade() -> None:
    """Back: everybody reads what the household does."""
    if _is_file():
        for table in HISTORY_0002:
            op.execute(f"DROP TRIGGER {table}_no_replace")
    for column in reversed(_NEW):
        op.drop_column("person", column)


def _is_file() -> bool:
    return op.get_bind().dialect.name == "sqlite"


def _text() -> sa.Text:
    return sa.Text() if _is_file() else sa.Text(collation="C")
