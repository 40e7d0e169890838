"""The look without a browser: the geometry of the window, and what the macros write."""

import re
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from math import asinh
from pathlib import Path

import pytest
from flask import render_template
from hypothesis import given
from hypothesis import strategies as st
from reportlab.pdfbase.ttfonts import TTFontFace
from werkzeug.datastructures import MultiDict

from app.web import window_drawing
from app.web.window_drawing import ABOUT_TODAY, FROM_PACKING, TICKS_ABOUT_TODAY, WindowView
from tests.browser.gallery import IntakeForm, create_gallery

TODAY = date(2026, 11, 25)
STATIC = Path(window_drawing.__file__).parent / "static"
DAYS = st.integers(min_value=-20_000, max_value=20_000)


def view(*days: int, capped: bool = False) -> WindowView:
    start, early, central, late = (TODAY + timedelta(days=n) for n in days)
    return WindowView(start, early, central, late, TODAY, capped, "Best before then.")


@given(DAYS, DAYS)
def test_a_later_day_never_stands_left_of_an_earlier_one(one: int, other: int) -> None:
    early, late = sorted((one, other))
    for axis in (ABOUT_TODAY, FROM_PACKING):
        assert 0 <= axis.position(early) <= axis.position(late) <= 100


@given(st.integers(min_value=0, max_value=1_800))
def test_the_past_and_the_future_have_the_same_scale(days: int) -> None:
    today = ABOUT_TODAY.position(0)
    assert ABOUT_TODAY.position(days) - today == pytest.approx(
        today - ABOUT_TODAY.position(-days), abs=2e-3
    )


def test_the_axis_is_the_inverse_hyperbolic_sine_of_days_over_twenty() -> None:
    a_year, half = ABOUT_TODAY.position(365.25), ABOUT_TODAY.position(182.625)
    today = ABOUT_TODAY.position(0)
    assert (a_year - today) / (half - today) == pytest.approx(
        asinh(365.25 / 20) / asinh(182.625 / 20), rel=1e-4
    )


def test_the_ticks_run_from_edge_to_edge_and_leave_room_for_their_words() -> None:
    xs = [tick.x for tick in TICKS_ABOUT_TODAY]
    assert (xs[0], xs[-1]) == (0, 100)
    assert all(b - a > 9 for a, b in pairwise(xs))


@given(st.lists(DAYS, min_size=4, max_size=4))
def test_every_window_stays_on_its_axis_and_its_band_is_seen(days: list[int]) -> None:
    for strokes in (view(*sorted(days)).about_today, view(*sorted(days)).from_packing):
        assert 0 <= strokes.start <= 100
        assert 0 <= strokes.early <= strokes.central <= strokes.late <= 100
        assert strokes.band_width >= 0.6 - 1e-9


def test_all_windows_of_a_list_share_one_today_line() -> None:
    lines = {view(*days).about_today.today for days in ((-1, 1, 2, 2), (-900, -5, 3, 40))}
    assert lines == {ABOUT_TODAY.position(0)}


def test_a_window_is_past_the_day_after_its_late_date_and_says_when_it_ended() -> None:
    assert not view(-30, -9, -5, 0).about_today.is_past
    strokes = view(-30, -9, -5, -1).about_today
    assert (strokes.is_past, strokes.end) == (True, "ended 24 November 2026")


def test_the_words_of_an_ended_window_never_reach_the_today_line() -> None:
    for late in range(-9_000, 0, 7):
        s = view(late - 400, late - 90, late - 30, late).about_today
        right = s.end_x if s.end_anchor == "end" else s.end_x + 34
        left = s.end_x - 34 if s.end_anchor == "end" else s.end_x
        assert left >= 0
        assert right < ABOUT_TODAY.position(0)


def test_a_capped_window_stays_open_and_is_never_past() -> None:
    strokes = view(-12_000, -9_000, -100, -1, capped=True).about_today
    assert (strokes.goes_on, strokes.is_past, strokes.comes_from_before) == (True, False, True)


def test_a_window_beyond_the_axis_is_drawn_as_going_on() -> None:
    assert view(0, 300, 4_000, 9_200).from_packing.goes_on
    assert not view(0, 300, 4_000, 9_100).from_packing.goes_on


def test_the_packing_axis_has_no_today() -> None:
    assert view(-10, 20, 30, 40).from_packing.today is None


def test_dates_out_of_order_are_not_drawn() -> None:
    with pytest.raises(ValueError, match="start over early"):
        replace(view(-1, 2, 3, 4), early=TODAY + timedelta(days=9))


@pytest.fixture
def client():
    return create_gallery().test_client()


@pytest.mark.parametrize("page", ["lists", "lot", "form"])
def test_a_page_has_no_inline_style_and_no_inline_script(client, page: str) -> None:
    html = client.get(f"/{page}").text
    assert not re.search(r"\sstyle=|\son\w+=|<style|javascript:|data:", html)
    assert all("src=" in tag for tag in re.findall(r"<script[^>]*>", html))


