"""Where each word of a label stands: shrink, wrap, then leave out the least important.

Distances in mm from the label's left and top edge; type sizes are x-heights in mm.
"""

from dataclasses import dataclass

from app.language import N_, _
from app.web.labels import typeface
from app.web.labels.qr import NoRoomForCode, QrPlan, qr_plan
from app.web.labels.stock import LabelStock
from app.web.labels.typeface import BOLD, REGULAR
from app.web.labels.wording import DROP_ORDER, LabelText, Paragraph, paragraphs

# Regulation (EU) No 1169/2011 on food information: x-height of 1.2 mm or more (read in
# the European Commission's page about it). Followed as a courtesy: a household's label is free.
MIN_X_HEIGHT_MM = 1.2
# Our judgement: 20 minutes of arc at an arm's length of 600 mm.
RAW_X_HEIGHT_MM = 3.5

EDGE_MM = 1.0  # a roll may feed a little off; the quiet zone keeps this clear of the cut
PAD_MM = 3.0
GAP_MM = 2.0
RULE_MM = 0.3
BANNERS = {"raw": N_("RAW"), "hold": N_("ON HOLD")}
HEADING_SHRINKS = (1.0, 0.93, 0.86, 0.8)
QR_SHARE = 0.42  # of the label's short side, if that is enough for the code


class LabelTooSmall(ValueError):
    """Not even what must be printed fits at the smallest legible size.

    Attributes: needs_mm, the height that each field takes, or the room that "qr", "raw", "code" or
    "package_number" alone lacks; available_mm.
    """

    def __init__(self, needs_mm: dict[str, float], available_mm: float) -> None:
        self.needs_mm, self.available_mm = needs_mm, available_mm
        super().__init__(
            _(
                "{needs_mm} do not fit into {available_mm:.1f} mm",
                needs_mm=needs_mm,
                available_mm=available_mm,
            )
        )


@dataclass(frozen=True, slots=True)
class Placed:
    """A line of text with its baseline; white text stands on a bar."""

    field: str
    text: str
    left_mm: float
    baseline_mm: float
    x_height_mm: float
    weight: str
    white: bool = False


@dataclass(frozen=True, slots=True)
class Bar:
    """A black rectangle: a rule, or the ground of RAW."""

    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class LabelPlan:
    """One label ready to draw, and which fields had to be left out."""

    placed: tuple[Placed, ...]
    bars: tuple[Bar, ...]
    qr: QrPlan
    qr_left_mm: float
    qr_top_mm: float
    dropped: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Size:
    """x-height of the body, and how far headings rise above it: 1 as designed, 0 not at all."""

    body_mm: float
    emphasis: float = 1.0

    def of(self, ratio: float) -> float:
        """x-height of a paragraph whose design size is `ratio` bodies."""
        return self.body_mm * (1 + (ratio - 1) * self.emphasis)

    @property
    def gap_mm(self) -> float:
        """Smallest distance between paragraphs."""
        return 0.4 * self.body_mm


# Largest first: the body shrinks to its floor, then the headings come half way down to it. All
# the way only when nothing more can be left out, since a name must be found from afar.
SIZES = (
    *(_Size(step * 0.05) for step in range(40, 24, -1)),
    *(_Size(MIN_X_HEIGHT_MM, emphasis) for emphasis in (1.0, 0.75, 0.5)),
)
LAST_SIZES = (*SIZES, _Size(MIN_X_HEIGHT_MM, 0.25), _Size(MIN_X_HEIGHT_MM, 0.0))


@dataclass(frozen=True, slots=True)
class _Frame:
    """The column for the words, the block for the code, the square of the QR."""

    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float
    code_left_mm: float
    code_top_mm: float
    code_width_mm: float
    qr: QrPlan
    qr_left_mm: float
    qr_top_mm: float


@dataclass(frozen=True, slots=True)
class _Set:
    """A paragraph set in lines: what to draw relative to its top, and its height."""

    field: str
    placed: tuple[Placed, ...]
    bars: tuple[Bar, ...]
    height_mm: float


def plan_label(text: LabelText, stock: LabelStock) -> LabelPlan:
    """Fit one label's words and code onto its stock at the largest size that holds them.

    Raises IncompleteLabel, LabelTooSmall.
    """
    everything = paragraphs(text)
    frame = _frame(text, stock)
    for count in range(len(DROP_ORDER) + 1):
        left_out = DROP_ORDER[:count]
        kept = [paragraph for paragraph in everything if paragraph.field not in left_out]
        for size in SIZES if count < len(DROP_ORDER) else LAST_SIZES:
            sets = [_set(paragraph, size, frame.width_mm) for paragraph in kept]
            if _height(sets, size) <= frame.height_mm:
                dropped = tuple(p.field for p in everything if p not in kept)
                return _assemble(text, frame, sets, size, dropped)
    raise LabelTooSmall({each.field: each.height_mm for each in sets}, frame.height_mm)


