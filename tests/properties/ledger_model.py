"""A ledger of a household that is only sums and sets: what was done and not undone, in order.

It knows nothing of the ledger's code. What is on hand, what stands on hold, which package is open
and what is made of what are all worked out anew from the steps that still count.
"""

import dataclasses
from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import date

from app.ledger.stock import StockRef

NEVER = 0  # the fate of a package whose packing was taken back


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

    @property
    def told(self) -> frozenset[str]:
        """Every allergen that is in it or may be."""
        return self.contains | self.may_contain

    def touched_by(self, others: Iterable["Marks"]) -> "Marks":
        """Crumbs and juice of other food got to it, in one load or from an uncleaned machine."""
        around = list(others)
        crumbs = frozenset().union(*(x.told for x in around))
        return dataclasses.replace(
            self,
            is_raw=self.is_raw or any(x.is_raw for x in around),
            may_contain=(self.may_contain | crumbs) - self.contains,
        )


@dataclasses.dataclass
class Step:
    """One thing that was done: what it changed, and what else it says."""

    operation_id: int
    change: Counter[StockRef]
    on: date
    by: int | None = None
    came_in: int = 0
    went_out: int = 0
    made_of: Mapping[int, frozenset[int]] = dataclasses.field(default_factory=dict)
    puts: dict[int, int] = dataclasses.field(default_factory=dict)  # hold: lot
    lifts: frozenset[int] = frozenset()
    opens: frozenset[int] = frozenset()  # packages
    loads: int | None = None  # run
    dryer: int | None = None  # of the run that it loads or unloads
    residue: tuple[Marks, ...] = ()  # what an uncleaned dryer was loaded with before
    unloads: int | None = None
    grinds: bool = False
    measures: int | None = None  # lot
    is_incident: bool = False
    discarded_by: int | None = None  # an operation of its own

    @property
    def lots(self) -> set[int]:
        """Every lot it speaks of."""
        own = {ref.lot_id for ref in self.change} | set(self.made_of)
        return own | ({self.measures} if self.measures else set())

    @property
    def packages(self) -> Counter[int]:
        """By how much it changed what is in each package, wherever it lies."""
        found: Counter[int] = Counter()
        for ref, mass_mg in self.change.items():
            if ref.package_id is not None:
                found[ref.package_id] += mass_mg
        return found


class Model:
    """The steps that count, and what follows from them."""

    def __init__(self) -> None:
        self.steps: list[Step] = []
        self.marks: dict[int, Marks] = {}  # of every lot that ever was
        self.net_mg: dict[int, int] = {}  # of every package
        self.dried: dict[int, set[int]] = {}  # by run, in whatever unloading, undone or not
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
        """The lots that each lot was made of, directly; those that were taken back are left out."""
        return {lot: sources for step in self.steps for lot, sources in step.made_of.items()}

    def everything_made_of(self) -> dict[int, set[int]]:
        """For each lot everything that went into it, whatever the way."""
        found: dict[int, set[int]] = {}
        for lot, sources in sorted(self.made_of.items()):  # a lot is newer than its sources
            found[lot] = set(sources).union(*(found.get(source, set()) for source in sources))
        return found

    def gone(self) -> list[StockRef]:
        """What once was on hand somewhere and is no longer there, in a fixed order."""
        been = {ref for step in self.steps for ref in step.change} - self.on_hand.keys()
        return sorted(been, key=str)

    def since(self, ref: StockRef) -> date:
        """The first day on which anything could be taken of it there."""
        made_on = next(step.on for step in self.steps if ref.lot_id in step.made_of)
        came = [step.on for step in self.steps if ref in step.change and step.change[ref] >= 0]
        return max(made_on, min(came))

    # -- packages ------------------------------------------------------------------------------

    @property
    def opened(self) -> dict[int, date]:
        """The packages that are open, and since when: a part was taken of them, or they were."""
        found: dict[int, date] = {}
        for step in self.steps:
            parted = {
                package
                for package, change_mg in step.packages.items()
                if -self.net_mg[package] < change_mg < 0 or step.loads is not None
            }
            for package in step.opens | parted:
                found[package] = min(found.get(package, step.on), step.on)
        return found

    def fates(self) -> dict[int, int | None]:
        """Of every package: None while on hand, else the operation that emptied it, or NEVER."""
        found: dict[int, int | None] = dict.fromkeys(self.net_mg, NEVER)
        inside: Counter[int] = Counter()
        for step in self.steps:
            for package, change_mg in step.packages.items():
                inside[package] += change_mg
                if change_mg:
                    emptied_by = step.discarded_by or step.operation_id
                    found[package] = None if inside[package] else emptied_by
        return found

    # -- holds ---------------------------------------------------------------------------------

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

    # -- machines ------------------------------------------------------------------------------

    @property
    def running(self) -> dict[int, int]:
        """The runs that are in a dryer, and which."""
        over = {step.unloads for step in self.steps}
        begun = [step for step in self.steps if step.loads is not None and step.loads not in over]
        return {step.loads: step.dryer for step in begun if step.loads and step.dryer}

    def left_in_grinder(self) -> tuple[Marks, ...]:
        """What went through it last."""
        last = next((step for step in reversed(self.steps) if step.grinds), None)
        return tuple(self.marks[lot] for lot in last.made_of) if last else ()

    def left_in_dryer(self, place: int) -> tuple[Marks, ...]:
        """What lay in it in the newest run, wet and dry."""
        runs = [step for step in self.steps if step.loads is not None and step.dryer == place]
        if not runs:
            return ()
        last = runs[-1]
        loaded = {ref.lot_id for ref in last.change} | self.dried.get(last.loads or 0, set())
        return tuple(self.marks[lot] for lot in sorted(loaded))

    def load_of(self, run_id: int) -> Step:
        """The loading that a run began with."""
        return next(step for step in self.steps if step.loads == run_id)

    # -- going on and back ---------------------------------------------------------------------

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
        """Does any later step speak of the same lots or dryer? If not, nothing speaks against."""
        later = self.steps[self.steps.index(step) + 1 :]
        refilled = step.unloads is not None and any(
            other.loads is not None and other.dryer == step.dryer for other in later
        )
        return refilled or any(step.lots & other.lots for other in later)

    @staticmethod
    def written_by(step: Step) -> int:
        """How many operations it is, with those that an incident does at once."""
        held = step.is_incident and bool(step.puts)
        return 1 + (step.discarded_by is not None) + held

    def undo(self, step: Step) -> None:
        """A step was taken back, and the holds of lots that it made with it."""
        self.steps.remove(step)
        self.operation_count += self.written_by(step)
        for other in list(self.steps):
            if other.puts and set(other.puts.values()) <= set(step.made_of):
                self.operation_count += 1
                if other.is_incident:
                    other.puts = {}  # what went wrong stays; only its hold is gone
                else:
                    self.steps.remove(other)