@pytest.mark.parametrize("page", ["lists", "lot", "form"])
def test_no_id_is_given_twice(client, page: str) -> None:
    ids = re.findall(r'\sid="([^"]*)"', client.get(f"/{page}").text)
    assert len(ids) == len(set(ids))


def test_the_page_says_where_it_is(client) -> None:
    assert re.findall(r'aria-current="page">(\w+)', client.get("/lot").text) == ["Lots"]


def test_every_window_is_a_picture_with_a_sentence(client) -> None:
    html = client.get("/lists").text
    pictures = re.findall(r'role="img".*?<title>(.*?)</title>', html, re.DOTALL)
    assert len(pictures) == html.count('class="window-svg"') == 10
    assert "Moose broth: use by 27 November 2026." in pictures


BOWLS = {"bowls-0-bowl": "Blue enamel", "bowls-0-gross": "2 lb 3 1/2 oz", "bowls-0-tare": "412 g"}


def test_a_refused_form_keeps_what_was_typed_and_links_to_each_field(client) -> None:
    answer = client.post("/form", data=MultiDict({"fat": "3 stone", **BOWLS}))
    html = answer.text
    assert answer.status_code == 422
    assert all(f'value="{text}"' in html for text in ["3 stone", *BOWLS.values()])
    assert '<a href="#fat">Back-fat added:</a> “stone” is not a unit' in html
    assert '<a href="#origin-0">Where it comes from:</a>' in html
    assert re.search(r'<input aria-describedby="fat-hint fat-error" aria-invalid="true"', html)
    assert "data-refused" in html


def test_an_error_added_after_validation_is_in_the_summary() -> None:
    app = create_gallery()
    form = IntakeForm(MultiDict({"food": "Moose trim", "origin": "gift", "place": "1", **BOWLS}))
    assert form.validate()
    gross = form.bowls.entries[0].form.gross
    gross.errors = [*gross.errors, "Only 1.6 kg is on hand."]
    with app.test_request_context("/form"):
        html = render_template("gallery_form.html", form=form, bowls=[])
    assert '<a href="#bowls-0-gross">Weigh it 1, gross:</a> Only 1.6 kg is on hand.' in html
    assert 'id="bowls-0-gross-error">Only 1.6 kg is on hand.</p>' in html


def test_add_a_row_works_without_scripts(client) -> None:
    before = client.get("/form").text.count('class="tally-row"')
    grown = client.post("/form", data=MultiDict({"add_bowl": "1", **BOWLS})).text
    assert (before, grown.count('class="tally-row"')) == (3, 4)
    assert 'value="2 lb 3 1/2 oz"' in grown


def test_a_message_can_be_undone_by_a_post_with_its_token(client) -> None:
    client.post("/form", data={"food": "Moose trim", "origin": "gift", "place": "1"})
    html = client.get("/lot").text
    said = re.search(
        r'<div class="flash" role="status" data-saved="intake">(.*?)</div>', html, re.DOTALL
    )
    assert said is not None
    assert "Taken in: 9.20 kg of moose trim." in said[1]
    assert 'action="/undo"' in said[1]
    assert 'name="csrf_token" value="a token"' in said[1]


def test_a_caution_says_its_severity_in_words(client) -> None:
    html = client.get("/lot").text
    assert re.findall(r'class="word" id="caution-\w+-word">(\w+)<', html) == [
        "Stop",
        "Confirm",
        "Note",
    ]


PRINTED = "0123456789 ½¼¾°×−≤≥→–—’“”…· RAW Crème brûlée Őszibarack łosoś žír ærø þorramatur"


@pytest.mark.parametrize("style", ["Regular", "Bold"])
def test_the_paper_font_has_every_sign_and_equal_figures(style: str) -> None:
    font = TTFontFace(str(STATIC / "fonts" / f"AtkinsonHyperlegibleNext-{style}.ttf"))
    assert [sign for sign in PRINTED if ord(sign) not in font.charToGlyph] == []
    assert len({font.charWidths[ord(figure)] for figure in "0123456789"}) == 1
    assert "Version 1.1" in (STATIC / "fonts" / "AtkinsonHyperlegibleNext-OFL.txt").read_text()


def luminance(colour: str) -> float:
    """Relative luminance by WCAG 2.2 (W3C, 2023), definition "relative luminance"."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula_gives_the_published_value_of_black_on_white() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)  # WCAG 2.2: "from 1:1 to 21:1"


@pytest.mark.parametrize("theme", [0, 1], ids=["light", "dark"])
def test_text_and_edges_stand_out_in_both_themes(theme: int) -> None:
    css = (STATIC / "css" / "tokens.css").read_text()
    blocks = re.findall(r":root \{(.*?)\}", css, re.DOTALL)
    colours = dict(re.findall(r"--([\w-]+): (#\w{6});", blocks[theme]))
    for text in ("ink", "soft", "green"):
        for ground in ("paper", "sheet"):
            assert contrast(colours[text], colours[ground]) >= 4.5  # WCAG 2.2, 1.4.3
    assert contrast(colours["on-green"], colours["green"]) >= 4.5
    for ground in ("paper", "sheet"):
        assert contrast(colours["edge"], colours[ground]) >= 3  # WCAG 2.2, 1.4.11
