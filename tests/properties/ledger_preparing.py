"""Random work: food comes in, is cut, ground, mixed, cooked, chilled, dried and measured."""

import dataclasses
from collections import Counter
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule
from sqlalchemy import select

from app.ledger.errors import Refused
from app.ledger.game import GameIn
from app.ledger.models import Lot
from app.ledger.operations.blanch import Blanch, blanch
from app.ledger.operations.blend import Blend, blend
from app.ledger.operations.chill import Chill, chill
from app.ledger.operations.cook import cook
from app.ledger.operations.drain import Drain, drain
from app.ledger.operations.first_day import AlreadyThere, FirstDay, Since, first_day
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.intake import SourceIn, intake
from app.ledger.operations.load import Load, TrayLoaded, load
from app.ledger.operations.measure import Measure, Value, measure
from app.ledger.operations.mix import Mix, MixPart, Seasoning, Stuff, mix_lots
from app.ledger.operations.portion import Portion, portion
from app.ledger.operations.skim import Skim, skim
from app.ledger.operations.thaw import Thaw, thaw
from app.ledger.operations.trial import Side, TrialIn, record_trial
from app.ledger.operations.trim import Trim, trim
from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.operations.weigh_back import WeighBack, weigh_back
from app.ledger.stock import StockRef
from app.ledger.words import Ammunition, MeasuredBy, ReadingKind, SourceKind
from app.science.safety.thawing import ThawWay
from tests.builders import (
    BENCH,
    FREEZE_DRYER,
    FRIDGE,
    MOOSE,
    PORK,
    SWEETCORN,
    TODAY,
    G,
    a_cook,
    an_intake,
    bowl,
    centre,
    evening,
)
from tests.properties.ledger_kitchen import (
    COMPOSITION_FORBIDS,
    DRYERS,
    FREEZERS,
    FRIDGES,
    KEPT_AT,
    PICK,
    PLACES,
    RULES_FORBID,
    SEVERAL,
    SHARES,
    WHY,
    Kitchen,
    days_ago,
)
from tests.properties.ledger_model import Marks, Step

FOODS = {MOOSE: True, PORK: True, SWEETCORN: False}  # is it raw as it comes in?
TRAY_MG = 600 * G
LEAST_LOAD_MG = 100
FAR_APART = (ReadingKind.FAT, ReadingKind.WATER, ReadingKind.PROTEIN, ReadingKind.SALT)
CLEANED = st.sampled_from([None, True, False])


