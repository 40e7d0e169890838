"""Small line drawings as plain SVG text: axes, curves, dots and bars, and nothing else."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape
from math import log10

WIDTH, HEIGHT = 640, 400
LEFT, RIGHT, TOP, BOTTOM = 70, 20, 46, 52
INK, FAINT = "#23302b", "#c9d0cb"
PREDICTED, SECOND, THIRD, PUBLISHED = "#1f6f6b", "#7a5c99", "#8a8f3c", "#b3441e"
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis: its words with the unit, its two ends, its marks, and whether it is logarithmic."""

    words: str
    low: float
    high: float
    marks: Sequence[float]
    is_log: bool = False

    def share(self, value: float) -> float:
        """Where a value lies between the ends, 0 to 1 on the axis."""
        low, high, at = self.low, self.high, min(max(value, self.low), self.high)
        if self.is_log:
            low, high, at = log10(low), log10(high), log10(at)
        return (at - low) / (high - low)


def _text(x: float, y: float, words: str, more: str = "") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" {more}>{escape(words)}</text>'


@dataclass
class Figure:
    """A drawing that is added to and then turned into text."""

    title: str
    x: Axis
    y: Axis
    left: int = LEFT
    height: int = HEIGHT
    _parts: list[str] = field(default_factory=list)
    _legend: list[tuple[str, str, bool]] = field(default_factory=list)

    def _at(self, point: Point) -> Point:
        wide, high = WIDTH - self.left - RIGHT, self.height - TOP - BOTTOM
        return (
            self.left + wide * self.x.share(point[0]),
            self.height - BOTTOM - high * self.y.share(point[1]),
        )

    def curve(self, points: Iterable[Point], words: str, colour: str, dash: str = "") -> None:
        """A line through points."""
        path = " ".join("{:.1f},{:.1f}".format(*self._at(point)) for point in points)
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self._parts.append(
            f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="2"{dashed}/>'
        )
        self._name(words, colour, False)

    def dots(self, points: Iterable[Point], words: str, colour: str = PUBLISHED) -> None:
        """A ring at each point."""
        for point in points:
            x, y = self._at(point)
            self._parts.append(
                f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="none" stroke="{colour}" '
                'stroke-width="2"/>'
            )
        self._name(words, colour, True)

    def bar(self, ends: tuple[Point, Point], words: str, colour: str, thick: float = 3) -> None:
        """A straight bar from point to point."""
        (x1, y1), (x2, y2) = map(self._at, ends)
        self._parts.append(
            f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}" '
            f'stroke-width="{thick:g}"/>'
        )
        self._name(words, colour, False)

    def label(self, at_y: float, words: str) -> None:
        """Words to the left of the vertical axis, at the height of a value."""
        _, y = self._at((self.x.low, at_y))
        self._parts.append(_text(self.left - 8, y + 4, words, 'text-anchor="end"'))

    def _name(self, words: str, colour: str, is_ring: bool) -> None:
        if words and (words, colour, is_ring) not in self._legend:
            self._legend.append((words, colour, is_ring))

    def _grid(self) -> list[str]:
        lines = []
        for mark in self.x.marks:
            x, foot = self._at((mark, self.y.low))
            lines.append(f'<line x1="{x:.1f}" y1="{TOP}" x2="{x:.1f}" y2="{foot:.1f}"/>')
            lines.append(_text(x, foot + 17, f"{mark:g}", 'text-anchor="middle" stroke="none"'))
        for mark in self.y.marks:
            x, y = self._at((self.x.low, mark))
            lines.append(f'<line x1="{x:.1f}" y1="{y:.1f}" x2="{WIDTH - RIGHT}" y2="{y:.1f}"/>')
            lines.append(_text(x - 8, y + 4, f"{mark:g}", 'text-anchor="end" stroke="none"'))
        return [f'<g stroke="{FAINT}">', *lines, "</g>"]

    def _names(self) -> list[str]:
        lines, x = [], float(min(self.left, LEFT))
        for words, colour, is_ring in self._legend:
            shape = (
                f'<circle cx="{x + 7:.1f}" cy="34" r="4" fill="none" stroke="{colour}" '
                'stroke-width="2"/>'
                if is_ring
                else f'<line x1="{x:.1f}" y1="34" x2="{x + 14:.1f}" y2="34" stroke="{colour}" '
                'stroke-width="3"/>'
            )
            lines += [shape, _text(x + 19, 38, words)]
            x += 34 + 6.2 * len(words)
        return lines

    def text(self) -> str:
        """The whole drawing."""
        middle = (TOP + self.height - BOTTOM) / 2
        upright = f'text-anchor="middle" transform="rotate(-90 14 {middle:.1f})"'
        return "\n".join(
            [
                f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {self.height}" '
                f'role="img" font-family="sans-serif" font-size="12" fill="{INK}">',
                f"<title>{escape(self.title)}</title>",
                '<rect width="100%" height="100%" fill="#fff"/>',
                _text(min(self.left, LEFT), 20, self.title, 'font-size="14" font-weight="bold"'),
                *self._grid(),
                *self._parts,
                *self._names(),
                _text(
                    (self.left + WIDTH - RIGHT) / 2,
                    self.height - 12,
                    self.x.words,
                    'text-anchor="middle"',
                ),
                _text(14, middle, self.y.words, upright) if self.y.words else "",
                "</svg>",
                "",
            ]
        )
