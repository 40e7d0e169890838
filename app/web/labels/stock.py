"""Label stock described by its dimensions alone, and where its labels lie on a page."""

from collections.abc import Iterator
from dataclasses import dataclass, fields

from app.language import _

PAPER_SLACK_MM = 0.05  # dimensions of stock are printed to a tenth of a millimetre


@dataclass(frozen=True, slots=True)
class StockProblem:
    """A field of the stock that cannot be, with the limits it has to keep."""

    field: str
    low: float
    high: float


class InvalidStock(ValueError):
    """Dimensions that do not describe a page of labels.

    Attributes: problems, one for each field at fault.
    """

    def __init__(self, problems: list[StockProblem]) -> None:
        self.problems = problems
        super().__init__(
            "; ".join(
                _("{field}: {low:g} to {high:g}", field=p.field, low=p.low, high=p.high)
                for p in problems
            )
        )


# Our judgement: wide enough for any label of a household, narrow enough to catch a mistyped unit.
_LIMITS = {
    "width_mm": (20, 300),
    "height_mm": (15, 300),
    "columns": (1, 20),
    "rows": (1, 40),
    "page_width_mm": (20, 450),
    "page_height_mm": (15, 450),
    "margin_left_mm": (0, 100),
    "margin_top_mm": (0, 100),
    "pitch_x_mm": (20, 400),
    "pitch_y_mm": (15, 400),
    "printer_dpi": (150, 1200),
}


@dataclass(frozen=True, slots=True)
class LabelStock:
    """A roll of single labels, or a sheet of equal labels in columns and rows.

    Lengths in mm. A page size or pitch of 0 means "as large as the label": a roll needs only width
    and height. pitch is the distance from the left (top) edge of a label to that of the next.
    Raises InvalidStock.
    """

    width_mm: float
    height_mm: float
    columns: int = 1
    rows: int = 1
    page_width_mm: float = 0.0
    page_height_mm: float = 0.0
    margin_left_mm: float = 0.0
    margin_top_mm: float = 0.0
    pitch_x_mm: float = 0.0
    pitch_y_mm: float = 0.0
    printer_dpi: int = 203

    def __post_init__(self) -> None:
        for name, label in (
            ("page_width_mm", self.width_mm),
            ("page_height_mm", self.height_mm),
            ("pitch_x_mm", self.width_mm),
            ("pitch_y_mm", self.height_mm),
        ):
            if getattr(self, name) == 0:
                object.__setattr__(self, name, label)
        problems = self._out_of_limits() or [*self._overlaps(), *self._overflows()]
        if problems:
            raise InvalidStock(problems)

    @property
    def per_page(self) -> int:
        return self.columns * self.rows

    def _out_of_limits(self) -> list[StockProblem]:
        # Written so that NaN fails too.
        return [
            StockProblem(field.name, *_LIMITS[field.name])
            for field in fields(self)
            if not _LIMITS[field.name][0] <= getattr(self, field.name) <= _LIMITS[field.name][1]
        ]

    def _overlaps(self) -> Iterator[StockProblem]:
        if self.columns > 1 and self.pitch_x_mm < self.width_mm:
            yield StockProblem("pitch_x_mm", self.width_mm, _LIMITS["pitch_x_mm"][1])
        if self.rows > 1 and self.pitch_y_mm < self.height_mm:
            yield StockProblem("pitch_y_mm", self.height_mm, _LIMITS["pitch_y_mm"][1])

    def _overflows(self) -> Iterator[StockProblem]:
        right_mm = self.margin_left_mm + (self.columns - 1) * self.pitch_x_mm + self.width_mm
        bottom_mm = self.margin_top_mm + (self.rows - 1) * self.pitch_y_mm + self.height_mm
        if right_mm > self.page_width_mm + PAPER_SLACK_MM:
            yield StockProblem("page_width_mm", right_mm, _LIMITS["page_width_mm"][1])
        if bottom_mm > self.page_height_mm + PAPER_SLACK_MM:
            yield StockProblem("page_height_mm", bottom_mm, _LIMITS["page_height_mm"][1])


@dataclass(frozen=True, slots=True)
class Rectangle:
    """Where one label lies: page counted from 0, distances from the page's left and top edge."""

    page: int
    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float


# Common sizes of the trade, described by their dimensions; common practice, no source.
PRESETS: dict[str, LabelStock] = {
    "roll, 100 × 62 mm": LabelStock(100, 62),
    "roll, 62 × 100 mm": LabelStock(62, 100),
    "roll, 101.6 × 50.8 mm (4 × 2 in)": LabelStock(101.6, 50.8),
    "A4 sheet, 2 × 4 of 99.1 × 67.7 mm": LabelStock(
        99.1,
        67.7,
        columns=2,
        rows=4,
        page_width_mm=210,
        page_height_mm=297,
        margin_left_mm=4.65,
        margin_top_mm=13.1,
        pitch_x_mm=101.6,
        pitch_y_mm=67.7,
        printer_dpi=300,
    ),
}


def rectangles(stock: LabelStock, count: int, first: int = 1) -> list[Rectangle]:
    """Places for `count` labels, row by row, beginning at label `first` of a partly used sheet.

    Raises ValueError unless count ≥ 0 and 1 ≤ first ≤ labels per page.

    >>> [(r.page, r.left_mm) for r in rectangles(LabelStock(100, 62), 2)]
    [(0, 0.0), (1, 0.0)]
    """
    if count < 0 or not 1 <= first <= stock.per_page:
        raise ValueError(
            _(
                "count {count}, first {first} of {per_page}",
                count=count,
                first=first,
                per_page=stock.per_page,
            )
        )
    return [_rectangle(stock, position) for position in range(first - 1, first - 1 + count)]


def _rectangle(stock: LabelStock, position: int) -> Rectangle:
    page, place = divmod(position, stock.per_page)
    row, column = divmod(place, stock.columns)
    return Rectangle(
        page,
        stock.margin_left_mm + column * stock.pitch_x_mm,
        stock.margin_top_mm + row * stock.pitch_y_mm,
        stock.width_mm,
        stock.height_mm,
    )
