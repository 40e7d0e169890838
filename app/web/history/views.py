"""Every entry as it was written, and taking it back by an entry that reverses it."""

import secrets

from flask import abort, flash, redirect, render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy import select
from sqlalchemy.orm import Session
from wtforms import TextAreaField
from wtforms.validators import DataRequired, Length

from app.ledger.errors import Refused
from app.ledger.models import Entry
from app.ledger.operations.correct import Correct, correct, resting_on
from app.ledger.queries.history import (
    OperationLine,
    newest_operation,
    operation,
    operations,
)
from app.ledger.words import OperationKind
from app.web import scope
from app.web.csrf import is_ours
from app.web.display import DONE, mass
from app.web.fields import EntryForm
from app.web.messages import day, sentence
from app.web.posting import Written, write

PAGE_LENGTH = 20
MOST_ROWS = 2**63 - 1  # the data file counts no further
_SETTLED = "This is a correction. It stays; write the entry anew instead."


class CorrectForm(EntryForm):
    """Why an older entry is taken back."""

    reason = TextAreaField(
        "Why is it taken back",
        validators=[DataRequired("Give a reason; it stays in the ledger."), Length(max=500)],
        description="Weighed the wrong bowl, entered twice…",
    )


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
        with scope.book().writing() as transaction:
            written = _take_back(transaction, operation_id, "")
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
        reason = (form.reason.data or "").strip()
        answer = write(form, lambda s: _take_back(s, operation_id, reason), draft=draft)
        if answer is not None:
            return answer
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    page = render_template(
        "history/correct.html",
        op=op,
        form=form,
        draft=draft,
        resting=_resting(session, operation_id),
        settled=_settled(op),
    )
    return page, 422 if request.method == "POST" else 200


def _settled(op: OperationLine) -> str:
    """Why this entry cannot be taken back at all, if so."""
    if op.kind is OperationKind.CORRECT:
        return _SETTLED
    return f"This entry was taken back by no. {op.reversed_by}." if op.reversed_by else ""


def _resting(session: Session, operation_id: int) -> list[OperationLine]:
    entries = list(session.scalars(select(Entry).where(Entry.operation_id == operation_id)))
    return [operation(session, number) for number in resting_on(session, operation_id, entries)]


def _take_back(transaction: Session, operation_id: int, reason: str) -> Written:
    op = operation(transaction, operation_id)
    request_ = Correct(operation_id, scope.today(), reason)
    correct(transaction, request_, at=scope.now(), by=scope.person_id())
    back = [entry for entry in op.entries if entry.mass_mg < 0]
    words = f"Taken back: no. {op.id}, {DONE[op.kind].lower()} on {day(op.done_on)}."
    for entry in back[:3]:
        words += f" {mass(-entry.mass_mg)} of {entry.name} is back in its place, {entry.place}."
    return Written(f"/lots/{back[0].code}" if back else "/history", words)
