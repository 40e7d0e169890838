"""The season page."""

from dataclasses import dataclass

from flask import render_template
from flask.typing import ResponseReturnValue

from app.language import month_words
from app.ledger.queries.season import MONTHS, FoodYear, first_month, food_years
from app.web import scope
from app.web.season.drawing import Shelf, month_marks, shelf
from app.web.season.words import (
    flow_words,
    food_name,
    lead_words,
    low_words,
    now_words,
    picture_words,
)


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
    start = first_month(today)
    return render_template(
        "season/season.html",
        foods=[_food_row(year) for year in years],
        marks=month_marks(start, MONTHS),
        since=month_words(start),
        lead=lead_words(years),
    )


def _food_row(year: FoodYear) -> FoodRow:
    name = food_name(year.kind, year.names)
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


def _sums(year: FoodYear) -> Sums:
    twelve = year.months[1:]
    return Sums(
        then_mg=year.months[0].end_mg,
        came_in_mg=sum([m.came_in_mg for m in twelve]),
        was_there_mg=sum([m.was_there_mg for m in twelve]),
        eaten_mg=sum([m.eaten_mg for m in twelve]),
        given_mg=sum([m.given_mg for m in twelve]),
        discarded_mg=sum([m.discarded_mg for m in twelve]),
        other_mg=sum([m.other_mg for m in twelve]),
        now_mg=year.now_mg,
    )
