"""Which devices of the home network may open the ledger. Not history: devices come and go."""

from datetime import datetime

from sqlalchemy import CheckConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.ledger.models.base import STRICT, Base


class Device(Base):
    """A paired device; its token is known here only by its hash."""

    __tablename__ = "device"
    __table_args__ = (STRICT,)
    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    token_sha256: Mapped[str] = mapped_column(unique=True)
    paired_at: Mapped[datetime]


class PairingCode(Base):
    """A short-lived code that pairs one device."""

    __tablename__ = "pairing_code"
    __table_args__ = (CheckConstraint("tries_left >= 0", name="tries_left"), STRICT)
    id: Mapped[int] = mapped_column(primary_key=True)
    code_sha256: Mapped[str]
    made_at: Mapped[datetime]
    tries_left: Mapped[int]
