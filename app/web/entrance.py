"""Who may come in: known names only, and on the home network only paired devices.

A request to this computer itself needs no pairing: who sits at it can read the file anyway. A name
that is neither ours nor a bare address is refused, so that no page elsewhere can have its own name
point here (DNS rebinding).
"""

import ipaddress
from urllib.parse import urlsplit

from flask import Flask, Response, abort, current_app, redirect, render_template, request
from flask.typing import ResponseReturnValue

from app.https.addresses import machine_names
from app.language import _
from app.settings import Settings
from app.web import scope
from app.web.security import cookie_name

COOKIE = "stillroom_device"
COOKIE_SECONDS = 400 * 24 * 3600  # browsers keep none for longer
SECURE_PAGE = "/household/secure"
# A calendar has a key of its own; our certificate is to be trusted before pairing over https.
_OPEN = ("/static/", "/pair", "/calendar/", SECURE_PAGE)
_LABEL = ("/l/", "/L/")


def guard(app: Flask, settings: Settings) -> None:
    """Ask of every request under which name it comes, and from which device."""
    app.extensions["stillroom.settings"] = settings
    app.extensions["stillroom.names"] = own_names(settings)
    app.before_request(_know_the_name)
    app.before_request(_know_the_device)


def is_at_the_server() -> bool:
    """Does the request come from this computer itself?"""
    try:
        return ipaddress.ip_address(request.remote_addr or "").is_loopback
    except ValueError:
        return False


def is_paired() -> bool:
    """Does the request come from a device that may write?"""
    return is_at_the_server() or _device_is_known()


def own_names(settings: Settings) -> frozenset[str]:
    """The names by which this server may be asked for, in lower case."""
    names = {"localhost", *settings.names}
    if settings.is_opened:
        names |= {*machine_names(), settings.host}
    return frozenset(name.casefold() for name in names)


def _know_the_name() -> ResponseReturnValue | None:
    host = (urlsplit(f"//{request.host}").hostname or "").casefold()
    if host in current_app.extensions["stillroom.names"] or _is_address(host):
        return None
    return Response(
        _("This server does not go by that name. Use its address, or start it with --name NAME."),
        421,
        mimetype="text/plain",
    )


def _is_address(host: str) -> bool:
    """A bare address is not looked up by name, so no other page can have put it there."""
    try:
        ipaddress.ip_address(host)
    except ValueError:
        return False
    return True


def _know_the_device() -> ResponseReturnValue | None:
    if request.path.startswith(_OPEN) or is_paired():
        return None
    if request.method == "GET" and request.path.startswith(_LABEL):
        return _label_only(request.path.split("/")[2])
    if request.method == "GET":
        return redirect("/pair", 303)
    return render_template("devices/not_paired.html"), 403


def _device_is_known() -> bool:
    from app.ledger.devices import device_of

    token = request.cookies.get(cookie_name(COOKIE), "")
    return bool(token) and device_of(scope.reading(), token) is not None


def _label_only(code: str) -> ResponseReturnValue:
    """What stands on the label, and nothing else, for a phone that is not paired."""
    from app.ledger.codes import code_of, lot_id_of
    from app.ledger.models import Lot
    from app.ledger.queries.labels import label_records
    from app.web.labels.wording import paragraphs
    from app.web.labels.words import label_text

    lot_id, household = lot_id_of(code), scope.household()
    if household is None or scope.reading().get(Lot, lot_id) is None:
        abort(404)
    records = label_records(scope.reading(), lot_id)
    texts = [label_text(r, "/", household.name, scope.units()) for r in records]
    labels = [(text, paragraphs(text)) for text in texts]
    return render_template("devices/label_only.html", labels=labels, code=code_of(lot_id))
