"""The page of a blend of several lots."""

import secrets
from typing import Any

from flask import render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.language import _
from app.ledger.codes import code_of, spoken
from app.ledger.errors import NotFound, Refused
from app.ledger.queries import places as places_query
from app.ledger.queries.stock import stock_lines
from app.web import scope
from app.web.mixing.forms import MixForm
from app.web.posting import Written, attach, write


def page() -> ResponseReturnValue:
    """Choose lots, work out how much of each, write what came of it."""
    session = scope.reading()
    form = MixForm(request.form if request.method == "POST" else None)
    places = places_query.places(session)
    form.offer(stock_lines(session, one_by_one=True), places)
    said = ""
    if request.method == "POST":
        if "work_out" in request.form:
            said = _work_out(form, session)
        else:
            answer = write(form, lambda s: _carry_out(form, s), draft="mix")
            if answer is not None:
                return answer
    else:
        form.start(places, scope.today())
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    status = 422 if request.method == "POST" and not said else 200
    return render_template("mixing/mix.html", form=form, said=said), status


def _work_out(form: MixForm, session: Session) -> str:
    fields: tuple[Any, ...] = (form.target, form.total_mg, form.seasonings)
    faults = [field for field in fields if not field.validate(form)]
    if faults:
        return ""
    if form.target.data is None:
        form.target.errors = [*form.target.errors, _("Say how much is wanted.")]
        return ""
    try:
        return form.work_out(session)
    except NotFound:
        form.trouble(_("Choose the lots anew: one of them is not known."))
    except Refused as refused:
        attach(form, refused.problems)
    return ""


def _carry_out(form: MixForm, session: Session) -> Written:
    posted = form.carry_out(session, scope.now(), scope.person_id())
    code = code_of(posted.lot_ids[0])
    words = _("Blended: {data} is {code}.", data=form.name.data, code=spoken(code))
    return Written(f"/lots/{code}", words, posted.operation_id)
