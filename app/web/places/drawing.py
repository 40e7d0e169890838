"""The drawing of how warm a place was: dates and temperatures in, per cent and pixels out."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from math import ceil, floor
from zoneinfo import ZoneInfo

from app.language import _, day_and_month, month_mark
from app.ledger.climates import Stretch
from app.ledger.queries.climate import Story

HEIGHT = 170  # px of the plot
_STEPS = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
_MOST_LINES = 6
_FEW_DAYS = 62


@dataclass(frozen=True, slots=True)
class Band:
    """A stretch: its ends in per cent, its three temperatures in px from the upper edge."""

    x: float
    end: float
    high: float
    usual: float
    low: float

    @property
    def width(self) -> float:
        """Per cent of the width."""
        return round(self.end - self.x, 3)

    @property
    def height(self) -> float:
        """Px; a place that never varies still has a band to see."""
        return max(self.low - self.high, 1.0)


@dataclass(frozen=True, slots=True)
class Stroke:
    """The readings of one day: x in per cent, lowest and highest in px from above."""

    x: float
    high: float
    low: float
    is_typed: bool


@dataclass(frozen=True, slots=True)
class Mark:
    """A written mark of an axis, at a place in per cent or px."""

    word: str
    at: float
    anchor: str = "middle"
    is_minor: bool = False
    is_now: bool = False


@dataclass(frozen=True, slots=True)
class ClimateDrawing:
    """Everything the climate macro draws."""

    bands: tuple[Band, ...]
    strokes: tuple[Stroke, ...]
    lines: tuple[Mark, ...]
    months: tuple[Mark, ...]
    sentence: str
    height: int = HEIGHT


def climate_drawing(
    story: Story, today: date, sentence: str, unit: str, zone: ZoneInfo
) -> ClimateDrawing:
    """Draw a place's temperatures from the start of its story to the end of today.

    Args:
        unit: "C" or "F", for the written temperatures.
    """
    end = today + timedelta(days=1)
    scale = _Scale(story, unit)
    edges = [*(stretch.since for stretch in story.stretches[1:]), None]
    return ClimateDrawing(
        bands=tuple(
            _band(stretch, following, story.start, end, scale)
            for stretch, following in zip(story.stretches, edges, strict=True)
        ),
        strokes=tuple(_strokes(story, end, scale, zone)),
        lines=scale.lines,
        months=tuple(_marks(story.start, today, end)),
        sentence=sentence,
    )


def _strokes(story: Story, end: date, scale: "_Scale", zone: ZoneInfo) -> Iterator[Stroke]:
    """A logger's days from their lowest to their highest; each typed reading by itself."""
    for d in story.days:
        if d.high_c > d.low_c or d.count > 1:
            x = _across(datetime.combine(d.on, time(12)), story.start, end)
            yield Stroke(x, scale.px(d.high_c), scale.px(d.low_c), is_typed=False)
    for reading in story.typed:
        local = reading.at.astimezone(zone).replace(tzinfo=None)
        at = scale.px(reading.temp_c)
        yield Stroke(_across(local, story.start, end), at, at, is_typed=True)


class _Scale:
    """From degrees to px, with lines at round numbers."""

    def __init__(self, story: Story, unit: str) -> None:
        self.unit = unit
        seen = [t for s in story.stretches for t in (s.warmth.temp_low_c, s.warmth.temp_high_c)]
        seen += [t for d in story.days for t in (d.low_c, d.high_c)]
        low, high = self._shown(min(seen)), self._shown(max(seen))
        span = max(high - low, 2.0)
        step = next((s for s in _STEPS if span / s <= _MOST_LINES - 2), _STEPS[-1])
        self.bottom, self.top = step * floor(low / step), step * ceil(high / step)
        if self.bottom == self.top:
            self.top += step
        count = round((self.top - self.bottom) / step)
        values = [self.bottom + step * i for i in range(count + 1)]
        self.lines = tuple(
            Mark(f"{v:g}".replace("-", "−") + f" °{unit}", self._px(v)) for v in values
        )

    def px(self, temp_c: float) -> float:
        """Px from the upper edge."""
        return self._px(self._shown(temp_c))

    def _px(self, value: float) -> float:
        return round(HEIGHT * (self.top - value) / (self.top - self.bottom), 1)

    def _shown(self, temp_c: float) -> float:
        return temp_c if self.unit == "C" else 1.8 * temp_c + 32.0


def _written(value: float, unit: str) -> str:
    return f"{value:g} °{unit}".replace("-", "−")


def _band(
    stretch: Stretch, following: datetime | None, start: date, end: date, scale: _Scale
) -> Band:
    local = stretch.since.replace(tzinfo=None)
    until = 100.0 if following is None else _across(following.replace(tzinfo=None), start, end)
    warmth = stretch.warmth
    return Band(
        x=_across(local, start, end),
        end=until,
        high=scale.px(warmth.temp_high_c),
        usual=scale.px(warmth.temp_c),
        low=scale.px(warmth.temp_low_c),
    )


def _across(local: datetime, start: date, end: date) -> float:
    """Per cent of the width."""
    begun = datetime.combine(start, time.min)
    share = (local - begun) / timedelta(days=(end - start).days)
    return round(100 * min(max(share, 0.0), 1.0), 3)


def _marks(start: date, today: date, end: date) -> Sequence[Mark]:
    """The first of each month; of a short stretch its two ends."""
    if (end - start).days <= _FEW_DAYS:
        ends = [Mark(day_and_month(start), 0.0, "start")]
        return [*ends, _today()] if start < today else ends
    found: list[Mark] = []
    first = start.replace(day=1)
    while first < end:
        if first >= start:
            x = _across(datetime.combine(first, time.min), start, end)
            if 3.0 < x < 88.0:
                year = f" {first.year}" if first.month == 1 else ""
                found.append(Mark(f"{month_mark(first)}{year}", x, "middle", first.month % 2 == 0))
        first = (first + timedelta(days=32)).replace(day=1)
    return [*found, _today()]


def _today() -> Mark:
    return Mark(_("today"), 100.0, "end", is_now=True)
