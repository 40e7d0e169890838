"""The household's authority and the server's certificate, judged by OpenSSL and by their files."""

import ipaddress
import ssl
import stat
import sys
import threading
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec

from app.cli import main
from app.https.addresses import certifiable, machine_addresses, machine_names
from app.https.authority import Certified, Unreadable, certify
from app.https.public import authority_file, fingerprint
from app.https.tls import tls_context
from app.locking import certified, keep_fresh
from app.settings import Settings
from tests.ledger.kitchen import write_evening

NOW = datetime.now(UTC)  # OpenSSL asks the machine's clock, so the certificates must hold today
NAMES = ("larder", "larder.local", "localhost")
PANTRY, CELLAR = ipaddress.ip_address("192.168.1.10"), ipaddress.ip_address("10.0.0.7")
DAY = timedelta(days=1)


def make(folder: Path, *addresses: ipaddress.IPv4Address, at: datetime = NOW) -> Certified:
    return certify(folder / "https", NAMES, addresses, at=at)


def read(file: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificate(file.read_bytes())


def key_in(file: Path) -> ec.EllipticCurvePrivateKey:
    key = serialization.load_pem_private_key(file.read_bytes(), None)
    assert isinstance(key, ec.EllipticCurvePrivateKey)
    return key


def names_in(certificate: x509.Certificate) -> set[str]:
    held = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return {str(one.value) for one in held}


def shake_hands(server: ssl.SSLContext, trusted_pem: str, name: str) -> ssl.SSLObject:
    """A client that trusts exactly one authority meets a server, without a network between them.

    Raises:
        ssl.SSLCertVerificationError: the client does not believe that this is `name`.
    """
    client = ssl.create_default_context(cadata=trusted_pem)
    client.verify_flags |= ssl.VERIFY_X509_STRICT
    there, back = ssl.MemoryBIO(), ssl.MemoryBIO()
    asking = client.wrap_bio(back, there, server_hostname=name)
    answering = server.wrap_bio(there, back, server_side=True)
    for _ in range(3):
        for end in (asking, answering):
            try:
                end.do_handshake()
            except ssl.SSLWantReadError:
                continue
    return asking


def test_a_device_that_trusts_the_authority_believes_every_name_and_address_of_ours(
    tmp_path: Path,
) -> None:
    now = make(tmp_path, PANTRY, CELLAR)
    server = tls_context(now.server_file)
    for name in (*NAMES, str(PANTRY), str(CELLAR), "127.0.0.1", "::1"):
        assert shake_hands(server, now.authority_pem, name).version() == "TLSv1.3"
    with pytest.raises(ssl.SSLCertVerificationError, match="mismatch"):
        shake_hands(server, now.authority_pem, "192.168.1.11")


def test_another_households_authority_is_not_believed(tmp_path: Path) -> None:
    ours, other = make(tmp_path / "ours"), make(tmp_path / "other")
    with pytest.raises(ssl.SSLCertVerificationError):
        shake_hands(tls_context(ours.server_file), other.authority_pem, "localhost")


@pytest.mark.parametrize("name", ["bank.example", "8.8.8.8", "2001:4860:4860::8888", "local"])
def test_who_steals_the_authoritys_key_can_imitate_no_other_house(
    tmp_path: Path, name: str
) -> None:
    """OpenSSL refuses what was signed with the true key for a name outside its constraints."""
    now = make(tmp_path, PANTRY)
    stolen = key_in(tmp_path / "https" / "authority.pem")
    issuer = x509.load_pem_x509_certificate(now.authority_pem.encode())
    bait = _signed_for(name, issuer, stolen)
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
        shake_hands(_context_of(bait, stolen, tmp_path), now.authority_pem, name)
    good = _signed_for("larder.local", issuer, stolen)  # so that the bait is well made
    assert shake_hands(_context_of(good, stolen, tmp_path), now.authority_pem, "larder.local")


def _signed_for(
    name: str, issuer: x509.Certificate, key: ec.EllipticCurvePrivateKey
) -> x509.Certificate:
    try:
        held: x509.GeneralName = x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        held = x509.DNSName(name)
    subject = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "bait")])
    identifier = issuer.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    return (
        x509.CertificateBuilder(issuer.subject, subject, key.public_key(), 7, NOW - DAY, NOW + DAY)
        .add_extension(x509.SubjectAlternativeName([held]), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(identifier), False
        )
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), False)
        .sign(key, hashes.SHA256())
    )