def _frame(text: LabelText, stock: LabelStock) -> _Frame:
    width, height = stock.width_mm, stock.height_mm
    qr = _qr(text, stock)
    qr_left = _on_dot(width - EDGE_MM - qr.size_mm, qr)
    qr_top = _on_dot(height - EDGE_MM - qr.size_mm, qr)
    if width >= 1.2 * height:
        column = qr_left - GAP_MM - PAD_MM
        code = (qr_left, PAD_MM, qr.size_mm - qr.quiet_mm)
        return _Frame(PAD_MM, PAD_MM, column, height - 2 * PAD_MM, *code, qr, qr_left, qr_top)
    code = (PAD_MM, qr_top + qr.quiet_mm, qr_left - PAD_MM)
    column = width - 2 * PAD_MM
    return _Frame(PAD_MM, PAD_MM, column, qr_top - PAD_MM, *code, qr, qr_left, qr_top)


def _qr(text: LabelText, stock: LabelStock) -> QrPlan:
    """The code at its share of the short side, or as large as it must be up to half of it."""
    short = min(stock.width_mm, stock.height_mm)
    level = "Q" if text.kept_frozen else "M"
    try:
        return qr_plan(text.url, stock.printer_dpi, QR_SHARE * short, level)
    except NoRoomForCode as problem:
        room_mm = min(short - 2 * EDGE_MM, max(stock.width_mm, stock.height_mm) / 2)
        if problem.needs_mm > room_mm:
            raise LabelTooSmall({"qr": problem.needs_mm}, room_mm) from problem
        return qr_plan(text.url, stock.printer_dpi, problem.needs_mm, level)


def _on_dot(position_mm: float, qr: QrPlan) -> float:
    """Modules of whole dots must also begin on a dot."""
    return int(position_mm / qr.dot_mm) * qr.dot_mm


def _set(paragraph: Paragraph, size: _Size, width_mm: float) -> _Set:
    """Break one paragraph into lines at a body size."""
    if paragraph.field in BANNERS:
        return _set_banner(paragraph, size, width_mm)
    # A heading a little too wide for its lines is better smaller than with one word left over.
    design_mm = size.of(paragraph.ratio)
    heights = dict.fromkeys(max(size.body_mm, design_mm * shrink) for shrink in HEADING_SHRINKS)
    tries = [(height, _lines(paragraph, height, width_mm, 0.0)) for height in heights]
    x_height, placed = min(tries, key=lambda each: len(each[1]))
    height = len(placed) * _line_mm(x_height)
    if paragraph.field == "cooked_words":
        return _ruled(paragraph, placed, (), height, width_mm)
    return _Set(paragraph.field, placed, (), height)


def _set_banner(paragraph: Paragraph, size: _Size, width_mm: float) -> _Set:
    """RAW or ON HOLD in white on black, its words beside it, or below where that is narrow."""
    field, word = paragraph.field, _(BANNERS[paragraph.field])
    x_height = max(RAW_X_HEIGHT_MM, size.of(2.0))
    em = x_height / typeface.x_height_em()
    cap, side = em * typeface.cap_height_em(), 0.25 * em
    ground = Bar(0.0, 0.3, typeface.width_em(word, BOLD) * em + 2 * side, cap + 2 * side)
    if ground.width_mm > width_mm:
        raise LabelTooSmall({field: ground.width_mm}, width_mm)
    banner = Placed(field, word, side, ground.top_mm + side + cap, x_height, BOLD, white=True)
    target_mm = size.of(paragraph.ratio)
    left = ground.width_mm + GAP_MM
    beside = _lines(paragraph, target_mm, width_mm - left, left)
    bottom = ground.top_mm + ground.height_mm
    if len(beside) <= 2 and width_mm - left >= 15:
        tall = len(beside) * _line_mm(target_mm)
        down = max(0.0, (bottom + ground.top_mm - tall) / 2)
        placed = tuple(_moved(line, 0.0, down) for line in beside)
        return _ruled(paragraph, (banner, *placed), (ground,), max(bottom, down + tall), width_mm)
    below = tuple(_moved(p, 0.0, bottom + 0.6) for p in _lines(paragraph, target_mm, width_mm, 0.0))
    height = bottom + 0.6 + len(below) * _line_mm(target_mm)
    return _ruled(paragraph, (banner, *below), (ground,), height, width_mm)


