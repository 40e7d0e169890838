"""Headers, limits and the secret of this installation."""

import secrets
from ipaddress import ip_address
from pathlib import Path
from urllib.parse import urlsplit

from flask import Flask, Response, request
from flask.sessions import SecureCookieSessionInterface

MAX_BODY_BYTES = 1_000_000
MAX_FORM_FIELDS = 500
LARGER_BODY_BYTES = {"places.logger": 6_000_000}  # a logger's file, and it carried along

_HEADERS = {
    "Content-Security-Policy": (
        "default-src 'self'; script-src 'self'; style-src 'self'; img-src 'self'; "
        "font-src 'self'; connect-src 'self'; object-src 'none'; base-uri 'none'; "
        "form-action 'self'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}
_WITH_CAMERA = "camera=(self), geolocation=(), microphone=()"
CAMERA_PAGES = frozenset({"scan.page"})  # no other page may look through the camera


SESSION_COOKIE = "stillroom"


def cookie_name(name: str) -> str:
    """What a cookie is called on the way this request came: each way has cookies of its own.

    A browser lets no plain page replace a cookie that came over https, so under one name those who
    had once been there could never again send a form over http. The prefix keeps it from being set
    by anything but https of this very host (RFC 6265bis, 4.1.3.2).
    """
    return f"__Host-{name}" if request.is_secure else name


class _SessionOfItsWay(SecureCookieSessionInterface):
    """A session for each way in; that of https is never sent in the clear."""

    def get_cookie_name(self, app: Flask) -> str:
        return cookie_name(SESSION_COOKIE)

    def get_cookie_secure(self, app: Flask) -> bool:
        return request.is_secure


def is_trustworthy() -> bool:
    """Does a browser call this way in potentially trustworthy (W3C, Secure Contexts, 3.1)?"""
    host = urlsplit(request.host_url).hostname or ""
    if request.is_secure or host == "localhost" or host.endswith(".localhost"):
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False


def secret_of(data_dir: Path) -> str:
    """The secret that signs cookies, made once for each data directory and readable to us only."""
    path = data_dir / "secret"
    if not path.exists():
        data_dir.mkdir(parents=True, exist_ok=True)
        path.touch(mode=0o600)
        path.write_text(secrets.token_hex(32))
    return path.read_text().strip()


def protect(app: Flask) -> None:
    """Limit what comes in and say in headers what may run."""
    app.config.update(
        MAX_CONTENT_LENGTH=MAX_BODY_BYTES,
        MAX_FORM_MEMORY_SIZE=MAX_BODY_BYTES,
        MAX_FORM_PARTS=MAX_FORM_FIELDS,
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Lax",
        SESSION_COOKIE_NAME=SESSION_COOKIE,
    )
    app.session_interface = _SessionOfItsWay()

    @app.before_request
    def _larger() -> None:
        view = (request.endpoint or "").split(" ")[0]
        if view in LARGER_BODY_BYTES:
            request.max_content_length = LARGER_BODY_BYTES[view]
            request.max_form_memory_size = LARGER_BODY_BYTES[view]

    @app.after_request
    def _headers(response: Response) -> Response:
        if (request.endpoint or "").split(" ")[0] in CAMERA_PAGES:
            response.headers["Permissions-Policy"] = _WITH_CAMERA
        for name, value in _HEADERS.items():
            response.headers.setdefault(name, value)
        if is_trustworthy():  # elsewhere a browser heeds it not, and complains of it on each page
            response.headers["Cross-Origin-Opener-Policy"] = "same-origin"
        if response.mimetype == "text/html":
            response.headers["Cache-Control"] = "no-store"
        return response
