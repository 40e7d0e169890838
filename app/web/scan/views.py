"""The page that reads a label's code through the camera, and what a code that was read means."""

from flask import jsonify, render_template, request
from flask.typing import ResponseReturnValue

from app.language import _
from app.ledger.codes import CODE_LENGTH, code_of, heard_as_code
from app.ledger.queries.search import meant_by
from app.web import scope
from app.web.fields import as_text
from app.web.find.asked import asked
from app.web.find.results import meant_link


def page() -> ResponseReturnValue:
    """The camera where the browser gives it, a photo everywhere else, and a field to type in."""
    return render_template("scan/scan.html")


def read() -> ResponseReturnValue:
    """Where the text of a code leads: to a lot of this ledger, or nowhere, with the reason."""
    text = as_text(request.args.get("text"))
    what = asked(scope.reading(), text, scope.today())
    if what.wanted.lot_id is not None:
        return jsonify(href=f"/lots/{code_of(what.wanted.lot_id)}", said="", meant=[])
    if what.code and not what.may_be_word and len(heard_as_code(what.code)) == CODE_LENGTH:
        meant = [meant_link(lot) for lot in meant_by(scope.reading(), what.code)]
        said = _("The code {code} is of no lot in this ledger.", code=what.code.upper())
        links = [{"href": link.href, "text": link.text, "words": link.words} for link in meant]
        return jsonify(href="", said=said, meant=links)
    said = _("That is the code of something else, no label of this ledger. It is not opened.")
    return jsonify(href="", said=said, meant=[])
