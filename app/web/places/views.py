"""The pages of places: how warm each is and was, what lies there, and what is said of it."""

import secrets
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from flask import render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.language import N_, _, from_to, ngettext
from app.ledger.calendar import zone_of
from app.ledger.mass import to_kg
from app.ledger.models import Place
from app.ledger.queries.climate import (
    ClimateNow,
    ReadingLine,
    Story,
    climate_now,
    reach_of,
    story_of,
    typed_readings,
)
from app.ledger.queries.places import place_by_id, place_contents, place_lines
from app.ledger.words import PlaceKind
from app.web import scope
from app.web.display import lot_row, temperature
from app.web.fields import EntryForm
from app.web.messages import day
from app.web.operations.cautions import StepCaution
from app.web.places.capacity import capacity_words
from app.web.places.cautions import cautions_of
from app.web.places.climate_forms import ReadingForm, WarmForm, is_too_warm
from app.web.places.drawing import ClimateDrawing, climate_drawing
from app.web.places.forms import KINDS, EditForm, PlaceForm
from app.web.places.fullness import fullness_source, fullness_words
from app.web.places.logger_views import logger
from app.web.places.words import (
    MONTHS,
    how_words,
    known_words,
    reach_words,
    renewed_words,
    warmth_words,
)
from app.web.posting import Written, write

__all__ = ["edit", "logger", "new", "page", "place", "readings", "warm"]

STORY_DAYS = 365
SHOWN_READINGS = 12
_COPIED = StepCaution(
    "months-copied",
    N_("Every month is now like the boxes above. Change what differs. Nothing is written yet."),
    "",
)
FRESH_DAYS = 7  # as long a reading may still warn


@dataclass(frozen=True, slots=True)
class PlaceRow:
    """One place of the list."""

    id: int
    name: str
    kind: str
    temperature: str
    known: str
    fullness: str
    lot_count: int
    mass_mg: int


@dataclass(frozen=True, slots=True)
class SaidRow:
    """One stretch of a place's year, as its table tells it."""

    since: str
    usual: str
    span: str
    known: str
    operation_id: int | None


def page() -> ResponseReturnValue:
    """Every place, how warm it is now and how much lies there."""
    session = scope.reading()
    rows = []
    for line in place_lines(session):
        known = climate_now(session, line.place, scope.now())
        rows.append(
            PlaceRow(
                id=line.place.id,
                name=line.place.name,
                kind=_(KINDS[PlaceKind(line.place.kind)]),
                temperature=warmth_words(known.warmth),
                known=known_words(known.stated),
                fullness=_fullness(line.place, line.mass_mg),
                lot_count=line.lot_count,
                mass_mg=line.mass_mg,
            )
        )
    return render_template("places/places.html", rows=rows)


def place(place_id: int) -> ResponseReturnValue:
    """How warm one place is and was, and what lies there."""
    session = scope.reading()
    found, lines = place_contents(session, place_id)
    kind = PlaceKind(found.kind)
    known = climate_now(session, found, scope.now())
    story = story_of(session, found, today=scope.today(), days=STORY_DAYS)
    ordered = sorted(lines, key=lambda x: x.window.central if x.window else date.max)
    mass_mg = sum(line.mass_mg for line in lines)
    return render_template(
        "places/place.html",
        place=found,
        kind=_(KINDS[kind]),
        is_dryer=kind.is_dryer,
        temperature=warmth_words(known.warmth),
        known=known_words(known.stated),
        humidity=round(100 * known.warmth.relative_humidity),
        capacity=capacity_words(found.capacity_ml) if found.capacity_ml else "",
        fullness=_fullness(found, mass_mg),
        fullness_source=fullness_source(),
        cautions=cautions_of(kind, known.warmth, _newest(story)),
        drawing=_drawing(found, known, story),
        said=_said_rows(story),
        read=[(line, temperature(line.temp_c)) for line in story.typed[:SHOWN_READINGS]],
        files=story.files,
        rows=[lot_row(line, scope.today()) for line in ordered],
        mass_mg=mass_mg,
    )


def new() -> ResponseReturnValue:
    """Add a place."""
    form = PlaceForm(_sent())
    if request.method == "POST":
        answer = write(form, lambda s: _added(form, s), draft="place")
        if answer is not None:
            return answer
    return _form_page("places/new.html", form)


def edit(place_id: int) -> ResponseReturnValue:
    """Another name or size."""
    found = place_by_id(scope.reading(), place_id)
    form = EditForm(_sent())
    if request.method == "POST":
        answer = write(form, lambda s: _edited(form, s, place_id), draft=f"place-{place_id}")
        if answer is not None:
            return answer
    else:
        form.start(found)
    return _form_page("places/edit.html", form, place=found)


