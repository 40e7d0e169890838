"""Where the strokes of the window drawing stand: dates in, per cent of the axis out.

Lives run from two days to twenty-five years, so both axes are logarithmic far from their origin
and linear near it: x ∝ asinh(days / scale). Positions are per cent of the width, so that a drawing
is as wide as its column and the today strokes of a list still stand under one another.
"""

from collections.abc import MutableMapping
from dataclasses import dataclass
from datetime import date, timedelta
from math import asinh
from typing import Any

from app.language import N_, _, day_words, short_day_words, short_month_words

DAYS_A_YEAR = 365.25
DAYS_A_MONTH = DAYS_A_YEAR / 12
NARROWEST_BAND = 0.6  # per cent: a band of one day must still be seen
ROOM_FOR_END = 36.0  # per cent of a phone's width that "ended 28 September 2026" takes


@dataclass(frozen=True)
class Axis:
    """A time axis: days from its origin to per cent of its width.

    `scale_days` is where it turns from linear to logarithmic; it runs from `first_day` to
    `last_day`.
    """

    scale_days: float
    first_day: float
    last_day: float

    def position(self, days: float) -> float:
        """Per cent of the width this many days from the origin; beyond an end it is that end."""
        low, high = asinh(self.first_day / self.scale_days), asinh(self.last_day / self.scale_days)
        here = asinh(days / self.scale_days)
        return round(100 * (min(max(here, low), high) - low) / (high - low), 3)


@dataclass(frozen=True)
class Tick:
    """One written mark of an axis: its word, days from the origin, and per cent of the width.

    A minor tick is left out where the axis is as narrow as a phone.
    """

    word: str
    days: float
    x: float
    anchor: str
    is_minor: bool


ABOUT_TODAY = Axis(scale_days=20, first_day=-5 * DAYS_A_YEAR, last_day=25 * DAYS_A_YEAR)
FROM_PACKING = Axis(scale_days=60, first_day=0, last_day=25 * DAYS_A_YEAR)


def ticks(axis: Axis, words: dict[str, float], minor: str) -> tuple[Tick, ...]:
    """The ticks of an axis; words at its ends are anchored inwards so that none is cut off."""
    anchors = {0.0: "start", 100.0: "end"}
    places = {word: axis.position(days) for word, days in words.items()}
    return tuple(
        Tick(word, words[word], x, anchors.get(x, "middle"), word == minor)
        for word, x in places.items()
    )


TICKS_ABOUT_TODAY = ticks(
    ABOUT_TODAY,
    {
        N_("−5 y"): -5 * DAYS_A_YEAR,
        N_("−6 mo"): -6 * DAYS_A_MONTH,
        N_("today"): 0,
        N_("1 mo"): DAYS_A_MONTH,
        N_("6 mo"): 6 * DAYS_A_MONTH,
        N_("2 y"): 2 * DAYS_A_YEAR,
        N_("8 y"): 8 * DAYS_A_YEAR,
        N_("25 y"): 25 * DAYS_A_YEAR,
    },
    minor="8 y",
)
TICKS_FROM_PACKING = ticks(
    FROM_PACKING,
    {
        N_("packed"): 0,
        N_("2 mo"): 2 * DAYS_A_MONTH,
        N_("6 mo"): 6 * DAYS_A_MONTH,
        N_("2 y"): 2 * DAYS_A_YEAR,
        N_("6 y"): 6 * DAYS_A_YEAR,
        N_("25 y"): 25 * DAYS_A_YEAR,
    },
    minor="2 mo",
)


@dataclass(frozen=True)
class Strokes:
    """The window in per cent of its axis; `today` is None where the axis has no today.

    `comes_from_before` says the start lies left of the axis, `goes_on` that the window does not end
    on it. `is_past` draws the band empty, with `end` written at `end_x`, anchored at `end_anchor`.
    """

    start: float
    early: float
    central: float
    late: float
    today: float | None
    comes_from_before: bool
    goes_on: bool
    is_past: bool
    end: str
    end_x: float
    end_anchor: str

    @property
    def band_width(self) -> float:
        """Per cent from early to late."""
        return round(self.late - self.early, 3)


@dataclass(frozen=True)
class WindowView:
    """A use-by window as pages draw it. `late_is_capped`: the estimate reaches beyond what we say.

    Raises ValueError when the dates are out of order: a drawing must not hide it.
    """

    start: date
    early: date
    central: date
    late: date
    today: date
    late_is_capped: bool
    sentence: str

    def __post_init__(self) -> None:
        if not self.start <= self.early <= self.central <= self.late:
            raise ValueError("a window runs from start over early and central to late")

    @property
    def is_past(self) -> bool:
        """Whether the late date lies behind today; a capped window has no end to be past."""
        return self.today > self.late and not self.late_is_capped

    @property
    def about_today(self) -> Strokes:
        """The strokes on the axis of lists and lot pages, which has today as its origin."""
        return _strokes(self, ABOUT_TODAY, self.today)

    @property
    def from_packing(self) -> Strokes:
        """The strokes on the axis of the package comparison, which begins at the packing date."""
        return _strokes(self, FROM_PACKING, self.start)

    @property
    def dated_ticks(self) -> tuple[tuple[Tick, str], ...]:
        """The ticks about today, each with its calendar month or year."""
        return tuple((tick, _tick_date(self.today, tick)) for tick in TICKS_ABOUT_TODAY)


def spoken_date(day: date) -> str:
    """A date in words: 3 November 2026."""
    return day_words(day)


def _strokes(view: WindowView, axis: Axis, origin: date) -> Strokes:
    start, early, central, late = (
        axis.position((day - origin).days)
        for day in (view.start, view.early, view.central, view.late)
    )
    early, late = _widened(early, late)
    about_today = origin == view.today and axis is ABOUT_TODAY
    end_x, end_anchor = (min(early, 8.0), "start") if late < ROOM_FOR_END else (late, "end")
    return Strokes(
        start=start,
        early=early,
        central=min(max(central, early), late),
        late=late,
        today=axis.position(0) if about_today else None,
        comes_from_before=(view.start - origin).days < axis.first_day,
        goes_on=view.late_is_capped or (view.late - origin).days > axis.last_day,
        is_past=about_today and view.is_past,
        end=_("ended {day}", day=spoken_date(view.late)),
        end_x=end_x,
        end_anchor=end_anchor,
    )


def _widened(early: float, late: float) -> tuple[float, float]:
    """The band, made wide enough to be seen, kept on the axis."""
    if late - early >= NARROWEST_BAND:
        return early, late
    middle = (early + late) / 2
    early = round(min(max(middle - NARROWEST_BAND / 2, 0.0), 100 - NARROWEST_BAND), 3)
    return early, round(early + NARROWEST_BAND, 3)


def _tick_date(today: date, tick: Tick) -> str:
    if tick.days == 0:
        return short_day_words(today)
    day = today + timedelta(days=round(tick.days))
    return f"{day.year}" if abs(tick.days) >= DAYS_A_YEAR else short_month_words(day)


def register(jinja_globals: MutableMapping[str, Any]) -> None:
    """Give the templates the ticks of the two axes; called once, with `app.jinja_env.globals`."""
    jinja_globals["ticks_about_today"] = TICKS_ABOUT_TODAY
    jinja_globals["ticks_from_packing"] = TICKS_FROM_PACKING
