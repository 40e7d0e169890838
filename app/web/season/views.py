"""The season page."""

from dataclasses import dataclass
from datetime import date

from flask import render_template
from flask.typing import ResponseReturnValue
from markupsafe import Markup

from app.language import _, month_words
from app.ledger.codes import spoken
from app.ledger.pace import month_of, months_on
from app.ledger.queries.season import MONTHS, FoodYear, first_month, food_years
from app.ledger.queries.stock import stock_lines
from app.ledger.words import PlaceKind
from app.web import scope
from app.web.season.ahead import AHEAD, PlaceAhead, places_ahead
from app.web.season.comes_up import MONTHS_AHEAD, comes_up
from app.web.season.drawing import Shelf, month_marks, shelf
from app.web.season.words import (
    Outlasts,
    flow_words,
    food_name,
    full_words,
    lead_words,
    left_words,
    low_words,
    mass,
    now_words,
    outlasts_words,
    picture_words,
)

FIRST_SENTENCES = 4  # of lots that outlast their windows, at one place; the others in a fold
MOST_SENTENCES = 40


@dataclass(frozen=True, slots=True)
class FoodRow:
    """One food over the year: drawn, in words, and in figures."""

    name: str
    drawing: Shelf
    now: str
    words: tuple[str, ...]
    ends_mg: tuple[int, ...]
    sums: "Sums"


@dataclass(frozen=True, slots=True)
class PlaceRow:
    """A food at a place, or all of it, in the months to come."""

    name: str
    now: str
    drawing: Shelf
    left: str
    rate: str


@dataclass(frozen=True, slots=True)
class PlacePart:
    """A place in the months to come; its first row is all of it."""

    id: int
    name: str
    full: str
    rows: tuple[PlaceRow, ...]
    outlasting: tuple[str, ...]  # sentences
    others: tuple[str, ...]
    more: int


@dataclass(frozen=True, slots=True)
class Sums:
    """The twelve months of a food, mg: then, what came and went, and now; it adds up."""

    then_mg: int
    came_in_mg: int
    was_there_mg: int
    eaten_mg: int
    given_mg: int
    discarded_mg: int
    other_mg: int
    now_mg: int


def page() -> ResponseReturnValue:
    """What there was at each month's end, what there will be, and what comes up."""
    session, today = scope.reading(), scope.today()
    years = food_years(session, today)
    names = {year.kind: food_name(year.kind, year.names) for year in years}
    lines = stock_lines(session)
    start, until = first_month(today), months_on(month_of(today), AHEAD)
    return render_template(
        "season/season.html",
        foods=[_food_row(year, names[year.kind]) for year in years],
        marks=month_marks(start, MONTHS),
        months=[month_words(months_on(start, i)) for i in range(MONTHS)],
        since=month_words(start),
        lead=lead_words(years) if years else "",
        places=[_place_part(place, until) for place in places_ahead(session, today, lines, names)],
        marks_ahead=month_marks(start, MONTHS, AHEAD),
        until=month_words(until),
        coming=comes_up(lines, years, today),
        marks_coming=month_marks(month_of(today), 1, MONTHS_AHEAD - 1),
    )


def _food_row(year: FoodYear, name: str) -> FoodRow:
    months = year.months
    return FoodRow(
        name=name,
        drawing=shelf(
            [month.end_mg for month in months],
            [month.came_in_mg for month in months],
            picture_words(name, year),
        ),
        now=now_words(months[-1]),
        words=tuple(filter(None, (low_words(months), flow_words(year)))),
        ends_mg=tuple(month.end_mg for month in months),
        sums=_sums(year),
    )


def _place_part(ahead: PlaceAhead, until: date) -> PlacePart:
    capacity_l = (ahead.place.capacity_ml or 0.0) / 1000
    whole = ahead.whole
    sentences = tuple(map(_outlasts, ahead.outlasting[:MOST_SENTENCES]))
    full = ""
    if capacity_l and ahead.place.kind == PlaceKind.FREEZER:
        full = full_words(whole.on_hand_mg, whole.last, capacity_l, until)
    return PlacePart(
        id=ahead.place.id,
        name=ahead.place.name,
        full=full,
        rows=tuple(
            PlaceRow(
                name=row.name if row is not whole else _("All of it"),
                now=mass(row.on_hand_mg),
                drawing=row.drawing,
                left=left_words(row.last, until),
                rate=row.words,
            )
            for row in (whole, *ahead.foods)
        ),
        outlasting=sentences[:FIRST_SENTENCES],
        others=sentences[FIRST_SENTENCES:],
        more=max(len(ahead.outlasting) - MOST_SENTENCES, 0),
    )


def _outlasts(found: Outlasts) -> str:
    link = Markup('<a href="/lots/{}">{} {}</a>')
    return outlasts_words(found, link.format(found.code, found.name, spoken(found.code)))


def _sums(year: FoodYear) -> Sums:
    twelve = year.months[1:]
    return Sums(
        then_mg=year.months[0].end_mg,
        came_in_mg=sum(m.came_in_mg for m in twelve),
        was_there_mg=sum(m.was_there_mg for m in twelve),
        eaten_mg=sum(m.eaten_mg for m in twelve),
        given_mg=sum(m.given_mg for m in twelve),
        discarded_mg=sum(m.discarded_mg for m in twelve),
        other_mg=sum(m.other_mg for m in twelve),
        now_mg=year.now_mg,
    )
