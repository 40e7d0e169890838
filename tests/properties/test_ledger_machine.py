"""Random work on a ledger, valid and invalid, compared with a model of sums and sets at each step.

Some hundreds of steps here, the same each time for the same source, so that what a change breaks is
mostly the change's own (constants of the source are drawn as examples, so a change may bring new
evenings); fewer of them in PostgreSQL, where a step takes longer.
STILLROOM_RANDOM_WORK=1000 in the environment plays that many evenings, new ones each time: that is
the way to look for faults.
"""

import shutil
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from hypothesis.stateful import initialize, invariant, run_state_machine_as_test
from sqlalchemy import func, select
from sqlalchemy.orm import Session, aliased

from app.ledger.errors import Refused
from app.ledger.holds import held_lots
from app.ledger.makeup import scaled_range
from app.ledger.models import Entry, Lot, LotAllergen, LotMark, Operation, Package, Stock
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.drain import Drain, drain
from app.ledger.operations.measure import Measure, Value, measure
from app.ledger.operations.portion import Portion, portion
from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.queries.trace import downstream_of
from app.ledger.stock import StockRef
from app.ledger.words import MeasuredBy, OperationKind, Presence, ReadingKind
from tests.builders import (
    BENCH,
    FREEZE_DRYER,
    FRIDGE,
    JAR,
    PANTRY,
    SWEETCORN,
    TODAY,
    G,
    a_pot,
    a_tray,
    all_stock,
    cooked,
    do,
    loaded,
    made,
    take_in,
)
from tests.databases import Shelf
from tests.properties.impossible import IMPOSSIBLE
from tests.properties.ledger_keeping import Keeping
from tests.properties.ledger_kitchen import (
    CELLAR,
    DRYERS,
    EVENINGS,
    LOOKING,
    PLACES,
    Kitchen,
    crowd,
)
from tests.properties.ledger_model import NEVER, Marks
from tests.properties.ledger_preparing import FOODS, Preparing
from tests.properties.ledger_undoing import Undoing

MANY = 500  # from so many on, every kind of work must have come up


class Evening(Preparing, Keeping, Undoing):
    """Several lots at several places, worked on at random; and what must hold after every step."""

    @initialize(
        larder=st.lists(
            st.tuples(st.sampled_from(sorted(FOODS)), st.integers(1, 3_000_000), PLACES),
            min_size=2,
            max_size=5,
        ),
        has_pouches=st.booleans(),
    )
    def begin(self, larder: list[tuple[str, int, int]], has_pouches: bool) -> None:
        """With food in the house, and some of it dry and packed on every other evening."""
        self.open_book()
        for food, mass_mg, place in larder:
            self.take_in(food, mass_mg, place, frozenset(), None, 30)
        if has_pouches:
            self.take_in(SWEETCORN, 1000 * G, CELLAR, frozenset({"celery"}), 10, 5)
            wet = self.refs().index(StockRef(max(self.model.marks), CELLAR))
            self.load_the_dryer([wet], 100, FREEZE_DRYER, None, is_over=True)
            dry = self.refs().index(StockRef(max(self.model.marks), BENCH))
            self.pack_it(dry, [30, 20, 20], PANTRY, (JAR, None))

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
    def every_package_is_in_one_place_or_gone_in_one_way(self) -> None:
        if not hasattr(self, "session"):
            return
        assert self.fates() == self.model.fates()
        assert set(self.session.scalars(select(Package.id))) == self.model.net_mg.keys()
        rows = [
            (row.package_id, row.place_id, row.opened_on)
            for row in self.session.scalars(select(Stock))
            if row.package_id is not None
        ]
        opened = self.model.opened
        assert {package: on for package, _, on in rows} == {
            package: opened.get(package) for package, _, _ in rows
        }
        at = Counter(package for package, place, _ in rows if place not in DRYERS)
        assert max(at.values(), default=0) <= 1

    def fates(self) -> dict[int, int | None]:
        """Of every package, by its entries: None while on hand, else what emptied it, or NEVER."""
        reversal, entered = aliased(Operation), aliased(Operation)
        rows = self.session.execute(
            select(Entry.package_id, Entry.operation_id, func.sum(Entry.mass_mg))
            .join(entered, entered.id == Entry.operation_id)
            .outerjoin(reversal, reversal.reverses_id == Entry.operation_id)
            .where(
                Entry.package_id.is_not(None),
                reversal.id.is_(None),
                entered.reverses_id.is_(None),
            )
            .group_by(Entry.package_id, Entry.operation_id)
            .order_by(Entry.operation_id)
        )
        found: dict[int, int | None] = dict.fromkeys(self.model.net_mg, NEVER)
        inside: Counter[int | None] = Counter()
        for package, operation_id, change_mg in rows:
            inside[package] += change_mg
            if package and change_mg:
                found[package] = None if inside[package] else operation_id
        return found

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


def test_random_work_keeps_the_ledger_in_step_with_a_simple_model(
    shelf: Shelf, furnished_file: Path, tmp_path: Path
) -> None:
    evenings = EVENINGS[shelf.kind]
    Kitchen.shelf = shelf
    Kitchen.template = tmp_path / "crowded.db"
    shutil.copy(furnished_file, Kitchen.template)
    crowd(Kitchen.template)
    Kitchen.seen.clear()
    Kitchen.forbidden.clear()
    run_state_machine_as_test(
        Evening,
        settings=settings(
            max_examples=evenings,
            derandomize=LOOKING is None,
            stateful_step_count=30,
            deadline=None,
            suppress_health_check=list(HealthCheck),
            print_blob=True,
            phases=(Phase.reuse, Phase.generate),  # shrinking would take minutes
        ),
    )
    print(f"{evenings} evenings in {shelf.kind}: {dict(sorted(Kitchen.seen.items()))}")
    print(f"refused as they may be: {dict(sorted(Kitchen.forbidden.items()))}")
    if evenings >= MANY:
        assert set(Kitchen.seen) == set(OperationKind)


def test_a_request_of_every_kind_can_be_wrong() -> None:
    assert set(IMPOSSIBLE) == set(OperationKind)


# -- what random work has found ----------------------------------------------------------------


def test_food_whose_measured_water_was_passed_on_can_be_drained(session: Session) -> None:
    pot = a_pot(session)
    value = Value(ReadingKind.WATER, 0.80, MeasuredBy.OVEN, "80")
    do(session, measure, Measure(pot, (value,), TODAY))
    part = made(do(session, portion, Portion(pot, 1000 * G, "Part", FRIDGE, TODAY)), FRIDGE)
    do(session, drain, Drain(part, 1000 * G, 500 * G, 500 * G, FRIDGE, TODAY))


@given(water=st.floats(1e-6, 1.0), now=st.floats(0.0, 1.0), wider=st.floats(0.0, 0.1))
def test_a_range_of_the_water_holds_the_water_wherever_it_is_moved(
    water: float, now: float, wider: float
) -> None:
    span = (water * (1.0 - wider), min(1.0, water * (1.0 + wider)))
    low, high = scaled_range(span, water, now)
    assert 0.0 <= low <= now <= high <= 1.0


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
