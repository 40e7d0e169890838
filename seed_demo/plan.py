"""The demo's diary: what is done on which day, carried out in the order of the days."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from functools import partial
from itertools import groupby

from app.ledger.book import Book
from seed_demo.household import MARIT
from seed_demo.kitchen import Kitchen

Work = Callable[[Kitchen], object]


@dataclass(frozen=True, slots=True)
class Entry:
    """Some work, who does it and when; `ends` is the last day of the job it belongs to."""

    day: date
    person: str
    work: Work
    ends: date


@dataclass(slots=True)
class Plan:
    """Everything that will be done, in any order."""

    entries: list[Entry] = field(default_factory=list)

    def on(self, day: date, work: Work, person: str = MARIT) -> None:
        """Plan some work."""
        self.job(person, (day, work))

    def job(self, person: str, *steps: tuple[date, Work]) -> None:
        """Plan work of several days that is begun only if it can be ended in time."""
        ends = max(day for day, _ in steps)
        self.entries += [Entry(day, person, work, ends) for day, work in steps]

    def eat(self, handle: str, person: str, *days: date, first: int = 1, note: str = "") -> None:
        """Plan that a package is eaten on each of these days, in the order of their numbers."""
        for number, day in enumerate(days, start=first):
            self.on(day, partial(Kitchen.eat, handle=handle, number=number, note=note), person)

    def drop_what_ends_after(self, day: date) -> None:
        """Leave out every job that would not be ended by a day."""
        self.entries = [entry for entry in self.entries if entry.ends <= day]

    def carry_out(self, book: Book, kitchen: Kitchen) -> None:
        """Do all of it, each day in a transaction of its own."""
        due = sorted(self.entries, key=lambda entry: entry.day)
        for day, entries in groupby(due, key=lambda entry: entry.day):
            with book.writing() as session:
                kitchen.begin(session, day)
                for entry in entries:
                    kitchen.person = entry.person
                    entry.work(kitchen)
