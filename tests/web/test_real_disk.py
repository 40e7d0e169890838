"""A disk that is really full, and one that is really read-only: a mount of its own.

Only where the machine lets a test mount one.
"""

import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.ledger.checks import check_all
from app.ledger.stock import StockRef
from tests import builders as b
from tests.browser.live import Live, serving
from tests.web.pages import Page
from tests.web.wire import WireTablet, filled

EAT = f"/write/eat?from=1-{b.FRIDGE}"
NOTE = "typed before supper"
LONG = "It was a long evening. " * 80  # fills the pages of the file fast


def mount(*words: str) -> None:
    if shutil.which("mount") is None:
        pytest.skip("this machine has no mount")
    done = subprocess.run(["mount", *words], capture_output=True, text=True, check=False)
    if done.returncode:
        pytest.skip(f"this machine mounts no disk for tests: {done.stderr.strip()}")


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    """Three megabytes, in memory, of a file system of their own."""
    place = tmp_path / "disk"
    place.mkdir()
    mount("-t", "tmpfs", "-o", "size=3m", "stillroom-test", str(place))
    yield place
    subprocess.run(["umount", "--lazy", str(place)], check=True)


@pytest.fixture
def live(disk: Path) -> Iterator[Live]:
    """The real server with its ledger on that disk, and a kilogram of moose in the fridge."""
    with serving(disk, b.evening(b.TODAY)) as live:
        with live.book.writing() as session:
            b.a_household(session)
            b.take_in(session)
        yield live


def fill(disk: Path) -> Path:
    """Leave no room on the disk at all."""
    filler = disk / "photographs"
    with filler.open("wb", buffering=0) as file:
        for size in (65536, 4096):
            try:
                while file.write(b"x" * size):
                    pass
            except OSError:
                continue
    return filler


def left_g(live: Live) -> float:
    with live.book.reading() as session:
        assert check_all(session) == []
        return b.on_hand(session, StockRef(1, b.FRIDGE)) / b.G


def is_told(page: Page, words: str) -> None:
    assert words in page.summary, page.words[:500]
    assert "Nothing was written" in page.summary
    assert page.typed("mass_mg") == ["1 g"]


def test_a_full_disk_is_said_and_the_same_form_goes_through_once_there_is_room(
    disk: Path, live: Live
) -> None:
    tablet = WireTablet(live.address)
    filler, written = fill(disk), 0
    while True:
        values = filled(tablet.get(EAT).form(), mass_mg="1 g", note=LONG)
        page = tablet.post(EAT, values)
        if page.status != 303:
            break
        written += 1
        assert written < 500
    assert page.status == 507
    is_told(page, "The disk of the server is full.")
    assert page.typed("note") == [LONG.strip()]
    assert left_g(live) == 1000 - written
    again = page.form().values
    assert again["key"] == values["key"]
    assert tablet.post(EAT, again).status == 507
    filler.unlink()
    answers = [tablet.post(EAT, again) for _ in range(2)]
    assert [answer.status for answer in answers] == [303, 303]
    assert left_g(live) == 1000 - written - 1


def test_a_read_only_disk_is_said_and_the_same_form_goes_through_once_it_may_be_written(
    disk: Path, live: Live
) -> None:
    """The ledger cannot even be opened then, so the page that says so keeps what was typed."""
    tablet = WireTablet(live.address)
    values = filled(tablet.get(EAT).form(), mass_mg="1 g", note=NOTE)
    live.book.close()  # a disk with a file open for writing is not let become read-only
    mount("-o", "remount,ro", str(disk))
    assert tablet.get(EAT).status == 503
    page = tablet.post(EAT, values)
    assert page.status == 503
    assert "its disk or folder is read-only" in page.words
    assert "Nothing was written." in page.words
    kept = page.form("once-more").values
    assert list(kept.items(multi=True)) == list(values.items(multi=True))
    assert tablet.post(EAT, kept).status == 503
    mount("-o", "remount,rw", str(disk))
    answers = [tablet.post(EAT, kept) for _ in range(2)]
    assert [answer.status for answer in answers] == [303, 303]
    assert left_g(live) == 999
