"""A ledger of a household that is only sums and sets: what was done and not undone, in order.

It knows nothing of the ledger's code. What is on hand, what stands on hold, which package is open
and what is made of what are all worked out anew from the steps that still count.
"""

import dataclasses
from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import date

from app.ledger.stock import StockRef


@dataclasses.dataclass(frozen=True)
class Marks:
    """What must travel with food."""

    is_raw: bool
    has_lead: bool
    contains: frozenset[str]
    may_contain: frozenset[str]
    oldest: date | None
    is_dry: bool = False  # only if all of it is

    def __or__(self, other: "Marks") -> "Marks":
        dates = [day for day in (self.oldest, other.oldest) if day]
        contains = self.contains | other.contains
        return Marks(
            self.is_raw or other.is_raw,
            self.has_lead or other.has_lead,
            contains,
            (self.may_contain | other.may_contain) - contains,
            min(dates) if dates else None,
            self.is_dry and other.is_dry,
        )

    def beside(self, others: Iterable["Marks"]) -> "Marks":
        """Dried in one load with other food, whose crumbs and juice do not keep to their tray."""
        around = list(others)
        crumbs = frozenset().union(*(x.contains | x.may_contain for x in around))
        return dataclasses.replace(
            self,
            is_raw=self.is_raw or any(x.is_raw for x in around),
            may_contain=(self.may_contain | crumbs) - self.contains,
            is_dry=True,
        )


@dataclasses.dataclass
class Step:
    """One thing that was done: what it changed, and what else it says."""

    operation_id: int
    change: Counter[StockRef]
    came_in: int = 0
    went_out: int = 0
    made_of: Mapping[int, frozenset[int]] = dataclasses.field(default_factory=dict)
    puts: dict[int, int] = dataclasses.field(default_factory=dict)  # hold: lot
    lifts: frozenset[int] = frozenset()
    opens: int | None = None  # package
    loads: int | None = None  # run
    unloads: int | None = None
    measures: int | None = None  # lot
    is_incident: bool = False
    discards: bool = False  # by an operation of its own

    @property
    def lots(self) -> set[int]:
        """Every lot it speaks of."""
        own = {ref.lot_id for ref in self.change} | set(self.made_of)
        return own | ({self.measures} if self.measures else set())


class Model:
    """The steps that count, and what follows from them."""

    def __init__(self) -> None:
        self.steps: list[Step] = []
        self.marks: dict[int, Marks] = {}  # of every lot that ever was
        self.net_mg: dict[int, int] = {}  # of every package
        self.operation_count = 0

    @property
    def on_hand(self) -> Counter[StockRef]:
        """What is where, in mg."""
        found: Counter[StockRef] = Counter()
        for step in self.steps:
            found.update(step.change)
        return Counter({ref: mass_mg for ref, mass_mg in found.items() if mass_mg})

    @property
    def left_over_mg(self) -> int:
        """All that ever came in, less all that went out."""
        return sum(step.came_in - step.went_out for step in self.steps)

    @property
    def made_of(self) -> dict[int, frozenset[int]]:
        """The lots that each lot was made of, directly."""
        return {lot: sources for step in self.steps for lot, sources in step.made_of.items()}

    def everything_made_of(self) -> dict[int, set[int]]:
        """For each lot everything that went into it, whatever the way."""
        found: dict[int, set[int]] = {}
        for lot, sources in sorted(self.made_of.items()):  # a lot is newer than its sources
            found[lot] = set(sources).union(*(found.get(source, set()) for source in sources))
        return found

    @property
    def holds(self) -> dict[int, int]:
        """The holds that stand, and their lots."""
        lifted = {hold for step in self.steps for hold in step.lifts}
        put = {hold: lot for step in self.steps for hold, lot in step.puts.items()}
        return {hold: lot for hold, lot in put.items() if hold not in lifted}

    def held_lots(self) -> dict[int, frozenset[int]]:
        """The holds that keep each lot, its own and those of all that went into it."""
        upstream, standing = self.everything_made_of(), self.holds
        found = {
            lot: frozenset(
                h for h, held in standing.items() if held == lot or held in upstream.get(lot, ())
            )
            for lot in self.marks
        }
        return {lot: holds for lot, holds in found.items() if holds}

    @property
    def opened(self) -> set[int]:
        """The packages that are open."""
        return {step.opens for step in self.steps if step.opens is not None}

    @property
    def running(self) -> list[int]:
        """The runs that are in the dryer."""
        over = {step.unloads for step in self.steps}
        return [s.loads for s in self.steps if s.loads is not None and s.loads not in over]

    def marks_of(self, lots: Iterable[int]) -> Marks:
        """The marks of what is made of these lots."""
        first, *others = (self.marks[lot] for lot in lots)
        for other in others:
            first |= other
        return first

    def follow(self, step: Step, *, written: int = 1) -> None:
        """A step was taken, by so many operations."""
        self.steps.append(step)
        self.operation_count += written

    def rests_on(self, step: Step) -> bool:
        """Does any later step speak of the same lots? If not, nothing can speak against undoing."""
        later = self.steps[self.steps.index(step) + 1 :]
        return any(step.lots & other.lots for other in later)

    def undo(self, step: Step) -> None:
        """A step was taken back, and the holds of lots that it made with it."""
        self.steps.remove(step)
        self.operation_count += 1 + step.discards + (len(step.puts) if step.is_incident else 0)
        for other in list(self.steps):
            if other.puts and set(other.puts.values()) <= set(step.made_of):
                self.operation_count += 1
                if other.is_incident:
                    other.puts = {}  # what went wrong stays; only its hold is gone
                else:
                    self.steps.remove(other)
