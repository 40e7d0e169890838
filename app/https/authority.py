"""The household's certificate authority, and the certificate of its server.

A device that trusts the authority believes whatever the authority's key has signed. So the key
never leaves this folder, and the certificate itself says how far it reaches: to this machine's
names and to addresses of private networks. Whoever gets the key can pretend to be nothing else.
"""

import ipaddress
import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import IPv4Network, IPv6Network
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from app.https.addresses import LOOPBACK, Address, certifiable
from app.https.public import AUTHORITY_FILE

AUTHORITY_LASTS = timedelta(days=3652)  # ten years; our judgement
# Public authorities may give no more (CA/Browser Forum, Baseline Requirements, 2020; from memory,
# unchecked), and browsers know that span.
SERVER_LASTS = timedelta(days=398)
RENEW_BEFORE = timedelta(days=30)
_CLOCKS_DIFFER = timedelta(days=1)  # a tablet's clock may be behind ours

# RFC 1918, 3927, 4193; this machine itself. And RFC 8375: the name kept for networks of homes.
PRIVATE: tuple[IPv4Network | IPv6Network, ...] = tuple(
    ipaddress.ip_network(text)
    for text in (
        "127.0.0.0/8", "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16",
        "::1/128", "fc00::/7",
    )
)  # fmt: skip
_NETWORKS = (IPv4Network, IPv6Network)
ALWAYS_NAMED = ("localhost", "home.arpa")


class Unreadable(Exception):
    """A key file cannot be read; `file` says which."""

    def __init__(self, file: Path) -> None:
        super().__init__(str(file))
        self.file = file


@dataclass(frozen=True, slots=True)
class Certified:
    """What the server shows, and what was left out of it."""

    server_file: Path  # certificate and key of the server
    authority_pem: str  # what devices trust
    is_new_authority: bool
    is_new_server: bool
    ends_at: datetime  # of the authority
    left_out: tuple[str, ...]  # asked for, and outside the authority's reach


@dataclass(frozen=True, slots=True)
class _Signer:
    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey


def certify(
    folder: Path,
    names: Iterable[str],
    addresses: Iterable[Address],
    *,
    at: datetime,
    also_reach: Iterable[str] = (),
) -> Certified:
    """See that there are an authority and a server certificate which holds for some while.

    Args:
        folder: of both; made if need be, readable to us only. names, addresses: by which the server
            is asked for. at: the instant now. also_reach: further names that a new authority may
            ever certify, so that devices need not trust another one later.
    Returns:
        What there is now; the server certificate is renewed when its end is near, or when a name or
        an address is not in it.
    Raises:
        Unreadable: a file that holds a key is damaged.
    """
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    names = certifiable(names)
    signer, is_new = _authority(folder, names | certifiable(also_reach), at)
    wanted = [*map(x509.DNSName, sorted(names)), *map(x509.IPAddress, _ordered(addresses))]
    reach = _reach_of(signer.certificate)
    within = [one for one in wanted if _is_within(one, reach)]
    server_file = folder / "server.pem"
    renewed = not _still_holds(server_file, signer, within, at)
    if renewed:
        _make_server(server_file, signer, within, at)
    return Certified(
        server_file,
        _pem(signer.certificate).decode(),
        is_new,
        renewed,
        signer.certificate.not_valid_after_utc,
        tuple(str(one.value) for one in wanted if one not in within),
    )


def _ordered(addresses: Iterable[Address]) -> list[Address]:
    return sorted({*addresses, *LOOPBACK}, key=lambda one: (one.version, int(one)))


def _authority(folder: Path, names: frozenset[str], at: datetime) -> tuple[_Signer, bool]:
    """The authority that is there; a new one where there is none or the old one has ended."""
    file = folder / "authority.pem"
    signer = _read(file) if file.exists() else None
    if signer is not None and signer.certificate.not_valid_after_utc <= at:
        made_on = signer.certificate.not_valid_before_utc.date()
        file.replace(folder / f"authority-{made_on.isoformat()}.pem")
        signer = None
    is_new = signer is None
    if signer is None:
        signer = _make_authority(names, at)
        _keep(file, _pem(signer.certificate) + _key_pem(signer.key), 0o600)
    _keep(folder / AUTHORITY_FILE, _pem(signer.certificate), 0o644)
    return signer, is_new