def _context_of(
    certificate: x509.Certificate, key: ec.EllipticCurvePrivateKey, folder: Path
) -> ssl.SSLContext:
    pem = serialization.Encoding.PEM
    private = key.private_bytes(
        pem, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    file = folder / "bait.pem"
    file.write_bytes(certificate.public_bytes(pem) + private)
    return tls_context(file)


def test_the_certificates_say_what_they_are_for(tmp_path: Path) -> None:
    now = make(tmp_path, PANTRY)
    authority = x509.load_pem_x509_certificate(now.authority_pem.encode())
    basic = authority.extensions.get_extension_for_class(x509.BasicConstraints)
    reach = authority.extensions.get_extension_for_class(x509.NameConstraints)
    assert (basic.critical, basic.value.ca, basic.value.path_length) == (True, True, 0)
    assert reach.critical
    server = read(now.server_file)
    usage = server.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert list(usage) == [x509.ExtendedKeyUsageOID.SERVER_AUTH]
    assert not server.extensions.get_extension_for_class(x509.BasicConstraints).value.ca
    assert names_in(server) == {*NAMES, str(PANTRY), "127.0.0.1", "::1"}
    span = server.not_valid_after_utc - server.not_valid_before_utc
    assert span <= timedelta(days=398)
    assert server.not_valid_before_utc <= NOW - DAY  # a tablet's clock may be behind
    assert 9.9 < (authority.not_valid_after_utc - NOW) / timedelta(days=365.25) < 10.1


@pytest.mark.skipif(sys.platform == "win32", reason="POSIX modes")
def test_keys_are_readable_to_us_only_and_what_is_given_away_holds_none(tmp_path: Path) -> None:
    make(tmp_path)
    folder = tmp_path / "https"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    for file in folder.iterdir():
        if b"PRIVATE KEY" in file.read_bytes():
            assert stat.S_IMODE(file.stat().st_mode) == 0o600, file
    assert {file.name for file in folder.iterdir()} == {
        "authority.pem", "authority.crt", "server.pem",
    }  # fmt: skip
    assert b"PRIVATE KEY" not in authority_file(tmp_path).read_bytes()


def test_no_backup_copy_or_export_holds_a_key(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    house = tmp_path / "house"
    write_evening(house / "stillroom.db")
    make(house)
    secret = key_in(house / "https" / "authority.pem").private_bytes(
        serialization.Encoding.DER, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    data = ["--data", str(house)]
    assert main(["backup", str(tmp_path / "copy.db"), *data]) == 0
    assert main(["export", str(tmp_path / "out"), *data]) == 0
    capsys.readouterr()
    taken = [tmp_path / "copy.db", *(tmp_path / "out").rglob("*")]
    assert len(taken) > 5
    for file in taken:
        content = file.read_bytes()
        assert b"PRIVATE KEY" not in content
        assert secret not in content


def test_nothing_is_renewed_while_everything_holds(tmp_path: Path) -> None:
    first = make(tmp_path, PANTRY)
    before = first.server_file.read_bytes()
    second = make(tmp_path, PANTRY, at=NOW + 300 * DAY)
    assert (first.is_new_authority, first.is_new_server) == (True, True)
    assert (second.is_new_authority, second.is_new_server) == (False, False)
    assert second.authority_pem == first.authority_pem
    assert second.server_file.read_bytes() == before


@pytest.mark.parametrize("days", [370, 398, 2000])
def test_the_servers_certificate_is_renewed_when_its_end_is_near_or_past(
    tmp_path: Path, days: int
) -> None:
    first = make(tmp_path, PANTRY)
    later = make(tmp_path, PANTRY, at=NOW + days * DAY)
    assert later.is_new_server
    assert not later.is_new_authority
    assert later.authority_pem == first.authority_pem  # no device has to learn anything
    renewed = read(later.server_file)
    assert renewed.not_valid_before_utc < NOW + days * DAY < renewed.not_valid_after_utc - 300 * DAY


def test_an_address_or_name_that_is_new_is_taken_in_and_one_that_is_gone_does_no_harm(
    tmp_path: Path,
) -> None:
    make(tmp_path, PANTRY)
    moved = make(tmp_path, PANTRY, CELLAR)
    assert moved.is_new_server
    assert str(CELLAR) in names_in(read(moved.server_file))
    assert not make(tmp_path, PANTRY).is_new_server
    named = certify(tmp_path / "https", [*NAMES, "stillroom.home.arpa"], [PANTRY], at=NOW)
    assert named.is_new_server
    assert named.left_out == ()


def test_what_the_authority_cannot_cover_is_told_and_the_rest_still_holds(tmp_path: Path) -> None:
    make(tmp_path)
    public = ipaddress.ip_address("203.0.113.9")
    now = certify(tmp_path / "https", [*NAMES, "pantry.example"], [PANTRY, public], at=NOW)
    assert now.left_out == ("pantry.example", "203.0.113.9")
    assert shake_hands(tls_context(now.server_file), now.authority_pem, str(PANTRY))


def test_an_authority_that_has_ended_is_replaced_and_kept_aside(tmp_path: Path) -> None:
    first = make(tmp_path)
    later = make(tmp_path, at=NOW + 3700 * DAY)
    assert later.is_new_authority
    assert later.is_new_server
    assert later.authority_pem != first.authority_pem
    aside = tmp_path / "https" / f"authority-{NOW.date().isoformat()}.pem"
    assert first.authority_pem.encode() in aside.read_bytes()


@pytest.mark.parametrize("name", ["authority.pem", "server.pem"])
def test_a_damaged_key_file_is_said_and_left_as_it_is(
    tmp_path: Path, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    make(tmp_path)
    file = tmp_path / "https" / name
    file.write_bytes(file.read_bytes()[:200])
    with pytest.raises(Unreadable):
        make(tmp_path)
    assert main(["serve", "--https", "--port", "0", "--data", str(tmp_path)]) == 2
    assert f"{file} is damaged" in capsys.readouterr().err
    assert file.stat().st_size == 200


def test_the_fingerprint_is_that_of_the_certificate(tmp_path: Path) -> None:
    pem = make(tmp_path).authority_pem
    expected = x509.load_pem_x509_certificate(pem.encode()).fingerprint(hashes.SHA256())
    groups = fingerprint(pem)
    assert len(groups) == 16
    assert bytes.fromhex("".join(groups)) == expected


def test_names_that_no_certificate_can_hold_are_left_out() -> None:
    told = ("larder", "my_pc", "ailsa's kitchen", "küche", "192.168.1.10", "a.b.home.arpa", "")
    assert certifiable(told) == {"larder", "a.b.home.arpa"}


def test_the_machine_knows_addresses_that_others_can_use() -> None:
    assert any(name.endswith(".local") for name in machine_names())
    for address in machine_addresses():
        assert not address.is_loopback
        assert not (address.version == 6 and address.is_link_local)


def test_while_serving_an_address_that_is_new_is_shown_to_the_next_connection(
    tmp_path: Path,
) -> None:
    settings = Settings(tmp_path)
    context = tls_context(certified(settings).server_file)
    trusted = authority_file(tmp_path).read_text()
    with pytest.raises(ssl.SSLCertVerificationError):
        shake_hands(context, trusted, "stillroom.home.arpa")
    keep_fresh(replace(settings, names=("stillroom.home.arpa",)), context, _OneLook())
    assert shake_hands(context, trusted, "stillroom.home.arpa").version()


class _OneLook(threading.Event):
    """Waits for nothing the first time; the second time it is over."""

    looks = 0

    def wait(self, timeout: float | None = None) -> bool:
        self.looks += 1
        return self.looks > 1
