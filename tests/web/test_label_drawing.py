"""Labels measured on paper: scale, x-heights, printer dots, words, and codes read back."""

import re
import shutil
import subprocess
from dataclasses import replace
from itertools import groupby, pairwise
from pathlib import Path

import numpy as np
import pytest
import zxingcpp
from PIL import Image, ImageFont

import app.web.labels.typeface as typeface
from app.web.labels.drawing import (
    IncompleteLabel,
    LabelText,
    LabelTooSmall,
    NoRoomForCode,
    draw_labels,
    plan_label,
    qr_plan,
)
from app.web.labels.stock import PRESETS, InvalidStock, LabelStock, rectangles
from app.web.labels.wording import DROP_ORDER

ROLL = LabelStock(100, 62)
MOOSE = LabelText(
    name="Moose, ground",
    is_raw=False,
    cook_target=None,
    cooked_words="cooked: eat as it is, or warm",
    code="M8J4-X",
    package_number=3,
    package_count=5,
    harvest_words="harvest 2024 to 2026-10-11",
    packed_on="2026-10-31",
    window_words="best before end 2041, likely to 2049",
    net_mass_mg=262_000,
    storage_words="keep dark and dry, at or below 21 °C",
    rehydrate_words="to bring back: add 420 g water, 1¾ cups",
    absorber_words="oxygen absorber 300 cc: remove, do not eat",
    allergens_words="contains celery",
    may_contain_words="may contain fish",
    url="http://192.168.1.20:8080/lots/M8J4-X",
    household="Put up by Ingrid",
)
BURGERS = replace(
    MOOSE,
    name="Moose burgers, 15 % fat",
    is_raw=True,
    cook_target="cook to 74 °C (165 °F) at the centre",
    cooked_words="",
    code="K7M2-R",
    window_words="best before end 2027",
    storage_words="keep at or below \u221218 °C",
    rehydrate_words="",
    absorber_words="",
    kept_frozen=True,
)

pytestmark = pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="needs poppler-utils")


def run(*command: str | Path) -> str:
    return subprocess.run(
        [str(word) for word in command], capture_output=True, text=True, check=True
    ).stdout


@pytest.fixture
def printed(tmp_path):
    """Write labels to a file; the answer reads it back with independent tools."""

    def to_file(texts, stock=ROLL, first=1):
        path = tmp_path / "labels.pdf"
        path.write_bytes(draw_labels(texts, stock, first))
        return path

    return to_file


def words_of(path: Path) -> str:
    return " ".join(run("pdftotext", "-layout", path, "-").split())


def pages_of(path: Path, dpi: int) -> list[Image.Image]:
    run("pdftoppm", "-gray", "-r", str(dpi), path, path.parent / f"page{dpi}")
    return [Image.open(page) for page in sorted(path.parent.glob(f"page{dpi}-*.pgm"))]


def box_of(path: Path, word: str) -> tuple[float, ...]:
    """xMin, yMin, xMax, yMax of a word on the first page, in points."""
    found = re.search(
        rf'<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">{word}<',
        run("pdftotext", "-bbox", path, "-"),
    )
    assert found
    return tuple(float(side) for side in found.groups())


def ink_height_mm(path: Path, word: str, white: bool = False) -> float:
    """Height of the ink of a word, measured on a rendering at 1200 dpi."""
    page = np.asarray(pages_of(path, 1200)[0])
    # Slightly inside at the sides, so that a ground's edge or a neighbour does not count.
    left, top, right, bottom = (round(side / 72 * 1200) for side in box_of(path, word))
    patch = page[top:bottom, left:right]
    ink = (patch > 128) if white else (patch < 128)
    if white:  # only rows that lie on the black ground
        ink &= (patch < 128).any(axis=1)[:, None]
    rows = np.flatnonzero(ink.any(axis=1))
    return float(rows[-1] - rows[0] + 1) / 1200 * 25.4


@pytest.mark.parametrize("stock", PRESETS.values(), ids=list(PRESETS))
def test_the_page_has_the_size_of_the_stock(printed, stock):
    info = run("pdfinfo", printed([MOOSE], stock))
    found = re.search(r"Page size:\s+([\d.]+) x ([\d.]+) pts", info)
    assert found
    width_mm, height_mm = (float(side) / 72 * 25.4 for side in found.groups())
    assert width_mm == pytest.approx(stock.page_width_mm, abs=0.05)
    assert height_mm == pytest.approx(stock.page_height_mm, abs=0.05)


