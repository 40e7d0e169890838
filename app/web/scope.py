"""What a request has at hand: the book, one snapshot of it, the instant, the household."""

from datetime import date, datetime
from typing import TYPE_CHECKING

from flask import current_app, g, request, session
from sqlalchemy.orm import Session

from app import language
from app.language import LANGUAGES, SOURCE
from app.ledger.book import Book

if TYPE_CHECKING:  # the tables are mapped when the first page asks for them, not at the start
    from app.ledger.models import Household, Person
    from app.units import System


def book() -> Book:
    """The ledger this application serves."""
    return current_app.extensions["stillroom.book"]


def now() -> datetime:
    """The instant of this request; the clock is read once."""
    if "now" not in g:
        g.now = current_app.extensions["stillroom.clock"]()
    return g.now


def reading() -> Session:
    """One snapshot of the ledger for the whole request."""
    if "reading" not in g:
        g.reading_context = book().reading()
        g.reading = g.reading_context.__enter__()
    return g.reading


def household() -> "Household | None":
    """The household, or None before it is set up."""
    from app.ledger.queries.places import household as find_household

    if "household" not in g:
        g.household = find_household(reading())
    return g.household


def today() -> date:
    """Today in the household's calendar; asked once, because every row of a list needs it."""
    from app.ledger.calendar import today_of

    if "today" not in g:
        g.today = today_of(reading(), now())
    return g.today


def units() -> "System":
    """The unit system read first by who writes on this device, else by the household."""
    if "units" not in g:
        known, writer = household(), person()
        wanted = writer.units if writer is not None and writer.units else None
        g.units = "us" if (wanted or (known.units if known else "")) == "us" else "metric"
    return g.units


def asked_language() -> str:
    """The first language that the browser asks for and we speak, else English."""
    asked = (code.lower().split("-")[0] for code, quality in request.accept_languages if quality)
    return next((code for code in asked if code in LANGUAGES), SOURCE)


def speak() -> None:
    """From here on speak as who writes on this device reads, else as the browser asks."""
    writer = person()
    language.speak((writer.language if writer is not None else None) or asked_language())


def person() -> "Person | None":
    """Who writes on this device, if somebody said so and is still known."""
    from app.ledger.models import Person

    number = person_id()
    return None if number is None else reading().get(Person, number)


def person_id() -> int | None:
    """Who writes on this device, if somebody said so."""
    return session.get("person")


def close(_error: BaseException | None = None) -> None:
    """Give the snapshot back at the end of the request."""
    context = g.pop("reading_context", None)
    if context is not None:
        context.__exit__(None, None, None)