def _make_authority(names: frozenset[str], at: datetime) -> _Signer:
    key = ec.generate_private_key(ec.SECP256R1())
    called = min((name for name in names if name != "localhost"), key=len, default="this machine")
    subject = _named(f"Stillroom of {called[:32]}, {at.date().isoformat()}")
    reach = [
        *(x509.DNSName(name) for name in sorted({*names, *ALWAYS_NAMED})),
        *(x509.IPAddress(network) for network in PRIVATE),
    ]
    builder = _builder(subject, subject, key, at, at + AUTHORITY_LASTS)
    certificate = (
        builder.add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs=True), critical=True)
        .add_extension(x509.NameConstraints(reach, None), critical=True)
        .sign(key, hashes.SHA256())
    )
    return _Signer(certificate, key)


def _make_server(
    file: Path, signer: _Signer, names: Sequence[x509.GeneralName], at: datetime
) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    issuer = signer.certificate
    start = at - _CLOCKS_DIFFER
    end = min(start + SERVER_LASTS, issuer.not_valid_after_utc)
    identifier = issuer.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    builder = _builder(_named("Stillroom"), issuer.subject, key, start, end)
    certificate = (
        builder.add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(identifier),
            critical=False,
        )
        .sign(signer.key, hashes.SHA256())
    )
    _keep(file, _pem(certificate) + _key_pem(key), 0o600)


def _builder(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey,
    start: datetime, end: datetime,
) -> x509.CertificateBuilder:  # fmt: skip
    return (
        x509.CertificateBuilder(subject_name=subject, issuer_name=issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(start)
        .not_valid_after(end)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _named(words: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, words)])


def _usage(*, signs: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs, key_cert_sign=signs, crl_sign=signs,
        content_commitment=False, key_encipherment=False, data_encipherment=False,
        key_agreement=False, encipher_only=False, decipher_only=False,
    )  # fmt: skip


def _reach_of(authority: x509.Certificate) -> list[x509.GeneralName]:
    constraints = authority.extensions.get_extension_for_class(x509.NameConstraints).value
    return list(constraints.permitted_subtrees or ())


def _is_within(one: x509.GeneralName, reach: Sequence[x509.GeneralName]) -> bool:
    """May the authority certify this name (RFC 5280, 4.2.1.10)?"""
    if isinstance(one, x509.IPAddress):
        networks = (part.value for part in reach if isinstance(part, x509.IPAddress))
        return any(one.value in net for net in networks if isinstance(net, _NETWORKS))
    domains = [part.value for part in reach if isinstance(part, x509.DNSName)]
    return any(f".{one.value}".endswith(f".{domain}") for domain in domains)


def _still_holds(
    file: Path, signer: _Signer, names: Sequence[x509.GeneralName], at: datetime
) -> bool:
    if not file.exists():
        return False
    certificate = _read(file).certificate
    try:
        certificate.verify_directly_issued_by(signer.certificate)
    except (InvalidSignature, TypeError, ValueError):  # signed by an authority that is gone
        return False
    held = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    is_in_time = (
        certificate.not_valid_before_utc <= at < certificate.not_valid_after_utc - RENEW_BEFORE
    )
    return is_in_time and set(names) <= set(held)


def _read(file: Path) -> _Signer:
    data = file.read_bytes()
    try:
        certificate = x509.load_pem_x509_certificate(data)
        key = serialization.load_pem_private_key(data, password=None)
    except ValueError as error:
        raise Unreadable(file) from error
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise Unreadable(file)
    return _Signer(certificate, key)


def _pem(certificate: x509.Certificate) -> bytes:
    return certificate.public_bytes(serialization.Encoding.PEM)


def _key_pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )


def _keep(file: Path, data: bytes, mode: int) -> None:
    """Write a whole file or none, never readable to more than it may be."""
    part = file.with_name(f"{file.name}.{os.getpid()}.part")
    part.unlink(missing_ok=True)
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode), "wb") as out:
        out.write(data)
        out.flush()
        os.fsync(out.fileno())
    part.replace(file)
