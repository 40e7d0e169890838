"""Any work on food: each milligram of each lot is found again, and the shares are the right ones.

The model is well-mixed fractions, exact and unrounded: what is taken of a lot is a fair sample of
it. The ledger deals whole milligrams, so it may differ by a milligram for each step on the way.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.codes import code_of
from app.ledger.models import Lot
from app.ledger.operations.blend import Blend, blend
from app.ledger.operations.correct import CorrectAll, all_resting_on, correct_with_dependents
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.intake import SourceIn, intake
from app.ledger.operations.leave import Leave, discard, eat, give
from app.ledger.operations.move import Move, move
from app.ledger.operations.pack import pack
from app.ledger.operations.stocktake import Counted, Stocktake, stocktake
from app.ledger.queries.sources import recall, sources
from app.ledger.queries.whole_way import WholeWay, whole_way
from app.ledger.stock import StockRef
from app.ledger.words import SourceKind
from tests.builders import (
    BENCH,
    FRIDGE,
    JAR,
    TODAY,
    a_pack,
    all_stock,
    an_intake,
    bowl,
    do,
)

VERBS = ["intake", "grind", "blend", "pack", "eat", "give", "discard", "move", "stocktake"]
STEPS = st.lists(
    st.tuples(
        st.sampled_from(
            ["intake", "grind", "blend", "pack", "eat", "give", "discard", "move", "stocktake"]
        ),
        st.integers(0, 10_000),
        st.integers(0, 10_000),
        st.integers(1, 100),
    ),
    min_size=3,
    max_size=16,
)
Shares = dict[int, Fraction]  # of a lot's mass, by the lots that were taken in


@dataclasses.dataclass
class Kitchen:
    """Work done at random, and what each lot is made of by exact fractions."""

    session: Session
    made_of: dict[int, Shares] = dataclasses.field(default_factory=dict)
    gone: dict[tuple[int, str], int] = dataclasses.field(default_factory=lambda: defaultdict(int))
    operations: list[int] = dataclasses.field(default_factory=list)

    def stock(self, *, loose: bool = False) -> list[tuple[StockRef, int]]:
        found = sorted(all_stock(self.session).items(), key=lambda item: str(item[0]))
        return [(ref, mg) for ref, mg in found if not loose or ref.package_id is None]

    def made(self, posted: Any, taken: dict[int, int], added_mg: int = 0) -> None:
        """A new lot of what was taken; what was added is nobody's."""
        whole = sum(taken.values()) + added_mg
        shares: Shares = defaultdict(Fraction)
        for lot_id, mg in taken.items():
            for origin, share in self.made_of[lot_id].items():
                shares[origin] += share * Fraction(mg, whole)
        self.made_of[posted.lot_ids[0]] = dict(shares)

    def step(self, verb: str, one: int, two: int, share: int) -> None:
        if verb == "intake":
            self.take_in(one, share)
            return
        stock = self.stock(loose=verb == "pack")
        if not stock:
            return
        ref, mg = stock[one % len(stock)]
        part = max(mg * share // 100, 1)
        getattr(self, verb)(ref, mg, part, stock[two % len(stock)])

    def do(self, use_case: Any, request: Any) -> Any:
        posted = do(self.session, use_case, request)
        self.operations.append(posted.operation_id)
        return posted

    def take_in(self, number: int, share: int) -> None:
        weighed = dataclasses.replace(bowl(0), gross_mg=300_000 + 1_000 * number + share)
        source = SourceIn(SourceKind.ANIMAL, f"animal {number % 3}", tag=f"T-{number % 3}")
        posted = self.do(intake, an_intake(bowls=(weighed,), source=source))
        self.made_of[posted.lot_ids[0]] = {posted.lot_ids[0]: Fraction(1)}

    def grind(self, ref: StockRef, mg: int, part: int, other: tuple[StockRef, int]) -> None:
        taken = {ref: part} | {other[0]: max(other[1] // 3, 1)}
        total = sum(taken.values())
        stuck_mg = total // 50
        parts = tuple(Part(r, m) for r, m in taken.items())
        request = Grind(parts, "Mince", total - stuck_mg, FRIDGE, TODAY, stuck_mg=stuck_mg)
        self.made(self.do(grind, request), self.by_lot(taken))

    def blend(self, ref: StockRef, mg: int, part: int, other: tuple[StockRef, int]) -> None:
        if ref == other[0]:
            return
        taken = {ref: part, other[0]: max(other[1] // 2, 1)}
        total = sum(taken.values())
        salt_mg = total // 60
        request = Blend(
            ref, part, other[0], taken[other[0]], "Mix", total + salt_mg, BENCH, TODAY,
            seasoning_mg=salt_mg,
        )  # fmt: skip
        self.made(self.do(blend, request), self.by_lot(taken), salt_mg)

    def pack(self, ref: StockRef, mg: int, part: int, other: tuple[StockRef, int]) -> None:
        net = tuple(n for n in (min(part // 2, 700_000), min(part // 3, 700_000)) if n)
        if not net:
            return
        request = a_pack(ref, packaging_id=JAR, absorber_id=None, place_id=FRIDGE, done_on=TODAY)
        posted = self.do(pack, dataclasses.replace(request, net_mg=net))
        self.made(posted, {ref.lot_id: sum(net)})

    def eat(self, ref: StockRef, mg: int, part: int, other: tuple[StockRef, int]) -> None:
        self.do(eat, Leave((ref,), TODAY, mass_mg=part))
        self.gone[ref.lot_id, "eaten"] += part

    def give(self, ref: StockRef, mg: int, part: int, other: tuple[StockRef, int]) -> None:
        self.do(give, Leave((ref,), TODAY, mass_mg=part, words="Morag"))
        self.gone[ref.lot_id, "given"] += part

    def discard(self, ref: StockRef, mg: int, part: int, other: tuple[StockRef, int]) -> None:
        refs = tuple({ref: 0, other[0]: 0})
        self.do(discard, Leave(refs, TODAY, words="mould"))
        for one in refs:
            self.gone[one.lot_id, "discarded"] += mg if one == ref else other[1]

    def move(self, ref: StockRef, mg: int, part: int, other: tuple[StockRef, int]) -> None:
        place = BENCH if ref.place_id != BENCH else FRIDGE
        whole = None if ref.package_id else part
        self.do(move, Move((ref,), place, TODAY, mass_mg=whole, reason="for a while"))

    def stocktake(self, ref: StockRef, mg: int, part: int, other: tuple[StockRef, int]) -> None:
        found = 0 if ref.package_id else mg - part
        counted = (Counted(ref, found),)
        self.do(stocktake, Stocktake(ref.place_id, counted, TODAY, reason="nobody knows"))
        self.gone[ref.lot_id, "missing"] += mg - found

    @staticmethod
    def by_lot(taken: dict[StockRef, int]) -> dict[int, int]:
        sums: dict[int, int] = defaultdict(int)
        for ref, mg in taken.items():
            sums[ref.lot_id] += mg
        return sums


def ways(session: Session) -> Iterator[WholeWay]:
    """The whole way of every lot and of every package."""
    for lot_id in session.scalars(select(Lot.id)).all():
        way = whole_way(session, code_of(lot_id))
        yield way
        for package in way.packages:
            yield whole_way(session, way.code, package.number)


def conserves(way: WholeWay) -> bool:
    """To the milligram, on both sides, with nothing below zero."""
    masses = [end.mass_mg for end in way.ends] + [b.mass_mg for b in way.beginnings]
    return (
        sum(end.mass_mg for end in way.ends) == way.mass_mg == sum(way.sums.values())
        and sum(b.mass_mg for b in way.beginnings) == way.mass_mg
        and all(mg > 0 for mg in masses)
        and all(0 < lot.mass_mg <= way.mass_mg for lot in way.upstream + way.downstream)
    )


@pytest.fixture
def fresh(session: Session) -> Session:
    return session


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(steps=STEPS, back=st.integers(0, 10_000) | st.none())
def test_every_milligram_is_found_again_with_the_shares_of_a_well_mixed_bowl(
    fresh: Session, steps: list[tuple[str, int, int, int]], back: int | None
) -> None:
    with fresh.begin_nested() as savepoint:
        kitchen = Kitchen(fresh)
        kitchen.take_in(700, 1)
        kitchen.take_in(401, 2)
        for step in steps:
            kitchen.step(*step)
        follows_the_model(kitchen)
        if back is not None:
            number = kitchen.operations[back % len(kitchen.operations)]
            resting = tuple(all_resting_on(fresh, number))
            do(fresh, correct_with_dependents, CorrectAll(number, resting, TODAY, "a mistake"))
        assert all(conserves(way) for way in ways(fresh))
        savepoint.rollback()


def follows_the_model(kitchen: Kitchen) -> None:
    session, steps = kitchen.session, len(kitchen.operations) + 1
    lies: dict[tuple[int, str], int] = dict(kitchen.gone)
    for ref, mg in kitchen.stock():
        lies[ref.lot_id, "on hand"] = lies.get((ref.lot_id, "on hand"), 0) + mg
    for line in sources(session):
        found = recall(session, line.id)
        lots = {lot.lot_id for lot in found.intakes}
        told: dict[tuple[str, str], int] = defaultdict(int)
        for end in found.ends:
            told[end.code, str(end.kind or "on hand")] += end.mass_mg
        for (lot_id, what), mg in lies.items():
            share = sum(kitchen.made_of[lot_id].get(origin, Fraction(0)) for origin in lots)
            assert abs(told[code_of(lot_id), what] - share * mg) <= steps
        assert abs(line.on_hand_mg - found.sums.get(None, 0)) <= steps * len(kitchen.made_of)
        taken_in = sum(lot.mass_mg for lot in found.intakes)
        assert sum(found.sums.values()) == taken_in == line.taken_in_mg


def test_the_model_would_notice_a_share_that_is_wrong(session: Session) -> None:
    kitchen = Kitchen(session)
    kitchen.take_in(700, 1)
    kitchen.take_in(401, 2)
    (one, _), (two, _) = kitchen.stock()
    kitchen.grind(one, 0, 500_000, (two, 300_000))
    follows_the_model(kitchen)
    mince = max(kitchen.made_of)
    kitchen.made_of[mince] = {one.lot_id: Fraction(1)}
    with pytest.raises(AssertionError):
        follows_the_model(kitchen)
