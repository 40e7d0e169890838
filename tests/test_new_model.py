"""A new version of the model: windows are worked out again at the start, or said to be older."""

import shutil
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy.orm import Session

from app import server
from app.ledger import windows
from app.ledger.book import Book
from app.ledger.queries.stock import stock_lines
from app.settings import Settings, settings_from
from app.web.display import BEING_RECOMPUTED, limit_words
from tests import builders as b
from tests.ledger.kitchen import write_evening


@pytest.fixture(scope="module")
def evening(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("evening") / "stillroom.db"
    write_evening(path)
    return path


@pytest.fixture
def house(evening: Path, tmp_path: Path) -> Settings:
    shutil.copy(evening, tmp_path)
    return settings_from(data=tmp_path, demo=False)


def outdated(settings: Settings) -> int:
    book = Book(settings.data_file)
    try:
        with book.reading() as session:
            return len(windows.outdated(session))
    finally:
        book.close()


def test_windows_of_the_same_model_are_left_alone_and_nothing_is_said(
    house: Settings, capsys: pytest.CaptureFixture[str]
) -> None:
    assert outdated(house) == 0
    server.bring_windows_up(house)
    assert capsys.readouterr().out == ""


def test_a_new_model_works_out_every_window_before_serving_and_says_how_far(
    house: Settings, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(windows, "MODEL_VERSION", "2099.1")
    count = outdated(house)
    assert count > 0
    server.bring_windows_up(house)
    assert outdated(house) == 0
    assert f"{count} of {count}" in capsys.readouterr().out


def test_many_windows_do_not_keep_people_waiting(
    house: Settings, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(windows, "MODEL_VERSION", "2099.1")
    monkeypatch.setattr(server, "MANY_WINDOWS", 1)
    count = outdated(house)
    server.bring_windows_up(house)
    assert outdated(house) == count
    assert "stillroom windows" in capsys.readouterr().out


def test_a_window_of_an_older_model_says_so_until_it_is_worked_out(
    session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    ref = b.take_in(session, place=b.FREEZER)
    (line,) = stock_lines(session)
    assert BEING_RECOMPUTED not in limit_words(line, b.TODAY)
    monkeypatch.setattr(windows, "MODEL_VERSION", "2099.1")
    (line,) = stock_lines(session)
    assert BEING_RECOMPUTED in limit_words(line, b.TODAY + timedelta(days=1))
    row = windows.find_stock(session, ref)
    assert row is not None
    windows.refresh(session, [row])
    (line,) = stock_lines(session)
    assert BEING_RECOMPUTED not in limit_words(line, b.TODAY)
