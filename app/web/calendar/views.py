"""The address that phones subscribe to: whoever knows it can read what comes due."""

import hmac
from datetime import timedelta

from flask import Response, abort, request
from flask.typing import ResponseReturnValue

from app.ledger.calendar import zone_of
from app.ledger.household import calendar_token
from app.ledger.queries.due import expected
from app.web import scope
from app.web.calendar.feed import feed

AHEAD_DAYS = 366  # a year, so that the yearly looks are in it


def ics(token: str) -> ResponseReturnValue:
    """The calendar, or 404 for an address that is not the household's."""
    session, known = scope.reading(), scope.household()
    wanted = calendar_token(session)
    if known is None or not wanted or not hmac.compare_digest(token.encode(), wanted.encode()):
        abort(404)
    last = scope.today() + timedelta(days=AHEAD_DAYS)
    items = [item for item in expected(session, scope.now()) if item.due_on <= last]
    text = feed(
        items,
        scope.today(),
        name=known.name,
        zone=zone_of(session),
        since=known.created_at,
        host_url=request.host_url if request.host else "",
    )
    answer = Response(text, content_type="text/calendar; charset=utf-8")
    answer.headers["Cache-Control"] = "private, no-cache"
    answer.add_etag()
    return answer.make_conditional(request)