def warm(place_id: int) -> ResponseReturnValue:
    """Say how warm a place is from when on."""
    session = scope.reading()
    found = place_by_id(session, place_id)
    known = climate_now(session, found, scope.now())
    form = WarmForm(_sent())
    form.had_months = known.stated.is_by_month
    is_copying = "copy" in request.form
    if is_copying:
        form.copy_to_all_months()
        form.cautions = [_COPIED]
    elif request.method == "POST":
        answer = write(form, lambda s: _warmed(form, s, found, known), draft=f"warm-{place_id}")
        if answer is not None:
            return answer
    else:
        form.start(known.stated, known.warmth, _local_now())
    reach = reach_of(session, place_id)
    return _form_page(
        "places/warm.html",
        form,
        status=200 if is_copying else None,
        place=found,
        now_words=f"{warmth_words(known.warmth)}, {known_words(known.stated)}",
        reach=reach,
        reach_words=reach_words(reach),
        month_names=MONTHS,
    )


def readings(place_id: int) -> ResponseReturnValue:
    """Write what a thermometer shows, and see what was read before."""
    session = scope.reading()
    found = place_by_id(session, place_id)
    known = climate_now(session, found, scope.now())
    form = ReadingForm(_sent())
    if request.method == "POST":
        answer = write(form, lambda s: _read(form, s, found), draft=f"reading-{place_id}")
        if answer is not None:
            return answer
    else:
        form.since.data = _local_now()
    return _form_page(
        "places/readings.html",
        form,
        place=found,
        temperature=warmth_words(known.warmth),
        read=[(line, temperature(line.temp_c)) for line in typed_readings(session, place_id)],
    )


def _sent() -> Any:
    return request.form if request.method == "POST" else None


def _form_page(
    template: str, form: EntryForm, *, status: int | None = None, **more: object
) -> ResponseReturnValue:
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    body = render_template(template, form=form, **more)
    return body, status or (422 if request.method == "POST" else 200)


def _added(form: PlaceForm, transaction: Session) -> Written:
    place_id = form.carry_out(transaction)
    return Written(f"/places/{place_id}", _("Added: {data}.", data=form.name.data.strip()))


def _edited(form: EditForm, transaction: Session, place_id: int) -> Written:
    form.carry_out(transaction, place_id)
    return Written(f"/places/{place_id}", _("Changed: {data}.", data=form.name.data.strip()))


def _warmed(form: WarmForm, session: Session, found: Place, known: ClimateNow) -> Written:
    posted = form.carry_out(session, found, known, scope.now(), scope.person_id())
    since = form.since.data
    words = _(
        "Written: how warm it is from {date}, {since} on. ",
        date=day(since.date()),
        since=f"{since:%H:%M}",
    )
    return Written(
        f"/places/{found.id}", words + renewed_words(session, found.id), posted.operation_id
    )


def _read(form: ReadingForm, session: Session, found: Place) -> Written:
    posted = form.carry_out(session, found, scope.now(), scope.person_id())
    temp_c = form.reading.data.temp_c
    words = _("{name} reads {degrees}.", name=found.name, degrees=temperature(temp_c))
    if is_too_warm(PlaceKind(found.kind), temp_c):
        words += _(" That is warmer than it should be. If food grew warm, write what went wrong.")
    return Written(f"/places/{found.id}", words, posted.operation_id)


def _local_now() -> datetime:
    return scope.now().astimezone(zone_of(scope.reading())).replace(tzinfo=None)


def _fullness(found: Place, mass_mg: int) -> str:
    """Of a freezer whose size is known."""
    if PlaceKind(found.kind) is not PlaceKind.FREEZER or not found.capacity_ml:
        return ""
    return fullness_words(to_kg(mass_mg), found.capacity_ml / 1000.0)


def _newest(story: Story) -> ReadingLine | None:
    """The newest reading, while it tells about today."""
    newest = story.typed[0] if story.typed else None
    return newest if newest and scope.now() - newest.at < timedelta(days=FRESH_DAYS) else None


def _drawing(found: Place, known: ClimateNow, story: Story) -> ClimateDrawing:
    warmths = [stretch.warmth for stretch in story.stretches]
    low, high = min(w.temp_low_c for w in warmths), max(w.temp_high_c for w in warmths)
    changes = len(story.stretches) - 1
    told = (
        ngettext("with {number} change", "with {number} changes", changes)
        if changes
        else _("without a change")
    )
    sentence = _(
        "{name} from {start} to today: between {degrees} and {degrees_2}, {told}; "
        "now usually {degrees_3}.",
        name=found.name,
        start=day(story.start),
        degrees=temperature(low),
        degrees_2=temperature(high),
        told=told,
        degrees_3=temperature(known.warmth.temp_c),
    )
    unit = "F" if scope.units() == "us" else "C"
    return climate_drawing(story, scope.today(), sentence, unit, zone_of(scope.reading()))


def _said_rows(story: Story) -> list[SaidRow]:
    """The stretches, newest first, each with the statement behind it."""
    rows = []
    for stretch in reversed(story.stretches):
        warmth = stretch.warmth
        stated = [c for c in story.stated if c.since is None or c.since <= stretch.since][-1]
        rows.append(
            SaidRow(
                since=day(stretch.since.date()),
                usual=temperature(warmth.temp_c),
                span=from_to(temperature(warmth.temp_low_c), temperature(warmth.temp_high_c)),
                known=how_words(stated),
                operation_id=stated.operation_id,
            )
        )
    return rows
