"""Serving over https: the household's certificate, kept fresh while we serve, and said plainly."""

# ruff: noqa: T201, TID251 (an edge: it prints, and the clock is read here)

import ipaddress
import socket
import ssl
import sys
import threading
from collections.abc import Iterator, MutableMapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from app.https.addresses import Address, machine_addresses, machine_names
from app.https.public import FOLDER, fingerprint
from app.server import Stopped
from app.settings import Settings
from app.web.entrance import SECURE_PAGE, own_names

if TYPE_CHECKING:
    from app.https.authority import Certified

_BETWEEN_LOOKS_S = 1800.0  # at our addresses, which a router may change
_GROUPS_IN_LINE = 8
_ENDS_SOON = timedelta(days=90)


def certified(settings: Settings) -> "Certified":
    """The household's authority and the server's certificate, made or renewed if need be."""
    try:
        from app.https.authority import Unreadable, certify
    except ImportError as error:
        why = 'https needs one more package: pip install "stillroom[https]"'
        raise Stopped(why) from error
    folder = settings.data_dir / FOLDER
    try:
        return certify(
            folder,
            own_names(settings),
            _addresses(settings),
            at=datetime.now(UTC),
            also_reach=machine_names(),
        )
    except Unreadable as error:
        raise Stopped(
            f"{error.file} is damaged. Put it back from a copy, or delete the folder {folder}: "
            "a new certificate is made then, which every device must learn to trust again"
        ) from error


def _addresses(settings: Settings) -> tuple[Address, ...]:
    if not settings.is_opened:
        return ()
    try:
        told = ipaddress.ip_address(settings.host)
    except ValueError:
        return machine_addresses()  # a name was told
    return machine_addresses() if told.is_unspecified else (told,)


@dataclass(frozen=True, slots=True)
class Secure:
    """The second door: its port, and the certificate that it was opened with."""

    listener: socket.socket
    certificate: "Certified"

    @contextmanager
    def serving(
        self, app: Any, settings: Settings, sockets: MutableMapping[int, Any], **how: Any
    ) -> Iterator[None]:
        """Serve over https in the loop of these sockets, and keep the certificate fresh."""
        from app.https.tls import locked_door, tls_context

        context = tls_context(self.certificate.server_file)
        stopping = threading.Event()
        looking = threading.Thread(
            target=keep_fresh, args=(settings, context, stopping), name="renew", daemon=True
        )
        looking.start()
        try:
            with locked_door(app, self.listener, context, sockets, **how):
                yield
        finally:
            stopping.set()
            looking.join()

    def words(self, settings: Settings, reachable: str) -> list[str]:
        """What is said at the start: where, how a device learns to trust it, what to compare.

        Args:
            reachable: the address by which a device reaches us, as it stands in an address bar.
        """
        now = self.certificate
        host = next((name for name in _asked_by(reachable) if name not in now.left_out), "")
        groups = fingerprint(now.authority_pem)
        lines = [
            f"With https it is at  https://{host or 'localhost'}:{settings.https_port}/",
            "How a device learns to trust that, once:  "
            f"http://{reachable}:{settings.port}{SECURE_PAGE}",
            "Compare what the device shows then (SHA-256):",
            f"  {' '.join(groups[:_GROUPS_IN_LINE])}",
            f"  {' '.join(groups[_GROUPS_IN_LINE:])}",
        ]
        if now.is_new_authority:
            lines.append("That certificate is new: every device has to learn it once.")
        if now.left_out:
            left = ", ".join(now.left_out)
            lines.append(f"It does not cover {left}: devices that ask by that are warned.")
        if now.ends_at - datetime.now(UTC) < _ENDS_SOON:
            lines.append(f"It ends on {now.ends_at:%Y-%m-%d}; a new one is made then.")
        return lines


def keep_fresh(settings: Settings, context: ssl.SSLContext, stopping: threading.Event) -> None:
    """Look at times whether the certificate must be renewed; new connections then see the new."""
    while not stopping.wait(_BETWEEN_LOOKS_S):
        try:
            now = certified(settings)
            if now.is_new_server:
                context.load_cert_chain(now.server_file)
        except (OSError, Stopped) as error:
            print(f"The certificate was not renewed: {error}", file=sys.stderr, flush=True)


def _asked_by(reachable: str) -> Iterator[str]:
    yield reachable
    for address in machine_addresses():
        yield str(address) if address.version == 4 else f"[{address}]"
    yield from (name for name in sorted(machine_names()) if name.endswith(".local"))
