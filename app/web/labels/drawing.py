"""Labels as vector PDF at true scale, with embedded fonts and reproducible bytes."""

import io
from collections.abc import Sequence
from typing import Any

from app.language import N_, _
from app.web.labels import typeface
from app.web.labels.layout import Bar, LabelPlan, LabelTooSmall, Placed, plan_label
from app.web.labels.qr import NoRoomForCode, QrPlan, qr_plan, runs
from app.web.labels.stock import LabelStock, Rectangle, rectangles
from app.web.labels.wording import IncompleteLabel, LabelText

__all__ = [
    "IncompleteLabel",
    "LabelPlan",
    "LabelText",
    "LabelTooSmall",
    "NoRoomForCode",
    "QrPlan",
    "draw_labels",
    "plan_label",
    "qr_plan",
]

POINTS_PER_MM = 72 / 25.4

# A printer inks every dot that a shape touches, and the file rounds its numbers: without this
# a module would now and then be a dot too wide. A thousandth of a millimetre is never seen.
INSET_MM = 0.001


def draw_labels(texts: Sequence[LabelText], stock: LabelStock, first: int = 1) -> bytes:
    """One PDF of all labels, beginning at label `first` of the first sheet.

    Raises IncompleteLabel, LabelTooSmall; ValueError for no labels or a `first` off the sheet.
    """
    if not texts:
        raise ValueError(N_("no labels to draw"))
    plans = [plan_label(text, stock) for text in texts]
    output = io.BytesIO()
    canvas = _canvas(output, stock, texts)
    page = 0
    for plan, place in zip(plans, rectangles(stock, len(plans), first), strict=True):
        if place.page != page:
            canvas.showPage()
            page = place.page
        _draw(canvas, plan, place, stock)
    canvas.save()
    return output.getvalue()


def _canvas(output: io.BytesIO, stock: LabelStock, texts: Sequence[LabelText]) -> Any:
    from reportlab.pdfgen.canvas import Canvas

    typeface.register()
    size = (stock.page_width_mm * POINTS_PER_MM, stock.page_height_mm * POINTS_PER_MM)
    # Named as the first font so that the file refers to no font it does not embed.
    canvas = Canvas(
        output, pagesize=size, invariant=1, initialFontName=typeface.REGULAR, pageCompression=1
    )
    codes = list(dict.fromkeys(text.code for text in texts))
    canvas.setTitle(
        _("Labels {codes}", codes=codes[0])
        + (_(" and {codes} more", codes=len(codes) - 1) if codes[1:] else "")
    )
    canvas.setAuthor(texts[0].household)
    return canvas


def _draw(canvas: Any, plan: LabelPlan, place: Rectangle, stock: LabelStock) -> None:
    canvas.saveState()
    canvas.translate(
        place.left_mm * POINTS_PER_MM, (stock.page_height_mm - place.top_mm) * POINTS_PER_MM
    )
    canvas.setFillGray(0)
    for bar in plan.bars:
        _draw_bar(canvas, bar)
    for line in plan.placed:
        _draw_line(canvas, line)
    canvas.restoreState()
    left_mm, top_mm = place.left_mm + plan.qr_left_mm, place.top_mm + plan.qr_top_mm
    _draw_qr(canvas, plan.qr, left_mm, top_mm, stock)


def _draw_bar(canvas: Any, bar: Bar) -> None:
    canvas.rect(
        bar.left_mm * POINTS_PER_MM,
        -(bar.top_mm + bar.height_mm) * POINTS_PER_MM,
        bar.width_mm * POINTS_PER_MM,
        bar.height_mm * POINTS_PER_MM,
        stroke=0,
        fill=1,
    )


def _draw_line(canvas: Any, line: Placed) -> None:
    canvas.setFillGray(1 if line.white else 0)
    canvas.setFont(line.weight, line.x_height_mm / typeface.x_height_em() * POINTS_PER_MM)
    canvas.drawString(line.left_mm * POINTS_PER_MM, -line.baseline_mm * POINTS_PER_MM, line.text)


def _draw_qr(canvas: Any, qr: QrPlan, left_mm: float, top_mm: float, stock: LabelStock) -> None:
    """One path of horizontal runs, begun on a printer dot of the page."""
    left = round(left_mm / qr.dot_mm) * qr.dot_mm + qr.quiet_mm
    top = round(top_mm / qr.dot_mm) * qr.dot_mm + qr.quiet_mm
    path = canvas.beginPath()
    for number, row in enumerate(qr.rows):
        bottom = stock.page_height_mm - top - (number + 1) * qr.module_mm
        for start, length in runs(row):
            path.rect(
                (left + start * qr.module_mm + INSET_MM) * POINTS_PER_MM,
                (bottom + INSET_MM) * POINTS_PER_MM,
                (length * qr.module_mm - 2 * INSET_MM) * POINTS_PER_MM,
                (qr.module_mm - 2 * INSET_MM) * POINTS_PER_MM,
            )
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)
