"""The whole way of a lot or a package; the sources, and everything that holds food of one."""

from flask import abort, redirect, render_template, request
from flask.typing import ResponseReturnValue

from app.language import _
from app.ledger.queries.sources import SourceLine, recall, sources
from app.ledger.queries.whole_way import WholeWay, whole_way
from app.ledger.words import LossKind, SourceKind
from app.web import scope
from app.web.holds.words import why_words
from app.web.trace.drawing import FlowDrawing, flow_drawing
from app.web.trace.words import (
    SOURCE_KINDS,
    balance_words,
    beginning_words,
    beginnings,
    end_words,
    ends,
    lying,
    source_words,
)

MOST_ROWS = 300  # of a table, unless all are asked for
MOST_ID = 2**63 - 1  # the data file counts no further


def page(code: str) -> ResponseReturnValue:
    """Where a lot, or one package of it, came from and what became of it."""
    number = _number()
    way = whole_way(scope.reading(), code, number)
    if code != way.code:
        query = f"?package={number}" if number is not None else ""
        return redirect(f"/lots/{way.code}/trace{query}", 303)
    return render_template(
        "trace/trace.html",
        way=way,
        picture=_picture(way),
        came=[(b, beginning_words(b)) for b in way.beginnings],
        became=[(e, end_words(e)) for e in way.ends],
        balance=balance_words(way.sums, way.mass_mg),
        held=[(hold, why_words(hold.cause, hold.words)) for hold in way.holds],
        most=_most(),
    )


def sources_page() -> ResponseReturnValue:
    """Every animal, plot, shop and neighbour, with what is left of their food."""
    groups: dict[SourceKind, list[SourceLine]] = {kind: [] for kind in SOURCE_KINDS}
    for line in sources(scope.reading()):
        groups[line.kind].append(line)
    return render_template(
        "trace/sources.html",
        groups=[(_(SOURCE_KINDS[kind]), lines) for kind, lines in groups.items() if lines],
        most=_most(),
    )


def source(source_id: int) -> ResponseReturnValue:
    """Everything that holds any food of one source: the list for a recall."""
    if source_id > MOST_ID:
        abort(404)
    found = recall(scope.reading(), source_id)
    given = [end for end in found.ends if end.kind is LossKind.GIVEN]
    gone = [end for end in found.ends if end.kind not in (None, LossKind.GIVEN)]
    line = found.source
    return render_template(
        "trace/source.html",
        found=found,
        name=source_words(line.name, line.tag, line.from_whom),
        lying=lying(found.ends),
        given=given,
        gone=[(end, end_words(end)) for end in gone],
        balance=balance_words(found.sums, sum(found.sums.values())),
        today=scope.today(),
        most=_most(),
    )


def _picture(way: WholeWay) -> FlowDrawing | None:
    if not way.mass_mg:
        return None
    name = _("{name}, no. {number}", name=way.name, number=way.number) if way.number else way.name
    return flow_drawing(name, way.mass_mg, beginnings(way.beginnings), ends(way.ends))


def _number() -> int | None:
    """The number of a package in the address; anything else is no package."""
    text = request.args.get("package")
    if text is None:
        return None
    if not text.isascii() or not text.isdigit() or len(text) > 9:
        abort(404)
    return int(text)


def _most() -> int | None:
    return None if "all" in request.args else MOST_ROWS
