"""The addresses of the two ways in: plain http, and https where it is served."""

import ipaddress
from urllib.parse import urlsplit

from flask import current_app, request

from app.https.addresses import machine_addresses
from app.settings import Settings


def locked_address(path: str) -> str:
    """Where a page is over https, for one that came over plain http; empty where it is not."""
    settings = _settings()
    if not settings.https or request.is_secure:
        return ""
    return f"https://{_asked_host()}:{settings.https_port}{path}"


def open_address(path: str) -> str:
    """Where another device finds a page over plain http; empty where it cannot."""
    settings = _settings()
    host = _asked_host()
    if _is_this_machine(host):
        found = next(iter(machine_addresses()), None) if settings.is_opened else None
        host = "" if found is None else _in_address_bar(str(found))
    return f"http://{host}:{settings.port}{path}" if host else ""


def _settings() -> Settings:
    settings: Settings = current_app.extensions["stillroom.settings"]
    return settings


def _asked_host() -> str:
    """The name or address by which this request came; that it is ours was seen at the entrance."""
    return _in_address_bar(urlsplit(f"//{request.host}").hostname or "")


def _in_address_bar(host: str) -> str:
    return f"[{host}]" if ":" in host else host


def _is_this_machine(host: str) -> bool:
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host == "localhost"
