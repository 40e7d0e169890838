"""The household at work: what day it is, who writes, and what lies where, followed by name.

Food is followed by a handle ("corn"). A verb that works on a handle leaves it on what was made,
unless `into` names another one. Masses are in grams, as the hand scale shows them.
"""

from datetime import date, datetime
from random import Random

from sqlalchemy.orm import Session

from app.ledger.models import Lot
from app.ledger.operations._post import Posted
from app.ledger.queries import places as owned
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.stock import StockRef
from seed_demo.clock import instant
from seed_demo.household import MARIT

GRAM = 1000
_MINUTES_BETWEEN = 20
_SEED = 310


class AtWork:
    """The household at work on one day; the session and the day are changed from outside."""

    def __init__(self, session: Session) -> None:
        """Learn where things are."""
        self.session = session
        self.noise = Random(_SEED)
        self.lots: dict[str, int] = {}
        self.places = {place.name: place.id for place in owned.places(session)}
        self.packagings = {kind.name: kind.id for kind in owned.packagings(session)}
        self.absorbers = {kind.name: kind.id for kind in owned.absorbers(session)}
        self.people = {person.name: person.id for person in owned.people(session)}
        self.person = MARIT
        self.day = date.min
        self._hours = 0.0

    def begin(self, session: Session, day: date) -> None:
        """Start a day's work."""
        self.session, self.day, self._hours = session, day, 9.0

    def now(self, hour: float | None = None) -> datetime:
        """When the next thing is written down: at the hour given, else a while after the last."""
        self._hours = self._hours + _MINUTES_BETWEEN / 60 if hour is None else hour
        return instant(self.day, self._hours)

    @property
    def by(self) -> int:
        """Who writes it down."""
        return self.people[self.person]

    # What is where

    def lines(self, handle: str) -> list[StockLine]:
        """Everything on hand of a lot, package by package."""
        return stock_lines(self.session, lot_id=self.lots[handle], one_by_one=True)

    def line(self, handle: str, number: int | None = None) -> StockLine:
        """The one line of a loose lot, or a package by its number."""
        found = [line for line in self.lines(handle) if number in (None, line.package_number)]
        if not found:
            raise LookupError(f"{self.day}: nothing of {handle} is left")
        return found[0]

    def newest(self, pattern: str) -> str:
        """The handle of the latest year of which something is left; {} stands for the year."""
        handles = (pattern.format(year) for year in range(self.day.year, self.day.year - 3, -1))
        for handle in handles:
            if handle in self.lots and self.lines(handle):
                return handle
        raise LookupError(f"{self.day}: nothing of {pattern} is left")

    def ref(self, handle: str, number: int | None = None) -> StockRef:
        """Where it is."""
        return self.line(handle, number).ref

    def grams(self, handle: str, number: int | None = None) -> int:
        """What is left of a loose lot or of one package."""
        return self.line(handle, number).mass_mg // GRAM

    def _call(self, posted: Posted, *handles: str) -> Posted:
        self.lots.update(zip(handles, posted.lot_ids, strict=False))
        return posted

    def _taken(self, handle: str, grams: int | None, number: int | None = None) -> int:
        return self.line(handle, number).mass_mg if grams is None else grams * GRAM

    def lot(self, handle: str) -> Lot:
        """What the ledger knows of a lot."""
        return self.session.get_one(Lot, self.lots[handle])
