"""The command line: every command does its work, and says expected failures in a sentence."""

import http.client
import os
import re
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pytest
import zxingcpp

from app.cli import _COMMANDS, main
from app.ledger.book import Book
from app.ledger.devices import pair
from app.server import copy_daily, greet, seed
from app.settings import Settings, settings_from
from tests.ledger.kitchen import evening as whole_evening
from tests.ledger.kitchen import furnish, write_evening

EVERYWHERE = "0.0.0.0"  # noqa: S104 (asked for, never listened on here)
ROOT = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="module")
def evening(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("evening") / "stillroom.db"
    write_evening(path)
    return path


@pytest.fixture
def house(evening: Path, tmp_path: Path) -> Path:
    """A data folder with a true ledger."""
    folder = tmp_path / "house"
    folder.mkdir()
    shutil.copy(evening, folder)
    return folder


def change(folder: Path, statement: str) -> None:
    with closing(sqlite3.connect(folder / "stillroom.db")) as connection, connection:
        connection.execute("DROP TRIGGER IF EXISTS balance_no_delete")
        connection.execute(statement)


def run(*words: str | Path) -> int:
    return main([str(word) for word in words])


# --- where the ledger lies ---


def test_the_folder_told_comes_before_the_environment_and_that_before_the_habit(
    tmp_path: Path,
) -> None:
    told, told_by_environment = tmp_path / "a", tmp_path / "b"
    environment = {"STILLROOM_DATA": str(told_by_environment), "XDG_DATA_HOME": str(tmp_path)}
    assert settings_from(data=told, environment=environment).data_dir == told
    assert settings_from(environment=environment).data_dir == told_by_environment


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="the habit of Linux")
def test_without_a_word_the_ledger_lies_in_the_users_data_folder(tmp_path: Path) -> None:
    assert settings_from(environment={"XDG_DATA_HOME": str(tmp_path)}).data_dir == (
        tmp_path / "stillroom"
    )
    relative = settings_from(environment={"XDG_DATA_HOME": "here"}).data_dir
    assert relative == (Path.home() / ".local/share/stillroom").resolve()


def test_the_demo_never_touches_the_real_ledger(tmp_path: Path) -> None:
    real = settings_from(data=tmp_path, environment={})
    demo = settings_from(data=tmp_path, demo=True, environment={})
    assert demo.data_file.parent.parent == real.data_dir
    assert demo.data_file != real.data_file


@pytest.mark.parametrize(
    ("host", "is_opened"),
    [("127.0.0.1", False), ("localhost", False), ("::1", False), (EVERYWHERE, True)],
)
def test_only_loopback_addresses_are_closed_to_the_network(
    host: str, is_opened: bool, tmp_path: Path
) -> None:
    assert Settings(tmp_path, host=host).is_opened is is_opened


# --- help ---