def test_all_fonts_are_embedded_subsets_and_no_other_is_named(printed):
    path = printed([MOOSE, BURGERS])
    fonts = run("pdffonts", path).splitlines()[2:]
    assert fonts
    assert all(re.search(r"\+AtkinsonHyperlegibleNext.* yes yes ", font) for font in fonts)
    assert b"Helvetica" not in path.read_bytes()


def test_the_same_labels_are_the_same_bytes():
    assert draw_labels([MOOSE], ROLL) == draw_labels([MOOSE], ROLL)


def test_the_title_names_the_lots(printed):
    assert "Title:           Labels M8J4-X\n" in run("pdfinfo", printed([MOOSE]))
    assert "Labels M8J4-X and 1 more" in run("pdfinfo", printed([MOOSE, BURGERS, BURGERS]))


def test_a_label_says_everything_it_was_given(printed):
    words = words_of(printed([MOOSE]))
    for expected in (
        "Moose, ground",
        "Cooked: eat as it is, or warm",
        "M8J4-X",
        "package 3 of 5",
        "Harvest 2024 to 2026-10-11",
        "Packed 2026-10-31",
        "Best before end 2041, likely to 2049",
        "Net 262 g · 9.2 oz",
        "Keep dark and dry, at or below 21 °C",
        "add 420 g water, 1¾ cups",
        "Oxygen absorber 300 cc: remove, do not eat",
        "Contains celery. May contain fish",
        "Put up by Ingrid",
    ):
        assert expected in words


def test_net_weight_above_a_kilogram_keeps_every_gram(printed):
    assert "Net 1240 g · 2 lb 11.7 oz" in words_of(printed([replace(MOOSE, net_mass_mg=1_240_000)]))


def test_a_raw_label_says_raw_and_the_temperature(printed):
    words = words_of(printed([BURGERS]))
    assert "RAW" in words
    assert "74 °C" in words
    assert "(165 °F)" in words


@pytest.mark.parametrize("target", [None, "", "  "])
def test_a_raw_label_without_a_cook_target_is_refused(target):
    with pytest.raises(IncompleteLabel) as caught:
        draw_labels([replace(BURGERS, cook_target=target)], ROLL)
    assert caught.value.fields == ["cook_target"]


def test_a_label_without_name_code_date_or_state_is_refused():
    empty = replace(MOOSE, name=" ", code="", packed_on="", window_words="", cooked_words="")
    with pytest.raises(IncompleteLabel) as caught:
        plan_label(empty, ROLL)
    assert caught.value.fields == ["name", "code", "packed_on", "window_words", "cooked_words"]


def test_sizes_are_measured_from_the_font_and_not_guessed():
    for weight in (typeface.REGULAR, typeface.BOLD):
        font = ImageFont.truetype(str(typeface.FONTS / f"{weight}.ttf"), 1000)
        assert -font.getbbox("x", anchor="ls")[1] == pytest.approx(
            1000 * typeface.x_height_em(), abs=1
        )
        assert -font.getbbox("H", anchor="ls")[1] == pytest.approx(
            1000 * typeface.cap_height_em(), abs=1
        )


def crowded() -> LabelText:
    """So many words that the label comes down to its smallest type."""
    many = ", ".join(f"allergen{number}" for number in range(28))
    return replace(MOOSE, allergens_words=f"contains {many}", storage_words="summer room")


def test_the_smallest_type_on_paper_has_an_x_height_of_1_2_mm(printed):
    lines = plan_label(crowded(), ROLL).placed
    assert min(line.x_height_mm for line in lines) == pytest.approx(1.2)
    assert next(li for li in lines if "room" in li.text).x_height_mm == pytest.approx(1.2)
    # "room" has neither ascender nor descender; round letters overshoot by a few hundredths.
    assert 1.2 - 25.4 / 1200 <= ink_height_mm(printed([crowded()]), "room") <= 1.2 * 1.06


def test_raw_on_paper_has_the_capitals_of_a_3_5_mm_x_height(printed):
    font = ImageFont.truetype(str(typeface.FONTS / f"{typeface.BOLD}.ttf"), 1000)
    capital, small = (-font.getbbox(letter, anchor="ls")[1] for letter in "Hx")
    assert ink_height_mm(printed([BURGERS]), "RAW", white=True) >= 3.5 * capital / small - 0.03


