"""The page that finds anything, and the same in short for while somebody types."""

from dataclasses import replace

from flask import jsonify, redirect, render_template, request
from flask.typing import ResponseReturnValue

from app.language import _
from app.ledger.codes import heard_as_code
from app.ledger.queries.next_steps import next_steps
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.words import OperationKind
from app.web import paging, scope
from app.web.display import VERBS, Action, LotRow, lot_row, step_href
from app.web.fields import as_text
from app.web.find.asked import Asked, asked, step_asked
from app.web.find.results import Found, Link, ahead, found, meant_link


def page() -> ResponseReturnValue:
    """What answers to `q`, in groups; a whole code leads straight to its lot."""
    text = as_text(request.args.get("q"))
    if not text:
        return render_template(
            "find/find.html", text="", found=None, rows=[], part=None, step=step_asked()
        )
    what = found(scope.reading(), _asked(text))
    if what.opens:
        return redirect(what.opens, 303)
    part = paging.asked("part", len(what.lines))
    rows = [_row(line, what.asked.step) for line in what.lines[part.first : part.last]]
    return render_template(
        "find/find.html",
        text=text,
        step=what.asked.step,
        found=what,
        rows=rows,
        part=part,
        proposal=proposal(what),
        meant=[_row(line, what.asked.step) for line in _lines(what)],
        meant_gone=[meant_link(lot) for lot in what.meant if not lot.is_on_hand],
    )


def in_short() -> ResponseReturnValue:
    """The first of each kind, as JSON, for the list below the field."""
    text = as_text(request.args.get("q"))
    if not text:
        return jsonify(said="", groups=[])
    what = ahead(scope.reading(), _asked(text))
    groups = [{"title": g.title, "links": list(map(_told, g.links))} for g in what.groups]
    if what.meant:
        links = [_told(meant_link(lot)) for lot in what.meant]
        groups.insert(0, {"title": proposal(what), "links": links})
    return jsonify(said=" ".join(what.said), groups=groups)


def proposal(what: Found) -> str:
    """What is said where a code is none: a question, never an answer."""
    asked = what.asked
    if asked.also is not None:
        return _("{code} is also the code of a lot.", code=_grouped(asked.text))
    if not asked.code or asked.wanted.lot_id is not None:
        return ""
    if not what.meant:
        return "" if asked.may_be_word else _("There is no lot {code}.", code=_grouped(asked.code))
    if len(what.meant) == 1:
        return _(
            "There is no lot {code}. Did you mean {other}?",
            code=_grouped(asked.code),
            other=meant_link(what.meant[0]).text,
        )
    return _("There is no lot {code}. Did you mean one of these?", code=_grouped(asked.code))


def _grouped(code: str) -> str:
    """A code, or what is nearly one, in pairs: 7K-3M-C."""
    heard = heard_as_code(code)
    return "-".join(heard[at : at + 2] for at in range(0, len(heard), 2))


def _lines(what: Found) -> list[StockLine]:
    """What is on hand of the lots that are proposed, the likeliest first."""
    return [line for lot in what.meant for line in stock_lines(scope.reading(), lot_id=lot.id)]


def _asked(text: str) -> Asked:
    return replace(asked(scope.reading(), text, scope.today()), step=step_asked())


def _row(line: StockLine, step: OperationKind | None) -> LotRow:
    """A line with the verb it needs next, or with that of the entry it is looked for."""
    if step is None or step not in next_steps(line):
        return lot_row(line, scope.today())
    return lot_row(line, scope.today(), Action(_(VERBS[step]), step_href(step, line)))


def _told(link: Link) -> dict[str, str]:
    return {"href": link.href, "text": link.text, "words": link.words}