class Preparing(Kitchen):
    """What turns food into other food."""

    # -- food comes in and is prepared ---------------------------------------------------------

    @rule(
        food=st.sampled_from(sorted(FOODS)),
        mass_mg=st.integers(1, 3_000_000),
        place=PLACES,
        allergens=st.frozensets(st.sampled_from(["celery", "milk", "eggs"]), max_size=2),
        days=st.none() | st.integers(0, 900),
        ago=st.just(0) | st.integers(0, 60),
    )
    def take_in(
        self,
        food: str,
        mass_mg: int,
        place: int,
        allergens: frozenset[str],
        days: int | None,
        ago: int,
    ) -> None:
        day = None if days is None else days_ago(ago + days)
        weighed = dataclasses.replace(bowl(0), gross_mg=mass_mg + 300_000)
        request = an_intake(
            food,
            bowls=(weighed,),
            place=place,
            on=days_ago(ago),
            allergens=allergens,
            harvest=(day, day) if day else None,
            game=GameIn(Ammunition.LEAD) if food == MOOSE else None,
            reason=WHY,
        )
        marks = Marks(FOODS[food], food == MOOSE, allergens, frozenset(), day)
        self.post(intake, request, {StockRef(0, place): mass_mg}, new=(marks,), came_in=mass_mg)

    @rule(
        rows=st.lists(
            st.tuples(
                st.integers(1, 500_000), st.integers(1, 3), st.integers(0, 900), st.booleans()
            ),
            min_size=1,
            max_size=3,
        ),
        place=PLACES,
        spoilt=st.booleans(),
    )
    def find_it_there_on_the_first_day(
        self, rows: list[tuple[int, int, int, bool]], place: int, spoilt: bool
    ) -> None:
        """Several lots at once, or none when one row is wrong."""
        there = tuple(
            AlreadyThere(
                "Pork",
                PORK,
                Since(days_ago(days + 30), days_ago(days)),
                packets,
                mass_mg,
                "typed",
                is_each=True,
                is_raw=is_raw,
            )
            for mass_mg, packets, days, is_raw in rows
        )
        request = FirstDay(there, place, SourceIn(SourceKind.SHOP, "the butcher"), TODAY)
        if spoilt:
            wrong = dataclasses.replace(there[-1], packets=0)
            self.refuse(first_day, dataclasses.replace(request, rows=(*there, wrong)))
        by = self.worker
        for row, posted in zip(there, self.do(first_day, request), strict=True):
            mass_mg = row.mass_mg * row.packets
            marks = Marks(row.is_raw, False, frozenset(), frozenset(), row.since.first)
            change = self.numbered(posted, {StockRef(0, place): mass_mg})
            self.model.marks[posted.lot_ids[0]] = marks
            made_of = {posted.lot_ids[0]: frozenset[int]()}
            step = Step(posted.operation_id, change, TODAY, by, came_in=mass_mg, made_of=made_of)
            self.model.follow(step)

    @precondition(lambda self: self.refs(places=FREEZERS))
    @rule(
        number=PICK,
        share=SHARES,
        drip=st.integers(0, 20),
        on_counter=st.booleans(),
        place=st.sampled_from(FRIDGES),
    )
    def thaw_some(self, number: int, share: int, drip: int, on_counter: bool, place: int) -> None:
        ref = self.pick(number, places=FREEZERS)
        mass_mg = self.part(ref, share)
        drip_mg = mass_mg * drip // 100
        request = Thaw(ref, mass_mg, ThawWay.REFRIGERATOR, place, TODAY, drip_mg)
        if on_counter:
            self.refuse(thaw, dataclasses.replace(request, way=ThawWay.COUNTER))
        self.post(
            thaw,
            request,
            {ref: -mass_mg, StockRef(0, place): mass_mg - drip_mg},
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

    @precondition(lambda self: self.refs())
    @rule(numbers=SEVERAL, share=SHARES, stuck=st.integers(0, 40), cleaned=CLEANED)
    def grind_together(
        self, numbers: list[int], share: int, stuck: int, cleaned: bool | None
    ) -> None:
        """A grinder that was not cleaned passes on what was in it; food on hold is kept apart."""
        masses = {ref: self.part(ref, share) for ref in self.pick_several(numbers)}
        total = sum(masses.values())
        stuck_mg = min(total * stuck // 100, total - 1)
        parts = tuple(Part(ref, mass_mg) for ref, mass_mg in masses.items())
        request = Grind(
            parts,
            "Mince",
            total - stuck_mg,
            FRIDGE,
            TODAY,
            stuck_mg=stuck_mg,
            cleaned=cleaned,
            reason=WHY,
        )
        residue = self.model.left_in_grinder() if cleaned is False else ()
        self.work_together(grind, request, masses, residue, went_out=stuck_mg, grinds=True)

    @precondition(lambda self: len(self.refs()) > 1)
    @rule(
        numbers=st.lists(PICK, min_size=2, max_size=4),
        share=SHARES,
        stuck=st.integers(0, 40),
        water=st.sampled_from([0, 1, 3]),
    )
    def mix_together(self, numbers: list[int], share: int, stuck: int, water: int) -> None:
        """Food of whatever kind, with water as the shares of it that are added."""
        refs = self.pick_several(numbers)
        if len(refs) < 2:
            return
        masses = {ref: self.part(ref, share) for ref in refs}
        water_mg = water * sum(masses.values())
        total = sum(masses.values()) + water_mg
        stuck_mg = min(total * stuck // 100, total - 1)
        request = Mix(
            tuple(MixPart(ref, mass_mg) for ref, mass_mg in masses.items()),
            "Hash",
            total - stuck_mg,
            FRIDGE,
            TODAY,
            seasonings=(Seasoning("Water", Stuff.WATER, float(water)),) if water else (),
            stuck_mg=stuck_mg,
            reason=WHY,
        )
        self.work_together(mix_lots, request, masses, came_in=water_mg, went_out=stuck_mg)

    def work_together(
        self,
        use_case: Any,
        request: Any,
        masses: dict[StockRef, int],
        residue: tuple[Marks, ...] = (),
        **facts: Any,
    ) -> None:
        lots = [ref.lot_id for ref in masses]
        if self.is_kept_apart(lots):
            self.refuse(use_case, request, "on_hold")
            return
        change = {ref: -mass_mg for ref, mass_mg in masses.items()}
        change[StockRef(0, request.place_id)] = request.made_mg
        marks = self.model.marks_of(lots).touched_by(residue)
        self.post(use_case, request, change, new=(marks,), **facts)

    @precondition(lambda self: len(self.refs()) > 1)
    @rule(one=PICK, two=PICK, share=SHARES, salt_mg=st.integers(0, 50_000))
    def season(self, one: int, two: int, share: int, salt_mg: int) -> None:
        ref, other = self.pick(one), self.pick(two)
        if ref == other:
            return
        masses = {ref: self.part(ref, share), other: self.part(other, share)}
        total = sum(masses.values()) + salt_mg
        request = Blend(
            ref,
            masses[ref],
            other,
            masses[other],
            "Mix",
            total,
            BENCH,
            TODAY,
            seasoning_mg=salt_mg,
            reason=WHY,
        )
        self.work_together(blend, request, masses, came_in=salt_mg)

    # -- heat and cold -------------------------------------------------------------------------

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
    @rule(number=PICK, share=SHARES, steam=st.integers(0, 3), soaked=st.booleans())
    def chill_some(self, number: int, share: int, steam: int, soaked: bool) -> None:
        ref = self.pick(number)
        mass_mg = self.part(ref, share)
        steam_mg = mass_mg * steam // 100
        request = Chill(
            ref,
            mass_mg,
            mass_mg - steam_mg,
            FRIDGE,
            TODAY,
            is_reconstituted=soaked,
            reason=WHY,
        )
        self.post(
            chill,
            request,
            {ref: -mass_mg, StockRef(0, FRIDGE): mass_mg - steam_mg},
            new=(self.model.marks[ref.lot_id],),
            went_out=steam_mg,
            may_refuse=COMPOSITION_FORBIDS if steam_mg else frozenset(),
        )

    @precondition(lambda self: self.refs())
    @rule(number=PICK, share=SHARES, fat_per_mille=st.integers(0, 60), keeps=st.booleans())
    def skim_some(self, number: int, share: int, fat_per_mille: int, keeps: bool) -> None:
        ref = self.pick(number)
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
            may_refuse=COMPOSITION_FORBIDS if fat_mg else frozenset(),
        )

    @precondition(lambda self: self.refs())
    @rule(number=PICK, share=SHARES, broth=st.integers(1, 60), spilled=st.integers(0, 5))
    def drain_some(self, number: int, share: int, broth: int, spilled: int) -> None:
        ref = self.pick(number)
        mass_mg = self.part(ref, share)
        broth_mg, spilled_mg = mass_mg * broth // 100, mass_mg * spilled // 100
        food_mg = mass_mg - broth_mg - spilled_mg
        request = Drain(ref, mass_mg, food_mg, broth_mg, FRIDGE, TODAY, spilled_mg=spilled_mg)
        if broth_mg == 0:
            self.refuse(drain, request, "not_positive")
            return
        change = {ref: -mass_mg, StockRef(0, FRIDGE): food_mg, StockRef(-1, FRIDGE): broth_mg}
        self.post(
            drain,
            request,
            change,
            new=(self.model.marks[ref.lot_id],) * 2,
            went_out=spilled_mg,
            may_refuse=COMPOSITION_FORBIDS,
        )

    @precondition(lambda self: self.refs())
    @rule(number=PICK, share=SHARES, percent=st.integers(95, 400))
    def blanch_some(self, number: int, share: int, percent: int) -> None:
        """Meat is refused; so is more water lost than there was."""
        ref = self.pick(number)
        mass_mg = self.part(ref, share)
        made_mg = max(mass_mg * percent // 100, 1)
        self.post(
            blanch,
            Blanch(ref, mass_mg, made_mg, FRIDGE, TODAY),
            {ref: -mass_mg, StockRef(0, FRIDGE): made_mg},
            new=(self.model.marks[ref.lot_id],),
            came_in=max(made_mg - mass_mg, 0),
            went_out=max(mass_mg - made_mg, 0),
            may_refuse=COMPOSITION_FORBIDS,
        )

    # -- the dryer -----------------------------------------------------------------------------

    @precondition(lambda self: self.refs())
    @rule(
        numbers=SEVERAL,
        share=SHARES,
        place=st.sampled_from((FREEZE_DRYER, FREEZE_DRYER, *DRYERS)),
        cleaned=CLEANED,
        is_over=st.booleans(),
    )
    def load_the_dryer(
        self, numbers: list[int], share: int, place: int, cleaned: bool | None, is_over: bool
    ) -> None:
        """Pure water is refused, and raw meat in warm air; less than a scale can follow as well."""
        masses = {ref: self.part(ref, share) for ref in self.pick_several(numbers)}
        trays = tuple(
            TrayLoaded(ref, mass_mg + TRAY_MG, "typed", TRAY_MG, "600 g")
            for ref, mass_mg in masses.items()
        )
        request = Load(place, trays, TODAY, cleaned=cleaned, reason=WHY)
        if place in self.model.running.values():
            self.refuse(load, request, "wrong_state")
            return
        if min(masses.values()) < LEAST_LOAD_MG:
            self.refuse(load, request, "impossible")
            return
        change: Counter[StockRef] = Counter()
        for ref, mass_mg in masses.items():
            change[ref] -= mass_mg
            change[dataclasses.replace(ref, place_id=place)] += mass_mg
        step = self.post(
            load,
            request,
            dict(change),
            dryer=place,
            residue=self.model.left_in_dryer(place) if cleaned is False else (),
            may_refuse=RULES_FORBID | {"impossible"},
        )
        if step and step.loads and is_over:
            self.empty_the_dryer(step.loads, share=30, spill=1)

    @precondition(lambda self: self.model.running)
    @rule(number=PICK, share=st.integers(1, 100), spill=st.integers(0, 5))
    def unload_the_dryer(self, number: int, share: int, spill: int) -> None:
        running = sorted(self.model.running)
        self.empty_the_dryer(running[number % len(running)], share, spill)

    def empty_the_dryer(self, run_id: int, share: int, spill: int) -> None:
        begun = self.model.load_of(run_id)
        inside: Counter[int] = Counter()
        change: dict[StockRef, int] = {}
        for ref, mass_mg in self.model.on_hand.items():
            if ref.place_id == begun.dryer:
                inside[ref.lot_id] += mass_mg
                change[ref] = -mass_mg
        lots = sorted(inside)
        made = {lot: max(inside[lot] * share // 100, 1) for lot in lots}
        change |= {StockRef(-i, BENCH): made[lot] for i, lot in enumerate(lots)}
        lost_mg = sum(inside.values()) - sum(made.values())
        dry = tuple(DryMade(lot, made_mg) for lot, made_mg in made.items())
        request = Unload(run_id, dry, BENCH, TODAY, spilled_mg=lost_mg * spill // 100)
        step = self.post(
            unload,
            request,
            change,
            new=tuple(self.dried(lot, begun, lots) for lot in lots),
            made_of=tuple(frozenset({lot}) for lot in lots),
            went_out=lost_mg,
            unloads=run_id,
            dryer=begun.dryer,
        )
        assert step is not None
        self.model.dried.setdefault(run_id, set()).update(step.made_of)
        self.refuse(unload, request, "wrong_state")

    def dried(self, lot: int, begun: Step, lots: list[int]) -> Marks:
        """Raw is what shared a dryer with raw food, even with such as was taken out meanwhile."""
        marks = self.model.marks
        loaded = {ref.lot_id for ref in begun.change}
        own = marks[lot].touched_by([*begun.residue, *(marks[o] for o in lots if o != lot)])
        is_raw = own.is_raw or any(marks[other].is_raw for other in loaded)
        return dataclasses.replace(own, is_raw=is_raw, is_dry=True)

    @precondition(lambda self: self.model.running)
    @rule(number=PICK, hours=st.integers(1, 40), percent=st.integers(-5, 105))
    def weigh_a_tray_back(self, number: int, hours: int, percent: int) -> None:
        """Between the empty tray and what was loaded, whatever the food does."""
        running = sorted(self.model.running)
        run_id = running[number % len(running)]
        loaded = [mg for mg in self.model.load_of(run_id).change.values() if mg > 0]
        tray = number % len(loaded) + 1
        net_mg = loaded[tray - 1] * percent // 100
        request = WeighBack(run_id, tray, TRAY_MG + net_mg, "typed")
        instant = evening(TODAY).replace(day=TODAY.day + hours // 24, hour=hours % 24)
        try:
            weigh_back(self.session, request, at=instant)
        except Refused:
            assert not 0 < net_mg <= loaded[tray - 1]
            return
        assert 0 < net_mg <= loaded[tray - 1]
        self.aside["tray_weighing"] += 1

    # -- looked at closely ---------------------------------------------------------------------

    @precondition(lambda self: self.refs())
    @rule(number=PICK, percent=st.integers(0, 100), kind=st.sampled_from(FAR_APART))
    def measure_it(self, number: int, percent: int, kind: ReadingKind) -> None:
        """Whatever the reading says, work goes on with it."""
        ref = self.pick(number, places=(*KEPT_AT, *DRYERS))
        value = Value(kind, percent / 100, MeasuredBy.METER, str(percent))
        self.post(measure, Measure(ref, (value,), TODAY), {}, measures=ref.lot_id)

    @precondition(lambda self: self.refs())
    @rule(
        one=PICK,
        two=PICK,
        dry_mg=st.integers(1, 50_000),
        water_mg=st.integers(0, 200_000),
        held=st.integers(0, 110),
    )
    def soak_two_bowls(self, one: int, two: int, dry_mg: int, water_mg: int, held: int) -> None:
        """Only food that was dried here can be tried, and no bowl weighs more than went in."""
        drained_mg = (dry_mg + water_mg) * held // 100
        refs = [self.pick(one), self.pick(two)]
        sides = [Side(ref, dry_mg, water_mg, drained_mg, 20.0, 60.0, 3) for ref in refs]
        request = TrialIn((sides[0], sides[1]), TODAY)
        lots = select(Lot.fresh_water).where(Lot.id.in_({ref.lot_id for ref in refs}))
        was_dried = None not in self.session.scalars(lots).all()
        if was_dried and 0 < drained_mg <= dry_mg + water_mg:
            self.do(record_trial, request)
            self.aside["soaking"] += 2
        else:
            self.refuse(record_trial, request)
