"""Random work: entries are taken back, and what nobody can do is tried."""

import contextlib
import dataclasses
from datetime import timedelta

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from app.ledger.errors import Refused
from app.ledger.operations.correct import (
    Correct,
    CorrectAll,
    all_resting_on,
    correct,
    correct_with_dependents,
)
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.leave import Leave, eat
from app.ledger.operations.trim import Trim, trim
from app.ledger.words import OperationKind
from tests.builders import FRIDGE, TODAY
from tests.properties.impossible import IMPOSSIBLE, NOT_THERE
from tests.properties.ledger_kitchen import PICK, WHY, Kitchen
from tests.properties.ledger_model import Step

WORDS = st.sampled_from(sorted(OperationKind))


class Undoing(Kitchen):
    """What goes back, and what cannot be."""

    # -- taken back ----------------------------------------------------------------------------

    @precondition(lambda self: self.model.steps)
    @rule()
    def take_back_the_newest(self) -> None:
        newest = self.model.steps[-1]
        self.do(correct, Correct(newest.operation_id, TODAY))
        self.model.undo(newest)
        self.refuse(correct, Correct(newest.operation_id, TODAY), "already_reversed")

    @precondition(lambda self: len(self.model.steps) > 1)
    @rule(number=PICK)
    def take_back_an_older_one(self, number: int) -> None:
        """Refused only when later work rests on it; then nothing falls below zero."""
        older = self.model.steps[number % len(self.model.steps)]
        request = Correct(older.operation_id, TODAY)
        with contextlib.suppress(Refused), self.session.begin_nested():
            self.do(correct, request)
            self.model.undo(older)
        if older in self.model.steps:
            self.refuse(correct, request, "depended_on")
            assert self.model.rests_on(older)
        assert min(self.model.on_hand.values(), default=0) >= 0

    @precondition(lambda self: len(self.model.steps) > 1)
    @rule(number=PICK)
    def take_back_all_that_rests_on_one(self, number: int) -> None:
        older = self.model.steps[number % len(self.model.steps)]
        found = all_resting_on(self.session, older.operation_id)
        later = [step for step in self.model.steps if step.operation_id in found]
        request = CorrectAll(older.operation_id, tuple(found), TODAY, WHY)
        self.refuse(correct_with_dependents, dataclasses.replace(request, resting=(*found, 10_000)))
        self.do(correct_with_dependents, request)
        for step in (*reversed(later), older):
            if step in self.model.steps:
                self.model.undo(step)
        assert min(self.model.on_hand.values(), default=0) >= 0

    def refilled(self) -> list[Step]:
        """The unloadings whose dryers run again, with whatever food."""
        running = self.model.running
        return [
            step
            for step in self.model.steps
            if step.unloads is not None
            and any(place == step.dryer and run > step.unloads for run, place in running.items())
        ]

    @precondition(lambda self: self.refilled())
    @rule(number=PICK)
    def take_back_an_unloading_while_the_dryer_runs_again(self, number: int) -> None:
        """Two runs would be in one dryer."""
        unloadings = self.refilled()
        older = unloadings[number % len(unloadings)]
        self.refuse(correct, Correct(older.operation_id, TODAY), "depended_on")

    # -- what nobody can do --------------------------------------------------------------------

    @precondition(lambda self: self.refs())
    @rule(number=PICK, over=st.integers(1, 10**9), word=WORDS)
    def take_more_than_there_is(self, number: int, over: int, word: str) -> None:
        ref = self.pick(number)
        use_case, request = IMPOSSIBLE[word](ref, self.model.on_hand[ref] + over)
        self.refuse(use_case, request)

    @precondition(lambda self: self.refs())
    @rule(number=PICK, mass_mg=st.integers(-(10**9), 0), word=WORDS)
    def take_nothing_or_less(self, number: int, mass_mg: int, word: str) -> None:
        use_case, request = IMPOSSIBLE[word](self.pick(number), mass_mg)
        self.refuse(use_case, request)

    @precondition(lambda self: self.refs())
    @rule(number=PICK)
    def take_more_than_half_twice(self, number: int) -> None:
        ref = self.pick(number)
        more_than_half = Part(ref, self.model.on_hand[ref] // 2 + 1)
        twice_mg = 2 * more_than_half.mass_mg
        self.refuse(
            grind, Grind((more_than_half,) * 2, "Mince", twice_mg, FRIDGE, TODAY, reason=WHY)
        )

    @precondition(lambda self: self.refs())
    @rule(number=PICK, off_mg=st.integers(-1000, 1000).filter(bool))
    def lose_a_few_milligrams(self, number: int, off_mg: int) -> None:
        ref = self.pick(number)
        mass_mg = self.model.on_hand[ref]
        self.refuse(trim, Trim(ref, mass_mg, mass_mg + off_mg, 0, FRIDGE, TODAY))

    @precondition(lambda self: self.refs())
    @rule(number=PICK, days=st.integers(1, 4000))
    def work_before_or_after_its_time(self, number: int, days: int) -> None:
        ref = self.pick(number)
        for day in (self.model.since(ref) - timedelta(days=days), TODAY + timedelta(days=days)):
            self.refuse(eat, Leave((ref,), day, mass_mg=1))

    @rule(word=WORDS)
    def take_a_lot_that_is_not_there(self, word: str) -> None:
        self.refuse(*IMPOSSIBLE[word](NOT_THERE, 10**9))
