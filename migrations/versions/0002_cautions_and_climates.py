"""Holds, game, places whose climate changes, what went wrong, and looks that come due.

Revision ID: 0002
"""

import sqlalchemy as sa
from alembic import op

from migrations.rebuild import install, rebuild, remove_triggers
from migrations.triggers import all_of_0001, all_of_0002

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

NEW_KINDS = "'hold', 'release', 'incident', 'check', 'climate'"
NEW_TABLES = (  # those that point to others first
    "check_done",
    "incident_lot",
    "incident",
    "release",
    "hold",
    "game_story",
    "lot_mark",
    "place_reading",
    "logger_file",
    "climate",
)
LEAD_GOES_ON = """
    WITH RECURSIVE tainted(lot_id) AS (
        SELECT lot.id FROM lot JOIN source ON source.id = lot.source_id
        WHERE source.taken_with_lead = 1
        UNION SELECT flow.result_id FROM flow JOIN tainted ON flow.source_id = tainted.lot_id
    ) INSERT INTO lot_mark (lot_id, mark) SELECT lot_id, 'lead' FROM tainted"""
PARASITES_GO_ON = """
    WITH RECURSIVE tainted(lot_id) AS (
        SELECT id FROM lot WHERE food_class = 'wild_meat_eater' AND is_raw = 1
        UNION SELECT flow.result_id FROM flow JOIN tainted ON flow.source_id = tainted.lot_id
        JOIN lot ON lot.id = flow.result_id AND lot.is_raw = 1
    ) INSERT INTO lot_mark (lot_id, mark) SELECT lot_id, 'parasite' FROM tainted"""

SEALS_ARE_FORGOTTEN = """
    UPDATE stock SET opened_on = (
        SELECT min(operation.done_on) FROM operation
        JOIN entry ON entry.operation_id = operation.id
        WHERE entry.package_id = stock.package_id AND operation.kind = 'open'
        AND operation.id NOT IN
            (SELECT reverses_id FROM operation WHERE reverses_id IS NOT NULL)
    ) WHERE package_id IN (SELECT package_id FROM incident_lot WHERE fate = 'opened')"""
WINDOWS_ARE_OF_NO_MODEL = """
    UPDATE estimate SET payload = json_remove(payload, '$.model')
    WHERE EXISTS (SELECT 1 FROM climate) OR EXISTS (SELECT 1 FROM incident)"""


def upgrade() -> None:
    remove_triggers()
    rebuild(
        "operation",
        lambda sql: sql.replace("'discard', 'correct')", f"'discard', 'correct', {NEW_KINDS})"),
    )
    rebuild("checkpoint", _with_lot)
    op.create_index("ix_checkpoint_lot_id", "checkpoint", ["lot_id"], unique=False)
    op.add_column("household", sa.Column("calendar_token", sa.Text(), nullable=True))
    op.add_column("place", sa.Column("capacity_ml", sa.REAL(), nullable=True))
    _create_tables()
    op.execute(LEAD_GOES_ON)
    op.execute(PARASITES_GO_ON)
    install(all_of_0002())


def downgrade() -> None:
    """Back to a ledger that knows none of this: what only these tables say is lost."""
    remove_triggers()
    op.execute(SEALS_ARE_FORGOTTEN)
    op.execute(WINDOWS_ARE_OF_NO_MODEL)
    for table in NEW_TABLES:
        op.drop_table(table)
    _forget_operations()
    op.drop_index("ix_checkpoint_lot_id", "checkpoint")
    rebuild("checkpoint", _without_lot, leave_out={"lot_id"})
    rebuild("operation", lambda sql: sql.replace(f", {NEW_KINDS})", ")"))
    op.drop_column("household", "calendar_token")
    op.drop_column("place", "capacity_ml")
    install(all_of_0001())


_COLUMN = "reason TEXT NOT NULL, "
_KEY = "CONSTRAINT fk_checkpoint_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id)"
_LOT_KEY = ", CONSTRAINT fk_checkpoint_lot_id FOREIGN KEY(lot_id) REFERENCES lot (id)"


def _with_lot(sql: str) -> str:
    plain = " ".join(sql.split())
    return plain.replace(_COLUMN, _COLUMN + "lot_id INTEGER, ").replace(_KEY, _KEY + _LOT_KEY)


def _without_lot(sql: str) -> str:
    plain = " ".join(sql.split())
    return plain.replace("lot_id INTEGER, ", "").replace(_LOT_KEY, "")


