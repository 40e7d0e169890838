"""The QR code of a label: whole printer dots to a module, and its quiet zone."""

import math
import re
from dataclasses import dataclass

from app.language import _

MM_PER_INCH = 25.4
QUIET_MODULES = 4  # ISO/IEC 18004 (second-hand: as quoted by a code library's documentation)
# Module size page of the code's originator (read in the source): four printer dots or more.
MIN_DOTS = 4
# Our judgement: four dots at 300 dpi; a finer printer must not make modules a camera cannot see.
MIN_MODULE_MM = 4 * MM_PER_INCH / 300
# All eight masks are valid; choosing the best one takes most of the time of a label.
MASK = 3

_ALPHANUMERIC = re.compile(r"[0-9A-Z $%*+\-./:]+")


class NoRoomForCode(ValueError):
    """The smallest readable code is larger than the room. Attributes: needs_mm, available_mm."""

    def __init__(self, needs_mm: float, available_mm: float) -> None:
        self.needs_mm, self.available_mm = needs_mm, available_mm
        super().__init__(
            _(
                "QR code needs {needs_mm:.1f} mm, has {available_mm:.1f} mm",
                needs_mm=needs_mm,
                available_mm=available_mm,
            )
        )


@dataclass(frozen=True, slots=True)
class QrPlan:
    """A code ready to draw: rows of dark modules without quiet zone, and its size on paper."""

    rows: tuple[tuple[bool, ...], ...]
    dots_per_module: int
    dot_mm: float

    @property
    def modules(self) -> int:
        return len(self.rows)

    @property
    def module_mm(self) -> float:
        return self.dots_per_module * self.dot_mm

    @property
    def quiet_mm(self) -> float:
        return QUIET_MODULES * self.module_mm

    @property
    def size_mm(self) -> float:
        """Side of the square including the quiet zone."""
        return (self.modules + 2 * QUIET_MODULES) * self.module_mm


def qr_plan(url: str, dpi: int, available_mm: float, level: str = "M") -> QrPlan:
    """The largest code of whole-dot modules that fits into a square with its quiet zone.

    Args:
        url: upper-cased where that allows the compact alphanumeric mode, so routes behind it must
            not depend on case. dpi: of the printer. level: M, or Q for the freezer; raised further
            where that costs no module.
    Raises:
        NoRoomForCode: the code would need modules below four dots or MIN_MODULE_MM.
    """
    import segno

    upper = url.upper()
    content = upper if _ALPHANUMERIC.fullmatch(upper) else url
    code = segno.make_qr(content, error=level, mask=MASK, boost_error=True)
    rows = tuple(tuple(module != 0 for module in row) for row in code.matrix)
    dot_mm = MM_PER_INCH / dpi
    across = len(rows) + 2 * QUIET_MODULES
    fewest = max(MIN_DOTS, math.ceil(MIN_MODULE_MM / dot_mm - 1e-9))
    dots = math.floor(available_mm / (across * dot_mm) + 1e-9)
    if dots < fewest:
        raise NoRoomForCode(across * fewest * dot_mm, available_mm)
    return QrPlan(rows, dots, dot_mm)


def runs(row: tuple[bool, ...]) -> list[tuple[int, int]]:
    """Start and length of each run of dark modules.

    >>> runs((True, True, False, True))
    [(0, 2), (3, 1)]
    """
    found = []
    start = None
    for column, dark in enumerate((*row, False)):
        if dark and start is None:
            start = column
        elif not dark and start is not None:
            found.append((start, column - start))
            start = None
    return found
