"""Putting the application together: settings and a clock in, a Flask application out."""

import hashlib
from collections.abc import Callable, Sequence
from datetime import datetime
from functools import lru_cache
from pathlib import Path

from flask import Flask, Response, redirect, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.exceptions import HTTPException
from werkzeug.routing import IntegerConverter, Map

from app import language
from app.ledger.book import Book
from app.ledger.engines import hindrance_of, ledger_at
from app.ledger.errors import NotFound
from app.settings import Settings
from app.web import outbox, routes, scope, window_drawing
from app.web.compression import compress
from app.web.entrance import SECURE_PAGE, guard
from app.web.errors import HINDRANCES, words_for
from app.web.security import protect, secret_of

STATIC = Path(__file__).parent / "static"
_SPOKEN = ("text/html", "text/calendar", "text/plain")
_WITHOUT_HOUSEHOLD = ("/first-run", "/static/", "/pair", SECURE_PAGE)


class RowNumber(IntegerConverter):
    """A number in an address, no larger than the data file can hold."""

    def __init__(self, url_map: Map) -> None:
        super().__init__(url_map, max=2**63 - 1)


def create_app(settings: Settings, clock: Callable[[], datetime]) -> Flask:
    """Build the application.

    Args:
        settings: where the data is. clock: the instant now, with a zone; read once per request.
    """
    app = Flask(__name__)
    app.secret_key = secret_of(settings.data_dir)
    where = ledger_at(settings.data_file, settings.database)
    app.extensions["stillroom.book"] = Book(where)
    app.extensions["stillroom.clock"] = clock
    app.json.sort_keys = False  # type: ignore[attr-defined]
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.url_map.strict_slashes = False
    app.url_map.converters["int"] = RowNumber
    protect(app)
    compress(app, static_url)
    outbox.register(app)
    routes.register(app)
    window_drawing.register(app.jinja_env.globals)
    app.jinja_env.globals.update(
        static_url=static_url,
        csrf_token=routes.deferred("app.web.csrf", "csrf_token"),
        script_words=routes.deferred("app.web.script_words", "script_words"),
        said=routes.deferred("app.web.said", "said"),
        said_list=routes.deferred("app.web.said", "said_list"),
        locked_address=routes.deferred("app.web.secure.addresses", "locked_address"),
    )
    app.jinja_env.globals.update(language.IN_PAGES)
    app.jinja_env.filters["translated"] = language._  # of each of several marked texts
    app.before_request(_speak_as_asked)
    guard(app, settings)
    app.before_request(_speak_as_read)
    app.before_request(_ask_for_household)
    app.before_request(_answer_again)
    app.after_request(_name_the_language)
    app.teardown_request(scope.close)
    app.register_error_handler(HTTPException, _problem_page)
    app.register_error_handler(NotFound, _no_such)
    app.register_error_handler(Exception, _fault_page)
    return app


@lru_cache(maxsize=64)
def static_url(name: str) -> str:
    """The address of one of our files, with a fingerprint so that it can be kept for long."""
    path = STATIC / name
    mark = hashlib.sha256(path.read_bytes()).hexdigest()[:12]
    return f"/static/{name}?v={mark}"


def _speak_as_asked() -> None:
    """What is said before anybody is known is said as the browser asks."""
    language.speak(scope.asked_language())


def _speak_as_read() -> None:
    if request.endpoint != "static":
        scope.speak()


def _name_the_language(response: Response) -> Response:
    """Nothing between us and the reader may hand an answer on to one of another language."""
    if response.mimetype in _SPOKEN:
        response.headers.setdefault("Content-Language", language.language())
        response.vary.update(("Accept-Language", "Cookie"))
    return response


def _ask_for_household() -> ResponseReturnValue | None:
    if request.path.startswith(_WITHOUT_HOUSEHOLD) or scope.household() is not None:
        return None
    return redirect("/first-run", 303)


def _answer_again() -> ResponseReturnValue | None:
    """A form that was sent before gets its earlier answer, whatever has happened since."""
    if request.method != "POST":
        return None
    from app.web.posting import repeated

    return repeated()


def _problem_page(error: HTTPException) -> ResponseReturnValue:
    if error.code is not None and 300 <= error.code < 400:
        return error
    return _page(error.code or 500)


def _no_such(_error: NotFound) -> ResponseReturnValue:
    return _page(404)


def _fault_page(error: Exception) -> ResponseReturnValue:
    from flask import current_app

    hindrance = hindrance_of(error)
    if hindrance is not None:
        status, heading, words = HINDRANCES[hindrance]
        current_app.logger.warning("%s: %s", request.path, heading)
        typed = list(request.form.items(multi=True))  # a page that cannot be read keeps it
        return _problem(status, heading, words, typed)
    current_app.logger.exception("a fault of ours", exc_info=error)
    return _page(500)


def _page(status: int) -> ResponseReturnValue:
    return _problem(status, *words_for(status))


def _problem(
    status: int, heading: str, words: str, typed: Sequence[tuple[str, str]] = ()
) -> ResponseReturnValue:
    page = render_template(
        "problem.html", heading=language._(heading), words=language._(words), typed=typed
    )
    return page, status