def _ruled(
    paragraph: Paragraph,
    placed: tuple[Placed, ...],
    bars: tuple[Bar, ...],
    height_mm: float,
    width_mm: float,
) -> _Set:
    """A set closed by a rule below it."""
    rule = Bar(0.0, height_mm + 0.8, width_mm, RULE_MM)
    return _Set(paragraph.field, placed, (*bars, rule), height_mm + 1.6 + RULE_MM)


def _lines(
    paragraph: Paragraph, x_height_mm: float, width_mm: float, left_mm: float
) -> tuple[Placed, ...]:
    em = x_height_mm / typeface.x_height_em()
    lines = typeface.wrap(paragraph.text, paragraph.weight, max(width_mm / em, 1.0))
    return tuple(
        Placed(
            paragraph.field,
            line,
            left_mm,
            (number * typeface.LINE_EM + typeface.BASELINE_EM) * em,
            x_height_mm,
            paragraph.weight,
        )
        for number, line in enumerate(lines)
    )


def _line_mm(x_height_mm: float) -> float:
    return x_height_mm / typeface.x_height_em() * typeface.LINE_EM


def _moved(line: Placed, right_mm: float, down_mm: float) -> Placed:
    return Placed(
        line.field,
        line.text,
        line.left_mm + right_mm,
        line.baseline_mm + down_mm,
        line.x_height_mm,
        line.weight,
        line.white,
    )


def _height(sets: list[_Set], size: _Size) -> float:
    return sum(each.height_mm for each in sets) + (len(sets) - 1) * size.gap_mm


def _assemble(
    text: LabelText, frame: _Frame, sets: list[_Set], size: _Size, dropped: tuple[str, ...]
) -> LabelPlan:
    """Stack the paragraphs with what room is left shared out between them, and add the code."""
    spare = (frame.height_mm - _height(sets, size)) / max(1, len(sets) - 1)
    gap = size.gap_mm + min(spare, 1.5 * size.gap_mm)
    placed: list[Placed] = list(_code(text, frame, frame.top_mm + sets[0].placed[0].baseline_mm))
    bars: list[Bar] = []
    top = frame.top_mm
    for each in sets:
        placed += [_moved(line, frame.left_mm, top) for line in each.placed]
        bars += [
            Bar(bar.left_mm + frame.left_mm, bar.top_mm + top, bar.width_mm, bar.height_mm)
            for bar in each.bars
        ]
        top += each.height_mm + gap
    place = (frame.qr, frame.qr_left_mm, frame.qr_top_mm)
    return LabelPlan(tuple(placed), tuple(bars), *place, dropped)


def _code(text: LabelText, frame: _Frame, name_baseline_mm: float) -> tuple[Placed, Placed]:
    """The lot code as large as its block allows, on the name's line if that is beside it."""
    code = typeface.printable(text.code)
    short = _("{number} of {count}", number=text.package_number, count=text.package_count)
    count = _("package {numbers}", numbers=short)
    if _least_mm(count, REGULAR) > frame.code_width_mm:
        count = short
    code_mm = _fitting("code", code, BOLD, 3.2, frame)
    count_mm = _fitting("package_number", count, REGULAR, 1.6, frame)
    cap_mm = code_mm / typeface.x_height_em() * typeface.cap_height_em()
    count_down = _line_mm(count_mm) + 0.8
    baseline = frame.code_top_mm + cap_mm
    if frame.code_top_mm == frame.top_mm:  # beside the name, above the QR
        lowest = frame.qr_top_mm - count_down - 0.4 * count_mm
        baseline = min(name_baseline_mm, lowest)
        if baseline - cap_mm < EDGE_MM:
            needs_mm = EDGE_MM + cap_mm + frame.qr_top_mm - lowest
            raise LabelTooSmall({"code": needs_mm}, frame.qr_top_mm)
    below = baseline + count_down
    return (
        Placed("code", code, frame.code_left_mm, baseline, code_mm, BOLD),
        Placed("package_number", count, frame.code_left_mm, below, count_mm, REGULAR),
    )


def _fitting(field: str, words: str, weight: str, largest_mm: float, frame: _Frame) -> float:
    """The x-height at which a single line fills the code's block, up to the largest."""
    least_mm = _least_mm(words, weight)
    if least_mm > frame.code_width_mm:
        raise LabelTooSmall({field: least_mm}, frame.code_width_mm)
    return min(largest_mm, MIN_X_HEIGHT_MM * frame.code_width_mm / least_mm)


def _least_mm(words: str, weight: str) -> float:
    """Width of a line at the smallest legible size."""
    return typeface.width_em(words, weight) * MIN_X_HEIGHT_MM / typeface.x_height_em()
