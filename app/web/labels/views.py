"""Choosing labels, the PDF, and writing down what was printed."""

import secrets
from collections.abc import Sequence

from flask import Response, render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session
from wtforms import HiddenField

from app.language import N_, _
from app.ledger.codes import code_of
from app.ledger.errors import NotFound
from app.ledger.operations.print_labels import Printed, labels_printed
from app.ledger.queries.labels import LabelRecord, label_records
from app.ledger.queries.lot import lot_by_code
from app.ledger.queries.stock import stock_lines
from app.ledger.stock import StockRef
from app.web import scope
from app.web.display import Action, lot_row
from app.web.fields import EntryForm
from app.web.labels.layout import LabelTooSmall
from app.web.labels.qr import NoRoomForCode
from app.web.labels.stock import InvalidStock, LabelStock
from app.web.labels.wording import IncompleteLabel, LabelText
from app.web.labels.words import label_text, window_words
from app.web.posting import Written, write

MOST_LABELS = 300
_STOCK_WORDS = {
    "width_mm": N_("Width"),
    "height_mm": N_("Height"),
    "columns": N_("Columns"),
    "rows": N_("Rows"),
    "page_width_mm": N_("Page width"),
    "page_height_mm": N_("Page height"),
    "margin_left_mm": N_("Margin left"),
    "margin_top_mm": N_("Margin top"),
    "pitch_x_mm": N_("Pitch x"),
    "pitch_y_mm": N_("Pitch y"),
    "printer_dpi": N_("Printer dots per inch"),
}
_WHOLE = ("columns", "rows", "printer_dpi")


class PrintedForm(EntryForm):
    """Which labels were printed."""

    refs = HiddenField()


def page() -> ResponseReturnValue:
    """Which packages of a lot, on which stock."""
    session = scope.reading()
    code = request.args.get("lot", "")
    if not code:
        rows = [
            lot_row(line, scope.today(), Action(_("Labels"), f"/labels?lot={line.code}"))
            for line in stock_lines(session)
            if not line.place_kind.is_dryer
        ]
        return render_template("labels/which.html", rows=rows)
    lot = lot_by_code(session, code)
    records = label_records(session, lot.id)
    wanted = set(request.args.getlist("ref")) or {str(r.line.ref) for r in records}
    stock, problem = _stock()
    form = PrintedForm()
    form.key.data = secrets.token_urlsafe(18)
    form.refs.data = " ".join(sorted(wanted))
    return render_template(
        "labels/labels.html",
        lot=lot,
        code=code_of(lot.id),
        records=records,
        wanted=wanted,
        stock=stock,
        stock_words=_STOCK_WORDS,
        problem=problem,
        form=form,
        texts={str(r.line.ref): window_words(r.line.window) for r in records},
        address=request.host_url,
        query=request.query_string.decode(),
    )


def pdf() -> ResponseReturnValue:
    """The labels as vector PDF, to true scale."""
    from app.web.labels.drawing import draw_labels

    stock, problem = _stock()
    if stock is None:
        return render_template("problem.html", heading=_("Labels"), words=problem), 422
    texts = _texts(scope.reading())
    if not texts:
        return render_template(
            "problem.html",
            heading=_("Labels"),
            words=_("No label was chosen. Go back and tick some."),
        ), 422
    if _first() > stock.per_page:
        words = _(
            "A sheet of this stock has {per_page} labels; there is no no. {first}.",
            per_page=stock.per_page,
            first=_first(),
        )
        return render_template("problem.html", heading=_("Labels"), words=words), 422
    try:
        drawn = draw_labels(texts, stock, _first())
    except (LabelTooSmall, NoRoomForCode, IncompleteLabel):
        words = _(
            "These labels are too small for what must stand on them (name, RAW, code, allergens, "
            "dates, net weight) in letters that can be read. Use larger stock: 100 × 62 mm fits."
        )
        return render_template("problem.html", heading=_("Labels"), words=words), 422
    headers = {"Content-Disposition": 'inline; filename="labels.pdf"'}
    return Response(drawn, mimetype="application/pdf", headers=headers)


def printed() -> ResponseReturnValue:
    """Write down what stands on the labels that were printed."""
    form = PrintedForm(request.form)
    answer = write(form, lambda s: _written_down(s, (form.refs.data or "").split()))
    if answer is not None:
        return answer
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    words = " ".join(map(str, form.form_errors)) or _("Open the page again.")
    typed = [(field.name, field._value()) for field in form]  # with a token of now
    return render_template("problem.html", heading=_("Labels"), words=words, typed=typed), 422


def _written_down(session: Session, refs: Sequence[str]) -> Written:
    records = _records(session, refs)
    labels_printed(
        session,
        [Printed(record.line.ref, window_words(record.line.window)) for record in records],
        on=scope.today(),
    )
    code = records[0].line.code if records else ""
    return Written(
        f"/lots/{code}" if code else "/lots",
        _("{records} labels written down.", records=len(records)),
    )


def _texts(session: Session) -> list[LabelText]:
    household = scope.household()
    name = household.name if household else ""
    return [
        label_text(record, request.host_url, name, scope.units())
        for record in _records(session, request.args.getlist("ref"))
    ]


def _records(session: Session, refs: Sequence[str]) -> list[LabelRecord]:
    """The records of the rows of stock named, in their order; unknown ones are left out."""
    wanted: list[StockRef] = []
    for text in refs[:MOST_LABELS]:
        try:
            wanted.append(StockRef.parse(text))
        except NotFound:
            continue
    known = {
        record.line.ref: record
        for lot_id in {ref.lot_id for ref in wanted}
        if stock_lines(session, lot_id=lot_id)
        for record in label_records(session, lot_id)
    }
    return [known[ref] for ref in wanted if ref in known]


def _first() -> int:
    text = request.args.get("first", "1")
    is_number = text.isascii() and text.isdigit() and len(text) <= 4
    return max(1, int(text)) if is_number else 1


def _stock() -> tuple[LabelStock | None, str]:
    """The label stock asked for, else the household's own; or what is wrong with it."""
    household = scope.household()
    values: dict[str, float] = {"columns": 1, "rows": 1, "printer_dpi": 203}
    if household is not None:
        values.update(
            width_mm=household.label_width_mm,
            height_mm=household.label_height_mm,
            printer_dpi=household.label_printer_dpi,
        )
    for name in _STOCK_WORDS:
        text = request.args.get(name, "").strip().replace(",", ".")
        if not text:
            continue
        try:
            values[name] = int(text) if name in _WHOLE else float(text)
        except ValueError:
            return None, _(
                "“{text}” is no number for {replace}.",
                text=text[:20],
                replace=name.replace("_", " "),
            )
    try:
        return LabelStock(**values), ""  # type: ignore[arg-type]
    except InvalidStock as error:
        limits = "; ".join(
            _(
                "{replace} must be {low:g} to {high:g}",
                replace=p.field.replace("_", " "),
                low=p.low,
                high=p.high,
            )
            for p in error.problems
        )
        return None, _("Labels of these dimensions cannot be: {limits}.", limits=limits)
