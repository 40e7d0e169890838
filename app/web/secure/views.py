"""How a device learns to trust the household's certificate, and that certificate itself."""

import ssl

from flask import Response, abort, current_app, render_template
from flask.typing import ResponseReturnValue

from app.https.public import authority_file, fingerprint
from app.web.address_code import address_code
from app.web.entrance import SECURE_PAGE, is_paired
from app.web.secure.addresses import locked_address, open_address
from app.web.secure.words import GUIDES

CERTIFICATE = f"{SECURE_PAGE}/stillroom.crt"


def page() -> ResponseReturnValue:
    """What the lock is for, and step by step how each device learns it."""
    pem = _authority()
    open_page = open_address(SECURE_PAGE)
    return render_template(
        "secure/secure.html",
        groups=fingerprint(pem) if pem else (),
        certificate=CERTIFICATE,
        locked=locked_address("/"),
        open_page=open_page,
        code=address_code(open_page) if open_page else "",
        guides=GUIDES,
        is_paired=is_paired(),
    )


def certificate() -> ResponseReturnValue:
    """The authority's certificate as it is: its bytes have the fingerprint that the page shows."""
    pem = _authority()
    if not pem:
        abort(404)
    answer = Response(ssl.PEM_cert_to_DER_cert(pem), mimetype="application/x-x509-ca-cert")
    answer.headers["Cache-Control"] = "no-store"
    return answer


def _authority() -> str:
    """The certificate that devices are to trust; empty while nothing is served over https."""
    settings = current_app.extensions["stillroom.settings"]
    file = authority_file(settings.data_dir)
    return file.read_text("ascii") if settings.https and file.is_file() else ""
