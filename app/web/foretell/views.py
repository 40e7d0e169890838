"""The pages of predictions; nothing is written, so they are asked by GET."""

from flask import abort, render_template, request
from flask.typing import ResponseReturnValue

from app.science.errors import ScienceError
from app.web.foretell.answers import Answer, refusal
from app.web.foretell.drying import DryerForm, RehydrationForm
from app.web.foretell.form import ForetellForm
from app.web.foretell.heat import CoolingForm, FreezingForm
from app.web.foretell.links import ADDRESS
from app.web.foretell.package import HeatForm, OxygenForm

TOPICS: dict[str, type[ForetellForm]] = {
    "cooling": CoolingForm,
    "freezing": FreezingForm,
    "dryer": DryerForm,
    "heat": HeatForm,
    "oxygen": OxygenForm,
    "water": RehydrationForm,
}


def page() -> ResponseReturnValue:
    """What can be foretold."""
    items = [
        {"label": form.title, "href": f"{ADDRESS}/{word}", "words": form.words}
        for word, form in TOPICS.items()
    ]
    return render_template("foretell/topics.html", items=items)


def topic(question: str) -> ResponseReturnValue:
    """One question with its answer; what was not asked stands at its usual value."""
    if question not in TOPICS:
        abort(404)
    form = TOPICS[question].asked(request.args.to_dict())
    answer, trouble = _answered(form)
    status = 422 if answer is None and request.args else 200
    html = render_template("foretell/topic.html", form=form, answer=answer, trouble=trouble)
    return html, status


def _answered(form: ForetellForm) -> tuple[Answer | None, str]:
    """The answer, or why there is none."""
    if not form.validate():
        return None, ""
    try:
        return form.answer(), ""
    except ScienceError as error:
        return None, refusal(error)
