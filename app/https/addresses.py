"""Under which names and addresses this machine is asked for in the home network."""

import ipaddress
import re
import socket
import struct
import sys
from collections.abc import Iterable, Iterator
from ipaddress import IPv4Address, IPv6Address
from pathlib import Path

Address = IPv4Address | IPv6Address
LOOPBACK: tuple[Address, ...] = (IPv4Address("127.0.0.1"), IPv6Address("::1"))
_NOBODYS = ("192.0.2.1", "2001:db8::1")  # RFC 5737 and RFC 3849: documentation
_SIOCGIFADDR = 0x8915  # Linux, <linux/sockios.h>: the address of an interface
_HOST_NAME = re.compile(r"(?=.{1,253}\Z)[a-z0-9-]{1,63}(\.[a-z0-9-]{1,63})*")


def machine_names() -> frozenset[str]:
    """What this machine is called, and what it is called by multicast DNS (RFC 6762)."""
    own = socket.gethostname().casefold()
    return frozenset((own, f"{own.partition('.')[0]}.local"))


def certifiable(names: Iterable[str]) -> frozenset[str]:
    """Those that may stand in a certificate as host names (RFC 5280: letters of ASCII only)."""
    return frozenset(name for name in names if _HOST_NAME.fullmatch(name) and not _is_address(name))


def machine_addresses() -> tuple[Address, ...]:
    """The addresses of this machine by which others can ask for it, the likeliest first.

    Those of the way out come first, then, on Linux, those of every other interface. Addresses that
    hold for one link only (RFC 4291) cannot stand in a browser's address, and are left out.
    """
    found = [*_of_the_way_out(), *_of_interfaces()]
    usable = [one for one in found if not (one.is_loopback or one.is_unspecified or _is_link(one))]
    return tuple(dict.fromkeys(usable))


def _is_address(text: str) -> bool:
    try:
        ipaddress.ip_address(text)
    except ValueError:
        return False
    return True


def _is_link(address: Address) -> bool:
    return isinstance(address, IPv6Address) and address.is_link_local


def _of_the_way_out() -> Iterator[Address]:
    for family, nobody in zip((socket.AF_INET, socket.AF_INET6), _NOBODYS, strict=True):
        try:
            with socket.socket(family, socket.SOCK_DGRAM) as probe:
                probe.connect((nobody, 9))  # UDP: picks the interface, sends nothing
                yield ipaddress.ip_address(probe.getsockname()[0])
        except OSError:
            continue  # no way out of that kind


def _of_interfaces() -> Iterator[Address]:
    if sys.platform != "linux":
        return
    import fcntl

    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as any_socket:
        for _, name in socket.if_nameindex():
            asked = struct.pack("256s", name.encode()[:15])
            try:
                answer = fcntl.ioctl(any_socket.fileno(), _SIOCGIFADDR, asked)
            except OSError:
                continue  # it has none
            yield IPv4Address(answer[20:24])
    table = Path("/proc/net/if_inet6")
    for line in table.read_text().splitlines() if table.is_file() else ():
        yield IPv6Address(int(line.split()[0], 16))
