"""Putting the application together: settings and a clock in, a Flask application out."""

import hashlib
from collections.abc import Callable
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from flask import Flask, redirect, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.exceptions import HTTPException
from werkzeug.routing import IntegerConverter, Map

from app.ledger.book import Book
from app.ledger.errors import NotFound
from app.settings import Settings
from app.web import display, scope, window_drawing
from app.web.csrf import csrf_token
from app.web.errors import words_for
from app.web.posting import repeated
from app.web.security import protect, secret_of

STATIC = Path(__file__).parent / "static"
_WITHOUT_HOUSEHOLD = frozenset({"household.first_run", "static"})


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
    app.extensions["stillroom.book"] = Book(settings.data_file)
    app.extensions["stillroom.clock"] = clock
    app.json.sort_keys = False  # type: ignore[attr-defined]
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.url_map.strict_slashes = False
    app.url_map.converters["int"] = RowNumber
    protect(app)
    _blueprints(app)
    display.register(app.jinja_env.filters)
    window_drawing.register(app.jinja_env.globals)
    app.jinja_env.globals.update(static_url=static_url, csrf_token=csrf_token)
    app.before_request(_ask_for_household)
    app.before_request(repeated)
    app.teardown_request(scope.close)
    app.register_error_handler(HTTPException, _problem_page)
    app.register_error_handler(NotFound, _no_such)
    app.register_error_handler(Exception, _fault_page)
    return app


def _blueprints(app: Flask) -> None:
    from app.web import (
        bench,
        eat_first,
        history,
        household,
        lots,
        operations,
        packing,
        papers,
        places,
        runs,
    )
    from app.web.labels import views as labels

    for part in (eat_first, lots, operations, packing, runs, bench, places, labels):
        app.register_blueprint(part.blueprint)
    for part in (papers, history, household):
        app.register_blueprint(part.blueprint)


@lru_cache(maxsize=64)
def static_url(name: str) -> str:
    """The address of one of our files, with a fingerprint so that it can be kept for long."""
    path = STATIC / name
    mark = hashlib.sha256(path.read_bytes()).hexdigest()[:12]
    return f"/static/{name}?v={mark}"


def _ask_for_household() -> ResponseReturnValue | None:
    if request.endpoint in _WITHOUT_HOUSEHOLD or scope.household() is not None:
        return None
    return redirect("/first-run", 303)


def _problem_page(error: HTTPException) -> ResponseReturnValue:
    if error.code is not None and 300 <= error.code < 400:
        return error
    return _page(error.code or 500)


def _no_such(_error: NotFound) -> ResponseReturnValue:
    return _page(404)


def _fault_page(error: Exception) -> ResponseReturnValue:
    from flask import current_app

    current_app.logger.exception("a fault of ours", exc_info=error)
    return _page(500)


def _page(status: int) -> ResponseReturnValue:
    heading, words = words_for(status)
    context: dict[str, Any] = {"heading": heading, "words": words}
    return render_template("problem.html", **context), status
