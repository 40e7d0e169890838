"""Random work on a ledger against a model of it that is only sums and sets.

The model knows nothing of the ledger's code: mass on hand is a dictionary, marks are unions, the
oldest date is a minimum, and what a correction gives back is the dictionary from before.
"""

import contextlib
import dataclasses
import shutil
import tempfile
from collections import Counter
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
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

from app.ledger import windows
from app.ledger.book import Book
from app.ledger.checks import check_all
from app.ledger.climates import Warmth
from app.ledger.errors import NotFound, Refused
from app.ledger.models import Entry, Estimate, Lot, LotAllergen
from app.ledger.operations.blend import Blend, blend
from app.ledger.operations.check import Looked, check
from app.ledger.operations.climate import ChangeClimate, SaidClimate, change_climate
from app.ledger.operations.cook import cook
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.incident import LotFate, WentWrong, went_wrong
from app.ledger.operations.intake import intake
from app.ledger.operations.leave import Leave, eat
from app.ledger.operations.move import Move, move
from app.ledger.operations.open import Open, open_package
from app.ledger.operations.pack import pack
from app.ledger.operations.portion import Portion, portion
from app.ledger.operations.trim import Trim, trim
from app.ledger.stock import StockRef
from app.ledger.words import CheckKind, Finding, IncidentFate, IncidentKind
from tests.builders import (
    BENCH,
    FREEZER,
    FRIDGE,
    JAR,
    MOOSE,
    PANTRY,
    PORK,
    SWEETCORN,
    TODAY,
    a_cook,
    a_pack,
    all_stock,
    an_intake,
    bowl,
    centre,
    do,
    evening,
    refusal,
)

REASON = "noted by hand"  # half-cooked food asks for one wherever it is put away
PLACES = st.sampled_from([FREEZER, FRIDGE, BENCH, PANTRY])
SHARES = st.integers(1, 100)
PICK = st.integers(0, 10_000)
RAW_FOODS = {MOOSE: True, PORK: True, SWEETCORN: False}


def thaws(ref: StockRef, place: int) -> bool:
    """Would it thaw on the way? Then only a thawing may take it there."""
    return ref.place_id == FREEZER and place != FREEZER


@dataclasses.dataclass(frozen=True)
class Marks:
    """What must travel with food."""

    is_raw: bool
    allergens: frozenset[str]
    oldest: date | None

    def __or__(self, other: "Marks") -> "Marks":
        dates = [day for day in (self.oldest, other.oldest) if day]
        return Marks(
            self.is_raw or other.is_raw,
            self.allergens | other.allergens,
            min(dates) if dates else None,
        )


@dataclasses.dataclass
class Done:
    """A step that can be taken back: what was there before, and every lot it touched."""

    operation_id: int
    change: Counter[StockRef]
    came_in: int
    went_out: int


