"""What anybody may see of the household's authority: its certificate and that one's fingerprint."""

import hashlib
import ssl
from pathlib import Path

FOLDER = "https"  # beside the ledger
AUTHORITY_FILE = "authority.crt"
_GROUP = 4  # digits that are compared at one glance


def authority_file(data_dir: Path) -> Path:
    """Where the certificate lies that devices are to trust; it holds no key."""
    return data_dir / FOLDER / AUTHORITY_FILE


def fingerprint(certificate_pem: str) -> tuple[str, ...]:
    """SHA-256 of a certificate in hexadecimal, in 16 groups to be compared by eye."""
    digits = hashlib.sha256(ssl.PEM_cert_to_DER_cert(certificate_pem)).hexdigest().upper()
    return tuple(digits[at : at + _GROUP] for at in range(0, len(digits), _GROUP))
