"""Random work on a ledger, valid and invalid, compared with a model of sums and sets at each step.

Some hundreds of steps here, the same each time, so that what a change breaks is the change's own.
STILLROOM_RANDOM_WORK=1000 in the environment plays that many evenings, new ones each time: that is
the way to look for faults.
"""

import contextlib
import dataclasses
import os
import shutil
import sqlite3
import tempfile
from collections import Counter
from collections.abc import Iterable
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from typing import Any, ClassVar

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger import windows
from app.ledger.archive.portable import read_archive, write_archive
from app.ledger.book import Book
from app.ledger.checks import check_all
from app.ledger.climates import Warmth
from app.ledger.errors import NotFound, Refused
from app.ledger.game import GameIn
from app.ledger.holds import held_lots
from app.ledger.models import Entry, Estimate, Hold, Lot, LotAllergen, LotMark, Operation
from app.ledger.operations.blanch import Blanch, blanch
from app.ledger.operations.blend import Blend, blend
from app.ledger.operations.check import Looked, check
from app.ledger.operations.chill import Chill, chill
from app.ledger.operations.climate import ChangeClimate, ReadingIn, SaidClimate, change_climate
from app.ledger.operations.cook import cook
from app.ledger.operations.correct import (
    Correct,
    CorrectAll,
    all_resting_on,
    correct,
    correct_with_dependents,
)
from app.ledger.operations.drain import Drain, drain
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.hold import LiftHold, PutOnHold, hold, release
from app.ledger.operations.incident import LotFate, WentWrong, went_wrong
from app.ledger.operations.intake import intake
from app.ledger.operations.leave import Leave, discard, eat, give
from app.ledger.operations.load import Load, TrayLoaded, load
from app.ledger.operations.measure import Measure, Value, measure
from app.ledger.operations.mix import Mix, MixPart, mix_lots
from app.ledger.operations.move import Move, move
from app.ledger.operations.open import Open, open_package
from app.ledger.operations.pack import pack
from app.ledger.operations.portion import Portion, portion
from app.ledger.operations.skim import Skim, skim
from app.ledger.operations.stocktake import Counted, Stocktake, stocktake
from app.ledger.operations.thaw import Thaw, thaw
from app.ledger.operations.trim import Trim, trim
from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.queries.trace import downstream_of, upstream_of
from app.ledger.stock import StockRef
from app.ledger.words import (
    Ammunition,
    CheckKind,
    Finding,
    HoldCause,
    IncidentFate,
    IncidentKind,
    MeasuredBy,
    OperationKind,
    Presence,
    ReadingKind,
    ReleaseCause,
)
from app.science.safety.thawing import ThawWay
from tests.builders import (
    BENCH,
    FREEZE_DRYER,
    FREEZER,
    FRIDGE,
    JAR,
    MOOSE,
    PANTRY,
    PORK,
    SWEETCORN,
    TODAY,
    G,
    a_cook,
    a_pack,
    a_pot,
    a_tray,
    all_stock,
    an_intake,
    bowl,
    centre,
    cooked,
    do,
    evening,
    loaded,
    made,
    take_in,
)
from tests.properties.impossible import IMPOSSIBLE, NOT_THERE
from tests.properties.ledger_model import Marks, Model, Step

LOOKING = os.environ.get("STILLROOM_RANDOM_WORK")
EVENINGS = int(LOOKING or "25")
MANY = 500  # from so many on, every kind of work must have come up
PLACES = st.sampled_from([FREEZER, FRIDGE, BENCH, PANTRY])
SHARES = st.integers(1, 100)
PICK = st.integers(0, 10_000)
FOODS = {MOOSE: True, PORK: True, SWEETCORN: False}  # is it raw as it comes in?
WHY = "written down by hand"
TRAY_MG = 600 * G


