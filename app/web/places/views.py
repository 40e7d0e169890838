"""The pages of places."""

import secrets
from datetime import date

from flask import render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.ledger.models import Place
from app.ledger.queries.places import place_contents, place_lines
from app.ledger.words import PlaceKind
from app.units import format_temperature
from app.web import scope
from app.web.display import lot_row
from app.web.places.forms import KINDS, PlaceForm
from app.web.posting import Written, write


def page() -> ResponseReturnValue:
    """Every place, how warm it is and how much lies there."""
    lines = [
        (line, KINDS[PlaceKind(line.place.kind)], temperature_words(line.place))
        for line in place_lines(scope.reading())
    ]
    return render_template("places/places.html", lines=lines)


def place(place_id: int) -> ResponseReturnValue:
    """What lies in one place."""
    found, lines = place_contents(scope.reading(), place_id)
    ordered = sorted(lines, key=lambda x: x.window.central if x.window else date.max)
    return render_template(
        "places/place.html",
        place=found,
        kind=KINDS[PlaceKind(found.kind)],
        is_dryer=PlaceKind(found.kind).is_dryer,
        temperature=temperature_words(found),
        rows=[lot_row(line, scope.today()) for line in ordered],
        mass_mg=sum(line.mass_mg for line in lines),
    )


def new() -> ResponseReturnValue:
    """Add a place."""
    form = PlaceForm(request.form if request.method == "POST" else None)
    if request.method == "POST":
        answer = write(form, lambda s: _added(form, s), draft="place")
        if answer is not None:
            return answer
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    page = render_template("places/new.html", form=form)
    return page, 422 if request.method == "POST" else 200


def _added(form: PlaceForm, transaction: Session) -> Written:
    place_id = form.carry_out(transaction)
    return Written(f"/places/{place_id}", f"Added: {form.name.data.strip()}.")


def temperature_words(place: Place) -> str:
    """The usual temperature and its range, in the household's units."""
    low, usual, high = (
        format_temperature(temp_c, scope.units())
        for temp_c in (place.temp_low_c, place.temp_c, place.temp_high_c)
    )
    return usual if low == high else f"{usual} ({low} to {high})"
