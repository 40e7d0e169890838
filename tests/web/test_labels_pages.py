"""Labels: which ones, on what stock, as a PDF whose code leads back to the lot."""

import os
import shutil
import subprocess
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
import zxingcpp
from PIL import Image
from sqlalchemy import select

from app.ledger.book import Book
from app.ledger.codes import code_of, spoken
from app.ledger.models import LabelPrint
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.hold import PutOnHold, hold
from app.ledger.operations.intake import SourceIn
from app.ledger.stock import StockRef
from app.ledger.words import HoldCause, SourceKind
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Tablet

Given = Callable[..., Any]
Unchanged = Callable[[], AbstractContextManager[None]]
SENDING = "/labels/printed"


@pytest.fixture
def pouches(given: Given, clock: HandClock) -> list[StockRef]:
    """Three pouches of 80 g on the pantry shelf."""
    found: list[StockRef] = given(b.pouches)
    clock.forward(days=2)
    return found


@pytest.fixture
def raw(given: Given) -> StockRef:
    """Raw moose, loose in the freezer."""
    found: StockRef = given(b.take_in, place=b.FREEZER)
    return found


def poppler(tool: str, pdf: bytes, folder: Path, *options: str) -> None:
    """Run a tool of poppler on labels.pdf, or leave the test out where it is not installed."""
    if shutil.which(tool) is None:
        if os.environ.get("STILLROOM_REQUIRE_BROWSER"):
            pytest.fail(f"{tool} is missing")
        pytest.skip(f"{tool} is missing")
    (folder / "labels.pdf").write_bytes(pdf)
    subprocess.run([tool, *options], cwd=folder, check=True)


def pictures(pdf: bytes, folder: Path) -> list[Image.Image]:
    """Every page as a picture at 300 dpi."""
    poppler("pdftoppm", pdf, folder, "-r", "300", "-png", "labels.pdf", "page")
    found = []
    for path in sorted(folder.glob("page*.png")):
        with Image.open(path) as picture:
            found.append(picture.copy())
    return found


def words_on(pdf: bytes, folder: Path) -> str:
    """The words of a file, in one line."""
    poppler("pdftotext", pdf, folder, "labels.pdf", "words.txt")
    return " ".join((folder / "words.txt").read_text(encoding="utf-8").split())


def labels_of(lot_id: int) -> str:
    """The address of the labels page of a lot."""
    return f"/labels?lot={code_of(lot_id)}"


def test_every_package_can_be_ticked_and_all_are(tablet: Tablet, pouches: list[StockRef]) -> None:
    page = tablet.get(labels_of(pouches[0].lot_id))
    assert page.form("labels").values.getlist("ref") == [str(p) for p in pouches]
    assert "No. 3 of 3" in page.words
    assert "best before" in page.words


def test_without_a_lot_the_page_asks_which(tablet: Tablet, pouches: list[StockRef]) -> None:
    targets = {a["href"] for tag, a in tablet.get("/labels").tags if tag == "a"}
    assert labels_of(pouches[0].lot_id) in targets


@pytest.mark.parametrize("code", ["ZZZZZ", "nonsense", "%00", "1-2", "9" * 900])
def test_labels_of_an_unknown_lot_are_no_page(tablet: Tablet, code: str) -> None:
    assert tablet.get(f"/labels?lot={code}").status == 404


def test_a_label_for_each_package_whose_code_leads_to_the_lot(
    tablet: Tablet, pouches: list[StockRef], tmp_path: Path
) -> None:
    refs = "&".join(f"ref={p}" for p in pouches)
    answer = tablet.get(f"/labels.pdf?{refs}").response
    assert answer.status_code == 200
    assert answer.mimetype == "application/pdf"
    assert answer.data.startswith(b"%PDF-")
    pages = pictures(answer.data, tmp_path)
    assert len(pages) == 3
    code = code_of(pouches[0].lot_id)
    for picture in pages:
        (found,) = zxingcpp.read_barcodes(picture)
        address = urlsplit(found.text)
        assert address.path.upper() == f"/L/{code}"
        landed = tablet.get(address.path)
        assert (landed.status, landed.location) == (303, f"/lots/{code}")


@pytest.mark.parametrize("turn", [str.upper, str.lower, spoken])
@pytest.mark.parametrize("prefix", ["/l/", "/L/"])
def test_the_short_address_of_a_lot_works_in_any_case(
    tablet: Tablet, raw: StockRef, prefix: str, turn: Callable[[str], str]
) -> None:
    code = code_of(raw.lot_id)
    answer = tablet.get(prefix + turn(code))
    assert (answer.status, answer.location) == (303, f"/lots/{code}")


def test_raw_food_says_raw_on_the_page_and_on_its_label(
    tablet: Tablet, raw: StockRef, tmp_path: Path
) -> None:
    page = tablet.get(labels_of(raw.lot_id))
    assert [a for _, a in page.tags if a.get("class") == "raw-mark"]
    words = words_on(tablet.get(f"/labels.pdf?ref={raw}").response.data, tmp_path)
    assert "RAW" in words
    assert "160 °F" in words  # the target of game, as its page prints it
    assert spoken(code_of(raw.lot_id)) in words


