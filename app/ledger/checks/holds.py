"""Checks of holds: the ledger is read again in the order in which it was written.

Nothing here asks `app.ledger.holds`, which knows only what stands today.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.checks.finding import Finding, lot_words
from app.ledger.models import Entry, Flow, Hold, Operation, Release
from app.ledger.words import HoldCause, OperationKind

_LEAVING = (OperationKind.EAT, OperationKind.GIVE)


@dataclass(slots=True)
class _Step:
    """What one operation wrote, as far as holds are concerned."""

    operation_id: int
    kind: str = ""
    reverses_id: int | None = None
    taken: set[int] = field(default_factory=set)
    made_of: dict[int, set[int]] = field(default_factory=lambda: defaultdict(set))
    holds: list[Hold] = field(default_factory=list)
    lifts: set[int] = field(default_factory=set)


def _steps(session: Session) -> dict[int, _Step]:
    """Every operation by its number, in order."""
    rows = select(Operation.id, Operation.kind, Operation.reverses_id).order_by(Operation.id)
    steps = {row[0]: _Step(*row) for row in session.execute(rows)}
    taken = select(Entry.operation_id, Entry.lot_id).where(Entry.mass_mg < 0)
    for operation_id, lot_id in session.execute(taken):
        steps[operation_id].taken.add(lot_id)
    flows = select(Flow.operation_id, Flow.result_id, Flow.source_id)
    for operation_id, result_id, source_id in session.execute(flows):
        steps[operation_id].made_of[result_id].add(source_id)
    for hold in session.scalars(select(Hold)):
        steps[hold.operation_id].holds.append(hold)
    lifts = select(Release.operation_id, Release.hold_id)
    for operation_id, hold_id in session.execute(lifts):
        steps[operation_id].lifts.add(hold_id)
    return steps


@dataclass(slots=True)
class _Standing:
    """The ledger after some operation; what was taken back is gone from it."""

    told: dict[int, _Step] = field(default_factory=dict)  # what put food on hold or lifted a hold
    made_of: dict[int, set[int]] = field(default_factory=dict)
    made_by: dict[int, list[int]] = field(default_factory=dict)
    _active: dict[int, Hold] | None = field(default_factory=dict)  # None: to be found out anew

    def follow(self, step: _Step) -> None:
        """Go on by one operation."""
        if step.reverses_id is not None:
            if self.told.pop(step.reverses_id, None):
                self._active = None
            for lot_id in self.made_by.pop(step.reverses_id, ()):
                self.made_of.pop(lot_id, None)
            return
        if step.holds or step.lifts:
            self.told[step.operation_id] = step
            self._active = None
        self.made_of |= step.made_of
        self.made_by[step.operation_id] = list(step.made_of)

    def active(self) -> dict[int, Hold]:
        """The holds that stand, by number."""
        if self._active is None:
            lifted = {hold_id for step in self.told.values() for hold_id in step.lifts}
            put = (hold for step in self.told.values() for hold in step.holds)
            self._active = {hold.id: hold for hold in put if hold.id not in lifted}
        return self._active

    def on(self, lot_id: int) -> frozenset[int]:
        """The holds that stand on a lot or on anything in it."""
        inside, waiting = {lot_id}, [lot_id]
        while waiting:
            fresh = self.made_of.get(waiting.pop(), set()) - inside
            inside |= fresh
            waiting += fresh
        return frozenset(number for number, hold in self.active().items() if hold.lot_id in inside)


def held_food_stayed(session: Session) -> list[Finding]:
    """Nothing was eaten, given or put together with other food while it was on hold."""
    if session.scalar(select(Hold.id).limit(1)) is None:
        return []
    standing = _Standing()
    findings: list[Finding] = []
    for step in _steps(session).values():
        if step.reverses_id is None and standing.active():
            findings += _went(step, standing)
        standing.follow(step)
    return findings


def _went(step: _Step, standing: _Standing) -> Iterator[Finding]:
    name, numbers = "held_food_stayed", {"operation_id": step.operation_id, "kind": step.kind}
    for lot_id in sorted(step.taken) if step.kind in _LEAVING else ():
        if standing.on(lot_id):
            words = "left by operation {operation_id} ({kind}) while it was on hold"
            yield Finding(name, lot_words(lot_id), words, numbers)
    for lot_id, sources in step.made_of.items():
        if len({standing.on(source_id) for source_id in sources}) > 1:
            words = "put together by operation {operation_id} ({kind}) of food on hold and other"
            yield Finding(name, lot_words(lot_id), words, numbers)


def releases_lift_holds_that_stood(session: Session) -> list[Finding]:
    """What was lifted stood until then, and no disease that was found was lifted."""
    standing = _Standing()
    findings: list[Finding] = []
    for step in _steps(session).values():
        active = standing.active() if step.lifts else {}
        for hold_id in sorted(step.lifts):
            subject = f"operation {step.operation_id}"
            name, numbers = "releases_lift_holds_that_stood", {"hold_id": hold_id}
            if hold_id not in active:
                words = "lifts hold {hold_id}, which did not stand"
                findings.append(Finding(name, subject, words, numbers))
            elif not HoldCause(active[hold_id].cause).can_be_released:
                words = "lifts hold {hold_id}, of a disease that was found"
                findings.append(Finding(name, subject, words, numbers))
        standing.follow(step)
    return findings
