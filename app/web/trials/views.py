"""Writing a trial down, and the list of trials."""

import secrets

from flask import render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.language import N_, _
from app.ledger.queries.stock import stock_lines
from app.ledger.queries.trials import trials
from app.web import scope
from app.web.operations.cautions import caution
from app.web.posting import Written, write
from app.web.trials.forms import TrialForm

_TWO_HOURS = N_(
    "Soaked food is fresh food: eat it within 2 hours. A soak of over 2 hours belongs in the "
    "refrigerator."
)


def new() -> ResponseReturnValue:
    """Two soakings side by side."""
    form = TrialForm(request.form if request.method == "POST" else None)
    form.offer(stock_lines(scope.reading(), one_by_one=True))
    if request.method == "POST":
        if len(form.sides.filled()) < 2:
            form.trouble(_("A trial needs both bowls: two lots, or one lot soaked in two ways."))
        else:
            answer = write(form, lambda s: _carry_out(form, s), draft="trial")
            if answer is not None:
                return answer
    else:
        form.start(scope.today())
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    page = render_template(
        "trials/trial.html", form=form, cautions=[caution("REHY-2H", _TWO_HOURS)]
    )
    return page, 422 if request.method == "POST" else 200


def page() -> ResponseReturnValue:
    """Every trial, with what it showed."""
    return render_template("trials/trials.html", trials=trials(scope.reading()))


def _carry_out(form: TrialForm, session: Session) -> Written:
    form.carry_out(session, scope.now(), scope.person_id())
    return Written("/papers/trials", _("Trial written down."))
