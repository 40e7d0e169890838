"""Whatever the words and the stock: a legible label without collisions, or a refusal."""

from functools import cache

from hypothesis import event, given, settings
from hypothesis import strategies as st
from PIL import ImageFont

from app.web.labels.drawing import LabelText, LabelTooSmall, plan_label
from app.web.labels.stock import LabelStock, rectangles
from app.web.labels.typeface import FONTS
from app.web.labels.wording import DROP_ORDER

words = st.text(alphabet="abcdefgåéx ,.-0123456789½°", max_size=60)
some_words = words.map(lambda text: f"m{text}")
texts = st.builds(
    LabelText,
    name=some_words,
    is_raw=st.booleans(),
    cook_target=some_words,
    cooked_words=some_words,
    code=st.just("M8J4-X"),
    package_number=st.just(12),
    package_count=st.just(48),
    harvest_words=words,
    packed_on=st.just("2026-10-31"),
    window_words=some_words,
    net_mass_mg=st.integers(min_value=0, max_value=20_000_000),
    storage_words=words,
    rehydrate_words=words,
    absorber_words=words,
    allergens_words=words,
    may_contain_words=words,
    url=st.just("http://stillroom.local:8080/lots/M8J4-X"),
    household=words,
    kept_frozen=st.booleans(),
    hold_words=words,
    marks_words=words,
)
stocks = st.builds(
    LabelStock,
    width_mm=st.floats(min_value=20, max_value=60) | st.floats(min_value=60, max_value=160),
    height_mm=st.floats(min_value=15, max_value=60) | st.floats(min_value=60, max_value=160),
    printer_dpi=st.sampled_from([203, 300, 600]),
)


@cache
def font(weight: str) -> ImageFont.FreeTypeFont:
    """The font measured by a second library, at 1000 units to the em."""
    return ImageFont.truetype(str(FONTS / f"{weight}.ttf"), 1000)


def ink(line):
    """Left, top, right, bottom in mm of what a line puts on paper."""
    x_height = -font(line.weight).getbbox("x", anchor="ls")[1]
    left, top, right, bottom = font(line.weight).getbbox(line.text, anchor="ls")
    mm = line.x_height_mm / x_height
    across, down = line.left_mm, line.baseline_mm
    return across + left * mm, down + top * mm, across + right * mm, down + bottom * mm


def apart(one, other, slack=0.05):
    return (
        one[2] <= other[0] + slack
        or other[2] <= one[0] + slack
        or one[3] <= other[1] + slack
        or other[3] <= one[1] + slack
    )


@settings(max_examples=120, deadline=None)
@given(texts, stocks)
def test_a_label_is_legible_and_nothing_on_it_collides_or_it_is_refused(text, stock):
    try:
        plan = plan_label(text, stock)
    except LabelTooSmall as refusal:
        needs, available = refusal.needs_mm, refusal.available_mm
    else:
        event("drawn")
        check(text, stock, plan)
        return
    event("refused")
    # Not refused without cause: what is needed exceeds the room, but for the gaps between lines.
    assert sum(needs.values()) + len(needs) * 0.5 > available


def check(text, stock, plan):
    assert min(line.x_height_mm for line in plan.placed) >= 1.2 - 1e-6
    raw = [line for line in plan.placed if line.text == "RAW" and line.white]
    assert bool(raw) == text.is_raw
    held = [line for line in plan.placed if line.text == "ON HOLD" and line.white]
    assert bool(held) == bool(text.hold_words.strip())
    assert all(line.x_height_mm >= 3.5 for line in [*raw, *held])
    assert set(plan.dropped) <= set(DROP_ORDER)
    boxes = [ink(line) for line in plan.placed]
    side = plan.qr.size_mm
    code = (plan.qr_left_mm, plan.qr_top_mm, plan.qr_left_mm + side, plan.qr_top_mm + side)
    for number, box in enumerate([*boxes, code]):
        assert box[0] >= 0
        assert box[1] >= 0
        assert box[2] <= stock.width_mm
        assert box[3] <= stock.height_mm
        assert all(apart(box, other) for other in boxes[:number])


@given(
    st.integers(min_value=1, max_value=4),
    st.integers(min_value=1, max_value=8),
    st.integers(min_value=0, max_value=70),
)
def test_places_on_a_sheet_lie_on_the_page_and_never_overlap(columns, rows, count):
    stock = LabelStock(
        40,
        30,
        columns,
        rows,
        page_width_mm=6 + columns * 42,
        page_height_mm=6 + rows * 31,
        margin_left_mm=3,
        margin_top_mm=3,
        pitch_x_mm=42,
        pitch_y_mm=31,
    )
    places = rectangles(stock, count, first=columns * rows)
    assert len({(p.page, p.left_mm, p.top_mm) for p in places}) == count
    assert all(p.left_mm + 40 <= stock.page_width_mm for p in places)
    assert all(p.top_mm + 30 <= stock.page_height_mm for p in places)
