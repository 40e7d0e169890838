"""Answers small on the way: gzip where a length betrays nothing, and files the browser may keep.

Over https somebody on the network cannot read a page but sees how long it is. If another site can
have the page fetched with words of its choice in it, the compressed length tells whether those
words stand in the page a second time, and so, letter by letter, what stands there (BREACH; Gluck,
Harris and Prado, 2013). So a page is compressed only for whoever asks from a page of ours or by the
address bar, which the browser says and no site can feign (W3C, Fetch Metadata Request Headers).
"""

import gzip
from collections.abc import Callable
from functools import lru_cache

from flask import Flask, Response, request

LEAST_BYTES = 1000  # a shorter answer fits one packet of the network either way
PAGE_LEVEL, FILE_LEVEL = 5, 9  # a page is made anew each time, a file of ours is packed once
_TEXTS = frozenset(
    {
        "text/html",
        "text/css",
        "text/javascript",
        "text/plain",
        "text/csv",
        "text/calendar",
        "application/javascript",
        "application/json",
        "application/manifest+json",
        "image/svg+xml",
    }
)
_OURSELVES = frozenset({"same-origin", "none"})  # a page of ours, or the person by hand
_KEPT = "public, max-age=31536000, immutable"


def compress(app: Flask, address_of: Callable[[str], str]) -> None:
    """Pack what is sent, and let browsers keep files whose address changes with their content.

    Args:
        address_of: the present address of one of our files, which names its content.
    """

    @app.after_request
    def _smaller(response: Response) -> Response:
        is_file = request.endpoint == "static"
        if is_file and response.status_code in (200, 304) and _is_named_by_content(address_of):
            response.headers["Cache-Control"] = _KEPT
        if response.mimetype not in _TEXTS:
            return response
        response.vary.add("Accept-Encoding")
        if request.accept_encodings["gzip"] and (is_file or _is_asked_by_us()):
            _pack(response, is_file)
        return response


def _is_named_by_content(address_of: Callable[[str], str]) -> bool:
    """Has the address the fingerprint of what is sent? Fonts are new files when they change."""
    name = str((request.view_args or {}).get("filename", ""))
    return name.startswith("fonts/") or request.full_path == address_of(name)


def _is_asked_by_us() -> bool:
    """Could no other site have had this fetched? Plain http hides nothing, so there it may."""
    asked_by = request.headers.get("Sec-Fetch-Site")
    return asked_by in _OURSELVES if asked_by else not request.is_secure


def _pack(response: Response, is_file: bool) -> None:
    """Compress the body, unless it has none, is a part, or is too short to gain."""
    if response.status_code in (204, 206, 304) or "Content-Encoding" in response.headers:
        return
    if response.is_streamed and not is_file:
        return
    response.direct_passthrough = False
    body = response.get_data()
    if len(body) < LEAST_BYTES:
        return
    packed = _packed_file(body) if is_file else gzip.compress(body, PAGE_LEVEL, mtime=0)
    response.set_data(packed)
    response.headers["Content-Encoding"] = "gzip"
    etag, _is_weak = response.get_etag()
    if etag:
        response.set_etag(etag, weak=True)  # the same file, not the same bytes (RFC 9110, 8.8.1)


@lru_cache(maxsize=64)
def _packed_file(body: bytes) -> bytes:
    return gzip.compress(body, FILE_LEVEL, mtime=0)