@pytest.mark.parametrize("dpi", [203, 300])
def test_every_code_is_read_back_from_a_print_at_printer_resolution(printed, dpi):
    alphabet = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
    codes = [
        "".join(alphabet[(7 * n + 11 * place * n + place) % 32] for place in range(4))
        + f"-{alphabet[n % 32]}"
        for n in range(30)
    ]
    stock = replace(ROLL, printer_dpi=dpi)
    texts = [
        replace(MOOSE, code=code, url=f"http://stillroom.local:8080/lots/{code}", kept_frozen=odd)
        for code, odd in zip(codes, [False, True] * 15, strict=True)
    ]
    read = [zxingcpp.read_barcodes(page) for page in pages_of(printed(texts, stock), dpi)]
    assert [[found.text for found in page] for page in read] == [[t.url.upper()] for t in texts]


def test_codes_on_a_sheet_are_read_back_too(printed):
    texts = [replace(MOOSE, url=f"http://192.168.1.20:8080/lots/{n:04d}-X") for n in range(9)]
    pages = pages_of(printed(texts, PRESETS["A4 sheet, 2 × 4 of 99.1 × 67.7 mm"], first=6), 300)
    counts = [len(zxingcpp.read_barcodes(page)) for page in pages]
    assert counts == [3, 6]
    read = {found.text for page in pages for found in zxingcpp.read_barcodes(page)}
    assert read == {text.url.upper() for text in texts}


@pytest.mark.parametrize("dpi", [203, 300])
def test_modules_on_paper_are_whole_printer_dots(printed, dpi):
    stock = replace(ROLL, printer_dpi=dpi)
    plan = plan_label(MOOSE, stock)
    page = np.asarray(pages_of(printed([MOOSE], stock), dpi)[0])
    dots = plan.qr.dots_per_module
    side = plan.qr.modules * dots
    left = round((plan.qr_left_mm + plan.qr.quiet_mm) / plan.qr.dot_mm)
    top = round((plan.qr_top_mm + plan.qr.quiet_mm) / plan.qr.dot_mm)
    patch = page[top : top + side, left : left + side]
    assert set(np.unique(patch)) == {0, 255}  # no half-covered dots
    lengths = {len(list(run)) for row in patch for _, run in groupby(row)}
    assert all(length % dots == 0 for length in lengths)
    quiet = 4 * dots
    around = page[top - quiet : top + side + quiet, left - quiet : left + side + quiet].copy()
    around[quiet:-quiet, quiet:-quiet] = 255
    assert around.min() == 255  # the quiet zone is empty


def test_an_upper_case_address_of_34_characters_is_16_5_mm_at_203_dpi():
    # Version 2 holds 38 alphanumeric characters at level M and has 25 modules: ISO/IEC 18004,
    # table 7 (from memory, unchecked). 33 modules of 4 dots of 25.4/203 mm are 16.5 mm.
    plan = qr_plan("http://stillroom.local:8080/l/7k3m", 203, 17.0)
    assert (plan.modules, plan.dots_per_module) == (25, 4)
    assert plan.size_mm == pytest.approx(16.5, abs=0.05)
    assert qr_plan("http://stillroom.local:8080/l/7k3m", 300, 11.5).size_mm == pytest.approx(
        11.2, abs=0.05
    )


@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_a_code_too_small_to_be_read_is_refused(dpi):
    with pytest.raises(NoRoomForCode) as caught:
        qr_plan("http://stillroom.local:8080/l/7k3m", dpi, 11.0)
    fitting = qr_plan("http://stillroom.local:8080/l/7k3m", dpi, caught.value.needs_mm)
    assert fitting.dots_per_module >= 4
    assert fitting.module_mm >= 0.33


def test_what_is_left_out_goes_in_the_stated_order_and_is_named():
    heights = [62 - step for step in range(40)]
    marked = replace(MOOSE, marks_words="may hold lead: not under 6 years")
    dropped = []
    for height in heights:
        try:
            dropped.append(plan_label(marked, LabelStock(100, height)).dropped)
        except LabelTooSmall:
            break
    assert dropped[0] == ()
    assert set(dropped[-1]) == set(DROP_ORDER)
    assert all(set(DROP_ORDER[: len(names)]) == set(names) for names in dropped)
    assert all(len(before) <= len(after) for before, after in pairwise(dropped))