def test_held_food_says_so_on_the_page_and_on_its_label_until_it_is_released(
    tablet: Tablet, given: Given, raw: StockRef, tmp_path: Path
) -> None:
    put = PutOnHold((raw.lot_id,), HoldCause.LOOK_FIRST, b.TODAY, "power_out")
    held = given(b.do, hold, put)
    assert "On hold." in tablet.get(labels_of(raw.lot_id)).words
    words = words_on(tablet.get(f"/labels.pdf?ref={raw}").response.data, tmp_path)
    assert "ON HOLD" in words
    assert "somebody has to look at it first (the power was out, or it failed)" in words
    given(b.do, correct, Correct(held.operation_id, b.TODAY))
    assert "On hold" not in tablet.get(labels_of(raw.lot_id)).words
    assert "HOLD" not in words_on(tablet.get(f"/labels.pdf?ref={raw}").response.data, tmp_path)


def test_food_that_may_hold_lead_says_so_on_its_label(
    tablet: Tablet, given: Given, tmp_path: Path
) -> None:
    source = SourceIn(SourceKind.ANIMAL, "Moose share", taken_with_lead=True)
    ref = given(b.take_in, source=source, place=b.FREEZER)
    words = words_on(tablet.get(f"/labels.pdf?ref={ref}").response.data, tmp_path)
    assert "ay hold lead: not under 6 years, not when pregnant" in words


def test_what_is_cooked_does_not_say_raw(
    tablet: Tablet, pouches: list[StockRef], tmp_path: Path
) -> None:
    words = words_on(tablet.get(f"/labels.pdf?ref={pouches[0]}").response.data, tmp_path)
    assert "RAW" not in words
    assert "80 g" in words
    assert "oz" in words
    assert "1 of 3" in words


@pytest.mark.parametrize("query", ["", "ref=x", "ref=%FF", "ref=99-1-1", "ref=" + "9" * 5000])
def test_no_label_chosen_says_so(tablet: Tablet, query: str) -> None:
    page = tablet.get(f"/labels.pdf?{query}")
    assert page.status == 422
    assert "No label was chosen" in page.words


@pytest.mark.parametrize(
    "stock",
    [
        "width_mm=nan",
        "width_mm=inf",
        "width_mm=-40",
        "width_mm=1e999",
        "width_mm=wide",
        "columns=2.5",
        "columns=" + "9" * 5000,
        "printer_dpi=1",
        "columns=2&page_width_mm=100",
        "width_mm=20&height_mm=15",
        "first=2",
        "first=9999",
        "columns=2&page_width_mm=205&pitch_x_mm=101&first=3",
    ],
)
def test_stock_that_cannot_be_is_said_and_draws_nothing(
    tablet: Tablet, pouches: list[StockRef], stock: str
) -> None:
    page = tablet.get(f"/labels.pdf?ref={pouches[0]}&{stock}")
    assert page.status == 422
    assert page.response.mimetype == "text/html"
    assert "mm" in page.words or "labels" in page.words or "number" in page.words


@pytest.mark.parametrize("first", ["", "x", "-1", "0", "9" * 5000, "²"])
def test_a_first_label_that_is_no_number_begins_at_the_first(
    tablet: Tablet, pouches: list[StockRef], first: str
) -> None:
    assert tablet.get(f"/labels.pdf?ref={pouches[0]}&first={first}").status == 200


def test_the_longest_name_still_makes_a_label_or_says_why_not(tablet: Tablet, given: Given) -> None:
    long = given(b.take_in, name="W" * 80, place=b.FREEZER)
    page = tablet.get(f"/labels.pdf?ref={long}")
    assert page.status in (200, 422)
    assert page.status == 200 or "too small" in page.words


def test_what_was_printed_is_written_down_once_and_only_when_asked(
    tablet: Tablet, book: Book, pouches: list[StockRef], unchanged: Unchanged
) -> None:
    address = labels_of(pouches[0].lot_id)
    with unchanged():
        page = tablet.get(address)
        tablet.get(f"/labels.pdf?ref={pouches[0]}")
    (form,) = [f for f in page.forms if f.action == SENDING]
    answers = [tablet.send(form, address) for _ in range(2)]
    assert [a.status for a in answers] == [303, 303]
    with book.reading() as session:
        rows = session.scalars(select(LabelPrint)).all()
        assert {row.package_id for row in rows} == {p.package_id for p in pouches}
        assert len(rows) == 3
        assert all("best before" in row.window_words for row in rows)


@pytest.mark.parametrize("change", [{"csrf_token": None}, {"key": None}, {"key": "short"}])
def test_a_note_of_printing_that_is_not_ours_is_not_written(
    tablet: Tablet, pouches: list[StockRef], unchanged: Unchanged, change: dict[str, Any]
) -> None:
    address = labels_of(pouches[0].lot_id)
    (form,) = [f for f in tablet.get(address).forms if f.action == SENDING]
    with unchanged():
        assert tablet.send(form, address, **change).status == 422
