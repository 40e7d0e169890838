"""Devices that may open the ledger, and the stocktake.

Revision ID: 0003
"""

import sqlalchemy as sa
from alembic import op

from migrations.rebuild import install, rebuild, remove_triggers
from migrations.triggers import all_of_0002

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

_WORDS = {
    "operation": ("'climate')", "'climate', 'stocktake')"),
    "addition": ("'seasoning', 'reversed')", "'seasoning', 'found', 'reversed')"),
    "loss": ("'unexplained', 'eaten'", "'unexplained', 'missing', 'eaten'"),
}

_KEPT = "ix_entry_lot_place_package"  # one food at one place, however much passed through there


def upgrade() -> None:
    remove_triggers()
    for table, (before, after) in _WORDS.items():
        rebuild(table, lambda sql, before=before, after=after: sql.replace(before, after))
    op.create_table(
        "device",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("token_sha256", sa.Text(), nullable=False),
        sa.Column("paired_at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_device")),
        sa.UniqueConstraint("token_sha256", name=op.f("uq_device_token_sha256")),
        sqlite_strict=True,
    )
    op.create_table(
        "pairing_code",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code_sha256", sa.Text(), nullable=False),
        sa.Column("made_at", sa.Text(), nullable=False),
        sa.Column("tries_left", sa.Integer(), nullable=False),
        sa.CheckConstraint("tries_left >= 0", name=op.f("ck_pairing_code_tries_left")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pairing_code")),
        sqlite_strict=True,
    )
    op.create_index(_KEPT, "entry", ["lot_id", "place_id", "package_id"], unique=False)
    op.drop_index("ix_entry_lot_id", table_name="entry")  # the new one begins with the lot too
    install(all_of_0002())  # devices and codes are not history: no trigger of their own


def downgrade() -> None:
    """Back: a stocktake becomes a discard, in the nearest words that the older version has."""
    remove_triggers()
    op.execute("UPDATE operation SET kind = 'discard' WHERE kind = 'stocktake'")
    op.execute("UPDATE loss SET kind = 'unexplained' WHERE kind = 'missing'")
    op.execute("UPDATE addition SET kind = 'intake' WHERE kind = 'found'")
    op.create_index("ix_entry_lot_id", "entry", ["lot_id"], unique=False)
    op.drop_index(_KEPT, table_name="entry")
    op.drop_table("pairing_code")
    op.drop_table("device")
    for table, (before, after) in _WORDS.items():
        rebuild(table, lambda sql, before=before, after=after: sql.replace(after, before))
    install(all_of_0002())
