"""What a form that is sent by script is answered: where to go, in a form that a script can read.

A browser follows a redirect by itself, and the page at its end would use up the message of the
ledger before anybody has seen it. So a form that says in a header that a script sends it gets the
redirect as JSON. See js/outbox.js for the other half.
"""

from datetime import timedelta
from typing import Any

from flask import Flask, Response, g, jsonify, request, session

HEADER = "X-Stillroom-Sent"  # "now" while the person waits, "later" from what the browser kept
ANSWERED = "X-Stillroom-Answer"  # on our own pages; what stands between us has none
KEPT_FOR = timedelta(days=400)  # browsers keep no cookie for longer


def register(app: Flask) -> None:
    """Answer scripts in their way, and know a browser again that was closed meanwhile."""
    app.config.update(PERMANENT_SESSION_LIFETIME=KEPT_FOR, SESSION_REFRESH_EACH_REQUEST=False)
    app.after_request(_outlive_the_browser)
    app.after_request(_for_scripts)


def mark_written() -> None:
    """This request's entry stands in the ledger: the browser need not keep it any longer."""
    g.is_written = True


def _outlive_the_browser(response: Response) -> Response:
    """Let the cookie stay: a form kept over a night carries the token that belongs to it."""
    if session.modified and not session.permanent:
        session.permanent = True
    return response


def _for_scripts(response: Response) -> Response:
    sent = request.headers.get(HEADER, "")
    if request.method != "POST" or not sent:
        return response
    if not 300 <= response.status_code < 400:
        response.headers[ANSWERED] = "page"
        return response
    told: dict[str, Any] = {"location": response.location, "written": g.get("is_written", False)}
    if sent == "later" and told["written"]:
        told["answer"] = _answer()
    answer = jsonify(told)
    answer.headers.extend((n, v) for n, v in response.headers if n.lower() == "set-cookie")
    answer.headers[ANSWERED] = "told"
    answer.headers["Cache-Control"] = "no-store"
    return answer


def _answer() -> str:
    """What the ledger says of it, as a page would show it; no later page says it again."""
    from flask import get_flashed_messages, render_template

    return render_template("flashes.html", flashes=get_flashed_messages())
