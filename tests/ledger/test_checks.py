"""Every check is clean on a true ledger, and finds what is broken on purpose."""

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from app.ledger.book import Book
from app.ledger.checks import CHECKS, Finding, check_all
from app.ledger.codes import code_of, spoken
from tests.ledger.kitchen import write_evening

MOOSE, PORK, MINCE, COOKED, DRIED, PACKED = range(1, 7)
BOAR, BOAR_MINCE, STEW = range(7, 10)
GRINDING, COOKING, PACKING, EATING, UNDOING = 3, 4, 7, 8, 9
HOLDING, STEWING, RELEASING, SUPPER, WARMED, INCIDENT = 12, 13, 14, 15, 16, 21


@pytest.fixture(scope="module")
def evening(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The true ledger; the row numbers above are those of its story."""
    path = tmp_path_factory.mktemp("evening") / "stillroom.db"
    rows = write_evening(path, with_troubles=True)
    lots = ("moose", "pork", "mince", "cooked", "dried", "packed", "boar", "boar_mince", "stew")
    assert [rows[n] for n in lots] == list(range(MOOSE, STEW + 1))
    work = ("grinding", "cooking", "eating", "undoing", "holding", "stewing", "releasing", "supper")
    numbers = [GRINDING, COOKING, EATING, UNDOING, HOLDING, STEWING, RELEASING, SUPPER]
    assert [rows[n] for n in work] == numbers
    assert (rows["warmed"], rows["incident"], rows["boar_hold"]) == (WARMED, INCIDENT, 1)
    return path


@pytest.fixture
def copy(evening: Path, tmp_path: Path) -> Path:
    """A copy to be broken."""
    path = tmp_path / "stillroom.db"
    shutil.copy(evening, path)
    return path


def break_on_purpose(path: Path, *statements: str) -> None:
    """Do what another program could: no triggers, no CHECKs, no foreign keys."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("PRAGMA foreign_keys=OFF")
        connection.execute("PRAGMA ignore_check_constraints=ON")
        triggers = connection.execute("SELECT name FROM sqlite_master WHERE type='trigger'")
        for (name,) in triggers.fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            assert connection.execute(statement).rowcount > 0, statement


def findings_of(path: Path) -> list[Finding]:
    book = Book(path)
    try:
        with book.reading() as session:
            return check_all(session)
    finally:
        book.close()


def test_a_true_ledger_has_no_findings(evening: Path) -> None:
    assert findings_of(evening) == []


def test_without_its_guards_a_ledger_still_balances_but_is_not_sound(copy: Path) -> None:
    break_on_purpose(copy)
    found = findings_of(copy)
    assert {finding.check for finding in found} == {"guards_are_in_place"}
    assert any("trigger entry_no_delete: is missing" in str(finding) for finding in found)


def besides_the_guards(path: Path) -> list[Finding]:
    return [finding for finding in findings_of(path) if finding.check != "guards_are_in_place"]


BREAKAGES: list[tuple[str, str, str]] = [
    ("file_is_whole", "stock", "UPDATE stock SET mass_mg = -5 WHERE package_id = 1"),
    (
        "references_lead_somewhere",
        "points to a row of place",
        "UPDATE entry SET place_id = 99 WHERE id = 1",
    ),
    (
        "guards_are_in_place",
        "trigger balance_no_update: is missing or was changed",
        "UPDATE household SET name = 'no guard breaks here but those dropped before'",
    ),
    (
        "operations_balance",
        "has no balance row",
        f"DELETE FROM balance WHERE operation_id = {GRINDING}",
    ),
    (
        "operations_balance",
        "operation 3: lost is 23000 mg by its lines, 22999 mg by its balance row",
        f"UPDATE loss SET mass_mg = 23000 WHERE operation_id = {GRINDING}",
    ),
    (
        "operations_balance",
        "operation 4: added is 1000001 mg by its lines",
        f"UPDATE addition SET mass_mg = mass_mg + 1 WHERE operation_id = {COOKING}",
    ),
    (
        "operations_balance",
        "operation 3: taken is 3800001 mg by its lines",
        f"UPDATE entry SET mass_mg = mass_mg - 1 WHERE operation_id = {GRINDING} AND lot_id = 1",
    ),
    (
        "operations_balance",
        "operation 3: made is 3777002 mg by its lines",
        f"UPDATE entry SET mass_mg = mass_mg + 1 WHERE operation_id = {GRINDING} AND lot_id = 3",
    ),
    (
        "stock_is_the_entries",
        "200000 mg by the entries, 199999 mg in stock",
        "UPDATE stock SET mass_mg = mass_mg - 1 WHERE package_id = 1",
    ),
    (
        "stock_is_the_entries",
        "190000 mg by the entries, 0 mg in stock",
        "DELETE FROM stock WHERE package_id = 2",
    ),
    (
        "stock_is_the_entries",
        "0 mg by the entries, 7 mg in stock",
        "INSERT INTO stock (lot_id, place_id, mass_mg) VALUES (1, 4, 7)",
    ),
    (
        "nothing_below_zero",
        "-1 mg on hand after operation 3",
        f"UPDATE entry SET mass_mg = mass_mg - 1 WHERE operation_id = {GRINDING} AND lot_id = 1",
    ),
    (
        "packages_hold_their_own",
        "200001 mg in stock, packed with 200000 mg",
        "UPDATE stock SET mass_mg = mass_mg + 1 WHERE package_id = 1",
    ),
    (
        "packages_hold_their_own",
        "package 2: entry row",
        f"UPDATE entry SET lot_id = {DRIED} WHERE package_id = 2",
    ),
    (
        "packages_hold_their_own",
        "package 2: stock row",
        f"UPDATE stock SET lot_id = {DRIED} WHERE package_id = 2",
    ),
    (
        "packages_are_counted",
        "1 packages, numbered as 2",
        "DELETE FROM package WHERE id = 2",
    ),
    (
        "packages_are_counted",
        "2 packages, numbered as 2",
        "UPDATE package SET number = 1",
    ),
    (
        "packages_are_counted",
        "package 2: 190000 mg by its packing, 190001 mg by its label",
        "UPDATE package SET net_mg = net_mg + 1 WHERE id = 2",
    ),
    (
        "packages_are_counted",
        "package 2: 0 mg by its packing, 190000 mg by its label",
        f"UPDATE entry SET operation_id = {UNDOING} WHERE package_id = 2",
    ),
    (
        "packages_are_counted",
        f"package 1: filled again by operation {UNDOING} (give)",
        f"UPDATE operation SET kind = 'give' WHERE id = {UNDOING}",
    ),
    (
        "packages_are_counted",
        "package 1: 200001 mg in it after operation 9, packed with 200000 mg",
        f"UPDATE entry SET mass_mg = mass_mg + 1 WHERE operation_id = {UNDOING}",
    ),
    (
        "packages_are_counted",
        "package 1: lies at 2 places",
        "INSERT INTO stock (lot_id, package_id, place_id, mass_mg) VALUES (6, 1, 3, 5)",
    ),
    (
        "packages_are_counted",
        "package 2: is on hand, though its packing was taken back",
        f"UPDATE operation SET reverses_id = {PACKING} WHERE id = {UNDOING}",
    ),
    (
        "flows_fill_new_lots",
        "made with 3777001 mg, of which 3777000 mg flowed in",
        f"UPDATE flow SET mass_mg = mass_mg - 1 WHERE source_id = {MOOSE}",
    ),
    (
        "flows_fill_new_lots",
        "made with 2400000 mg, of which 2400001 mg flowed in",
        f"UPDATE flow SET mass_mg = 2400001 WHERE operation_id = {COOKING}",
    ),
    (
        "flows_follow_entries",
        "operation 3: the flow from lot",
        f"DELETE FROM flow WHERE source_id = {PORK}",
    ),
    (
        "flows_follow_entries",
        "that its entries do not know",
        f"UPDATE flow SET source_id = {PORK} WHERE operation_id = {COOKING}",
    ),
    ("raw_stays_raw", "not raw", f"UPDATE lot SET is_raw = 0 WHERE id = {MINCE}"),
    ("raw_stays_raw", "not raw", f"DELETE FROM checkpoint WHERE operation_id = {COOKING}"),
    (
        "raw_stays_raw",
        "did not cook through",
        f"UPDATE checkpoint SET outcome = 'stop' WHERE operation_id = {COOKING}",
    ),
    (
        "raw_stays_raw",
        "did not cook through",
        f"UPDATE checkpoint SET outcome = 'confirm', reason = ' ' WHERE operation_id = {COOKING}",
    ),
    (
        "raw_stays_raw",
        "did not cook through",
        f"UPDATE operation SET kind = 'blanch' WHERE id = {COOKING}",
    ),
    (
        "allergens_are_inherited",
        "has lost the mark “celery: contains”",
        f"DELETE FROM lot_allergen WHERE lot_id = {PACKED}",
    ),
    (
        "allergens_are_inherited",
        "has lost the mark “celery: contains”",
        f"UPDATE lot_allergen SET presence = 'may_contain' WHERE lot_id = {DRIED}",
    ),
    (
        "harvest_is_the_earliest",
        "harvested 2025-10-30, though its oldest part was harvested 2025-10-18",
        f"UPDATE lot SET harvest_from = '2025-10-30' WHERE id = {MINCE}",
    ),
    (
        "harvest_is_the_earliest",
        "harvested on no known day",
        f"UPDATE lot SET harvest_from = NULL, harvest_to = NULL WHERE id = {PACKED}",
    ),
    (
        "marks_are_inherited",
        "has lost the mark “lead”",
        f"DELETE FROM lot_mark WHERE lot_id = {STEW} AND mark = 'lead'",
    ),
    (
        "marks_are_inherited",
        "has lost the mark “parasite”",
        f"DELETE FROM lot_mark WHERE lot_id = {BOAR_MINCE} AND mark = 'parasite'",
    ),
    (
        "marks_are_inherited",
        "has lost the mark “parasite”",
        f"UPDATE checkpoint SET outcome = 'stop' WHERE operation_id = {STEWING}",
    ),
    (
        "marks_are_inherited",
        "has lost the mark “parasite”",
        f"UPDATE operation SET kind = 'blanch' WHERE id = {STEWING}",
    ),
    ("held_food_stayed", "left by operation 15 (eat) while it was on hold", "DELETE FROM release"),
    (
        "held_food_stayed",
        "left by operation 15 (eat) while it was on hold",
        f"UPDATE release SET operation_id = {WARMED}",
    ),
    (
        "held_food_stayed",
        "put together by operation 3 (grind) of food on hold and other",
        f"UPDATE hold SET operation_id = 2, lot_id = {PORK} WHERE id = 1",
    ),
    (
        "releases_lift_holds_that_stood",
        "operation 14: lifts hold 1, which did not stand",
        f"UPDATE hold SET operation_id = {SUPPER} WHERE id = 1",
    ),
    (
        "releases_lift_holds_that_stood",
        "operation 14: lifts hold 1, of a disease that was found",
        "UPDATE hold SET cause = 'test_positive' WHERE id = 1",
    ),
    (
        "releases_lift_holds_that_stood",
        "operation 15: lifts hold 1, which did not stand",
        f"INSERT INTO release (operation_id, hold_id, cause) VALUES ({SUPPER}, 1, 'other')",
    ),
    (
        "climates_are_whole",
        "place 4: operation 16 says neither one climate nor twelve",
        "DELETE FROM climate WHERE month = 7",
    ),
    (
        "climates_are_whole",
        "neither one climate nor twelve",
        "UPDATE climate SET month = 6 WHERE month = 7",
    ),
    (
        "climates_are_whole",
        "neither one climate nor twelve",
        "UPDATE climate SET month = NULL WHERE month = 7",
    ),
    (
        "incidents_are_whole",
        "operation 21: went wrong with no food named",
        "DELETE FROM incident_lot",
    ),
    (
        "incidents_are_whole",
        "operation 21: says what became of food without an incident",
        "DELETE FROM incident",
    ),
    (
        "incidents_are_whole",
        "worn by operation 21 from no known day on",
        "UPDATE incident_lot SET since = NULL WHERE fate = 'worn'",
    ),
    (
        "incidents_are_whole",
        "names operation 2, which is no hold before it",
        "UPDATE incident SET held_id = 2",
    ),
    (
        "incidents_are_whole",
        "names operation 20, which is no discard before it",
        "UPDATE incident SET discard_id = 20",
    ),
    (
        "opened_days_are_the_earliest",
        "opened never, though by the operations 2025-11-11",
        "UPDATE stock SET opened_on = NULL WHERE package_id = 1",
    ),
    (
        "opened_days_are_the_earliest",
        "opened 2025-11-09, though by the operations never",
        "UPDATE stock SET opened_on = '2025-11-09' WHERE package_id = 2",
    ),
    (
        "reversals_mirror",
        "operation 9: moves other masses than operation 8",
        f"UPDATE entry SET mass_mg = mass_mg - 1 WHERE operation_id = {UNDOING}",
    ),
    (
        "reversals_mirror",
        "operation 9: adds and loses other masses than operation 8",
        f"UPDATE addition SET mass_mg = mass_mg - 1 WHERE operation_id = {UNDOING}",
    ),
    (
        "reversals_mirror",
        "a correction names one earlier operation",
        f"UPDATE operation SET reverses_id = NULL WHERE id = {UNDOING}",
    ),
    (
        "reversals_mirror",
        "a correction names one earlier operation",
        f"UPDATE operation SET kind = 'move' WHERE id = {UNDOING}",
    ),
    (
        "estimates_belong_to_stock",
        "belongs to nothing on hand",
        "UPDATE estimate SET stock_id = 999 WHERE stock_id = "
        "(SELECT id FROM stock WHERE package_id = 1)",
    ),
    (
        "estimates_belong_to_stock",
        "not in order",
        "UPDATE estimate SET early = '2030-01-01', central = '2029-01-01', late = '2031-01-01'",
    ),
    ("words_are_known", "lot.food_class: “venison”", "UPDATE lot SET food_class = 'venison'"),
    ("words_are_known", "lot.form: “slab”", "UPDATE lot SET form = 'slab'"),
    ("words_are_known", "lot.wrap: “sock”", "UPDATE lot SET wrap = 'sock'"),
    (
        "words_are_known",
        "lot_treatment.treatment: “sung_to”",
        f"UPDATE lot_treatment SET treatment = 'sung_to' WHERE lot_id = {MINCE}",
    ),
    ("words_are_known", "lot_allergen.allergen: “dust”", "UPDATE lot_allergen SET allergen='dust'"),
    ("words_are_known", "packaging.kind: “sack”", "UPDATE packaging SET kind = 'sack'"),
    ("words_are_known", "reading.kind: “mood”", "UPDATE reading SET kind = 'mood'"),
    (
        "words_are_known",
        "game_story.cwd_status: “healthy”",
        "UPDATE game_story SET cwd_status = 'healthy'",
    ),
    ("words_are_known", "checkpoint.outcome: “maybe”", "UPDATE checkpoint SET outcome = 'maybe'"),
]


@pytest.mark.parametrize(("check", "words", "statement"), BREAKAGES)
def test_what_is_broken_on_purpose_is_found(
    copy: Path, check: str, words: str, statement: str
) -> None:
    break_on_purpose(copy, statement)
    said = [str(finding) for finding in findings_of(copy) if finding.check == check]
    assert any(words in line for line in said), said


def test_every_check_has_been_made_to_fail() -> None:
    assert {check for check, _, _ in BREAKAGES} == {check.__name__ for check in CHECKS}


def test_a_named_kind_of_an_allergen_is_known_by_its_group(copy: Path) -> None:
    break_on_purpose(copy, "UPDATE lot_allergen SET allergen = 'fish:trout'")
    assert besides_the_guards(copy) == []


def test_a_confirmed_cooking_with_a_reason_takes_the_raw_mark(copy: Path) -> None:
    break_on_purpose(
        copy,
        f"UPDATE checkpoint SET outcome = 'confirm', reason = 'seen by two of us' "
        f"WHERE operation_id = {COOKING}",
    )
    assert besides_the_guards(copy) == []


def test_damaged_pages_are_findings_and_never_a_traceback(copy: Path) -> None:
    size = copy.stat().st_size
    with copy.open("rb+") as file:
        for offset in range(8192, size, 8192):
            file.seek(offset)
            file.write(b"\xa5" * 2048)
    found = findings_of(copy)
    assert any(finding.check == "file_is_whole" for finding in found)


@pytest.mark.parametrize(
    "statement",
    ["DROP TABLE estimate", "UPDATE lot SET harvest_from = 'soon', harvest_to = 'then'"],
)
def test_what_cannot_be_read_is_a_finding_and_the_other_checks_still_speak(
    copy: Path, statement: str
) -> None:
    break_on_purpose(copy, f"DELETE FROM balance WHERE operation_id = {GRINDING}")
    with closing(sqlite3.connect(copy)) as connection, connection:
        connection.execute(statement)
    said = [str(finding) for finding in findings_of(copy)]
    assert any("cannot be read" in line for line in said), said
    assert any("has no balance row" in line for line in said), said


def test_findings_name_lots_by_their_spoken_code(copy: Path) -> None:
    break_on_purpose(copy, f"UPDATE lot SET is_raw = 0 WHERE id = {MINCE}")
    said = [str(f) for f in findings_of(copy) if f.check == "raw_stays_raw"]
    assert said[0].startswith(f"lot {spoken(code_of(MINCE))}: not raw")


def test_a_hold_that_was_taken_back_held_nothing(copy: Path) -> None:
    """As if operation 14 had taken the hold back, and not lifted it."""
    break_on_purpose(
        copy,
        "DELETE FROM release",
        f"UPDATE operation SET kind = 'correct', reverses_id = {HOLDING} WHERE id = {RELEASING}",
    )
    assert besides_the_guards(copy) == []


def test_a_release_that_was_taken_back_put_the_hold_back(copy: Path) -> None:
    """As if the sixteenth operation had taken the release back, and supper came after it."""
    break_on_purpose(
        copy,
        "DELETE FROM climate",
        "DELETE FROM place_reading",
        "DELETE FROM logger_file",
        f"UPDATE operation SET kind = 'correct', reverses_id = {RELEASING} WHERE id = {WARMED}",
    )
    assert besides_the_guards(copy) == []  # supper was before that
    break_on_purpose(
        copy,
        f"UPDATE operation SET kind = 'eat', reverses_id = NULL WHERE id = {WARMED}",
        f"UPDATE entry SET operation_id = {WARMED} WHERE operation_id = {SUPPER}",
        f"UPDATE loss SET operation_id = {WARMED} WHERE operation_id = {SUPPER}",
        f"UPDATE operation SET kind = 'correct', reverses_id = {RELEASING} WHERE id = {SUPPER}",
    )
    said = [str(f) for f in findings_of(copy) if f.check == "held_food_stayed"]
    assert len(said) == 1
    assert "left by operation 16" in said[0]


def the_first_jar_is_moved(copy: Path, moved_mg: str, *, there_mg: str, left_mg: str) -> None:
    """The first jar, or some of it, carried to the fridge; what lies there, and in the freezer."""
    place, day = "(SELECT place_id FROM stock WHERE package_id = 1)", "'2025-11-12'"
    entry = "INSERT INTO entry (operation_id, lot_id, package_id, place_id, mass_mg) "
    break_on_purpose(
        copy,
        "INSERT INTO operation (id, kind, done_on, recorded_at, note, method) "
        f"VALUES (99, 'move', {day}, '2025-11-12T19:00:00.000Z', '', '')",
        f"{entry} VALUES (99, {PACKED}, 1, {place}, -{moved_mg})",
        f"{entry} VALUES (99, {PACKED}, 1, 2, {moved_mg})",
        f"INSERT INTO balance VALUES (99, {moved_mg}, 0, {moved_mg}, 0)",
        "INSERT INTO stock (lot_id, package_id, place_id, mass_mg, opened_on) "
        f"SELECT {PACKED}, 1, 2, {there_mg}, opened_on FROM stock WHERE package_id = 1",
        f"UPDATE stock SET mass_mg = {left_mg} WHERE package_id = 1 AND place_id <> 2",
    )


def test_a_package_of_which_an_older_version_moved_a_part_is_there_once(copy: Path) -> None:
    the_first_jar_is_moved(copy, "50000", there_mg="50000", left_mg="150000")
    assert besides_the_guards(copy) == []


def test_a_package_that_was_moved_whole_and_lies_at_two_places_is_found(copy: Path) -> None:
    """As if a correction had put some of the first jar where the rest of it no longer was."""
    whole_mg = "(SELECT mass_mg FROM stock WHERE package_id = 1)"
    the_first_jar_is_moved(copy, whole_mg, there_mg="mass_mg", left_mg="5")
    said = [str(f) for f in findings_of(copy) if f.check == "packages_are_counted"]
    assert said == ["package 1: lies at 2 places [packages_are_counted]"]