class Kitchen(RuleBasedStateMachine):
    """Several lots at several places, worked on at random."""

    template: ClassVar[Path]
    seen: ClassVar[Counter[str]] = Counter()

    @initialize()
    def open_book(self) -> None:
        self.folder = tempfile.TemporaryDirectory()
        self.path = Path(self.folder.name) / "stillroom.db"
        shutil.copy(self.template, self.path)
        self.book = Book(self.path)
        self.session = self.book._write()
        self.model = Model()

    def teardown(self) -> None:
        if not hasattr(self, "session"):
            return
        try:
            assert check_all(self.session) == []
            self.windows_are_in_step()
            self.trace_leads_up_as_it_leads_down()
            self.seen.update(self.session.scalars(select(Operation.kind)).all())
            self.session.commit()
            self.session.close()
            self.book.close()
            self.moving_house_changes_nothing()
        finally:
            self.session.close()
            self.book.close()
            self.folder.cleanup()

    def windows_are_in_step(self) -> None:
        """Would working every window out anew change any of them?"""

        def kept() -> dict[int, tuple[object, ...]]:
            self.session.expire_all()
            rows = self.session.scalars(select(Estimate))
            return {e.stock_id: (e.key, e.start, e.early, e.central, e.late) for e in rows}

        before = kept()
        windows.refresh_all(self.session)
        assert kept() == before

    def trace_leads_up_as_it_leads_down(self) -> None:
        upstream = self.model.everything_made_of()
        for lot_id in self.model.marks:
            assert upstream_of(self.session, lot_id) == upstream.get(lot_id, set())

    def moving_house_changes_nothing(self) -> None:
        target, there = self.path.with_name("ledger.zip"), self.path.with_name("there.db")
        write_archive(self.path, target)
        assert read_archive(target, there, at=evening(TODAY)) is None
        assert rows_of(there) == rows_of(self.path)

    # -- small change --------------------------------------------------------------------------

    def refs(self, *, packed: bool | None = None, place: int | None = None) -> list[StockRef]:
        """What is on hand and not in the dryer, in a fixed order."""
        return [
            ref
            for ref in sorted(self.model.on_hand, key=str)
            if ref.place_id != FREEZE_DRYER
            and packed in (None, ref.package_id is not None)
            and place in (None, ref.place_id)
        ]

    def pick(self, number: int, **wanted: Any) -> StockRef:
        found = self.refs(**wanted)
        return found[number % len(found)]

    def pick_several(self, numbers: Iterable[int], **wanted: Any) -> list[StockRef]:
        return list(dict.fromkeys(self.pick(number, **wanted) for number in numbers))

    def part(self, ref: StockRef, share: int) -> int:
        return max(self.model.on_hand[ref] * share // 100, 1)

    def thaws(self, ref: StockRef, place: int) -> bool:
        """Would it thaw on the way? Then only a thawing may take it there."""
        is_dry = self.model.marks[ref.lot_id].is_dry
        return ref.place_id == FREEZER and place != FREEZER and not is_dry

    def was_dry(self, ref: StockRef) -> bool:
        """Was any of it in the dryer? Its water is a range then, and a narrow one."""
        dried = {lot for step in self.model.steps if step.unloads for lot in step.made_of}
        return bool(({ref.lot_id} | self.model.everything_made_of().get(ref.lot_id, set())) & dried)

    def is_kept_apart(self, lots: Iterable[int]) -> bool:
        """Is some of it on hold, and the rest not in the same way?"""
        held = self.model.held_lots()
        return len({held.get(lot, frozenset()) for lot in lots}) > 1

    def post(
        self,
        use_case: Any,
        request: Any,
        change: dict[StockRef, int],
        *,
        new: tuple[Marks, ...] = (),
        made_of: tuple[frozenset[int], ...] | None = None,
        may_be_impossible: bool = False,
        written: int = 1,
        **facts: Any,
    ) -> Step | None:
        """Carry it out and keep the model in step.

        The first new lot stands in the change under 0, the second under -1; what each is made of
        is all that was taken, unless told. With may_be_impossible the composition may forbid it.
        """
        done = self.carried_out(use_case, request, may_be_impossible)
        if done is None:
            return None
        posted, run_id = done if isinstance(done, tuple) else (done, None)
        moved: Counter[StockRef] = Counter()
        packages = iter(posted.package_ids)
        for ref, mass_mg in change.items():
            if ref.lot_id > 0:
                moved[ref] += mass_mg
                continue
            package_id = next(packages) if ref.package_id is not None else None
            if package_id is not None:
                self.model.net_mg[package_id] = mass_mg
            moved[StockRef(posted.lot_ids[-ref.lot_id], ref.place_id, package_id)] += mass_mg
        taken = frozenset(ref.lot_id for ref, mass_mg in moved.items() if mass_mg < 0)
        assert len(posted.lot_ids) == len(new)
        self.model.marks |= dict(zip(posted.lot_ids, new, strict=True))
        sources = made_of or (taken,) * len(new)
        step = Step(
            posted.operation_id,
            moved,
            made_of=dict(zip(posted.lot_ids, sources, strict=True)),
            loads=run_id,
            **facts,
        )
        self.model.follow(step, written=written)
        return step

    def carried_out(self, use_case: Any, request: Any, may_be_impossible: bool) -> Any:
        """What was posted; None where the composition forbade it."""
        forgiven = {"impossible", "wrong_state"} if may_be_impossible else set()
        try:
            with self.session.begin_nested():
                return do(self.session, use_case, request)
        except Refused as refused:
            if not {problem.kind for problem in refused.problems} <= forgiven:
                raise
        return None

    def refuse(self, use_case: Any, request: Any, *kinds: str) -> None:
        """It must be refused; that nothing was written is asked after every step."""
        with pytest.raises((Refused, NotFound)) as caught, self.session.begin_nested():
            do(self.session, use_case, request)
        if kinds:
            assert isinstance(caught.value, Refused)
            assert {problem.kind for problem in caught.value.problems} <= set(kinds)

    # -- food comes in and is prepared ---------------------------------------------------------

    @rule(
        food=st.sampled_from(sorted(FOODS)),
        mass_mg=st.integers(1, 3_000_000),
        place=PLACES,
        allergens=st.frozensets(st.sampled_from(["celery", "milk", "eggs"]), max_size=2),
        days=st.none() | st.integers(0, 900),
    )
    def take_in(
        self, food: str, mass_mg: int, place: int, allergens: frozenset[str], days: int | None
    ) -> None:
        day = None if days is None else TODAY - timedelta(days=days)
        weighed = dataclasses.replace(bowl(0), gross_mg=mass_mg + 300_000)
        request = an_intake(
            food,
            bowls=(weighed,),
            place=place,
            allergens=allergens,
            harvest=(day, day) if day else None,
            game=GameIn(Ammunition.LEAD) if food == MOOSE else None,
            reason=WHY,
        )
        marks = Marks(FOODS[food], food == MOOSE, allergens, frozenset(), day)
        self.post(intake, request, {StockRef(0, place): mass_mg}, new=(marks,), came_in=mass_mg)

    @precondition(lambda self: self.refs(place=FREEZER))
    @rule(number=PICK, share=SHARES, drip=st.integers(0, 20), on_counter=st.booleans())
    def thaw_some(self, number: int, share: int, drip: int, on_counter: bool) -> None:
        ref = self.pick(number, place=FREEZER)
        mass_mg = self.part(ref, share)
        drip_mg = mass_mg * drip // 100
        request = Thaw(ref, mass_mg, ThawWay.REFRIGERATOR, FRIDGE, TODAY, drip_mg)
        if on_counter:
            self.refuse(thaw, dataclasses.replace(request, way=ThawWay.COUNTER))
        self.post(
            thaw,
            request,
            {ref: -mass_mg, StockRef(0, FRIDGE): mass_mg - drip_mg},
            new=(self.model.marks[ref.lot_id],),
            went_out=drip_mg,
        )

    @precondition(lambda self: self.refs())
    @rule(number=PICK, share=SHARES, place=PLACES)
    def split_off(self, number: int, share: int, place: int) -> None:
        ref = self.pick(number)
        mass_mg = self.part(ref, share)
        request = Portion(ref, mass_mg, "Part", place, TODAY, reason=WHY)
        if self.thaws(ref, place):
            self.refuse(portion, request, "wrong_place")
            return
        marks = self.model.marks[ref.lot_id]
        self.post(portion, request, {ref: -mass_mg, StockRef(0, place): mass_mg}, new=(marks,))

    @precondition(lambda self: self.refs())
    @rule(number=PICK, share=SHARES, cut=st.integers(0, 50))
    def trim_away(self, number: int, share: int, cut: int) -> None:
        ref = self.pick(number)
        mass_mg = self.part(ref, share)
        cut_mg = min(mass_mg * cut // 100, mass_mg - 1)
        self.post(
            trim,
            Trim(ref, mass_mg, mass_mg - cut_mg, cut_mg, FRIDGE, TODAY),
            {ref: -mass_mg, StockRef(0, FRIDGE): mass_mg - cut_mg},
            new=(self.model.marks[ref.lot_id],),
            went_out=cut_mg,
        )

    @precondition(lambda self: len(self.refs()) > 1)
    @rule(
        numbers=st.lists(PICK, min_size=2, max_size=3),
        share=SHARES,
        stuck=st.integers(0, 40),
        by_mixing=st.booleans(),
    )
    def work_together(self, numbers: list[int], share: int, stuck: int, by_mixing: bool) -> None:
        """Ground or mixed; what is on hold is kept apart from other food."""
        refs = self.pick_several(numbers)
        masses = {ref: self.part(ref, share) for ref in refs}
        total = sum(masses.values())
        stuck_mg = min(total * stuck // 100, total - 1)
        made_mg = total - stuck_mg
        use_case: Any = grind
        parts = tuple(Part(ref, mass_mg) for ref, mass_mg in masses.items())
        request: Any = Grind(parts, "Mince", made_mg, FRIDGE, TODAY, stuck_mg=stuck_mg, reason=WHY)
        if by_mixing and len(refs) > 1:
            use_case = mix_lots
            several = tuple(MixPart(ref, mass_mg) for ref, mass_mg in masses.items())
            request = Mix(several, "Hash", made_mg, FRIDGE, TODAY, stuck_mg=stuck_mg, reason=WHY)
        lots = [ref.lot_id for ref in refs]
        if self.is_kept_apart(lots):
            self.refuse(use_case, request, "on_hold")
            return
        self.post(
            use_case,
            request,
            {**{ref: -mass_mg for ref, mass_mg in masses.items()}, StockRef(0, FRIDGE): made_mg},
            new=(self.model.marks_of(lots),),
            went_out=stuck_mg,
        )

    @precondition(lambda self: len(self.refs()) > 1)
    @rule(one=PICK, two=PICK, share=SHARES, salt_mg=st.integers(0, 50_000))
    def season(self, one: int, two: int, share: int, salt_mg: int) -> None:
        ref, other = self.pick(one), self.pick(two)
        if ref == other:
            return
        mass_mg, other_mg = self.part(ref, share), self.part(other, share)
        total = mass_mg + other_mg + salt_mg
        request = Blend(
            ref, mass_mg, other, other_mg, "Mix", total, BENCH, TODAY, seasoning_mg=salt_mg
        )
        lots = [ref.lot_id, other.lot_id]
        if self.is_kept_apart(lots):
            self.refuse(blend, request, "on_hold")
            return
        self.post(
            blend,
            request,
            {ref: -mass_mg, other: -other_mg, StockRef(0, BENCH): total},
            new=(self.model.marks_of(lots),),
            came_in=salt_mg,
        )

    # -- heat, cold and the dryer --------------------------------------------------------------

    @precondition(lambda self: self.refs())
    @rule(
        number=PICK,
        share=SHARES,
        water_mg=st.integers(0, 500_000),
        steam=st.integers(0, 100),
        reading=st.none() | st.sampled_from([60.0, 85.0]),
    )
    def simmer(
        self, number: int, share: int, water_mg: int, steam: int, reading: float | None
    ) -> None:
        """Steam only of the water added, so that no lot is asked for more water than it has."""
        ref = self.pick(number)
        mass_mg = self.part(ref, share)
        steam_mg = water_mg * steam // 100
        marks = self.model.marks[ref.lot_id]
        made_mg = mass_mg + water_mg - steam_mg
        request = a_cook(
            ref,
            1,
            1,
            mass_mg=mass_mg,
            made_mg=made_mg,
            water_mg=water_mg,
            centre=None if reading is None else centre(reading),
            reason=WHY,
        )
        self.post(
            cook,
            request,
            {ref: -mass_mg, StockRef(0, BENCH): made_mg},
            new=(dataclasses.replace(marks, is_raw=marks.is_raw and reading != 85.0),),
            came_in=water_mg,
            went_out=steam_mg,
        )

    @precondition(lambda self: self.refs())
    @rule(number=PICK, share=SHARES, steam=st.integers(0, 3))
    def chill_some(self, number: int, share: int, steam: int) -> None:
        ref = self.pick(number)
        if self.was_dry(ref):
            return  # see the end of this module
        mass_mg = self.part(ref, share)
        steam_mg = mass_mg * steam // 100
        self.post(
            chill,
            Chill(ref, mass_mg, mass_mg - steam_mg, FRIDGE, TODAY, reason=WHY),
            {ref: -mass_mg, StockRef(0, FRIDGE): mass_mg - steam_mg},
            new=(self.model.marks[ref.lot_id],),
            went_out=steam_mg,
            may_be_impossible=steam_mg > 0,
        )

    @precondition(lambda self: self.refs())
    @rule(number=PICK, share=SHARES, fat_per_mille=st.integers(0, 8), keeps=st.booleans())
    def skim_some(self, number: int, share: int, fat_per_mille: int, keeps: bool) -> None:
        ref = self.pick(number)
        if self.was_dry(ref):
            return  # see the end of this module
        mass_mg = self.part(ref, share)
        fat_mg = mass_mg * fat_per_mille // 1000
        marks = self.model.marks[ref.lot_id]
        change = {ref: -mass_mg, StockRef(0, FRIDGE): mass_mg - fat_mg}
        is_lot = bool(fat_mg) and keeps
        if is_lot:
            change[StockRef(-1, FRIDGE)] = fat_mg
        self.post(
            skim,
            Skim(ref, mass_mg, fat_mg, FRIDGE, TODAY, keeps_fat=keeps),
            change,
            new=(marks,) * (1 + is_lot),
            went_out=0 if is_lot else fat_mg,
            may_be_impossible=fat_mg > 0,
        )

    @precondition(lambda self: self.refs())
    @rule(number=PICK, share=SHARES, broth=st.integers(1, 60), spilled=st.integers(0, 5))
    def drain_some(self, number: int, share: int, broth: int, spilled: int) -> None:
        ref = self.pick(number)
        if self.was_dry(ref):
            return  # see the end of this module
        mass_mg = self.part(ref, share)
        broth_mg, spilled_mg = mass_mg * broth // 100, mass_mg * spilled // 100
        food_mg = mass_mg - broth_mg - spilled_mg
        request = Drain(ref, mass_mg, food_mg, broth_mg, FRIDGE, TODAY, spilled_mg=spilled_mg)
        if broth_mg == 0:
            self.refuse(drain, request, "not_positive")
            return
        change = {ref: -mass_mg, StockRef(0, FRIDGE): food_mg, StockRef(-1, FRIDGE): broth_mg}
        marks = self.model.marks[ref.lot_id]
        self.post(
            drain, request, change, new=(marks,) * 2, went_out=spilled_mg, may_be_impossible=True
        )

    @precondition(lambda self: self.refs())
    @rule(number=PICK, share=SHARES, percent=st.integers(95, 110))
    def blanch_some(self, number: int, share: int, percent: int) -> None:
        """Meat is refused; so is more water lost than there was."""
        ref = self.pick(number)
        if self.was_dry(ref):
            return  # see the end of this module
        mass_mg = self.part(ref, share)
        made_mg = max(mass_mg * percent // 100, 1)
        self.post(
            blanch,
            Blanch(ref, mass_mg, made_mg, FRIDGE, TODAY),
            {ref: -mass_mg, StockRef(0, FRIDGE): made_mg},
            new=(self.model.marks[ref.lot_id],),
            came_in=max(made_mg - mass_mg, 0),
            went_out=max(mass_mg - made_mg, 0),
            may_be_impossible=True,
        )

    @precondition(lambda self: self.refs(packed=False))
    @rule(numbers=st.lists(PICK, min_size=1, max_size=3), share=SHARES, is_over=st.booleans())
    def load_the_dryer(self, numbers: list[int], share: int, is_over: bool) -> None:
        """A scale shows no less than a gram, and dryness is judged of no less."""
        refs = [r for r in self.pick_several(numbers, packed=False) if self.part(r, share) >= G]
        if not refs:
            return
        masses = {ref: self.part(ref, share) for ref in refs}
        trays = tuple(
            TrayLoaded(ref, mass_mg + TRAY_MG, "typed", TRAY_MG, "600 g")
            for ref, mass_mg in masses.items()
        )
        request = Load(FREEZE_DRYER, trays, TODAY, reason=WHY)
        if self.model.running:
            self.refuse(load, request, "wrong_state")
            return
        change: Counter[StockRef] = Counter()
        for ref, mass_mg in masses.items():
            change[ref] -= mass_mg
            change[StockRef(ref.lot_id, FREEZE_DRYER)] += mass_mg
        self.post(load, request, dict(change))
        if is_over:
            self.empty_the_dryer(share=30, spill=1)

    @precondition(lambda self: self.model.running)
    @rule(share=st.integers(10, 100), spill=st.integers(0, 5))
    def unload_the_dryer(self, share: int, spill: int) -> None:
        self.empty_the_dryer(share, spill)

    def empty_the_dryer(self, share: int, spill: int) -> None:
        (run_id,) = self.model.running
        inside = {ref: mg for ref, mg in self.model.on_hand.items() if ref.place_id == FREEZE_DRYER}
        refs = sorted(inside, key=lambda ref: ref.lot_id)
        made = {ref: max(inside[ref] * share // 100, 1) for ref in refs}
        lost_mg = sum(inside.values()) - sum(made.values())
        lots = tuple(DryMade(ref.lot_id, made_mg) for ref, made_mg in made.items())
        request = Unload(run_id, lots, BENCH, TODAY, spilled_mg=lost_mg * spill // 100)
        every = [self.model.marks[ref.lot_id] for ref in refs]
        change = {ref: -inside[ref] for ref in refs}
        change |= {StockRef(-i, BENCH): made[ref] for i, ref in enumerate(refs)}
        self.post(
            unload,
            request,
            change,
            new=tuple(own.beside(every[:i] + every[i + 1 :]) for i, own in enumerate(every)),
            made_of=tuple(frozenset({ref.lot_id}) for ref in refs),
            went_out=lost_mg,
            unloads=run_id,
        )
        self.refuse(unload, request, "wrong_state")

    # -- packed, opened, carried, gone ---------------------------------------------------------

    @precondition(lambda self: self.refs(packed=False))
    @rule(number=PICK, shares=st.lists(st.integers(1, 30), min_size=1, max_size=3), place=PLACES)
    def jar_up(self, number: int, shares: list[int], place: int) -> None:
        ref = self.pick(number, packed=False)
        net_mg = [min(self.part(ref, share), 300_000) for share in shares]
        if sum(net_mg) > self.model.on_hand[ref]:
            return
        request = a_pack(ref, packaging_id=JAR, absorber_id=None, place_id=place, done_on=TODAY)
        request = dataclasses.replace(request, net_mg=tuple(net_mg))
        change = {ref: -sum(net_mg)}
        change |= {StockRef(0, place, n): mass_mg for n, mass_mg in enumerate(net_mg, start=1)}
        self.post(pack, request, change, new=(self.model.marks[ref.lot_id],))

    @precondition(lambda self: self.refs(packed=True))
    @rule(number=PICK)
    def open_one(self, number: int) -> None:
        ref = self.pick(number, packed=True)
        if ref.package_id in self.model.opened:
            self.refuse(open_package, Open((ref,), TODAY), "nothing_to_do")
            return
        self.post(open_package, Open((ref,), TODAY), {ref: 0}, opens=ref.package_id)

    @precondition(lambda self: self.refs())
    @rule(number=PICK, share=SHARES, place=PLACES)
    def carry(self, number: int, share: int, place: int) -> None:
        ref = self.pick(number)
        mass_mg = self.part(ref, share)
        there = dataclasses.replace(ref, place_id=place)
        request = Move((ref,), place, TODAY, mass_mg=mass_mg, reason=WHY)
        if ref.place_id == place:
            self.refuse(move, request, "nothing_to_do")
        elif self.thaws(ref, place):
            self.refuse(move, request, "wrong_place")
        else:
            self.post(move, request, {ref: -mass_mg, there: mass_mg})

    @precondition(lambda self: self.refs())
    @rule(
        numbers=st.lists(PICK, min_size=1, max_size=3),
        share=SHARES,
        use_case=st.sampled_from([eat, give, discard]),
    )
    def let_go(self, numbers: list[int], share: int, use_case: Any) -> None:
        """Part of one row or all of several; food on hold is only thrown away."""
        refs = self.pick_several(numbers)
        masses = {ref: self.model.on_hand[ref] for ref in refs}
        if len(refs) == 1:
            masses = {refs[0]: self.part(refs[0], share)}
        part_mg = masses[refs[0]] if len(refs) == 1 else None
        request = Leave(tuple(refs), TODAY, mass_mg=part_mg, words="Morag", reason=WHY)
        held = self.model.held_lots()
        if use_case is not discard and any(ref.lot_id in held for ref in refs):
            self.refuse(use_case, request, "on_hold")
            return
        change = {ref: -mass_mg for ref, mass_mg in masses.items()}
        self.post(use_case, request, change, went_out=sum(masses.values()))

    @precondition(lambda self: self.refs())
    @rule(number=PICK, percents=st.lists(st.integers(0, 130), min_size=1, max_size=3))
    def take_stock(self, number: int, percents: list[int]) -> None:
        """A package is there whole or not at all, and at one place only."""
        place = self.pick(number).place_id
        on_hand = self.model.on_hand
        found: dict[StockRef, int] = {}
        for ref, percent in zip(self.refs(place=place), percents, strict=False):
            mass_mg = on_hand[ref] * percent // 100
            if ref.package_id is not None:
                whole = self.model.net_mg[ref.package_id]
                rows = [r for r in on_hand if r.package_id == ref.package_id]
                mass_mg = whole if percent > 60 and len(rows) == 1 else 0
            found[ref] = mass_mg
        counted = tuple(Counted(ref, mass_mg) for ref, mass_mg in found.items())
        request = Stocktake(place, counted, TODAY, "nobody knows")
        change = {ref: mass_mg - on_hand[ref] for ref, mass_mg in found.items()}
        change = {ref: mass_mg for ref, mass_mg in change.items() if mass_mg}
        self.refuse(stocktake, dataclasses.replace(request, place_id=FREEZE_DRYER))
        if change:
            self.refuse(stocktake, Stocktake(place, counted, TODAY, " "), "missing")
        self.post(
            stocktake,
            request,
            change,
            came_in=sum(mg for mg in change.values() if mg > 0),
            went_out=-sum(mg for mg in change.values() if mg < 0),
        )

    # -- what moves no mass --------------------------------------------------------------------

    @precondition(lambda self: self.refs())
    @rule(number=PICK)
    def put_on_hold(self, number: int) -> None:
        lot_id = self.pick(number).lot_id
        request = PutOnHold((lot_id,), HoldCause.RECALL, TODAY, "the butcher rang")
        step = self.post(hold, request, {})
        assert step is not None
        step.puts = self.holds_of(step.operation_id)

    def holds_of(self, operation_id: int) -> dict[int, int]:
        rows = self.session.execute(
            select(Hold.id, Hold.lot_id).where(Hold.operation_id == operation_id)
        )
        return {row.id: row.lot_id for row in rows}

    def held_and_free(self) -> tuple[list[StockRef], list[StockRef]]:
        """What is on hand under a hold, and what under none."""
        held = self.model.held_lots()
        return (
            [ref for ref in self.refs() if ref.lot_id in held],
            [ref for ref in self.refs() if ref.lot_id not in held],
        )

    @precondition(lambda self: self.model.holds and all(self.held_and_free()))
    @rule(number=PICK, use_case=st.sampled_from([eat, give, grind, mix_lots, blend]))
    def use_held_food_as_if_it_were_free(self, number: int, use_case: Any) -> None:
        held, free = self.held_and_free()
        one, other = held[number % len(held)], free[number % len(free)]
        requests = {
            eat: Leave((other, one), TODAY),
            give: Leave((one,), TODAY, mass_mg=1, words="Morag"),
            grind: Grind((Part(one, 1), Part(other, 1)), "Mince", 2, FRIDGE, TODAY, reason=WHY),
            mix_lots: Mix((MixPart(other, 1), MixPart(one, 1)), "Hash", 2, FRIDGE, TODAY),
            blend: Blend(one, 1, other, 1, "Mix", 2, BENCH, TODAY),
        }
        self.refuse(use_case, requests[use_case], "on_hold")

    @precondition(lambda self: self.model.holds)
    @rule(number=PICK)
    def lift_a_hold(self, number: int) -> None:
        standing = sorted(self.model.holds)
        hold_id = standing[number % len(standing)]
        request = LiftHold((hold_id,), ReleaseCause.LOOKED_FINE, TODAY, "looked at it")
        self.post(release, request, {}, lifts=frozenset({hold_id}))
        self.refuse(release, request, "wrong_state")

    @precondition(lambda self: self.refs())
    @rule(
        number=PICK,
        fate=st.sampled_from(sorted(IncidentFate)),
        hours=st.integers(1, 300),
        temp_c=st.integers(-20, 60),
    )
    def go_wrong(self, number: int, fate: IncidentFate, hours: int, temp_c: int) -> None:
        """What is discarded or held at once is an operation of its own."""
        until = evening(TODAY) - timedelta(hours=1)
        ref = self.pick(number)
        mass_mg = self.model.on_hand[ref]
        request = WentWrong(
            IncidentKind.KEPT_WARM,
            TODAY,
            (LotFate(ref, fate, (), temp_c=float(temp_c)),),
            from_at=until - timedelta(hours=hours),
            to_at=until,
        )
        gone, held = fate is IncidentFate.DISCARD, fate is IncidentFate.LOOK
        opens = ref.package_id if fate is IncidentFate.OPENED else None
        change = {ref: -mass_mg} if gone else {}
        facts = {"went_out": mass_mg if gone else 0, "discards": gone, "opens": opens}
        step = self.post(
            went_wrong, request, change, written=1 + gone + held, is_incident=True, **facts
        )
        assert step is not None
        if held:
            step.puts = self.holds_of(step.operation_id - 1)

    @precondition(lambda self: self.refs())
    @rule(number=PICK, is_fine=st.booleans(), place=st.sampled_from([FREEZER, FRIDGE]))
    def look_at_it(self, number: int, is_fine: bool, place: int) -> None:
        finding = Finding.FINE if is_fine else Finding.NOT_FINE
        looked = Looked(CheckKind.SEAL, finding, TODAY, self.pick(number).lot_id)
        self.post(check, looked, {})
        read = ReadingIn(evening(TODAY), -18.0 if place == FREEZER else 4.0, None, "typed", "C")
        thermometer = Looked(CheckKind.THERMOMETER, finding, TODAY, place_id=place, reading=read)
        self.post(check, thermometer, {})
        self.refuse(check, dataclasses.replace(thermometer, reading=None), "missing")

    @precondition(lambda self: self.refs())
    @rule(number=PICK, percent=st.integers(1, 9))
    def measure_it(self, number: int, percent: int) -> None:
        ref = self.pick(number)
        value = Value(ReadingKind.FAT, percent / 100, MeasuredBy.FAT_TEST, str(percent))
        self.post(measure, Measure(ref, (value,), TODAY), {}, measures=ref.lot_id)

    @rule(
        place=PLACES, temp_c=st.integers(-20, 30), days=st.integers(0, 30), by_month=st.booleans()
    )
    def say_how_warm_it_is(self, place: int, temp_c: int, days: int, by_month: bool) -> None:
        months = range(12) if by_month else range(1)
        warmths = tuple(Warmth(temp_c - 2.0, temp_c + m / 4, temp_c + 5.0, 0.5) for m in months)
        said = (SaidClimate(evening(TODAY) - timedelta(days=days), warmths),)
        self.post(change_climate, ChangeClimate(place, TODAY, said), {})

    # -- taken back ----------------------------------------------------------------------------

    def brings_two_runs_together(self, steps: Iterable[Step]) -> bool:
        """Would an unloading be undone while the dryer runs again? See the end of this module."""
        loads = {step.loads for step in steps} - {None}
        unloads = {step.unloads for step in steps} - {None}
        return len(({*self.model.running} | unloads) - loads) > 1

    @precondition(lambda self: self.model.steps)
    @rule()
    def take_back_the_newest(self) -> None:
        newest = self.model.steps[-1]
        do(self.session, correct, Correct(newest.operation_id, TODAY))
        self.model.undo(newest)
        self.refuse(correct, Correct(newest.operation_id, TODAY), "already_reversed")

    @precondition(lambda self: len(self.model.steps) > 1)
    @rule(number=PICK)
    def take_back_an_older_one(self, number: int) -> None:
        """Refused only when later work rests on it; then nothing falls below zero."""
        older = self.model.steps[number % len(self.model.steps)]
        if self.brings_two_runs_together([older]):
            return
        request = Correct(older.operation_id, TODAY)
        with contextlib.suppress(Refused), self.session.begin_nested():
            do(self.session, correct, request)
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
        if self.brings_two_runs_together([older, *later]):
            return
        request = CorrectAll(older.operation_id, tuple(found), TODAY, WHY)
        self.refuse(correct_with_dependents, dataclasses.replace(request, resting=(*found, 10_000)))
        do(self.session, correct_with_dependents, request)
        for step in (*reversed(later), older):
            if step in self.model.steps:
                self.model.undo(step)
        assert min(self.model.on_hand.values(), default=0) >= 0

    # -- what nobody can do --------------------------------------------------------------------

    @precondition(lambda self: self.refs())
    @rule(number=PICK, over=st.integers(1, 10**9), word=st.sampled_from(sorted(OperationKind)))
    def take_more_than_there_is(self, number: int, over: int, word: str) -> None:
        ref = self.pick(number)
        use_case, request = IMPOSSIBLE[word](ref, self.model.on_hand[ref] + over)
        self.refuse(use_case, request)

    @precondition(lambda self: self.refs())
    @rule(
        number=PICK, mass_mg=st.integers(-(10**9), 0), word=st.sampled_from(sorted(OperationKind))
    )
    def take_nothing_or_less(self, number: int, mass_mg: int, word: str) -> None:
        use_case, request = IMPOSSIBLE[word](self.pick(number), mass_mg)
        self.refuse(use_case, request)

    @precondition(lambda self: self.refs())
    @rule(number=PICK)
    def take_more_than_half_twice(self, number: int) -> None:
        ref = self.pick(number)
        more_than_half = Part(ref, self.model.on_hand[ref] // 2 + 1)
        twice_mg = 2 * more_than_half.mass_mg
        self.refuse(grind, Grind((more_than_half,) * 2, "Mince", twice_mg, FRIDGE, TODAY))

    @precondition(lambda self: self.refs())
    @rule(number=PICK, off_mg=st.integers(-1000, 1000).filter(bool))
    def lose_a_few_milligrams(self, number: int, off_mg: int) -> None:
        ref = self.pick(number)
        mass_mg = self.model.on_hand[ref]
        self.refuse(trim, Trim(ref, mass_mg, mass_mg + off_mg, 0, FRIDGE, TODAY))

    @precondition(lambda self: self.refs())
    @rule(number=PICK, days=st.integers(1, 4000))
    def work_before_or_after_its_time(self, number: int, days: int) -> None:
        early = Leave((self.pick(number),), TODAY - timedelta(days=days), mass_mg=1)
        self.refuse(eat, early)

    @rule(word=st.sampled_from(sorted(OperationKind)))
    def take_a_lot_that_is_not_there(self, word: str) -> None:
        self.refuse(*IMPOSSIBLE[word](NOT_THERE, 10**9))

    # -- what must hold after every step -------------------------------------------------------

    @invariant()
    def mass_on_hand_is_the_models(self) -> None:
        if hasattr(self, "session"):
            assert all_stock(self.session) == self.model.on_hand

    @invariant()
    def entries_sum_to_what_is_on_hand(self) -> None:
        if hasattr(self, "session"):
            summed = self.session.scalar(select(func.sum(Entry.mass_mg))) or 0
            assert summed == sum(self.model.on_hand.values()) == self.model.left_over_mg

    @invariant()
    def nothing_was_written_but_what_was_done(self) -> None:
        if hasattr(self, "session"):
            written = self.session.scalar(select(func.count(Operation.id)))
            assert written == self.model.operation_count

    @invariant()
    def marks_are_the_models(self) -> None:
        if not hasattr(self, "session"):
            return
        told: dict[tuple[int, str], set[str]] = {}
        allergens = select(LotAllergen.lot_id, LotAllergen.presence, LotAllergen.allergen)
        for lot_id, presence, allergen in self.session.execute(allergens):
            told.setdefault((lot_id, presence), set()).add(allergen)
        lead = set(self.session.scalars(select(LotMark.lot_id)))
        lots = self.session.execute(select(Lot.id, Lot.is_raw, Lot.harvest_from)).all()
        assert {
            lot_id: Marks(
                is_raw,
                lot_id in lead,
                frozenset(told.get((lot_id, Presence.CONTAINS), ())),
                frozenset(told.get((lot_id, Presence.MAY_CONTAIN), ())),
                oldest,
                self.model.marks[lot_id].is_dry,
            )
            for lot_id, is_raw, oldest in lots
        } == self.model.marks

    @invariant()
    def holds_reach_all_that_was_made_of_what_is_held(self) -> None:
        if hasattr(self, "session"):
            found = held_lots(self.session)
            standing = {lot: frozenset(h.id for h in holds) for lot, holds in found.items()}
            assert standing == self.model.held_lots()

    @invariant()
    def trace_leads_down_to_all_that_was_made_of_it(self) -> None:
        if not hasattr(self, "session"):
            return
        down: dict[int, set[int]] = {}
        for lot, sources in self.model.everything_made_of().items():
            for source in sources:
                down.setdefault(source, set()).add(lot)
        assert downstream_of(self.session, self.model.marks) == down


def rows_of(path: Path) -> dict[str, list[tuple[object, ...]]]:
    """Every row of every table but the kept windows, which are worked out again."""
    with closing(sqlite3.connect(path)) as connection:
        names = connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name <> 'estimate'"
        ).fetchall()
        return {
            name: sorted(connection.execute(f"SELECT * FROM {name}").fetchall(), key=repr)
            for (name,) in names
        }


def test_random_work_keeps_the_ledger_in_step_with_a_simple_model(furnished_file: Path) -> None:
    Kitchen.template = furnished_file
    Kitchen.seen.clear()
    run_state_machine_as_test(
        Kitchen,
        settings=settings(
            max_examples=EVENINGS,
            derandomize=LOOKING is None,
            stateful_step_count=30,
            deadline=None,
            suppress_health_check=list(HealthCheck),
            print_blob=True,
            phases=(Phase.reuse, Phase.generate),  # shrinking would take minutes
        ),
    )
    print(f"{EVENINGS} evenings: {dict(sorted(Kitchen.seen.items()))}")
    if EVENINGS >= MANY:
        assert set(Kitchen.seen) == set(OperationKind)


def test_a_request_of_every_kind_can_be_wrong() -> None:
    assert set(IMPOSSIBLE) == set(OperationKind)


# -- what random work has found and the ledger does not do yet -------------------------------------


def test_food_whose_measured_water_was_passed_on_can_be_drained(session: Session) -> None:
    pot = a_pot(session)
    value = Value(ReadingKind.WATER, 0.80, MeasuredBy.OVEN, "80")
    do(session, measure, Measure(pot, (value,), TODAY))
    part = made(do(session, portion, Portion(pot, 1000 * G, "Part", FRIDGE, TODAY)), FRIDGE)
    do(session, drain, Drain(part, 1000 * G, 500 * G, 500 * G, FRIDGE, TODAY))


def test_a_pinch_on_a_tray_is_refused_before_nobody_can_unload_it(session: Session) -> None:
    """Dryness is judged from a tenth of a gram on."""
    herbs = take_in(session, SWEETCORN)
    with pytest.raises(Refused):
        loaded(session, a_tray(herbs, 0.05))
    assert loaded(session, a_tray(herbs, 0.1))


def test_an_unloading_is_not_taken_back_while_the_dryer_runs_again(session: Session) -> None:
    """Two runs would be in one dryer, and unloading the first takes the food of the second."""
    meat = cooked(session, 2000)
    first = loaded(session, a_tray(meat, 1000))
    out = do(session, unload, Unload(first, (DryMade(meat.lot_id, 260 * G),), BENCH, TODAY))
    loaded(session, a_tray(meat, 900))
    with pytest.raises(Refused):
        do(session, correct, Correct(out.operation_id, TODAY))