def _forget_operations() -> None:
    """Operations of the new kinds, and their reversals, with the lines that hang on them."""
    chosen = (
        f"SELECT id FROM operation WHERE kind IN ({NEW_KINDS}) UNION "
        "SELECT id FROM operation WHERE reverses_id IN "
        f"(SELECT id FROM operation WHERE kind IN ({NEW_KINDS}))"
    )
    op.execute(f"CREATE TEMP TABLE forgotten AS {chosen}")
    for table in ("checkpoint", "reading", "balance"):
        op.execute(f"DELETE FROM {table} WHERE operation_id IN (SELECT id FROM forgotten)")
    op.execute("DELETE FROM operation WHERE id IN (SELECT id FROM forgotten)")
    op.execute("DROP TABLE forgotten")


def _create_tables() -> None:
    op.create_table(
        "game_story",
        sa.Column("source_id", sa.Integer(), nullable=False),
        sa.Column("ammunition", sa.Text(), nullable=False),
        sa.Column("looked_sick", sa.Integer(), nullable=False),
        sa.Column("cwd_status", sa.Text(), nullable=False),
        sa.Column("cwd_listed", sa.Integer(), nullable=True),
        sa.Column("hours_to_cold", sa.REAL(), nullable=True),
        sa.Column("centre_c", sa.REAL(), nullable=True),
        sa.Column("taken_at", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "ammunition IN ('lead', 'lead_free', 'not_shot', 'unknown')",
            name=op.f("ck_game_story_ammunition_known"),
        ),
        sa.ForeignKeyConstraint(["source_id"], ["source.id"], name=op.f("fk_game_story_source_id")),
        sa.PrimaryKeyConstraint("source_id", name=op.f("pk_game_story")),
        sqlite_strict=True,
    )
    op.create_table(
        "climate",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("operation_id", sa.Integer(), nullable=False),
        sa.Column("place_id", sa.Integer(), nullable=False),
        sa.Column("since", sa.Text(), nullable=False),
        sa.Column("month", sa.Integer(), nullable=True),
        sa.Column("temp_low_c", sa.REAL(), nullable=False),
        sa.Column("temp_c", sa.REAL(), nullable=False),
        sa.Column("temp_high_c", sa.REAL(), nullable=False),
        sa.Column("relative_humidity", sa.REAL(), nullable=False),
        sa.Column("basis", sa.Text(), nullable=False),
        sa.CheckConstraint("basis IN ('stated', 'logged')", name=op.f("ck_climate_basis_known")),
        sa.CheckConstraint("month BETWEEN 1 AND 12", name=op.f("ck_climate_month")),
        sa.CheckConstraint(
            "relative_humidity BETWEEN 0 AND 1", name=op.f("ck_climate_relative_humidity")
        ),
        sa.CheckConstraint(
            "temp_low_c <= temp_c AND temp_c <= temp_high_c", name=op.f("ck_climate_temp_order")
        ),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_climate_operation_id")
        ),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_climate_place_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_climate")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_climate_operation_id"), "climate", ["operation_id"], unique=False)
    op.create_index(op.f("ix_climate_place_id"), "climate", ["place_id"], unique=False)
    op.create_table(
        "incident",
        sa.Column("operation_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("place_id", sa.Integer(), nullable=True),
        sa.Column("from_at", sa.Text(), nullable=True),
        sa.Column("to_at", sa.Text(), nullable=True),
        sa.Column("temp_c", sa.REAL(), nullable=True),
        sa.Column("warm_hours", sa.REAL(), nullable=True),
        sa.Column("discard_id", sa.Integer(), nullable=True),
        sa.Column("held_id", sa.Integer(), nullable=True),
        sa.CheckConstraint(
            "kind IN ('power_out', 'door_open', 'thawed', 'left_out', 'kept_warm', 'seal_failed', 'absorber_spent', 'freezer_burn', 'worn')",
            name=op.f("ck_incident_kind_known"),
        ),
        sa.CheckConstraint("from_at <= to_at", name=op.f("ck_incident_from_to")),
        sa.CheckConstraint("warm_hours >= 0", name=op.f("ck_incident_warm_hours")),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_incident_operation_id")
        ),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_incident_place_id")),
        sa.ForeignKeyConstraint(
            ["discard_id"], ["operation.id"], name=op.f("fk_incident_discard_id")
        ),
        sa.ForeignKeyConstraint(["held_id"], ["operation.id"], name=op.f("fk_incident_held_id")),
        sa.PrimaryKeyConstraint("operation_id", name=op.f("pk_incident")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_incident_place_id"), "incident", ["place_id"], unique=False)
    op.create_table(
        "logger_file",
        sa.Column("operation_id", sa.Integer(), nullable=False),
        sa.Column("place_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("reading_count", sa.Integer(), nullable=False),
        sa.Column("gap_count", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_logger_file_operation_id")
        ),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_logger_file_place_id")),
        sa.PrimaryKeyConstraint("operation_id", name=op.f("pk_logger_file")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_logger_file_place_id"), "logger_file", ["place_id"], unique=False)
    op.create_table(
        "place_reading",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("operation_id", sa.Integer(), nullable=False),
        sa.Column("place_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("temp_c", sa.REAL(), nullable=False),
        sa.Column("relative_humidity", sa.REAL(), nullable=True),
        sa.Column("typed", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_place_reading_operation_id")
        ),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_place_reading_place_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_place_reading")),
        sqlite_strict=True,
    )
    op.create_index(
        op.f("ix_place_reading_operation_id"), "place_reading", ["operation_id"], unique=False
    )
    op.create_index("ix_place_reading_place_at", "place_reading", ["place_id", "at"], unique=False)
    op.create_table(
        "check_done",
        sa.Column("operation_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("finding", sa.Text(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=True),
        sa.Column("place_id", sa.Integer(), nullable=True),
        sa.CheckConstraint(
            "finding IN ('fine', 'not_fine')", name=op.f("ck_check_done_finding_known")
        ),
        sa.CheckConstraint(
            "kind IN ('seal', 'thermometer', 'look')", name=op.f("ck_check_done_kind_known")
        ),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_check_done_lot_id")),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_check_done_operation_id")
        ),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_check_done_place_id")),
        sa.PrimaryKeyConstraint("operation_id", name=op.f("pk_check_done")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_check_done_lot_id"), "check_done", ["lot_id"], unique=False)
    op.create_index(op.f("ix_check_done_place_id"), "check_done", ["place_id"], unique=False)
    op.create_table(
        "hold",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("operation_id", sa.Integer(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("cause", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "cause IN ('test_awaited', 'test_positive', 'looked_sick', 'seal_failed', 'recall', 'look_first', 'other')",
            name=op.f("ck_hold_cause_known"),
        ),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_hold_lot_id")),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_hold_operation_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_hold")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_hold_lot_id"), "hold", ["lot_id"], unique=False)
    op.create_index(op.f("ix_hold_operation_id"), "hold", ["operation_id"], unique=False)
    op.create_table(
        "lot_mark",
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("mark", sa.Text(), nullable=False),
        sa.CheckConstraint("mark IN ('lead', 'parasite')", name=op.f("ck_lot_mark_mark_known")),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_lot_mark_lot_id")),
        sa.PrimaryKeyConstraint("lot_id", "mark", name=op.f("pk_lot_mark")),
        sqlite_strict=True,
    )
    op.create_table(
        "incident_lot",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("operation_id", sa.Integer(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("package_id", sa.Integer(), nullable=True),
        sa.Column("is_icy", sa.Integer(), nullable=True),
        sa.Column("warm_hours", sa.REAL(), nullable=True),
        sa.Column("temp_c", sa.REAL(), nullable=True),
        sa.Column("fate", sa.Text(), nullable=False),
        sa.Column("since", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "fate IN ('refreeze', 'keep', 'look', 'use_now', 'opened', 'worn', 'discard')",
            name=op.f("ck_incident_lot_fate_known"),
        ),
        sa.CheckConstraint("warm_hours >= 0", name=op.f("ck_incident_lot_warm_hours")),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_incident_lot_lot_id")),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_incident_lot_operation_id")
        ),
        sa.ForeignKeyConstraint(
            ["package_id"], ["package.id"], name=op.f("fk_incident_lot_package_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_incident_lot")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_incident_lot_lot_id"), "incident_lot", ["lot_id"], unique=False)
    op.create_index(
        op.f("ix_incident_lot_operation_id"), "incident_lot", ["operation_id"], unique=False
    )
    op.create_index(
        op.f("ix_incident_lot_package_id"), "incident_lot", ["package_id"], unique=False
    )
    op.create_table(
        "release",
        sa.Column("operation_id", sa.Integer(), nullable=False),
        sa.Column("hold_id", sa.Integer(), nullable=False),
        sa.Column("cause", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "cause IN ('not_detected', 'looked_fine', 'other')", name=op.f("ck_release_cause_known")
        ),
        sa.ForeignKeyConstraint(["hold_id"], ["hold.id"], name=op.f("fk_release_hold_id")),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_release_operation_id")
        ),
        sa.PrimaryKeyConstraint("operation_id", "hold_id", name=op.f("pk_release")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_release_hold_id"), "release", ["hold_id"], unique=False)
