"""Enter a full freezer quickly, and the list of what was taken in with its new codes."""

import re
import secrets

from flask import abort, render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.language import _, ngettext
from app.ledger.holds import holds_over
from app.ledger.operations.first_day import first_day, take_back
from app.ledger.queries.first_day import lots_of_day
from app.ledger.queries.places import places
from app.web import scope
from app.web.fields import EntryForm
from app.web.first_day.form import FirstDayForm
from app.web.first_day.words import since_words
from app.web.posting import Written, write
from app.web.table_of_foods import food_choices

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
    count = ngettext("{number} lot", "{number} lots", len(posted))
    only = first if len(posted) == 1 else None  # several are taken back on the page that lists them
    return Written(f"/write/first-day/{first}-{last}", _("Taken in: {count}.", count=count), only)


def taken_in(span: str) -> ResponseReturnValue:
    """The lots of one sending, with the codes to write on the packets; all go back in one tap."""
    numbers = _SPAN.fullmatch(span)
    if numbers is None:
        abort(404)
    lots = lots_of_day(scope.reading(), int(numbers[1]), int(numbers[2]))
    if not lots:
        abort(404)
    form = EntryForm(request.form if request.method == "POST" else None)
    if request.method == "POST":
        numbers_of_all = [lot.operation_id for lot in lots]
        answer = write(form, lambda s: _taken_back(s, numbers_of_all))
        if answer is not None:
            return answer
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    body = render_template(
        "first_day/taken_in.html",
        form=form,
        rows=[(lot, since_words(lot.kept_since, lot.kept_until)) for lot in lots],
        kept=[lot for lot in lots if lot.is_kept],
        held=holds_over(scope.reading(), [lot.lot_id for lot in lots]),
        total_mg=sum(lot.mass_mg for lot in lots if lot.is_kept),
    )
    return body, 422 if request.method == "POST" else 200


def _taken_back(session: Session, numbers: list[int]) -> Written:
    count = take_back(session, numbers, scope.today(), at=scope.now(), by=scope.person_id())
    words = _("Taken back: {count} lots.", count=count) if count > 1 else _("Taken back: 1 lot.")
    return Written("/write/first-day", words)
