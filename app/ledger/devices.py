"""Pairing: a code from the server's own screen, typed on a device, lets it open the ledger."""

import hashlib
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from app.ledger.errors import NotFound
from app.ledger.models import Device, PairingCode

CODE_DIGITS = 8
CODE_LASTS = timedelta(minutes=10)
TRIES = 5  # wrong codes typed anywhere while a code lasts; then it is void
NAME_LENGTH = 40


@dataclass(frozen=True, slots=True)
class Paired:
    """A device that was paired just now, with the token it is to keep: only its hash stays here."""

    device_id: int
    token: str


def new_code(session: Session, *, at: datetime) -> str:
    """Make a code and void every other: one device is paired at a time.

    Returns:
        Digits, to be typed on the device within ten minutes.
    """
    session.execute(delete(PairingCode))
    code = "".join(secrets.choice("0123456789") for _ in range(CODE_DIGITS))
    session.add(PairingCode(code_sha256=_hash(code), made_at=at, tries_left=TRIES))
    session.flush()
    return code


def pair(session: Session, typed: str, name: str, *, at: datetime) -> Paired | None:
    """Pair the device on which a code was typed.

    A wrong code is counted, so the transaction must be kept whatever the answer.

    Args:
        typed: the code; spaces and hyphens count for nothing. name: what to call the device.
    Returns:
        The device with its token; None when the code is wrong, was used, or is too old.
    """
    row = session.scalar(select(PairingCode))
    if row is None or row.tries_left == 0 or not row.made_at <= at <= row.made_at + CODE_LASTS:
        return None
    digits = "".join(character for character in typed if character.isdecimal())
    if not secrets.compare_digest(_hash(digits), row.code_sha256):
        row.tries_left -= 1
        session.flush()
        return None
    session.delete(row)
    token = secrets.token_urlsafe(32)
    device = Device(name=name[:NAME_LENGTH], token_sha256=_hash(token), paired_at=at)
    session.add(device)
    session.flush()
    return Paired(device.id, token)


def device_of(session: Session, token: str) -> Device | None:
    """The paired device that keeps a token; None for any other."""
    return session.scalar(select(Device).where(Device.token_sha256 == _hash(token)))


def devices(session: Session) -> Sequence[Device]:
    """Every paired device, the oldest first."""
    return session.scalars(select(Device).order_by(Device.id)).all()


def remove(session: Session, device_id: int) -> str:
    """Shut a device out from now on; gives its name.

    Raises:
        NotFound: no such device, or it was removed already.
    """
    device = session.get(Device, device_id)
    if device is None:
        raise NotFound(str(device_id))
    name = device.name
    session.delete(device)
    session.flush()
    return name


def _hash(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