@pytest.mark.parametrize("name", [name for name, *_ in _COMMANDS])
def test_every_command_says_what_it_does(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main([name, "--help"])
    assert stop.value.code == 0
    words = next(words for n, _, words, _ in _COMMANDS if n == name)
    assert words in " ".join(capsys.readouterr().out.split())
    with pytest.raises(SystemExit):
        main(["--help"])
    assert words in " ".join(capsys.readouterr().out.split())


def test_the_export_help_tells_of_the_apostrophe(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["export", "--help"])
    assert "apostrophe" in capsys.readouterr().out


# --- check ---


def test_a_true_ledger_is_said_to_balance_with_its_counts(
    house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("check", "--data", house) == 0
    said = capsys.readouterr()
    assert "6 lots, 9 operations" in said.out
    assert "2 packages" in said.out
    assert said.err == ""


def test_an_unbalanced_ledger_is_listed_and_exits_with_one(
    house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    change(house, "DELETE FROM balance WHERE operation_id = 3")
    assert run("check", "--data", house) == 1
    said = capsys.readouterr()
    assert "operation 3: has no balance row" in said.out
    assert "2 things do not hold" in said.err  # the row, and the guard that had to go for it


@pytest.mark.parametrize("command", ["check", "windows", "export", "backup"])
def test_a_missing_ledger_is_said_and_none_is_made(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = [tmp_path / "target"] if command in ("export", "backup") else []
    assert run(command, *target, "--data", tmp_path / "none") == 2
    assert "there is no ledger at" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("command", [["check"], ["windows"], ["serve", "--port", "0"]])
def test_a_newer_ledger_is_refused_and_left_untouched(
    command: list[str], house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    change(house, "UPDATE alembic_version SET version_num = '9999'")
    before = (house / "stillroom.db").read_bytes()
    assert run(*command, "--data", house) == 2
    said = capsys.readouterr().err
    assert "newer version" in said
    assert "untouched" in said
    assert (house / "stillroom.db").read_bytes() == before
    assert [path.name for path in house.iterdir()] == ["stillroom.db"]


@pytest.mark.parametrize(
    "command", [["check"], ["windows"], ["export", "out"], ["serve", "--port", "0"]]
)
def test_a_file_that_is_no_database_is_said_in_a_sentence(
    command: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "stillroom.db").write_text("apples, pears\n" * 500)
    assert run(*command, "--data", tmp_path) == 2
    said = capsys.readouterr().err
    assert "not a database" in said
    assert "Traceback" not in said


def test_a_damaged_ledger_is_not_served(house: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = house / "stillroom.db"
    with file.open("rb+") as opened:
        for offset in range(40960, file.stat().st_size, 8192):
            opened.seek(offset)
            opened.write(b"\xa5" * 2048)
    assert run("serve", "--port", "0", "--data", house) == 2
    assert "stillroom restore" in capsys.readouterr().err


# --- backup, restore, export, windows ---


def test_a_ledger_comes_back_from_its_backup(
    house: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    backup = tmp_path / "autumn.db"
    assert run("backup", backup, "--data", house) == 0
    change(house, "DELETE FROM balance WHERE operation_id = 3")
    assert run("restore", backup, "--data", house) == 0
    assert "is kept as" in capsys.readouterr().out
    assert run("check", "--data", house) == 0
    assert len(list(house.glob("stillroom-replaced-*.db"))) == 1


def test_a_backup_over_a_file_or_into_no_folder_is_said(
    house: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "taken.db").write_text("mine")
    assert run("backup", tmp_path / "taken.db", "--data", house) == 2
    assert "exists already" in capsys.readouterr().err
    assert run("backup", tmp_path / "no" / "a.db", "--data", house) == 2
    assert "there is no folder" in capsys.readouterr().err
    assert (tmp_path / "taken.db").read_text() == "mine"


def test_restoring_what_is_no_ledger_is_said(
    house: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "song.txt").write_text("la la")
    assert run("restore", tmp_path / "none.db", "--data", house) == 2
    assert "does not exist" in capsys.readouterr().err
    assert run("restore", tmp_path / "song.txt", "--data", house) == 2
    assert "the ledger is as it was" in capsys.readouterr().err


def test_a_backup_that_does_not_balance_is_listed(
    house: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    backup = tmp_path / "autumn.db"
    shutil.copy(house / "stillroom.db", backup)
    with closing(sqlite3.connect(backup)) as connection, connection:
        connection.execute("DROP TRIGGER balance_no_delete")
        connection.execute("DELETE FROM balance WHERE operation_id = 3")
    assert run("restore", backup, "--data", house) == 2
    said = capsys.readouterr()
    assert "has no balance row" in said.out
    assert "does not balance" in said.err


def test_the_export_writes_tables_and_refuses_a_full_folder(
    house: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("export", tmp_path / "tables", "--data", house) == 0
    assert (tmp_path / "tables" / "lots.csv").exists()
    assert run("export", tmp_path / "tables", "--data", house) == 2
    assert "is not an empty folder" in capsys.readouterr().err


def test_long_work_says_how_far_it_has_come_and_short_work_does_not(
    house: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert run("backup", tmp_path / "a.db", "--data", house) == 0
    assert run("export", tmp_path / "a", "--data", house) == 0
    said = capsys.readouterr()
    assert "Copied" not in said.err
    assert "rows" not in said.out.partition("ledger.zip holds")[0]
    for name in (
        "app.cli._MANY_BYTES",
        "app.cli._MANY_ROWS",
        "app.ledger.archive.epcis._TOLD_EVERY",
    ):
        monkeypatch.setattr(name, 1)
    assert run("backup", tmp_path / "b.db", "--data", house) == 0
    assert "Reading the copy through" in capsys.readouterr().err
    assert run("export", tmp_path / "b", "--data", house) == 0
    said = capsys.readouterr()
    assert "lots.csv: " in said.out
    assert "events.json: 1 events" in said.out


def test_windows_are_worked_out_again_after_they_were_lost(
    house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    def estimates() -> list[tuple[object, ...]]:
        with closing(sqlite3.connect(house / "stillroom.db")) as connection:
            return connection.execute("SELECT * FROM estimate ORDER BY stock_id").fetchall()

    before = estimates()
    assert before
    change(house, "DELETE FROM estimate")
    assert run("windows", "--data", house) == 0
    assert estimates() == before
    assert "Every window is up to date." in capsys.readouterr().out


# --- serve ---


def test_a_taken_port_is_said_before_anything_is_made(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        assert run("serve", "--port", str(port), "--data", tmp_path / "house") == 2
    said = capsys.readouterr().err
    assert f"port {port}" in said
    assert "--port" in said
    assert not (tmp_path / "house").exists()


def test_a_story_that_breaks_off_leaves_no_half_of_it(tmp_path: Path) -> None:
    def breaks_off(book: Book, _today: date) -> None:
        with book.writing() as session:
            furnish(session)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        seed(tmp_path / "stillroom.db", breaks_off, date(2025, 11, 30))
    assert not list(tmp_path.iterdir())


def test_a_whole_story_becomes_the_ledger(tmp_path: Path) -> None:
    def tells(book: Book, _today: date) -> None:
        with book.writing() as session:
            furnish(session)
            whole_evening(session)

    seed(tmp_path / "stillroom.db", tells, date(2025, 11, 30))
    assert [path.name for path in tmp_path.iterdir()] == ["stillroom.db"]
    assert run("check", "--data", tmp_path) == 0


class Served:
    """A server of our own, on a free port; everything it said on starting."""

    def __init__(self, *words: str | Path) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "app.cli", "serve", "--port", "0", *map(str, words)],
            cwd=ROOT,
            env={**os.environ, "PYTHONIOENCODING": "utf-8"},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            encoding="utf-8",
        )
        assert self.process.stdout is not None
        self.said = ""
        for line in self.process.stdout:
            self.said += line
            if "Stop with Ctrl-C" in line:
                return
        raise AssertionError(f"the server did not start:\n{self.process.communicate()[1]}")

    @property
    def address(self) -> str:
        found = re.search(r"http://\S+", self.said)
        assert found, self.said
        return found.group()

    def status_of(self, path: str) -> int:
        port = int(self.address.rstrip("/").rpartition(":")[2])
        with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=20)) as connection:
            connection.request("GET", path)
            return connection.getresponse().status

    def stop(self, number: int) -> tuple[int, str, str]:
        self.process.send_signal(number)
        out, err = self.process.communicate(timeout=30)
        return self.process.returncode, out, err

    def end(self) -> None:
        if self.process.poll() is None:
            self.process.kill()
        self.process.communicate()


@pytest.fixture
def served(house: Path) -> Iterator[Served]:
    server = Served("--data", house)
    yield server
    server.end()


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_the_server_answers_and_ends_cleanly_when_it_is_asked_to(
    served: Served, number: int
) -> None:
    assert served.status_of("/") < 400
    assert "Only this computer" in served.said
    code, out, err = served.stop(number)
    assert (code, err) == (0, "")
    assert "Stopped." in out


def test_a_ledger_that_is_being_served_can_be_backed_up_but_not_replaced(
    served: Served, house: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("backup", tmp_path / "autumn.db", "--data", house) == 0
    assert run("restore", tmp_path / "autumn.db", "--data", house) == 2
    assert "stop it first" in capsys.readouterr().err
    served.stop(signal.SIGTERM)
    assert run("restore", tmp_path / "autumn.db", "--data", house) == 0


def test_the_code_in_the_terminal_reads_as_the_address(served: Served) -> None:
    lines = [line for line in served.said.splitlines() if set(line) & set("▀▄█")]
    light = {" ": (0, 0), "▀": (255, 0), "▄": (0, 255), "█": (255, 255)}
    rows = [[light[c][half] for c in line] for line in lines for half in (0, 1)]
    picture = np.array(rows, dtype=np.uint8).repeat(6, axis=0).repeat(6, axis=1)
    assert [code.text for code in zxingcpp.read_barcodes(picture)] == [served.address]


def test_opened_to_the_home_network_it_says_so_plainly(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    greet(Settings(tmp_path, host=EVERYWHERE), 8765)  # nothing listens
    said = capsys.readouterr().out
    assert "once they are paired" in said
    assert "network you trust" in said
    assert f"//{EVERYWHERE}" not in said


def test_a_terminal_without_block_characters_still_gets_the_address(tmp_path: Path) -> None:
    script = (
        "from pathlib import Path; from app.server import greet; from app.settings import Settings;"
        "greet(Settings(Path('house')), 8765)"
    )
    environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
    said = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, env=environment, capture_output=True, check=True
    ).stdout.decode("ascii")
    assert "http://127.0.0.1:8765/" in said


# --- the copy of each day ---


class OneLook(threading.Event):
    """Asked to wait for the next look, it ends the looking."""

    def wait(self, timeout: float | None = None) -> bool:
        self.set()
        return True


def copy_once(house: Path) -> None:
    book = Book(house / "stillroom.db")
    copy_daily(book, house / "copies", OneLook())
    book.close()


def test_serving_makes_the_copy_of_the_day(house: Path) -> None:
    copy_once(house)
    (made,) = (house / "copies").glob("stillroom-*.db")
    with closing(sqlite3.connect(made)) as copy:
        assert copy.execute("PRAGMA quick_check").fetchone() == ("ok",)


def test_a_day_without_a_copy_is_said_and_serving_goes_on(
    house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (house / "copies").write_text("a file where the folder should be")
    copy_once(house)
    assert "No copy was made today" in capsys.readouterr().err


# --- moving house, and pairing ---


def test_an_exported_ledger_is_imported_into_another_folder(
    house: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("export", tmp_path / "out", "--data", house) == 0
    assert {"ledger.zip", "events.json"} <= {path.name for path in (tmp_path / "out").iterdir()}
    assert run("import", tmp_path / "out" / "ledger.zip", "--data", tmp_path / "new") == 0
    assert run("check", "--data", tmp_path / "new") == 0
    counts = "SELECT (SELECT count(*) FROM entry), (SELECT sum(mass_mg) FROM stock)"
    with (
        closing(sqlite3.connect(house / "stillroom.db")) as old,
        closing(sqlite3.connect(tmp_path / "new" / "stillroom.db")) as new,
    ):
        assert old.execute(counts).fetchone() == new.execute(counts).fetchone()
    assert run("import", tmp_path / "out" / "ledger.zip", "--data", house) == 0
    assert "is kept as" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("name", "said"), [("none.zip", "does not exist"), ("note.txt", "is no archive of Stillroom")]
)
def test_what_is_no_archive_changes_nothing(
    house: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, said: str
) -> None:
    (tmp_path / "note.txt").write_text("milk, eggs")
    before = (house / "stillroom.db").read_bytes()
    assert run("import", tmp_path / name, "--data", house) == 2
    err = capsys.readouterr().err
    assert said in err
    assert "the ledger is as it was" in err
    assert (house / "stillroom.db").read_bytes() == before


def test_pairing_prints_eight_digits_that_pair_a_device(
    house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("pair", "--data", house) == 0
    found = re.search(r"(\d{4}) (\d{4})", capsys.readouterr().out)
    assert found is not None
    book = Book(house / "stillroom.db")
    with book.writing() as session:
        assert pair(session, found[0], "Tablet", at=datetime.now(UTC)) is not None
    book.close()
