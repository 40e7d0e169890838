"""PostgreSQL: how a ledger begins there, and its triggers.

A ledger in PostgreSQL begins at revision 0003, from the text of `begin_0003.sql`; there never was an
older one. Later revisions go up and down on both databases.
"""

from pathlib import Path

from migrations.triggers import HISTORY_0002, SUMS

FIRST = "0003"
BEGINNING = Path(__file__).with_name(f"begin_{FIRST}.sql")

_REFUSE_CHANGE = """
BEGIN
    RAISE EXCEPTION '% is append-only', TG_TABLE_NAME USING ERRCODE = 'integrity_constraint_violation';
END
"""
_REFUSE_LATE_LINES = """
BEGIN
    IF EXISTS (SELECT 1 FROM balance WHERE operation_id = NEW.operation_id) THEN
        RAISE EXCEPTION 'the operation is already balanced'
            USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    RETURN NEW;
END
"""
_STATE_THE_SUMS = f"""
BEGIN
    IF {" OR ".join(f"NEW.{column} <> {total}" for column, total in SUMS.items())} THEN
        RAISE EXCEPTION 'balance differs from its lines'
            USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    RETURN NEW;
END
"""
FUNCTIONS = {
    "refuse_change": _REFUSE_CHANGE,
    "refuse_late_lines": _REFUSE_LATE_LINES,
    "state_the_sums": _STATE_THE_SUMS,
}


def triggers() -> dict[str, str]:
    """What each trigger of the newest revision says after its name."""
    found = {}
    for table in HISTORY_0002:
        for verb in ("UPDATE", "DELETE"):
            found[f"{table}_no_{verb.lower()}"] = (
                f"BEFORE {verb} ON {table} FOR EACH ROW EXECUTE FUNCTION refuse_change()"
            )
        found[f"{table}_no_truncate"] = (
            f"BEFORE TRUNCATE ON {table} FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()"
        )
    for table in ("entry", "addition", "loss"):
        found[f"{table}_not_after_balance"] = (
            f"BEFORE INSERT ON {table} FOR EACH ROW EXECUTE FUNCTION refuse_late_lines()"
        )
    found["balance_states_the_sums"] = (
        "BEFORE INSERT ON balance FOR EACH ROW EXECUTE FUNCTION state_the_sums()"
    )
    return found


def statements() -> list[str]:
    """Every statement that makes a ledger at its first revision, in an empty schema."""
    tables = [part.strip() for part in BEGINNING.read_text(encoding="utf-8").split(";\n")]
    functions = [
        f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $${body}$$"
        for name, body in FUNCTIONS.items()
    ]
    guards = [f"CREATE TRIGGER {name} {rest}" for name, rest in triggers().items()]
    return [*filter(None, tables), *functions, *guards]
