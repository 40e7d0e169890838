"""The page that reads a label's code through the camera, and what a code that was read means."""

from urllib.parse import urlencode

from flask import jsonify, render_template, request
from flask.typing import ResponseReturnValue

from app.language import _
from app.ledger.codes import CODE_LENGTH, code_of, heard_as_code
from app.ledger.queries.search import meant_by
from app.web import scope
from app.web.fields import as_text
from app.web.find.asked import asked, step_asked
from app.web.find.results import meant_link


def page() -> ResponseReturnValue:
    """The camera where the browser gives it, a photo everywhere else, and a field to type in."""
    return render_template("scan/scan.html", step=step_asked())


def read() -> ResponseReturnValue:
    """Where the text of a code leads: to a lot of this ledger, or nowhere, with the reason."""
    text = as_text(request.args.get("text"))
    step = step_asked()
    what = asked(scope.reading(), text, scope.today())
    if what.wanted.lot_id is not None:
        code = code_of(what.wanted.lot_id)
        href = f"/find?{urlencode({'q': code, 'for': step})}" if step else f"/lots/{code}"
        return jsonify(href=href, said="", meant=[])
    if what.code and not what.may_be_word and len(heard_as_code(what.code)) == CODE_LENGTH:
        meant = [meant_link(lot) for lot in meant_by(scope.reading(), what.code)]
        said = _("The code {code} is of no lot in this ledger.", code=what.code.upper())
        links = [{"href": link.href, "text": link.text, "words": link.words} for link in meant]
        return jsonify(href="", said=said, meant=links)
    said = _("That is the code of something else, no label of this ledger. It is not opened.")
    return jsonify(href="", said=said, meant=[])
