"""A file that travels with its form: nothing of it is kept here between looking and writing."""

import binascii
import zlib
from base64 import b64decode, b64encode
from dataclasses import dataclass
from hashlib import sha256

from app.language import _

MOST_BYTES = 4_000_000  # about 100,000 readings: one every five minutes for a year
MOST_NAME = 80


class Unfit(ValueError):
    """This is no file to be read; the message says why."""


@dataclass(frozen=True, slots=True)
class Carried:
    """A file's name and bytes."""

    name: str
    data: bytes

    @property
    def sha256(self) -> str:
        """By which the same file is known again."""
        return sha256(self.data).hexdigest()

    @property
    def packed(self) -> str:
        """For a hidden box of the form."""
        return b64encode(zlib.compress(self.data)).decode("ascii")


def taken(name: str, data: bytes) -> Carried:
    """A file as it was sent; Unfit when it is empty or too large."""
    if not data:
        raise Unfit(_("This file is empty."))
    if len(data) > MOST_BYTES:
        raise Unfit(
            _(
                "This file is larger than {MOST_BYTES} MB. Let the logger write shorter "
                "files, or split it.",
                MOST_BYTES=MOST_BYTES // 1_000_000,
            )
        )
    short = name.replace("\\", "/").rsplit("/", 1)[-1].strip()[-MOST_NAME:]
    return Carried(short or _("a file without a name"), data)


def unpacked(name: str, packed: str) -> Carried:
    """A file out of its form; Unfit when the box was tampered with or grew too large."""
    try:
        unpack = zlib.decompressobj()
        data = unpack.decompress(b64decode(packed, validate=True), MOST_BYTES + 1)
    except (ValueError, binascii.Error, zlib.error):
        raise Unfit(_("The file was damaged on its way. Choose it again.")) from None
    if not unpack.eof and len(data) <= MOST_BYTES:
        raise Unfit(_("The file was damaged on its way. Choose it again."))
    return taken(name, data)
