"""Every entry as it was written, and taking it back by an entry that reverses it."""

import re
import secrets

from flask import abort, flash, jsonify, redirect, render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session
from wtforms import HiddenField, TextAreaField
from wtforms.validators import DataRequired, Length

from app.language import N_, _, ngettext
from app.ledger.errors import Refused
from app.ledger.operations.correct import (
    Correct,
    CorrectAll,
    all_resting_on,
    correct,
    correct_with_dependents,
)
from app.ledger.queries.history import (
    OperationLine,
    newest_operation,
    operation,
    operations,
)
from app.ledger.words import OperationKind
from app.web import scope
from app.web.csrf import is_ours
from app.web.display import kind_words, mass
from app.web.fields import EntryForm
from app.web.messages import day, sentence
from app.web.posting import Written, earlier_by, write

PAGE_LENGTH = 20
MOST_ROWS = 2**63 - 1  # the data file counts no further
_SETTLED = N_("This is a correction. It stays; write the entry anew instead.")


class CorrectForm(EntryForm):
    """Why an older entry is taken back, and what was shown to rest on it."""

    resting = HiddenField()

    reason = TextAreaField(
        N_("Why is it taken back"),
        validators=[DataRequired(N_("Give a reason; it stays in the ledger.")), Length(max=500)],
        description=N_("Weighed the wrong bowl, entered twice…"),
    )

    @property
    def shown(self) -> tuple[int, ...]:
        """The entries that were listed, newest first."""
        return tuple(int(n) for n in re.findall(r"[0-9]{1,18}", self.resting.data or ""))


def is_written(key: str) -> ResponseReturnValue:
    """Whether the form of this key is in the ledger; js/draft.js asks before a draft comes back."""
    return jsonify(written=earlier_by(key) is not None)


def page() -> ResponseReturnValue:
    """Entries, newest first."""
    session = scope.reading()
    before = min(request.args.get("before", 0, type=int), MOST_ROWS) or None
    found = operations(session, limit=PAGE_LENGTH + 1, before=before)
    return render_template(
        "history/history.html",
        operations=found[:PAGE_LENGTH],
        older=found[PAGE_LENGTH - 1].id if len(found) > PAGE_LENGTH else None,
        before=before,
        newest=newest_operation(session),
    )


def one(operation_id: int) -> ResponseReturnValue:
    """One entry with every line."""
    session = scope.reading()
    return render_template(
        "history/operation.html",
        op=operation(session, operation_id),
        newest=newest_operation(session),
    )


def undo(operation_id: int) -> ResponseReturnValue:
    """Take the newest entry back at one tap; an older one is asked about first."""
    if not is_ours(request.form):
        abort(400)
    if newest_operation(scope.reading()) != operation_id:
        known = operation(scope.reading(), operation_id)
        if known.reversed_by is None and known.kind is not OperationKind.CORRECT:
            return redirect(f"/operations/{operation_id}/correct", 303)
    try:
        written = scope.book().write(lambda session: _take_back(session, operation_id, ""))
    except Refused as refused:
        flash(" ".join(sentence(problem) for problem in refused.problems))
        return redirect(f"/operations/{operation_id}", 303)
    flash(written.words)
    return redirect(written.location, 303)


def correct_page(operation_id: int) -> ResponseReturnValue:
    """Take an older entry back, with a reason, after seeing what rests on it."""
    session = scope.reading()
    op = operation(session, operation_id)
    form = CorrectForm(request.form if request.method == "POST" else None)
    draft = f"correct-{operation_id}"
    if request.method == "POST":
        answer = write(form, lambda s: _take_all_back(s, operation_id, form), draft=draft)
        if answer is not None:
            return answer
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    resting = [operation(session, number) for number in all_resting_on(session, operation_id)]
    form.resting.data = " ".join(str(later.id) for later in resting)
    page = render_template(
        "history/correct.html",
        op=op,
        form=form,
        draft=draft,
        resting=resting,
        settled=_settled(op),
        button=_button(len(resting)),
    )
    return page, 422 if request.method == "POST" else 200


def _settled(op: OperationLine) -> str:
    """Why this entry cannot be taken back at all, if so."""
    if op.kind is OperationKind.CORRECT:
        return _SETTLED
    return (
        _("This entry was taken back by no. {reversed_by}.", reversed_by=op.reversed_by)
        if op.reversed_by
        else ""
    )


def _button(resting: int) -> str:
    """What the button does, in full."""
    if not resting:
        return _("Take it back")
    return ngettext(
        "Take that one back, then this one", "Take these {number} back, then this one", resting
    )


def _take_all_back(transaction: Session, operation_id: int, form: CorrectForm) -> Written:
    op = operation(transaction, operation_id)
    reason = (form.reason.data or "").strip()
    request_ = CorrectAll(operation_id, form.shown, scope.today(), reason)
    correct_with_dependents(transaction, request_, at=scope.now(), by=scope.person_id())
    return _told(op, form.shown)


def _take_back(transaction: Session, operation_id: int, reason: str) -> Written:
    op = operation(transaction, operation_id)
    request_ = Correct(operation_id, scope.today(), reason)
    correct(transaction, request_, at=scope.now(), by=scope.person_id())
    return _told(op)


def _told(op: OperationLine, resting: tuple[int, ...] = ()) -> Written:
    back = [entry for entry in op.entries if entry.mass_mg < 0]
    before = ", ".join(_("no. {number}", number=number) for number in resting)
    words = _("Taken back: {before}, then ", before=before) if before else _("Taken back: ")
    words += _(
        "no. {id}, {done} on {done_on}.",
        id=op.id,
        done=kind_words(op.kind),
        done_on=day(op.done_on),
    )
    for entry in back[:3]:
        words += _(
            " {mass} of {name} is back in its place, {place}.",
            mass=mass(-entry.mass_mg),
            name=entry.name,
            place=entry.place,
        )
    return Written(f"/lots/{back[0].code}" if back else "/history", words)
