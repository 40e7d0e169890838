"""The first ledger: lots, operations, entries, packages, places, runs.

Revision ID: 0001
"""

import sqlalchemy as sa
from alembic import op

from migrations.triggers import all_of_0001

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "absorber",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("rating_ml", sa.REAL(), nullable=False),
        sa.Column("is_self_activated", sa.Integer(), nullable=False),
        sa.CheckConstraint("rating_ml > 0", name=op.f("ck_absorber_rating")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_absorber")),
        sa.UniqueConstraint("name", name=op.f("uq_absorber_name")),
        sqlite_strict=True,
    )
    op.create_table(
        "bowl",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("tare_mg", sa.Integer(), nullable=False),
        sa.CheckConstraint("tare_mg >= 0", name=op.f("ck_bowl_tare")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_bowl")),
        sa.UniqueConstraint("name", name=op.f("uq_bowl_name")),
        sqlite_strict=True,
    )
    op.create_table(
        "household",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("units", sa.Text(), nullable=False),
        sa.Column("altitude_m", sa.REAL(), nullable=False),
        sa.Column("time_zone", sa.Text(), nullable=False),
        sa.Column("rule_set", sa.Text(), nullable=False),
        sa.Column("scale_step_mg", sa.Integer(), nullable=False),
        sa.Column("label_width_mm", sa.REAL(), nullable=False),
        sa.Column("label_height_mm", sa.REAL(), nullable=False),
        sa.Column("label_printer_dpi", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.CheckConstraint("units IN ('metric', 'us')", name=op.f("ck_household_units_known")),
        sa.CheckConstraint("altitude_m BETWEEN -500 AND 6000", name=op.f("ck_household_altitude")),
        sa.CheckConstraint("id = 1", name=op.f("ck_household_only_one")),
        sa.CheckConstraint("scale_step_mg > 0", name=op.f("ck_household_scale_step")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_household")),
        sqlite_strict=True,
    )
    op.create_table(
        "packaging",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("volume_ml", sa.REAL(), nullable=False),
        sa.Column("area_cm2", sa.REAL(), nullable=True),
        sa.CheckConstraint("volume_ml > 0", name=op.f("ck_packaging_volume")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_packaging")),
        sa.UniqueConstraint("name", name=op.f("uq_packaging_name")),
        sqlite_strict=True,
    )
    op.create_table(
        "person",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person")),
        sa.UniqueConstraint("name", name=op.f("uq_person_name")),
        sqlite_strict=True,
    )
    op.create_table(
        "place",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("temp_low_c", sa.REAL(), nullable=False),
        sa.Column("temp_c", sa.REAL(), nullable=False),
        sa.Column("temp_high_c", sa.REAL(), nullable=False),
        sa.Column("relative_humidity", sa.REAL(), nullable=False),
        sa.Column("tray_count", sa.Integer(), nullable=True),
        sa.Column("tray_area_m2", sa.REAL(), nullable=True),
        sa.CheckConstraint(
            "kind IN ('freezer', 'fridge', 'room', 'bench', 'freeze_dryer', 'dehydrator')",
            name=op.f("ck_place_kind_known"),
        ),
        sa.CheckConstraint(
            "relative_humidity BETWEEN 0 AND 1", name=op.f("ck_place_relative_humidity")
        ),
        sa.CheckConstraint(
            "temp_low_c <= temp_c AND temp_c <= temp_high_c", name=op.f("ck_place_temp_order")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_place")),
        sa.UniqueConstraint("name", name=op.f("uq_place_name")),
        sqlite_strict=True,
    )
    op.create_table(
        "posting_key",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("location", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_posting_key")),
        sqlite_strict=True,
    )
    op.create_table(
        "source",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("tag", sa.Text(), nullable=False),
        sa.Column("from_whom", sa.Text(), nullable=False),
        sa.Column("taken_with_lead", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('animal', 'plot', 'shop', 'gift', 'unknown')",
            name=op.f("ck_source_kind_known"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_source")),
        sqlite_strict=True,
    )
    op.create_table(
        "operation",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("done_on", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("method", sa.Text(), nullable=False),
        sa.Column("reverses_id", sa.Integer(), nullable=True),
        sa.CheckConstraint(
            "kind IN ('intake', 'thaw', 'trim', 'grind', 'blend', 'portion', 'cook', 'chill', 'skim', 'drain', 'blanch', 'load', 'unload', 'pack', 'move', 'open', 'measure', 'eat', 'give', 'discard', 'correct')",
            name=op.f("ck_operation_kind_known"),
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_operation_person_id")),
        sa.ForeignKeyConstraint(
            ["reverses_id"], ["operation.id"], name=op.f("fk_operation_reverses_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_operation")),
        sa.UniqueConstraint("reverses_id", name=op.f("uq_operation_reverses_id")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_operation_done_on"), "operation", ["done_on"], unique=False)
    op.create_table(
        "addition",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("operation_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("mass_mg", sa.Integer(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('intake', 'water', 'seasoning', 'reversed')",
            name=op.f("ck_addition_kind_known"),
        ),
        sa.CheckConstraint("mass_mg > 0", name=op.f("ck_addition_mass")),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_addition_operation_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_addition")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_addition_operation_id"), "addition", ["operation_id"], unique=False)
    op.create_table(
        "balance",
        sa.Column("operation_id", sa.Integer(), nullable=False),
        sa.Column("taken_mg", sa.Integer(), nullable=False),
        sa.Column("added_mg", sa.Integer(), nullable=False),
        sa.Column("made_mg", sa.Integer(), nullable=False),
        sa.Column("lost_mg", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "taken_mg + added_mg = made_mg + lost_mg", name=op.f("ck_balance_conserved")
        ),
        sa.CheckConstraint(
            "taken_mg >= 0 AND added_mg >= 0 AND made_mg >= 0 AND lost_mg >= 0",
            name=op.f("ck_balance_signs"),
        ),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_balance_operation_id")
        ),
        sa.PrimaryKeyConstraint("operation_id", name=op.f("pk_balance")),
        sqlite_strict=True,
    )
    op.create_table(
        "checkpoint",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("operation_id", sa.Integer(), nullable=False),
        sa.Column("rule", sa.Text(), nullable=False),
        sa.Column("rule_version", sa.Text(), nullable=False),
        sa.Column("outcome", sa.Text(), nullable=False),
        sa.Column("sentence", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_checkpoint_operation_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_checkpoint")),
        sqlite_strict=True,
    )
    op.create_index(
        op.f("ix_checkpoint_operation_id"), "checkpoint", ["operation_id"], unique=False
    )
    op.create_table(
        "loss",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("operation_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("mass_mg", sa.Integer(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('trim', 'drip', 'evaporated', 'skimmed', 'spilled', 'stuck', 'unexplained', 'eaten', 'given', 'discarded', 'reversed')",
            name=op.f("ck_loss_kind_known"),
        ),
        sa.CheckConstraint("mass_mg > 0", name=op.f("ck_loss_mass")),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_loss_operation_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_loss")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_loss_operation_id"), "loss", ["operation_id"], unique=False)
    op.create_table(
        "lot",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("operation_id", sa.Integer(), nullable=False),
        sa.Column("source_id", sa.Integer(), nullable=True),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("food_ndb", sa.Text(), nullable=True),
        sa.Column("food_class", sa.Text(), nullable=False),
        sa.Column("form", sa.Text(), nullable=False),
        sa.Column("is_raw", sa.Integer(), nullable=False),
        sa.Column("harvest_from", sa.Text(), nullable=True),
        sa.Column("harvest_to", sa.Text(), nullable=True),
        sa.Column("kept_since", sa.Text(), nullable=False),
        sa.Column("water", sa.REAL(), nullable=False),
        sa.Column("protein", sa.REAL(), nullable=False),
        sa.Column("fat", sa.REAL(), nullable=False),
        sa.Column("carbohydrate", sa.REAL(), nullable=False),
        sa.Column("fibre", sa.REAL(), nullable=False),
        sa.Column("ash", sa.REAL(), nullable=False),
        sa.Column("composition_basis", sa.Text(), nullable=False),
        sa.Column("water_low", sa.REAL(), nullable=True),
        sa.Column("water_high", sa.REAL(), nullable=True),
        sa.Column("water_is_measured", sa.Integer(), nullable=False),
        sa.Column("fresh_water", sa.REAL(), nullable=True),
        sa.Column("share_used", sa.REAL(), nullable=False),
        sa.Column("wrap", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "composition_basis IN ('table', 'computed', 'measured')",
            name=op.f("ck_lot_composition_basis_known"),
        ),
        sa.CheckConstraint("ash BETWEEN 0 AND 1", name=op.f("ck_lot_ash_fraction")),
        sa.CheckConstraint(
            "carbohydrate BETWEEN 0 AND 1", name=op.f("ck_lot_carbohydrate_fraction")
        ),
        sa.CheckConstraint("fat BETWEEN 0 AND 1", name=op.f("ck_lot_fat_fraction")),
        sa.CheckConstraint("fibre BETWEEN 0 AND 1", name=op.f("ck_lot_fibre_fraction")),
        sa.CheckConstraint("harvest_from <= harvest_to", name=op.f("ck_lot_harvest_order")),
        sa.CheckConstraint("length(name) BETWEEN 1 AND 80", name=op.f("ck_lot_name_length")),
        sa.CheckConstraint("protein BETWEEN 0 AND 1", name=op.f("ck_lot_protein_fraction")),
        sa.CheckConstraint("share_used >= 0", name=op.f("ck_lot_share_used")),
        sa.CheckConstraint("water BETWEEN 0 AND 1", name=op.f("ck_lot_water_fraction")),
        sa.CheckConstraint("water_low <= water_high", name=op.f("ck_lot_water_order")),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_lot_operation_id")
        ),
        sa.ForeignKeyConstraint(["source_id"], ["source.id"], name=op.f("fk_lot_source_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lot")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_lot_operation_id"), "lot", ["operation_id"], unique=False)
    op.create_index(op.f("ix_lot_source_id"), "lot", ["source_id"], unique=False)
    op.create_table(
        "run",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("operation_id", sa.Integer(), nullable=False),
        sa.Column("place_id", sa.Integer(), nullable=False),
        sa.Column("started_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_run_operation_id")
        ),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_run_place_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_run")),
        sa.UniqueConstraint("operation_id", name=op.f("uq_run_operation_id")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_run_place_id"), "run", ["place_id"], unique=False)
    op.create_table(
        "weighing",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("operation_id", sa.Integer(), nullable=False),
        sa.Column("ordinal", sa.Integer(), nullable=False),
        sa.Column("bowl", sa.Text(), nullable=False),
        sa.Column("gross_mg", sa.Integer(), nullable=False),
        sa.Column("gross_typed", sa.Text(), nullable=False),
        sa.Column("tare_mg", sa.Integer(), nullable=False),
        sa.Column("tare_typed", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "tare_mg >= 0 AND gross_mg >= tare_mg", name=op.f("ck_weighing_gross_above_tare")
        ),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_weighing_operation_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_weighing")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_weighing_operation_id"), "weighing", ["operation_id"], unique=False)
    op.create_table(
        "flow",
        sa.Column("operation_id", sa.Integer(), nullable=False),
        sa.Column("source_id", sa.Integer(), nullable=False),
        sa.Column("result_id", sa.Integer(), nullable=False),
        sa.Column("mass_mg", sa.Integer(), nullable=False),
        sa.CheckConstraint("mass_mg >= 0", name=op.f("ck_flow_mass")),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_flow_operation_id")
        ),
        sa.ForeignKeyConstraint(["result_id"], ["lot.id"], name=op.f("fk_flow_result_id")),
        sa.ForeignKeyConstraint(["source_id"], ["lot.id"], name=op.f("fk_flow_source_id")),
        sa.PrimaryKeyConstraint("operation_id", "source_id", "result_id", name=op.f("pk_flow")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_flow_result_id"), "flow", ["result_id"], unique=False)
    op.create_index(op.f("ix_flow_source_id"), "flow", ["source_id"], unique=False)
    op.create_table(
        "lot_allergen",
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("allergen", sa.Text(), nullable=False),
        sa.Column("presence", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "presence IN ('contains', 'may_contain')", name=op.f("ck_lot_allergen_presence_known")
        ),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_lot_allergen_lot_id")),
        sa.PrimaryKeyConstraint("lot_id", "allergen", name=op.f("pk_lot_allergen")),
        sqlite_strict=True,
    )
    op.create_table(
        "lot_treatment",
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("treatment", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_lot_treatment_lot_id")),
        sa.PrimaryKeyConstraint("lot_id", "treatment", name=op.f("pk_lot_treatment")),
        sqlite_strict=True,
    )
    op.create_table(
        "package",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("of_count", sa.Integer(), nullable=False),
        sa.Column("net_mg", sa.Integer(), nullable=False),
        sa.Column("packaging_id", sa.Integer(), nullable=False),
        sa.Column("absorber_id", sa.Integer(), nullable=True),
        sa.Column("pressure_fraction", sa.REAL(), nullable=False),
        sa.Column("seal_checked", sa.Integer(), nullable=False),
        sa.Column("packed_on", sa.Text(), nullable=False),
        sa.CheckConstraint("net_mg > 0", name=op.f("ck_package_net")),
        sa.CheckConstraint("number >= 1 AND number <= of_count", name=op.f("ck_package_number")),
        sa.CheckConstraint(
            "pressure_fraction BETWEEN 0 AND 1", name=op.f("ck_package_pressure_fraction")
        ),
        sa.ForeignKeyConstraint(
            ["absorber_id"], ["absorber.id"], name=op.f("fk_package_absorber_id")
        ),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_package_lot_id")),
        sa.ForeignKeyConstraint(
            ["packaging_id"], ["packaging.id"], name=op.f("fk_package_packaging_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_package")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_package_lot_id"), "package", ["lot_id"], unique=False)
    op.create_table(
        "reading",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("operation_id", sa.Integer(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=True),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("hours", sa.REAL(), nullable=True),
        sa.Column("value", sa.REAL(), nullable=False),
        sa.Column("typed", sa.Text(), nullable=False),
        sa.Column("measured_by", sa.Text(), nullable=True),
        sa.Column("spread", sa.REAL(), nullable=True),
        sa.CheckConstraint(
            "measured_by IN ('meter', 'oven', 'panel', 'fat_test')",
            name=op.f("ck_reading_measured_by_known"),
        ),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_reading_lot_id")),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_reading_operation_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reading")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_reading_lot_id"), "reading", ["lot_id"], unique=False)
    op.create_index(op.f("ix_reading_operation_id"), "reading", ["operation_id"], unique=False)
    op.create_table(
        "run_end",
        sa.Column("operation_id", sa.Integer(), nullable=False),
        sa.Column("run_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_run_end_operation_id")
        ),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_run_end_run_id")),
        sa.PrimaryKeyConstraint("operation_id", name=op.f("pk_run_end")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_run_end_run_id"), "run_end", ["run_id"], unique=False)
    op.create_table(
        "tray",
        sa.Column("run_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("gross_mg", sa.Integer(), nullable=False),
        sa.Column("gross_typed", sa.Text(), nullable=False),
        sa.Column("tare_mg", sa.Integer(), nullable=False),
        sa.Column("tare_typed", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "tare_mg >= 0 AND gross_mg > tare_mg", name=op.f("ck_tray_gross_above_tare")
        ),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_tray_lot_id")),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_tray_run_id")),
        sa.PrimaryKeyConstraint("run_id", "number", name=op.f("pk_tray")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_tray_lot_id"), "tray", ["lot_id"], unique=False)
    op.create_table(
        "entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("operation_id", sa.Integer(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("package_id", sa.Integer(), nullable=True),
        sa.Column("place_id", sa.Integer(), nullable=False),
        sa.Column("mass_mg", sa.Integer(), nullable=False),
        sa.CheckConstraint("mass_mg <> 0", name=op.f("ck_entry_mass")),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_entry_lot_id")),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_entry_operation_id")
        ),
        sa.ForeignKeyConstraint(["package_id"], ["package.id"], name=op.f("fk_entry_package_id")),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_entry_place_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_entry")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_entry_lot_id"), "entry", ["lot_id"], unique=False)
    op.create_index(op.f("ix_entry_operation_id"), "entry", ["operation_id"], unique=False)
    op.create_index(op.f("ix_entry_package_id"), "entry", ["package_id"], unique=False)
    op.create_index(op.f("ix_entry_place_id"), "entry", ["place_id"], unique=False)
    op.create_table(
        "label_print",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("package_id", sa.Integer(), nullable=True),
        sa.Column("printed_on", sa.Text(), nullable=False),
        sa.Column("window_words", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_label_print_lot_id")),
        sa.ForeignKeyConstraint(
            ["package_id"], ["package.id"], name=op.f("fk_label_print_package_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_label_print")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_label_print_lot_id"), "label_print", ["lot_id"], unique=False)
    op.create_table(
        "stock",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("package_id", sa.Integer(), nullable=True),
        sa.Column("place_id", sa.Integer(), nullable=False),
        sa.Column("mass_mg", sa.Integer(), nullable=False),
        sa.Column("opened_on", sa.Text(), nullable=True),
        sa.CheckConstraint("mass_mg > 0", name=op.f("ck_stock_mass")),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_stock_lot_id")),
        sa.ForeignKeyConstraint(["package_id"], ["package.id"], name=op.f("fk_stock_package_id")),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_stock_place_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stock")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_stock_place_id"), "stock", ["place_id"], unique=False)
    op.create_table(
        "tray_weighing",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("run_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("weighed_at", sa.Text(), nullable=False),
        sa.Column("gross_mg", sa.Integer(), nullable=False),
        sa.Column("gross_typed", sa.Text(), nullable=False),
        sa.CheckConstraint("gross_mg > 0", name=op.f("ck_tray_weighing_gross")),
        sa.ForeignKeyConstraint(
            ["run_id", "number"], ["tray.run_id", "tray.number"], name="fk_tray_weighing_tray"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tray_weighing")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_tray_weighing_run_id"), "tray_weighing", ["run_id"], unique=False)
    op.create_table(
        "trial",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("done_on", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_trial_person_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_trial")),
        sqlite_strict=True,
    )
    op.create_table(
        "soaking",
        sa.Column("trial_id", sa.Integer(), nullable=False),
        sa.Column("side", sa.Integer(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("dry_mg", sa.Integer(), nullable=False),
        sa.Column("water_mg", sa.Integer(), nullable=False),
        sa.Column("drained_mg", sa.Integer(), nullable=False),
        sa.Column("minutes", sa.REAL(), nullable=False),
        sa.Column("temp_c", sa.REAL(), nullable=False),
        sa.Column("score", sa.Integer(), nullable=True),
        sa.Column("dry_water", sa.REAL(), nullable=False),
        sa.Column("fresh_water", sa.REAL(), nullable=False),
        sa.CheckConstraint("side IN (1, 2)", name=op.f("ck_soaking_side")),
        sa.CheckConstraint(
            "dry_mg > 0 AND water_mg >= 0 AND drained_mg > 0", name=op.f("ck_soaking_masses")
        ),
        sa.CheckConstraint(
            "drained_mg <= dry_mg + water_mg", name=op.f("ck_soaking_nothing_from_nowhere")
        ),
        sa.CheckConstraint("score BETWEEN 1 AND 5", name=op.f("ck_soaking_score")),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_soaking_lot_id")),
        sa.ForeignKeyConstraint(["trial_id"], ["trial.id"], name=op.f("fk_soaking_trial_id")),
        sa.PrimaryKeyConstraint("trial_id", "side", name=op.f("pk_soaking")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_soaking_lot_id"), "soaking", ["lot_id"], unique=False)
    op.create_table(
        "estimate",
        sa.Column("stock_id", sa.Integer(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("start", sa.Text(), nullable=False),
        sa.Column("early", sa.Text(), nullable=True),
        sa.Column("central", sa.Text(), nullable=True),
        sa.Column("late", sa.Text(), nullable=True),
        sa.Column("is_capped", sa.Integer(), nullable=False),
        sa.Column("limit_word", sa.Text(), nullable=False),
        sa.Column("payload", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["stock_id"], ["stock.id"], name=op.f("fk_estimate_stock_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("stock_id", name=op.f("pk_estimate")),
        sqlite_strict=True,
    )

    op.execute(
        "CREATE UNIQUE INDEX uq_stock_unit ON stock (lot_id, coalesce(package_id, 0), place_id)"
    )
    for text in all_of_0001():
        op.execute(text)


def downgrade() -> None:
    op.drop_table("estimate")
    op.drop_index(op.f("ix_soaking_lot_id"), table_name="soaking")
    op.drop_table("soaking")
    op.drop_table("trial")
    op.drop_index(op.f("ix_tray_weighing_run_id"), table_name="tray_weighing")
    op.drop_table("tray_weighing")
    op.drop_index(op.f("ix_stock_place_id"), table_name="stock")
    op.drop_table("stock")
    op.drop_index(op.f("ix_label_print_lot_id"), table_name="label_print")
    op.drop_table("label_print")
    op.drop_index(op.f("ix_entry_place_id"), table_name="entry")
    op.drop_index(op.f("ix_entry_package_id"), table_name="entry")
    op.drop_index(op.f("ix_entry_operation_id"), table_name="entry")
    op.drop_index(op.f("ix_entry_lot_id"), table_name="entry")
    op.drop_table("entry")
    op.drop_index(op.f("ix_tray_lot_id"), table_name="tray")
    op.drop_table("tray")
    op.drop_index(op.f("ix_run_end_run_id"), table_name="run_end")
    op.drop_table("run_end")
    op.drop_index(op.f("ix_reading_operation_id"), table_name="reading")
    op.drop_index(op.f("ix_reading_lot_id"), table_name="reading")
    op.drop_table("reading")
    op.drop_index(op.f("ix_package_lot_id"), table_name="package")
    op.drop_table("package")
    op.drop_table("lot_treatment")
    op.drop_table("lot_allergen")
    op.drop_index(op.f("ix_flow_source_id"), table_name="flow")
    op.drop_index(op.f("ix_flow_result_id"), table_name="flow")
    op.drop_table("flow")
    op.drop_index(op.f("ix_weighing_operation_id"), table_name="weighing")
    op.drop_table("weighing")
    op.drop_index(op.f("ix_run_place_id"), table_name="run")
    op.drop_table("run")
    op.drop_index(op.f("ix_lot_source_id"), table_name="lot")
    op.drop_index(op.f("ix_lot_operation_id"), table_name="lot")
    op.drop_table("lot")
    op.drop_index(op.f("ix_loss_operation_id"), table_name="loss")
    op.drop_table("loss")
    op.drop_index(op.f("ix_checkpoint_operation_id"), table_name="checkpoint")
    op.drop_table("checkpoint")
    op.drop_table("balance")
    op.drop_index(op.f("ix_addition_operation_id"), table_name="addition")
    op.drop_table("addition")
    op.drop_index(op.f("ix_operation_done_on"), table_name="operation")
    op.drop_table("operation")
    op.drop_table("source")
    op.drop_table("posting_key")
    op.drop_table("place")
    op.drop_table("person")
    op.drop_table("packaging")
    op.drop_table("household")
    op.drop_table("bowl")
    op.drop_table("absorber")
