"""Enter a full freezer quickly, and the list of what was taken in with its new codes."""

import re
import secrets

from flask import abort, render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.ledger.operations.first_day import first_day
from app.ledger.queries.first_day import lots_of_day
from app.ledger.queries.places import places
from app.web import scope
from app.web.first_day.form import FirstDayForm
from app.web.first_day.words import since_words
from app.web.operations.intake_form import food_choices
from app.web.posting import Written, write

_DRAFT = "first-day"
_SPAN = re.compile(r"([0-9]{1,18})-([0-9]{1,18})")


def page() -> ResponseReturnValue:
    """Rows of what is there already."""
    form = FirstDayForm(request.form if request.method == "POST" else None)
    known = places(scope.reading())
    form.offer(known)
    if request.method == "POST":
        answer = write(form, lambda s: _taken_in(form, s), draft=_DRAFT)
        if answer is not None:
            return answer
    else:
        form.start(known)
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    body = render_template(
        "first_day/rows.html",
        form=form,
        draft=_DRAFT,
        foods=food_choices(),
    )
    return body, 422 if request.method == "POST" else 200


def _taken_in(form: FirstDayForm, session: Session) -> Written:
    posted = first_day(session, form.request(), at=scope.now(), by=scope.person_id())
    first, last = posted[0].operation_id, posted[-1].operation_id
    count = f"{len(posted)} lots" if len(posted) > 1 else "1 lot"
    only = first if len(posted) == 1 else None  # several are taken back one by one
    return Written(f"/write/first-day/{first}-{last}", f"Taken in: {count}.", only)


def taken_in(span: str) -> ResponseReturnValue:
    """The lots of one sending, with the codes to write on the packets."""
    numbers = _SPAN.fullmatch(span)
    if numbers is None:
        abort(404)
    lots = lots_of_day(scope.reading(), int(numbers[1]), int(numbers[2]))
    if not lots:
        abort(404)
    rows = [(lot, since_words(lot.harvest, lot.kept_since)) for lot in lots]
    return render_template(
        "first_day/taken_in.html", rows=rows, total_mg=sum(lot.mass_mg for lot in lots)
    )
