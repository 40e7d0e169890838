"""The trigger texts of the data file, by version, so that a rebuilt table can get its own back."""

HISTORY_0001 = (
    "operation",
    "entry",
    "addition",
    "loss",
    "balance",
    "flow",
    "source",
    "lot",
    "lot_treatment",
    "lot_allergen",
    "package",
    "weighing",
    "reading",
    "checkpoint",
    "posting_key",
    "run",
    "tray",
    "tray_weighing",
    "run_end",
    "label_print",
    "trial",
    "soaking",
)

HISTORY_0002 = (
    *HISTORY_0001,
    "lot_mark",
    "game_story",
    "hold",
    "release",
    "incident",
    "incident_lot",
    "check_done",
    "climate",
    "logger_file",
    "place_reading",
)


KEYS_0004 = {  # what no two rows of a history table share, where that is not the column id alone
    "operation": (("id",), ("reverses_id",)),
    "balance": (("operation_id",),),
    "flow": (("operation_id", "source_id", "result_id"),),
    "lot_treatment": (("lot_id", "treatment"),),
    "lot_allergen": (("lot_id", "allergen"),),
    "posting_key": (("key",),),
    "run": (("id",), ("operation_id",)),
    "tray": (("run_id", "number"),),
    "run_end": (("operation_id",),),
    "soaking": (("trial_id", "side"),),
    "lot_mark": (("lot_id", "mark"),),
    "game_story": (("source_id",),),
    "release": (("operation_id", "hold_id"),),
    "incident": (("operation_id",),),
    "check_done": (("operation_id",),),
    "logger_file": (("operation_id",),),
}


def append_only(table: str) -> list[str]:
    """Refuse every edit and deletion of a history table."""
    return [
        f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
        for verb in ("UPDATE", "DELETE")
    ]


def no_replacement(table: str, keys: tuple[tuple[str, ...], ...]) -> str:
    """Refuse a row whose key is taken: INSERT OR REPLACE would delete the other one silently.

    The triggers on DELETE see that only where `recursive_triggers` is on, and a program that opens
    the file without our pragmas has it off.
    """
    taken = " OR ".join(
        "EXISTS (SELECT 1 FROM {} WHERE {})".format(
            table, " AND ".join(f"{column} = NEW.{column}" for column in key)
        )
        for key in keys
    )
    return (
        f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} WHEN {taken} "
        f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
    )


SUMS = {
    "taken_mg": "(SELECT coalesce(sum(-mass_mg), 0) FROM entry "
    "WHERE operation_id = NEW.operation_id AND mass_mg < 0)",
    "made_mg": "(SELECT coalesce(sum(mass_mg), 0) FROM entry "
    "WHERE operation_id = NEW.operation_id AND mass_mg > 0)",
    "added_mg": "(SELECT coalesce(sum(mass_mg), 0) FROM addition "
    "WHERE operation_id = NEW.operation_id)",
    "lost_mg": "(SELECT coalesce(sum(mass_mg), 0) FROM loss WHERE operation_id = NEW.operation_id)",
}


def conservation() -> list[str]:
    """Let the balance row in only if it states the sums, and nothing after it."""
    differs = " OR ".join(f"NEW.{column} <> {total}" for column, total in SUMS.items())
    return [
        "CREATE TRIGGER balance_states_the_sums BEFORE INSERT ON balance "
        f"WHEN {differs} BEGIN SELECT RAISE(ABORT, 'balance differs from its lines'); END",
        *(
            f"CREATE TRIGGER {table}_not_after_balance BEFORE INSERT ON {table} "
            "WHEN EXISTS (SELECT 1 FROM balance WHERE operation_id = NEW.operation_id) "
            "BEGIN SELECT RAISE(ABORT, 'the operation is already balanced'); END"
            for table in ("entry", "addition", "loss")
        ),
    ]


def all_of_0001() -> list[str]:
    """Every trigger of the first version."""
    return _all_of(HISTORY_0001)


def all_of_0002() -> list[str]:
    """Every trigger of the second version."""
    return _all_of(HISTORY_0002)


def all_of_0004() -> list[str]:
    """Every trigger of the fourth version."""
    return all_of_0002() + [
        no_replacement(table, KEYS_0004.get(table, (("id",),))) for table in HISTORY_0002
    ]


newest = all_of_0004  # what a data file at the newest revision has


def _all_of(tables: tuple[str, ...]) -> list[str]:
    return [text for table in tables for text in append_only(table)] + conservation()
