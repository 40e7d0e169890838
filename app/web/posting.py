"""The one road for every form that writes: form, use-case, one transaction, redirect."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from flask import after_this_request, current_app, flash, redirect, request
from sqlalchemy.orm import Session
from werkzeug.wrappers import Response
from wtforms import FormField

from app.language import _
from app.ledger.engines import DATABASE_ERRORS, Hindrance, hindrance_of
from app.ledger.errors import Problem, ProblemKind, Refused
from app.ledger.models import PostingKey
from app.web import scope
from app.web.errors import HINDRANCES
from app.web.fields import EntryForm
from app.web.messages import sentence
from app.web.outbox import mark_written
from app.web.rows import Rows
from app.web.said import said

_KEY = re.compile(r"[A-Za-z0-9_-]{16,64}")
_STEP = re.compile(r"([a-z_]+)(?:\[(\d+)\])?")


@dataclass(frozen=True, slots=True)
class Written:
    """What a use-case did: where to go, what to say, and the operation that undo takes back."""

    location: str
    words: str
    operation_id: int | None = None


@dataclass(frozen=True, slots=True)
class Caution:
    """A rule that objects, as the caution macro takes it."""

    id: str
    severity: str
    sentence: str
    source_text: str


def write(
    form: EntryForm, use_case: Callable[[Session], Written], *, draft: str = ""
) -> Response | None:
    """Carry out a form that was sent.

    Args:
        form: filled from the request. use_case: does the work in the open transaction.
        draft: id of the form whose draft the browser may forget.
    Returns:
        A redirect, or None when the form must be shown again with its messages.
    """
    if not form.validate():
        _say_csrf(form)
        return None
    if not is_key(form.key.data):
        form.key.data = ""  # the page gives it a new one
        form.trouble(
            _("This page was incomplete. What you typed is still here: send it once more.")
        )
        return None
    try:
        written = scope.book().write(once(form.key.data, use_case))
    except Refused as refused:
        attach(form, refused.problems)
        return None
    except DATABASE_ERRORS as error:
        hindrance = hindrance_of(error)
        if hindrance is None:
            raise
        _hinder(form, hindrance)
        return None
    if not isinstance(written, Written):
        return again(written)
    mark_written()
    undo = f"/operations/{written.operation_id}/undo" if written.operation_id else None
    flash({"text": written.words, "undo": undo, "saved": draft})  # type: ignore[arg-type]
    return redirect(written.location, 303)


def is_key(text: str | None) -> bool:
    """Could our pages have made this key?"""
    return _KEY.fullmatch(text or "") is not None


def once(
    key: str, use_case: Callable[[Session], Written]
) -> Callable[[Session], Written | PostingKey]:
    """The work of a form, unless its key says that it was done: then where that went."""

    def work(transaction: Session) -> Written | PostingKey:
        earlier = transaction.get(PostingKey, key)
        if earlier is not None:
            transaction.expunge(earlier)
            return earlier
        written = use_case(transaction)
        transaction.add(PostingKey(key=key, location=written.location, recorded_at=scope.now()))
        return written

    return work


def earlier_by(key: str) -> PostingKey | None:
    """Where the entry went that was written by this key, if one was."""
    return scope.reading().get(PostingKey, key) if is_key(key) else None


def repeated() -> Response | None:
    """The answer to a form that was written already: a second tap is not judged anew.

    The food may be gone by then, so the checks of the form would refuse what was done.
    """
    key = request.form.get("key", "") if request.method == "POST" else ""
    earlier = earlier_by(key)
    return None if earlier is None else again(earlier)


def again(earlier: PostingKey) -> Response:
    """The answer to a form whose key was used before."""
    mark_written()
    words = _("That was written already; it stands in the ledger once.")
    saved = request.form.get("draft", "")  # else the browser would offer it to be sent anew
    flash({"text": words, "undo": None, "saved": saved})  # type: ignore[arg-type]
    return redirect(earlier.location, 303)


def _hinder(form: EntryForm, hindrance: Hindrance) -> None:
    """Say at the top of the form what the machine would not do; the form keeps key and text."""
    status, heading, words = HINDRANCES[hindrance]
    current_app.logger.warning("%s: %s", request.path, heading)
    form.trouble(words)

    @after_this_request
    def _say(response: Response) -> Response:
        response.status_code = status  # the form is as right as it was, so it is not a 422
        return response


def attach(form: EntryForm, problems: list[Problem]) -> None:
    """Put each problem beside the field it belongs to, or at the top of the form."""
    for problem in problems:
        if problem.kind in (ProblemKind.GATE, ProblemKind.NEEDS_REASON):
            severity = "stop" if problem.kind is ProblemKind.GATE else "confirm"
            numbers = problem.numbers
            form.cautions.append(
                Caution(
                    str(numbers["rule"]),
                    severity,
                    str(numbers["sentence"]),
                    str(numbers["source"]),
                )
            )
            if severity == "confirm":
                form.reason.errors = [_("Give a reason to go on.")]  # once, however many ask
            else:
                form.trouble(said(str(numbers["sentence"])))
            continue
        field = _field(form, problem.field)
        words = sentence(problem)
        if field is None:
            form.trouble(words)
        else:
            field.errors = [*field.errors, words]


def _field(form: EntryForm, path: str) -> Any:
    """The field a problem belongs to; in lists of rows, only filled rows count."""
    here: Any = form
    for step in path.split("."):
        match = _STEP.fullmatch(step)
        within = here.form if isinstance(here, FormField) else here
        here = getattr(within, match[1], None) if match else None
        if here is not None and match is not None and match[2] is not None:
            rows = here.filled() if isinstance(here, Rows) else []
            here = rows[int(match[2])] if int(match[2]) < len(rows) else None
        if here is None:
            return None
    if isinstance(here, FormField):
        here = here.form[here.form.typed_fields[0]]
    return here if hasattr(here, "errors") else None


def _say_csrf(form: EntryForm) -> None:
    token = getattr(form, "csrf_token", None)
    if token is not None and token.errors:
        token.errors = []
        form.trouble(
            _(
                "This page could not be recognised as ours, perhaps because it was open very long. "
                "What you typed is still here: send it once more."
            )
        )