class Kitchen(RuleBasedStateMachine):
    """Several lots at several places, worked on at random."""

    template: Path

    @initialize()
    def open_book(self) -> None:
        self.folder = tempfile.TemporaryDirectory()
        path = Path(self.folder.name) / "stillroom.db"
        shutil.copy(self.template, path)
        self.book = Book(path)
        self.session = self.book._write()
        self.on_hand: Counter[StockRef] = Counter()
        self.marks: dict[int, Marks] = {}
        self.came_in = self.went_out = 0
        self.done: list[Done] = []

    def teardown(self) -> None:
        if not hasattr(self, "session"):
            return
        try:
            assert check_all(self.session) == []
            self.windows_are_in_step()
        finally:
            self.session.rollback()
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

    # -- helpers of the model ------------------------------------------------------------------

    def refs(self, *, packed: bool | None = None) -> list[StockRef]:
        return [
            ref
            for ref, mass_mg in sorted(self.on_hand.items(), key=lambda item: str(item[0]))
            if mass_mg and (packed is None or packed == (ref.package_id is not None))
        ]

    def pick(self, number: int, *, packed: bool | None = None) -> StockRef:
        found = self.refs(packed=packed)
        return found[number % len(found)]

    def part(self, ref: StockRef, share: int) -> int:
        return max(self.on_hand[ref] * share // 100, 1)

    def post(
        self,
        use_case: Any,
        request: Any,
        change: dict[StockRef, int],
        *,
        new: dict[StockRef, Marks] | None = None,
        came_in: int = 0,
        went_out: int = 0,
    ) -> None:
        """Carry it out and keep the model in step; new lots stand in the change under lot 0."""
        posted = do(self.session, use_case, request)
        moved: Counter[StockRef] = Counter()
        packages = iter(posted.package_ids)
        for ref, mass_mg in change.items():
            if ref.lot_id > 0:
                moved[ref] += mass_mg
                continue
            lot_id = posted.lot_ids[0]
            package_id = next(packages) if ref.package_id is not None else None
            moved[StockRef(lot_id, ref.place_id, package_id)] += mass_mg
        for marks in (new or {}).values():
            self.marks[posted.lot_ids[0]] = marks
        self.on_hand.update(moved)
        self.came_in += came_in
        self.went_out += went_out
        self.done.append(Done(posted.operation_id, moved, came_in, went_out))

    def refuse(self, use_case: Any, request: Any) -> None:
        with pytest.raises((Refused, NotFound)), self.session.begin_nested():
            do(self.session, use_case, request)

    # -- what a household does -----------------------------------------------------------------

    @rule(
        food=st.sampled_from(sorted(RAW_FOODS)),
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
        )
        marks = Marks(RAW_FOODS[food], allergens, day)
        new = StockRef(0, place)
        self.post(intake, request, {new: mass_mg}, new={new: marks}, came_in=mass_mg)

    @precondition(lambda self: self.refs())
    @rule(number=PICK, share=SHARES, place=PLACES)
    def split_off(self, number: int, share: int, place: int) -> None:
        ref = self.pick(number)
        mass_mg = self.part(ref, share)
        new = StockRef(0, place)
        request = Portion(ref, mass_mg, "Part", place, TODAY, reason=REASON)
        if thaws(ref, place):
            self.refuse(portion, request)
            return
        self.post(
            portion,
            request,
            {ref: -mass_mg, new: mass_mg},
            new={new: self.marks[ref.lot_id]},
        )

    @precondition(lambda self: len(self.refs()) > 1)
    @rule(numbers=st.lists(PICK, min_size=2, max_size=3), share=SHARES, stuck=st.integers(0, 40))
    def grind_together(self, numbers: list[int], share: int, stuck: int) -> None:
        refs = list(dict.fromkeys(self.pick(number) for number in numbers))
        masses = {ref: self.part(ref, share) for ref in refs}
        total = sum(masses.values())
        stuck_mg = min(total * stuck // 100, total - 1)
        marks = self.marks[refs[0].lot_id]
        for ref in refs[1:]:
            marks |= self.marks[ref.lot_id]
        new = StockRef(0, FRIDGE)
        self.post(
            grind,
            Grind(
                tuple(Part(ref, mass_mg) for ref, mass_mg in masses.items()),
                "Mince",
                total - stuck_mg,
                FRIDGE,
                TODAY,
                stuck_mg=stuck_mg,
            ),
            {**{ref: -mass_mg for ref, mass_mg in masses.items()}, new: total - stuck_mg},
            new={new: marks},
            went_out=stuck_mg,
        )

    @precondition(lambda self: len(self.refs()) > 1)
    @rule(one=PICK, two=PICK, share=SHARES, salt_mg=st.integers(0, 50_000))
    def season(self, one: int, two: int, share: int, salt_mg: int) -> None:
        ref, other = self.pick(one), self.pick(two)
        if ref == other:
            return
        masses = {ref: self.part(ref, share), other: self.part(other, share)}
        total = sum(masses.values()) + salt_mg
        new = StockRef(0, BENCH)
        self.post(
            blend,
            Blend(
                ref,
                masses[ref],
                other,
                masses[other],
                "Mix",
                total,
                BENCH,
                TODAY,
                seasoning_mg=salt_mg,
            ),
            {ref: -masses[ref], other: -masses[other], new: total},
            new={new: self.marks[ref.lot_id] | self.marks[other.lot_id]},
            came_in=salt_mg,
        )

    @precondition(lambda self: self.refs())
    @rule(number=PICK, share=SHARES, cut=st.integers(0, 50))
    def trim_away(self, number: int, share: int, cut: int) -> None:
        ref = self.pick(number)
        mass_mg = self.part(ref, share)
        cut_mg = min(mass_mg * cut // 100, mass_mg - 1)
        new = StockRef(0, FRIDGE)
        self.post(
            trim,
            Trim(ref, mass_mg, mass_mg - cut_mg, cut_mg, FRIDGE, TODAY),
            {ref: -mass_mg, new: mass_mg - cut_mg},
            new={new: self.marks[ref.lot_id]},
            went_out=cut_mg,
        )

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
        marks = self.marks[ref.lot_id]
        request = a_cook(
            ref,
            1,
            1,
            mass_mg=mass_mg,
            made_mg=mass_mg + water_mg - steam_mg,
            water_mg=water_mg,
            centre=None if reading is None else centre(reading),
            reason=REASON,
        )
        new = StockRef(0, BENCH)
        self.post(
            cook,
            request,
            {ref: -mass_mg, new: mass_mg + water_mg - steam_mg},
            new={new: dataclasses.replace(marks, is_raw=marks.is_raw and reading != 85.0)},
            came_in=water_mg,
            went_out=steam_mg,
        )

    @precondition(lambda self: self.refs(packed=False))
    @rule(number=PICK, shares=st.lists(st.integers(1, 30), min_size=1, max_size=3), place=PLACES)
    def jar_up(self, number: int, shares: list[int], place: int) -> None:
        ref = self.pick(number, packed=False)
        net_mg = [min(self.part(ref, share), 700_000) for share in shares]
        if sum(net_mg) > self.on_hand[ref]:
            return
        request = a_pack(ref, packaging_id=JAR, absorber_id=None, place_id=place, done_on=TODAY)
        request = dataclasses.replace(request, net_mg=tuple(net_mg))
        change = {ref: -sum(net_mg)}
        change |= {StockRef(0, place, n): mass_mg for n, mass_mg in enumerate(net_mg, start=1)}
        marks = self.marks[ref.lot_id]
        self.post(pack, request, change, new={StockRef(0, place): marks})

    @precondition(lambda self: self.refs())
    @rule(number=PICK, share=SHARES, place=PLACES)
    def carry(self, number: int, share: int, place: int) -> None:
        ref = self.pick(number)
        if ref.place_id == place:
            return
        mass_mg = self.part(ref, share)
        there = dataclasses.replace(ref, place_id=place)
        request = Move((ref,), place, TODAY, mass_mg=mass_mg, reason=REASON)
        if thaws(ref, place):
            self.refuse(move, request)
            return
        self.post(move, request, {ref: -mass_mg, there: mass_mg})

    @precondition(lambda self: self.refs())
    @rule(number=PICK, share=SHARES)
    def eat_some(self, number: int, share: int) -> None:
        ref = self.pick(number)
        mass_mg = self.part(ref, share)
        request = Leave((ref,), TODAY, mass_mg=mass_mg)
        self.post(eat, request, {ref: -mass_mg}, went_out=mass_mg)

    @rule(
        place=PLACES, temp_c=st.integers(-20, 30), days=st.integers(0, 30), by_month=st.booleans()
    )
    def say_how_warm_it_is(self, place: int, temp_c: int, days: int, by_month: bool) -> None:
        months = range(12) if by_month else range(1)
        warmths = tuple(Warmth(temp_c - 2.0, temp_c + m / 4, temp_c + 5.0, 0.5) for m in months)
        said = (SaidClimate(evening(TODAY) - timedelta(days=days), warmths),)
        self.post(change_climate, ChangeClimate(place, TODAY, said), {})

    @precondition(lambda self: self.refs())
    @rule(
        number=PICK,
        fate=st.sampled_from(["keep", "refreeze", "use_now", "opened", "worn"]),
        hours=st.integers(1, 300),
        temp_c=st.integers(-20, 60),
    )
    def go_wrong(self, number: int, fate: str, hours: int, temp_c: int) -> None:
        """Moves no mass; what it does to windows is asked at the end."""
        until = evening(TODAY) - timedelta(hours=1)
        line = LotFate(self.pick(number), IncidentFate(fate), (), temp_c=float(temp_c))
        request = WentWrong(
            IncidentKind.KEPT_WARM,
            TODAY,
            (line,),
            from_at=until - timedelta(hours=hours),
            to_at=until,
        )
        self.post(went_wrong, request, {})

    @precondition(lambda self: self.refs())
    @rule(number=PICK, is_fine=st.booleans())
    def look_at_it(self, number: int, is_fine: bool) -> None:
        finding = Finding.FINE if is_fine else Finding.NOT_FINE
        looked = Looked(CheckKind.SEAL, finding, TODAY, self.pick(number).lot_id)
        self.post(check, looked, {})

    @precondition(lambda self: self.done)
    @rule()
    def take_back_the_newest(self) -> None:
        newest = self.done.pop()
        do(self.session, correct, Correct(newest.operation_id, TODAY))
        self.on_hand.subtract(newest.change)
        self.came_in -= newest.came_in
        self.went_out -= newest.went_out
        self.refuse(correct, Correct(newest.operation_id, TODAY))

    @precondition(lambda self: len(self.done) > 1)
    @rule(number=PICK)
    def take_back_an_older_one(self, number: int) -> None:
        """Refused when later work rests on it; else nothing may fall below zero."""
        older = self.done[number % len(self.done)]
        request = Correct(older.operation_id, TODAY)
        with contextlib.suppress(Refused), self.session.begin_nested():
            do(self.session, correct, request)
            self.done.remove(older)
        if older in self.done:
            assert refusal(self.session, correct, request).kind == "depended_on"
            return
        self.on_hand.subtract(older.change)
        self.came_in -= older.came_in
        self.went_out -= older.went_out
        assert min(self.on_hand.values(), default=0) >= 0

    # -- what nobody can do --------------------------------------------------------------------

    @precondition(lambda self: self.refs())
    @rule(number=PICK, over=st.integers(1, 10**9))
    def take_more_than_there_is(self, number: int, over: int) -> None:
        ref = self.pick(number)
        mass_mg = self.on_hand[ref] + over
        self.refuse(portion, Portion(ref, mass_mg, "Part", FRIDGE, TODAY))
        self.refuse(eat, Leave((ref,), TODAY, mass_mg=mass_mg))
        self.refuse(grind, Grind((Part(ref, mass_mg),), "Mince", mass_mg, FRIDGE, TODAY))
        more_than_half = Part(ref, self.on_hand[ref] // 2 + 1)
        twice_mg = 2 * more_than_half.mass_mg
        self.refuse(grind, Grind((more_than_half,) * 2, "Mince", twice_mg, FRIDGE, TODAY))

    @precondition(lambda self: self.refs())
    @rule(number=PICK, off_mg=st.integers(-1000, 1000).filter(bool))
    def lose_a_few_milligrams(self, number: int, off_mg: int) -> None:
        ref = self.pick(number)
        mass_mg = self.on_hand[ref]
        self.refuse(trim, Trim(ref, mass_mg, mass_mg + off_mg, 0, FRIDGE, TODAY))

    @precondition(lambda self: self.refs())
    @rule(number=PICK, mass_mg=st.integers(-(10**9), 0))
    def take_nothing_or_less(self, number: int, mass_mg: int) -> None:
        ref = self.pick(number)
        self.refuse(portion, Portion(ref, mass_mg, "Part", FRIDGE, TODAY))
        self.refuse(eat, Leave((ref,), TODAY, mass_mg=mass_mg))
        self.refuse(trim, Trim(ref, mass_mg, mass_mg, 0, FRIDGE, TODAY))

    @precondition(lambda self: self.refs(packed=False))
    @rule(number=PICK)
    def open_what_is_not_sealed(self, number: int) -> None:
        self.refuse(open_package, Open(self.pick(number, packed=False), TODAY))

    @precondition(lambda self: self.refs())
    @rule(number=PICK, days=st.integers(1, 4000))
    def work_before_or_after_its_time(self, number: int, days: int) -> None:
        ref = self.pick(number)
        early = Leave((ref,), TODAY - timedelta(days=days), mass_mg=1)
        self.refuse(eat, early)

    @rule()
    def take_a_lot_that_is_not_there(self) -> None:
        self.refuse(eat, Leave((StockRef(10_000, FRIDGE),), TODAY))

    # -- what must hold after every step -------------------------------------------------------

    @invariant()
    def mass_on_hand_is_the_models(self) -> None:
        if hasattr(self, "session"):
            held = {ref: mass_mg for ref, mass_mg in self.on_hand.items() if mass_mg}
            assert all_stock(self.session) == held

    @invariant()
    def entries_sum_to_what_is_on_hand(self) -> None:
        if hasattr(self, "session"):
            summed = self.session.scalar(select(func.sum(Entry.mass_mg))) or 0
            assert summed == sum(self.on_hand.values()) == self.came_in - self.went_out

    @invariant()
    def marks_are_the_models(self) -> None:
        if not hasattr(self, "session"):
            return
        found: dict[int, set[str]] = {lot_id: set() for lot_id in self.marks}
        for lot_id, allergen in self.session.execute(
            select(LotAllergen.lot_id, LotAllergen.allergen)
        ):
            found[lot_id].add(allergen)
        lots = self.session.execute(select(Lot.id, Lot.is_raw, Lot.harvest_from)).all()
        assert {
            lot_id: Marks(is_raw, frozenset(found[lot_id]), oldest)
            for lot_id, is_raw, oldest in lots
        } == self.marks


def test_random_work_keeps_the_ledger_in_step_with_a_simple_model(furnished_file: Path) -> None:
    Kitchen.template = furnished_file
    run_state_machine_as_test(
        Kitchen,
        settings=settings(
            max_examples=35,
            stateful_step_count=30,
            deadline=None,
            suppress_health_check=list(HealthCheck),
            print_blob=True,
        ),
    )
