"""The mass-flow picture: parts of a mass in, bands and bars in px and per cent out.

Sources stand at the left, the lot in the middle, what became of it at the right. The thickness of
a band is its mass, to one scale on both sides; words never depend on it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from app.language import _
from app.web.display import mass, percent
from app.web.trace.words import Share, others, picture_words

MOST = 40  # parts on a side
WHOLE = 190.0  # px: the thickness of all of the mass
HEAD = 30.0  # px above the first part, for the words over the columns
_LINE, _GAP = 19.0, 7.0  # px: the words of a part, and the space below its band
_LONG, _SHORT = 56, 24  # letters beside a bar, on a tablet and on a phone


@dataclass(frozen=True, slots=True)
class Band:
    """One part: its words, its bar at the edge, and where its band meets the middle (px)."""

    words: str
    short: str
    look: str
    baseline: float
    top: float
    thickness: float
    middle: float

    @property
    def outline(self) -> str:
        """The band from the edge (x 0) to the middle (x 100)."""
        a, b = self.top, self.top + self.thickness
        c, d = self.middle, self.middle + self.thickness
        curve = f"M0 {a:.2f}C50 {a:.2f} 50 {c:.2f} 100 {c:.2f}"
        return f"{curve}L100 {d:.2f}C50 {d:.2f} 50 {b:.2f} 0 {b:.2f}Z"


@dataclass(frozen=True, slots=True)
class FlowDrawing:
    """Everything the flow macro draws."""

    left: tuple[Band, ...]
    right: tuple[Band, ...]
    name: str
    amount: str
    top: float
    thickness: float
    height: float
    sentence: str


def flow_drawing(
    name: str, mass_mg: int, left: Sequence[Share], right: Sequence[Share]
) -> FlowDrawing:
    """Draw where a mass came from and what became of it.

    Args:
        mass_mg: above 0. left, right: its parts, each side summing to it.
    """
    sides = [gathered(left), gathered(right)]
    tall = max(_height(side) for side in sides)
    drawn = [_bands(side, mass_mg, tall) for side in sides]
    return FlowDrawing(
        left=drawn[0],
        right=drawn[1],
        name=name,
        amount=mass(mass_mg),
        top=round(HEAD + (tall - WHOLE) / 2, 2),
        thickness=WHOLE,
        height=round(HEAD + tall, 2),
        sentence=picture_words(name, mass_mg, left, right),
    )


def gathered(parts: Sequence[Share], most: int = MOST) -> list[Share]:
    """At most so many parts: the largest in their order, and the rest as one."""
    if len(parts) <= most:
        return list(parts)
    largest = sorted(range(len(parts)), key=lambda i: (-parts[i].mass_mg, i))
    kept = [parts[i] for i in sorted(largest[: most - 1])]
    rest = [parts[i] for i in largest[most - 1 :]]
    return [
        *kept,
        Share(_("and {others}", others=others(len(rest))), sum(p.mass_mg for p in rest), "rest"),
    ]


def _height(parts: Sequence[Share]) -> float:
    return WHOLE + len(parts) * (_LINE + _GAP)


def _bands(parts: Sequence[Share], mass_mg: int, tall: float) -> tuple[Band, ...]:
    y = HEAD + (tall - _height(parts)) / 2
    middle = HEAD + (tall - WHOLE) / 2
    bands = []
    for part in parts:
        thickness = WHOLE * part.mass_mg / mass_mg
        amount = f"{mass(part.mass_mg)}, {percent(part.mass_mg / mass_mg)}"
        bands.append(
            Band(
                words=_cut(f"{part.words} · {amount}", part.words, amount, _LONG),
                short=_cut(f"{part.words} · {mass(part.mass_mg)}", part.words,
                           mass(part.mass_mg), _SHORT),
                look=part.look,
                baseline=round(y + _LINE - 5, 2),
                top=round(y + _LINE, 2),
                thickness=round(thickness, 3),
                middle=round(middle, 3),
            )
        )  # fmt: skip
        y += _LINE + thickness + _GAP
        middle += thickness
    return tuple(bands)


def _cut(whole: str, words: str, amount: str, letters: int) -> str:
    """Words and amount in so many letters; the amount is never cut."""
    if len(whole) <= letters:
        return whole
    room = max(letters - len(amount) - 4, 4)
    return f"{words[:room].rstrip(' ,:')}… · {amount}"
