"""What is due and what comes, and the pages where a look is written down."""

import secrets
from datetime import timedelta

from flask import abort, flash, redirect, render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.language import N_, _
from app.ledger.queries.due import Due, DueKind, due, expected, pressing_first
from app.web import scope
from app.web.display import temperature
from app.web.due.forms import LookForm
from app.web.due.words import DONE_BY, DueLine, due_line, step_of, subject_of
from app.web.posting import Written, write
from app.web.said import said

AT_HOME = 5  # lines on the home page; the rest is behind a link
COMING_DAYS = 28
_MEANWHILE = N_("Nothing is due there any more: somebody has seen to it meanwhile.")


def page() -> ResponseReturnValue:
    """Everything that is overdue, due today, or comes due within four weeks."""
    items, today = expected(scope.reading(), scope.now()), scope.today()
    horizon = today + timedelta(days=COMING_DAYS)
    now_due = pressing_first(items)
    waiting = [item for item in items if not item.is_due]
    groups = (
        (_("Overdue"), [item for item in now_due if item.is_overdue]),
        (_("Today"), [item for item in now_due if not item.is_overdue]),
        (_("Coming in the next four weeks"), [item for item in waiting if item.due_on <= horizon]),
    )
    return render_template(
        "due/due.html",
        groups=[
            (heading, [due_line(x, today) for x in found]) for heading, found in groups if found
        ],
        is_due={item.key for item in now_due},
        key=new_key,
        next=due_line(waiting[0], today) if waiting else None,
    )


def lines_for_home() -> tuple[list[DueLine], int]:
    """The first few lines of what is due, and how many more there are."""
    items = due(scope.reading(), scope.now())
    return [due_line(item, scope.today()) for item in items[:AT_HOME]], len(items[AT_HOME:])


def one(key: str) -> ResponseReturnValue:
    """One look: what is asked, and writing it down."""
    item = _find(scope.reading(), key)
    if item is None:
        flash(_MEANWHILE)
        return redirect("/due", 303)
    step = step_of(item)
    if step is not None:
        return redirect(step[1], 303)
    form = LookForm(item, request.form if request.method == "POST" else None)
    draft = f"due-{key}"
    if request.method == "POST":
        answer = write(form, lambda s: _looked(form, s), draft=draft)
        if answer is not None:
            return answer
    form.key.data = form.key.data or new_key()
    body = render_template(
        "due/one.html",
        form=form,
        draft=draft,
        line=due_line(item, scope.today()),
        words=_(DONE_BY.get(item.kind, "Write it down")),
    )
    return body, 422 if request.method == "POST" else 200


def new_key() -> str:
    """A key against doubles, for each form of a list its own."""
    return secrets.token_urlsafe(18)


def _find(session: Session, key: str) -> Due | None:
    """The look with a key, if it can be taken now; a thermometer may be read any day."""
    kind, _dash, number = key.partition("-")
    if kind not in set(DueKind) or not number.isdecimal():
        abort(404)
    for item in expected(session, scope.now()):
        if item.key == key and (item.is_due or item.kind is DueKind.THERMOMETER):
            return item
    return None


def _looked(form: LookForm, transaction: Session) -> Written:
    item = form.item
    if _find(transaction, item.key) is None:  # another tablet was quicker
        return Written(form.location, _MEANWHILE)
    posted = form.carry_out(transaction, scope.today(), scope.now(), scope.person_id())
    return Written(form.location, _said(form), posted.operation_id)


def _said(form: LookForm) -> str:
    item = form.item
    if item.kind is not DueKind.THERMOMETER:
        return f"{_(DONE_BY[item.kind])}: {subject_of(item)}."
    read = temperature(form.temp.data.temp_c)
    warm = form.warm
    return (
        _("{subject} reads {read}.", subject=item.subject, read=read)
        if warm is None
        else f"{item.subject}: {said(warm.sentence)}"
    )
