"""Random work: food is packed, opened, carried, eaten, counted, held and looked after."""

import dataclasses
from collections import Counter
from datetime import timedelta
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule
from sqlalchemy import select

from app.ledger.climates import Warmth
from app.ledger.models import Hold
from app.ledger.operations.blend import Blend, blend
from app.ledger.operations.check import Looked, check
from app.ledger.operations.climate import ChangeClimate, ReadingIn, SaidClimate, change_climate
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.hold import LiftHold, PutOnHold, hold, release
from app.ledger.operations.incident import LotFate, WentWrong, went_wrong
from app.ledger.operations.leave import Leave, discard, eat, give
from app.ledger.operations.mix import Mix, MixPart, mix_lots
from app.ledger.operations.move import Move, move
from app.ledger.operations.open import Open, open_package
from app.ledger.operations.pack import pack
from app.ledger.operations.print_labels import Printed, labels_printed
from app.ledger.operations.stocktake import Counted, FoundHere, Stocktake, stocktake
from app.ledger.queries.labels import label_records
from app.ledger.stock import StockRef
from app.ledger.words import (
    CheckKind,
    Finding,
    HoldCause,
    IncidentFate,
    IncidentKind,
    ReleaseCause,
)
from tests.builders import (
    BENCH,
    CC_300,
    FOIL_POUCH,
    FREEZE_DRYER,
    FRIDGE,
    JAR,
    TODAY,
    VACUUM_BAG,
    a_pack,
    evening,
)
from tests.properties.ledger_kitchen import (
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

EVERYWHERE = (*KEPT_AT, *DRYERS)
FATES = st.sampled_from(sorted(IncidentFate))


class Keeping(Kitchen):
    """What packs, carries, counts and watches food without changing it."""

    # -- packages ------------------------------------------------------------------------------

    @precondition(lambda self: self.refs())
    @rule(
        number=PICK,
        shares=st.lists(st.integers(1, 50), min_size=1, max_size=4),
        place=PLACES,
        packaging=st.sampled_from([(JAR, None), (FOIL_POUCH, CC_300), (VACUUM_BAG, None)]),
    )
    def pack_it(
        self, number: int, shares: list[int], place: int, packaging: tuple[int, int | None]
    ) -> None:
        """From loose food or out of another package; a rule may want it drier."""
        ref = self.pick(number)
        net_mg = [min(self.part(ref, share), 300_000) for share in shares]
        packaging_id, absorber_id = packaging
        request = a_pack(
            ref,
            packaging_id=packaging_id,
            absorber_id=absorber_id,
            place_id=place,
            done_on=TODAY,
            net_mg=tuple(net_mg),
            reason=WHY,
        )
        if sum(net_mg) > self.model.on_hand[ref]:
            self.refuse(pack, request, "package_too_large")
            return
        change = {ref: -sum(net_mg)}
        change |= {StockRef(0, place, n): mass_mg for n, mass_mg in enumerate(net_mg, start=1)}
        marks = self.model.marks[ref.lot_id]
        self.post(
            pack,
            request,
            change,
            new=(marks,),
            may_refuse=RULES_FORBID if absorber_id else frozenset(),
        )

    @precondition(lambda self: self.refs(packed=True))
    @rule(numbers=SEVERAL)
    def open_some(self, numbers: list[int]) -> None:
        """All of them, or none when one is open already."""
        refs = self.pick_several(numbers, packed=True)
        request = Open(tuple(refs), TODAY)
        packages = {ref.package_id for ref in refs if ref.package_id is not None}
        if packages & self.model.opened.keys():
            self.refuse(open_package, request, "nothing_to_do")
            return
        change = dict.fromkeys(refs, 0)
        self.post(open_package, request, change, opens=frozenset(packages))

    @precondition(lambda self: self.refs())
    @rule(numbers=SEVERAL, share=SHARES, place=PLACES)
    def carry(self, numbers: list[int], share: int, place: int) -> None:
        """Part of one row or all of several; a package goes whole, frozen food by thawing."""
        refs = self.pick_several(numbers, places=EVERYWHERE)
        on_hand = self.model.on_hand
        masses = {ref: on_hand[ref] for ref in refs}
        if len(refs) == 1:
            masses = {refs[0]: self.part(refs[0], share)}
        part_mg = masses[refs[0]] if len(refs) == 1 else None
        request = Move(tuple(refs), place, TODAY, mass_mg=part_mg, reason=WHY)
        if any(ref.place_id == place for ref in refs):
            self.refuse(move, request, "nothing_to_do")
        elif any(self.thaws(ref, place) for ref in refs):
            self.refuse(move, request, "wrong_place")
        elif any(
            (ref.package_id and masses[ref] < on_hand[ref])
            or self.leaves_some_behind(ref, refs, place)
            for ref in refs
        ):
            self.refuse(move, request, "wrong_state")
        else:
            self.post(move, request, self.carried(masses, place))

    def leaves_some_behind(self, ref: StockRef, refs: list[StockRef], place: int) -> bool:
        """Is some of this package neither among these, nor in a dryer, nor where they go?"""
        return ref.package_id is not None and any(
            other.package_id == ref.package_id and other not in refs
            for other in self.refs()
            if other.place_id != place
        )

    def carried(self, masses: dict[StockRef, int], place: int) -> dict[StockRef, int]:
        change: Counter[StockRef] = Counter()
        for ref, mass_mg in masses.items():
            change[ref] -= mass_mg
            change[dataclasses.replace(ref, place_id=place)] += mass_mg
        return dict(change)

    @precondition(lambda self: self.refs())
    @rule(number=PICK)
    def print_a_label(self, number: int) -> None:
        """What stands on it was worked out without a fault; nothing moves."""
        lot_id = self.pick(number).lot_id
        here = [ref for ref in self.refs() if ref.lot_id == lot_id]
        records = label_records(self.session, lot_id)
        assert sorted((record.line.ref for record in records), key=str) == here
        labels_printed(self.session, [Printed(ref, "soon") for ref in here], on=TODAY)
        self.aside["label_print"] += len(here)

    # -- gone ----------------------------------------------------------------------------------

    @precondition(lambda self: self.refs())
    @rule(
        numbers=SEVERAL,
        share=SHARES,
        use_case=st.sampled_from([eat, give, discard]),
        ago=st.just(0) | st.integers(0, 60),
    )
    def let_go(self, numbers: list[int], share: int, use_case: Any, ago: int) -> None:
        """Part of one row or all of several, from when it was there on; none of it under a hold."""
        refs = self.pick_several(numbers, places=EVERYWHERE)
        masses = {ref: self.model.on_hand[ref] for ref in refs}
        if len(refs) == 1:
            masses = {refs[0]: self.part(refs[0], share)}
        part_mg = masses[refs[0]] if len(refs) == 1 else None
        request = Leave(tuple(refs), days_ago(ago), mass_mg=part_mg, words="Morag", reason=WHY)
        if any(request.done_on < self.model.since(ref) for ref in refs):
            self.refuse(use_case, request, "before_made", "before_there")
            return
        held = self.model.held_lots()
        if use_case is not discard and any(ref.lot_id in held for ref in refs):
            self.refuse(use_case, request, "on_hold")
            return
        change = {ref: -mass_mg for ref, mass_mg in masses.items()}
        self.post(use_case, request, change, went_out=sum(masses.values()))

    # -- counted -------------------------------------------------------------------------------

    @precondition(lambda self: self.refs())
    @rule(
        number=PICK,
        percents=st.lists(st.integers(0, 130), min_size=1, max_size=3),
        others=st.lists(PICK, max_size=2),
    )
    def take_stock(self, number: int, percents: list[int], others: list[int]) -> None:
        """What is there, what is there again, and what lies elsewhere by the ledger."""
        place = self.pick(number).place_id
        on_hand = self.model.on_hand
        rows = [*self.refs(places=[place]), *self.found_again(place)]
        rows = rows[number % len(rows) :] + rows[: number % len(rows)]
        found = {
            ref: self.counted(ref, percent) for ref, percent in zip(rows, percents, strict=False)
        }
        brought = self.lying_here(place, others, found)
        request = Stocktake(
            place,
            tuple(Counted(ref, mass_mg, on_hand[ref]) for ref, mass_mg in found.items()),
            TODAY,
            "nobody knows",
            found_here=tuple(FoundHere(ref) for ref in brought),
        )
        change = {ref: mass_mg - on_hand[ref] for ref, mass_mg in found.items()}
        change = {ref: mass_mg for ref, mass_mg in change.items() if mass_mg}
        self.refuse(stocktake, dataclasses.replace(request, place_id=FREEZE_DRYER))
        if change or brought:
            unsaid = dataclasses.replace(request, reason=" ")
            self.refuse(stocktake, unsaid, "missing", *RULES_FORBID)
        moved = self.carried({ref: on_hand[ref] for ref in brought}, place)
        self.post(
            stocktake,
            request,
            change | moved,
            came_in=sum(mg for mg in change.values() if mg > 0),
            went_out=-sum(mg for mg in change.values() if mg < 0),
        )

    def found_again(self, place: int) -> list[StockRef]:
        """What once was here, in a lot that still counts, and is not here or elsewhere now."""
        kept = {ref.package_id for ref in self.model.on_hand}
        return [
            ref
            for ref in self.model.gone()
            if ref.place_id == place
            and ref.lot_id in self.model.made_of
            and (ref.package_id is None or ref.package_id not in kept)
        ]

    def counted(self, ref: StockRef, percent: int) -> int:
        """A sealed package is there whole or not at all, and no package gains by being opened."""
        on_hand = self.model.on_hand
        if ref.package_id is None:
            return on_hand[ref] * percent // 100 if on_hand[ref] else percent
        whole_mg = self.model.net_mg[ref.package_id]
        places = [r.place_id for r in on_hand if r.package_id == ref.package_id]
        if percent <= 60 or places not in ([], [ref.place_id]):
            return 0
        if ref.package_id not in self.model.opened:
            return whole_mg
        return max((on_hand[ref] or whole_mg) * min(percent, 100) // 100, 1)

    def lying_here(
        self, place: int, numbers: list[int], counted: dict[StockRef, int]
    ) -> list[StockRef]:
        """Food from elsewhere that may be carried here; its row here is not counted as well."""
        there = [
            ref
            for ref in self.refs()
            if ref.place_id != place
            and not self.thaws(ref, place)
            and dataclasses.replace(ref, place_id=place) not in counted
        ]
        return list(dict.fromkeys(there[n % len(there)] for n in numbers)) if there else []

    @precondition(lambda self: self.model.marks)
    @rule(number=PICK)
    def find_what_never_was(self, number: int) -> None:
        """Food whose making was taken back cannot turn up at a stocktake."""
        taken_back = sorted(self.model.marks.keys() - self.model.made_of.keys())
        if taken_back:
            ref = StockRef(taken_back[number % len(taken_back)], FRIDGE)
            self.refuse(stocktake, Stocktake(FRIDGE, (Counted(ref, 1),), TODAY, WHY), "unknown_lot")

    # -- held ----------------------------------------------------------------------------------

    @precondition(lambda self: self.refs())
    @rule(numbers=SEVERAL)
    def put_on_hold(self, numbers: list[int]) -> None:
        lots = tuple(ref.lot_id for ref in self.pick_several(numbers))
        request = PutOnHold(lots, HoldCause.RECALL, TODAY, "the butcher rang")
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
            mix_lots: Mix(
                (MixPart(other, 1), MixPart(one, 1)), "Hash", 2, FRIDGE, TODAY, reason=WHY
            ),
            blend: Blend(one, 1, other, 1, "Mix", 2, BENCH, TODAY, reason=WHY),
        }
        self.refuse(use_case, requests[use_case], "on_hold")

    @precondition(lambda self: self.model.holds)
    @rule(numbers=SEVERAL)
    def lift_holds(self, numbers: list[int]) -> None:
        standing = sorted(self.model.holds)
        chosen = tuple(dict.fromkeys(standing[number % len(standing)] for number in numbers))
        request = LiftHold(chosen, ReleaseCause.LOOKED_FINE, TODAY, "looked at it")
        self.post(release, request, {}, lifts=frozenset(chosen))
        self.refuse(release, request, "wrong_state")

    # -- what goes wrong, and what is looked at ------------------------------------------------

    @precondition(lambda self: self.refs())
    @rule(
        numbers=SEVERAL,
        fates=st.lists(FATES, min_size=3, max_size=3),
        hours=st.integers(1, 300),
        temp_c=st.integers(-20, 60),
    )
    def go_wrong(
        self, numbers: list[int], fates: list[IncidentFate], hours: int, temp_c: int
    ) -> None:
        """What is discarded or held at once is an operation of its own."""
        until = evening(TODAY) - timedelta(hours=1)
        told = dict(zip(self.pick_several(numbers), fates, strict=False))
        lots = tuple(LotFate(ref, fate, (), temp_c=float(temp_c)) for ref, fate in told.items())
        request = WentWrong(
            IncidentKind.KEPT_WARM,
            TODAY,
            lots,
            from_at=until - timedelta(hours=hours),
            to_at=until,
        )
        gone = [ref for ref, fate in told.items() if fate is IncidentFate.DISCARD]
        change = {ref: -self.model.on_hand[ref] for ref in gone}
        is_held = IncidentFate.LOOK in told.values()
        opened = [ref.package_id for ref, f in told.items() if f is IncidentFate.OPENED]
        step = self.post(
            went_wrong,
            request,
            change,
            written=1 + bool(gone) + is_held,
            is_incident=True,
            went_out=-sum(change.values()),
            opens=frozenset(package for package in opened if package is not None),
        )
        assert step is not None
        if is_held:
            step.puts = self.holds_of(step.operation_id - 1)
        if gone:
            step.discarded_by = step.operation_id - 1 - is_held

    @precondition(lambda self: self.refs())
    @rule(number=PICK, is_fine=st.booleans(), place=st.sampled_from([*FREEZERS, *FRIDGES]))
    def look_at_it(self, number: int, is_fine: bool, place: int) -> None:
        finding = Finding.FINE if is_fine else Finding.NOT_FINE
        looked = Looked(CheckKind.SEAL, finding, TODAY, self.pick(number).lot_id)
        self.post(check, looked, {})
        read = ReadingIn(evening(TODAY), -18.0 if place in FREEZERS else 4.0, None, "typed", "C")
        thermometer = Looked(CheckKind.THERMOMETER, finding, TODAY, place_id=place, reading=read)
        self.post(check, thermometer, {})
        self.refuse(check, dataclasses.replace(thermometer, reading=None), "missing")

    @precondition(lambda self: self.refs())
    @rule(
        place=PLACES, temp_c=st.integers(-20, 30), days=st.integers(0, 30), by_month=st.booleans()
    )
    def say_how_warm_it_is(self, place: int, temp_c: int, days: int, by_month: bool) -> None:
        months = range(12) if by_month else range(1)
        warmths = tuple(Warmth(temp_c - 2.0, temp_c + m / 4, temp_c + 5.0, 0.5) for m in months)
        said = (SaidClimate(evening(TODAY) - timedelta(days=days), warmths),)
        self.post(change_climate, ChangeClimate(place, TODAY, said), {})