def test_held_food_says_so_in_white_on_black_above_everything_but_its_name(printed):
    held = replace(BURGERS, hold_words="do not eat, give or mix: a test result is awaited")
    plan = plan_label(held, ROLL)
    fields = [line.field for line in plan.placed if line.field not in ("code", "package_number")]
    assert list(dict.fromkeys(fields))[:3] == ["name", "hold", "raw"]
    words = run("pdftotext", printed([held]), "-").split()
    assert {"ON", "HOLD", "RAW", "awaited"} <= set(words)
    assert all(not line.white for line in plan_label(MOOSE, ROLL).placed)


def test_a_hold_is_never_left_out_for_want_of_room():
    held = replace(MOOSE, hold_words="do not eat: it was recalled")
    for height in range(62, 20, -1):
        try:
            plan = plan_label(held, LabelStock(100, height))
        except LabelTooSmall:
            break
        assert "hold" in {line.field for line in plan.placed}
    assert {"household", "rehydrate_words", "storage_words"} <= set(plan.dropped)


def test_what_must_be_printed_is_never_left_out():
    small = plan_label(MOOSE, LabelStock(100, 29))
    assert {line.field for line in small.placed} >= {
        "name",
        "cooked_words",
        "code",
        "package_number",
        "allergens_words",
        "window_words",
        "dates",
        "net_mass_mg",
    }


def test_a_label_too_small_for_what_must_be_printed_is_refused_with_sizes():
    with pytest.raises(LabelTooSmall) as caught:
        plan_label(BURGERS, LabelStock(50, 25))
    assert {"name", "raw", "dates", "net_mass_mg"} <= set(caught.value.needs_mm)
    assert sum(caught.value.needs_mm.values()) > caught.value.available_mm
    with pytest.raises(LabelTooSmall) as caught:
        plan_label(MOOSE, LabelStock(30, 15))
    assert set(caught.value.needs_mm) == {"qr"}


def test_accents_print_and_a_sign_the_font_lacks_is_replaced(printed):
    words = words_of(printed([replace(MOOSE, name="Blåbär, ⅓ torkade 🫐 ①")]))
    assert "Blåbär, 1/3 torkade ? 1" in words


def test_a_name_without_a_space_is_broken_rather_than_cut(printed):
    name = "Moosegroundwithbackfatandherbs" * 3
    words = words_of(printed([replace(MOOSE, name=name)]))
    plan = plan_label(replace(MOOSE, name=name), ROLL)
    pieces = [line.text for line in plan.placed if line.field == "name"]
    assert "".join(pieces) == name
    assert all(piece in words for piece in pieces)


def test_sheets_are_filled_row_by_row_from_the_first_free_label():
    stock = PRESETS["A4 sheet, 2 × 4 of 99.1 × 67.7 mm"]
    places = rectangles(stock, 4, first=7)
    assert [place.page for place in places] == [0, 0, 1, 1]
    assert [round(place.left_mm, 2) for place in places] == [4.65, 106.25, 4.65, 106.25]
    assert [round(place.top_mm, 1) for place in places] == [216.2, 216.2, 13.1, 13.1]
    with pytest.raises(ValueError, match="first 9 of 8"):
        rectangles(stock, 1, first=9)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"width_mm": 5}, "width_mm"),
        ({"width_mm": float("nan")}, "width_mm"),
        ({"height_mm": 9000}, "height_mm"),
        ({"columns": 0}, "columns"),
        ({"printer_dpi": 12}, "printer_dpi"),
        ({"columns": 2, "pitch_x_mm": 90}, "pitch_x_mm"),
        ({"columns": 2, "page_width_mm": 150}, "page_width_mm"),
        ({"rows": 2, "page_height_mm": 100}, "page_height_mm"),
        ({"margin_left_mm": 10, "page_width_mm": 105}, "page_width_mm"),
    ],
)
def test_stock_that_cannot_be_names_the_field(change, field):
    with pytest.raises(InvalidStock) as caught:
        LabelStock(**{"width_mm": 100, "height_mm": 62, **change})
    assert field in [problem.field for problem in caught.value.problems]


def test_no_labels_are_not_an_empty_file():
    with pytest.raises(ValueError, match="no labels"):
        draw_labels([], ROLL)
