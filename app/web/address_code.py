"""An address as a QR code on a page."""

from markupsafe import Markup


def address_code(address: str) -> Markup:
    """The QR code of an address, black on white in the dark too, with its quiet zone."""
    import segno

    code = segno.make_qr(address)
    drawn = code.svg_inline(scale=5, dark="#000", light="#fff", svgclass=None, lineclass=None)
    return Markup(drawn)  # noqa: S704 (drawn by segno: numbers only)
