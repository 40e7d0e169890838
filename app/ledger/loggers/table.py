"""From the bytes of a file to a table: encoding, delimiter, preamble, header."""

import csv
import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from app.ledger.loggers.cells import is_date, is_number, is_reading, is_stamp, unit_of

Row = tuple[str, ...]

#: Where two delimiters explain a file equally well, the earlier one: 4,5 may be one number.
DELIMITERS = ("\t", ";", ",")
_SAMPLE = 200
_PREAMBLE = 1000  # readings that begin further down are not looked for
_UNIT_CELL = re.compile(r"(?:%|%? ?rh|utc|local|[dmyh]+([-/.: ][dmyhs]+)+|)", re.IGNORECASE)
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0e-\x1f]")
_DECIMAL_COMMA = re.compile(r"[-+−]?[0-9]+,[0-9]+\s*(?:°?\s*[CF]|%)?")


class NotATable(ValueError):
    """The file holds no rows with a time and a temperature; `reason` says what is amiss."""

    def __init__(self, reason: str) -> None:
        """Keep the reason, a short phrase in plain words."""
        self.reason = reason
        super().__init__(reason)


@dataclass(frozen=True, slots=True)
class Table:
    """A logger's rows as text; a blank line is an empty row, so that rows keep their numbers.

    The header carries the units row, where there is one: "Temperature (°C)".
    """

    header: Row
    rows: tuple[Row, ...]
    delimiter: str
    decimal_comma: bool
    first_row_number: int  # the line of the file on which the first of `rows` stands, from 1

    def column(self, index: int, most: int | None = _SAMPLE) -> list[str]:
        """The cells of one column that are not blank, of the first `most` rows."""
        return [row[index] for row in self.rows[:most] if index < len(row) and row[index]]

    def title(self, index: int) -> str:
        """A column's header, "" where there is none."""
        return self.header[index] if index < len(self.header) else ""

    @property
    def width(self) -> int:
        """Columns of the widest row among the first."""
        return max((len(row) for row in self.rows[:_SAMPLE]), default=len(self.header))


def decode(data: bytes) -> str:
    r"""The text of a file: UTF-8, UTF-16 with a byte order mark, else Windows code page 1252.

    Args:
        data: the file as it came; its size is the caller's to limit.
    Raises:
        NotATable: the file is no text.
    Example:
        >>> decode("\ufeff4 °C".encode())
        '4 °C'
    """
    marked = data.startswith((b"\xff\xfe", b"\xfe\xff"))
    for encoding in ("utf-16",) if marked else ("utf-8-sig", "cp1252"):
        try:
            text = data.decode(encoding).rstrip("\x1a\x00")
        except UnicodeDecodeError:
            continue
        if _CONTROL.search(text):
            break
        return text
    raise NotATable("it is not a text file")


def sniff(text: str) -> Table:
    r"""Find the table in a text: delimiter, decimal comma, header and first row of readings.

    Args:
        text: the whole file, any line ends.
    Raises:
        NotATable: the file is empty, or none of its rows could be a header or a reading.
    Example:
        >>> sniff("time;temp\n2026-11-01 10:00;4,5").rows
        (('2026-11-01 10:00', '4,5'),)
    """
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    while lines and not lines[-1].strip():
        lines.pop()
    if not any(line.strip() for line in lines):
        raise NotATable("the file is empty")
    delimiter = max(DELIMITERS, key=lambda mark: _fits(lines[:_SAMPLE], mark))
    rows = _split(lines, delimiter)
    first = _first_row(rows)
    header = _header(rows[:first])
    if first == len(rows) and not header:
        raise NotATable("no row has a time and a temperature")
    body = tuple(rows[first:])
    decimal_comma = delimiter != "," and any(
        _DECIMAL_COMMA.fullmatch(cell) for row in body[:_SAMPLE] for cell in row
    )
    return Table(header, body, delimiter, decimal_comma, first + 1)


def _split(lines: Iterable[str], delimiter: str) -> list[Row]:
    """Each line by itself: a stray quotation mark must not swallow the rest of the file."""
    rows: list[Row] = []
    for line in lines:
        try:
            cells = next(csv.reader((line,), delimiter=delimiter, skipinitialspace=True), [])
        except csv.Error as error:
            raise NotATable("a line is far too long") from error
        row = tuple(cell.strip() for cell in cells)
        rows.append(row if any(row) else ())
    return rows


def _fits(lines: list[str], delimiter: str) -> tuple[int, int]:
    """How many lines look like readings, and how many share the commonest width."""
    rows = [row for row in _split(lines, delimiter) if len(row) > 1]
    widths = Counter(len(row) for row in rows)
    return sum(map(_is_data, rows)), max(widths.values(), default=0)


def _is_data(row: Row) -> bool:
    dated = sum(1 for cell in row if is_stamp(cell) or is_date(cell))
    if dated:
        return any(is_reading(cell) for cell in row if not is_date(cell))
    return len(row) > 3 and sum(map(is_number, row)) > 3


def _first_row(rows: list[Row]) -> int:
    """Where the readings begin: the first row as wide as most rows of readings."""
    data = [index for index, row in enumerate(rows[:_PREAMBLE]) if row and _is_data(row)]
    if not data:
        return len(rows)
    usual = Counter(len(rows[index]) for index in data).most_common(1)[0][0]
    return next(index for index in data if len(rows[index]) == usual)


def _header(above: list[Row]) -> Row:
    """The last row before the readings, joined with the units row that may follow it."""
    filled = [row for row in above if row]
    if not filled:
        return ()
    if len(filled) > 1 and len(filled[-1]) > 1 and all(map(_is_unit, filled[-1])):
        return _joined(filled[-2], filled[-1])
    return filled[-1] if sum(map(bool, filled[-1])) > 1 else ()


def _is_unit(cell: str) -> bool:
    return bool(_UNIT_CELL.fullmatch(cell)) or (len(cell) < 9 and unit_of(cell) is not None)


def _joined(names: Row, units: Row) -> Row:
    wide = max(len(names), len(units))
    pairs = zip(
        names + ("",) * (wide - len(names)), units + ("",) * (wide - len(units)), strict=True
    )
    return tuple(f"{name} ({unit})".strip() if unit else name for name, unit in pairs)
