"""The kitchen where random work is done: its ledger, its model, and how they keep in step."""

import os
import tempfile
from collections import Counter
from collections.abc import Iterable
from datetime import date, timedelta
from pathlib import Path
from typing import Any, ClassVar

import pytest
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine
from sqlalchemy import func, select

from app.ledger import windows
from app.ledger.archive.portable import read_archive, write_archive
from app.ledger.book import Book
from app.ledger.checks import check_all
from app.ledger.engines import Where
from app.ledger.errors import NotFound, Refused
from app.ledger.household import PlaceIn, add_person, add_place
from app.ledger.models import Estimate, LabelPrint, Operation, SoakingDone, TrayWeighing
from app.ledger.queries.trace import upstream_of
from app.ledger.stock import StockRef
from app.ledger.words import PlaceKind
from tests.builders import (
    AILSA,
    BENCH,
    DEHYDRATOR,
    EWAN,
    FREEZE_DRYER,
    FREEZER,
    FRIDGE,
    PANTRY,
    TODAY,
    evening,
)
from tests.databases import Contents, Shelf, contents_of
from tests.properties.ledger_model import Marks, Model, Step

LOOKING = os.environ.get("STILLROOM_RANDOM_WORK")
EVENINGS = {kind: int(LOOKING or few) for kind, few in (("sqlite", 12), ("postgresql", 5))}
SECOND_FREEZER, SECOND_FRIDGE, CELLAR, SECOND_DRYER = range(7, 11)
ISLA = EWAN + 1
MORE_PLACES = (
    PlaceIn("Upright freezer", PlaceKind.FREEZER, (-26.0, -24.0, -20.0)),
    PlaceIn("Scullery fridge", PlaceKind.FRIDGE, (1.0, 3.0, 5.0)),
    PlaceIn("Cold cellar", PlaceKind.ROOM, (3.0, 8.0, 12.0)),
    PlaceIn("Small freeze-dryer", PlaceKind.FREEZE_DRYER, (15.0, 20.0, 25.0), 0.55, 2, 0.08),
)
FREEZERS, FRIDGES = (FREEZER, SECOND_FREEZER), (FRIDGE, SECOND_FRIDGE)
DRYERS = (FREEZE_DRYER, DEHYDRATOR, SECOND_DRYER)
KEPT_AT = (*FREEZERS, *FRIDGES, BENCH, PANTRY, CELLAR)
WORKERS = (AILSA, EWAN, ISLA, None)

PLACES = st.sampled_from(KEPT_AT)
SHARES = st.integers(1, 100)
PICK = st.integers(0, 10_000)
SEVERAL = st.lists(PICK, min_size=1, max_size=3)
WHY = "written down by hand"
COMPOSITION_FORBIDS = frozenset({"impossible", "wrong_state"})
RULES_FORBID = frozenset({"gate", "needs_reason"})


def crowd(path: Path) -> None:
    """Add what a household has more than one of."""
    book = Book(path)
    with book.writing() as session:
        for place in MORE_PLACES:
            add_place(session, place)
        add_person(session, "Isla")
    book.close()


class Kitchen(RuleBasedStateMachine):
    """What every kind of random work stands on."""

    template: ClassVar[Path]
    shelf: ClassVar[Shelf]
    seen: ClassVar[Counter[str]] = Counter()
    forbidden: ClassVar[Counter[str]] = Counter()  # by what was tried and why it was refused

    def open_book(self) -> None:
        self.folder = tempfile.TemporaryDirectory()
        self.where = self.shelf.copy(self.template, Path(self.folder.name))
        self.book = Book(self.where)
        self.session = self.book._write()
        self.model = Model()
        self.aside: Counter[str] = Counter()  # rows that no operation stands for

    def teardown(self) -> None:
        if not hasattr(self, "session"):
            return
        try:
            assert check_all(self.session) == []
            self.windows_are_in_step()
            self.trace_leads_up_as_it_leads_down()
            self.everybody_did_what_they_did()
            self.what_stands_beside_is_all_there()
            self.seen.update(self.session.scalars(select(Operation.kind)).all())
            self.session.commit()
            self.session.close()
            self.book.close()
            self.moving_house_changes_nothing()
        finally:
            self.session.close()
            self.book.close()
            self.shelf.clear()  # a database comes back for the next evening
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

    def everybody_did_what_they_did(self) -> None:
        rows = select(Operation.id, Operation.person_id, Operation.done_on)
        told = {number: (by, on) for number, by, on in self.session.execute(rows)}
        for step in self.model.steps:
            assert told[step.operation_id] == (step.by, step.on)

    def what_stands_beside_is_all_there(self) -> None:
        tables = (SoakingDone, LabelPrint, TrayWeighing)
        for table in tables:
            count = self.session.scalar(select(func.count()).select_from(table))
            assert count == self.aside[table.__tablename__]

    def moving_house_changes_nothing(self) -> None:
        """From where the ledger is into a data file."""
        target, there = (Path(self.folder.name) / name for name in ("ledger.zip", "there.db"))
        write_archive(self.where, target)
        assert read_archive(target, there, at=evening(TODAY)) is None
        assert lasting(there) == lasting(self.where)

    # -- what there is -------------------------------------------------------------------------

    def refs(
        self, *, packed: bool | None = None, places: Iterable[int] = KEPT_AT
    ) -> list[StockRef]:
        """What is on hand, unless told in no dryer, in a fixed order."""
        among = set(places)
        return [
            ref
            for ref in sorted(self.model.on_hand, key=str)
            if ref.place_id in among and packed in (None, ref.package_id is not None)
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
        return ref.place_id in FREEZERS and place not in FREEZERS and not is_dry

    def is_kept_apart(self, lots: Iterable[int]) -> bool:
        """Is some of it on hold, and the rest not in the same way?"""
        held = self.model.held_lots()
        return len({held.get(lot, frozenset()) for lot in lots}) > 1

    # -- what is done --------------------------------------------------------------------------

    @property
    def worker(self) -> int | None:
        """Whoever comes next: they take turns, and sometimes nobody says who it was."""
        return WORKERS[self.model.operation_count % len(WORKERS)]

    def do(self, use_case: Any, request: Any) -> Any:
        """By whoever comes next, and written down on the evening of this day."""
        return use_case(self.session, request, at=evening(TODAY), by=self.worker)

    def post(
        self,
        use_case: Any,
        request: Any,
        change: dict[StockRef, int],
        *,
        new: tuple[Marks, ...] = (),
        made_of: tuple[frozenset[int], ...] | None = None,
        may_refuse: frozenset[str] = frozenset(),
        written: int = 1,
        **facts: Any,
    ) -> Step | None:
        """Carry it out and keep the model in step; None where it was refused as it may be.

        The first new lot stands in the change under 0, the second under -1; what each is made of
        is all that was taken, unless told.
        """
        by = self.worker
        done = self.carried_out(use_case, request, may_refuse)
        if done is None:
            return None
        posted, run_id = done if isinstance(done, tuple) else (done, None)
        moved = self.numbered(posted, change)
        taken = frozenset(ref.lot_id for ref, mass_mg in moved.items() if mass_mg < 0)
        assert len(posted.lot_ids) == len(new)
        self.model.marks |= dict(zip(posted.lot_ids, new, strict=True))
        sources = made_of or (taken,) * len(new)
        step = Step(
            posted.operation_id,
            moved,
            request.done_on,
            by,
            made_of=dict(zip(posted.lot_ids, sources, strict=True)),
            loads=run_id,
            **facts,
        )
        self.model.follow(step, written=written)
        return step

    def numbered(self, posted: Any, change: dict[StockRef, int]) -> Counter[StockRef]:
        """The change with the numbers that new lots and packages got."""
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
        return moved

    def carried_out(self, use_case: Any, request: Any, may_refuse: frozenset[str]) -> Any:
        """What was posted; None where it was refused as it may be."""
        try:
            with self.session.begin_nested():
                return self.do(use_case, request)
        except Refused as refused:
            kinds = {str(problem.kind) for problem in refused.problems}
            if not kinds <= may_refuse:
                raise
            self.forbidden[f"{use_case.__name__}: {', '.join(sorted(kinds))}"] += 1
        return None

    def refuse(self, use_case: Any, request: Any, *kinds: str) -> None:
        """It must be refused; that nothing was written is asked after every step."""
        with pytest.raises((Refused, NotFound)) as caught, self.session.begin_nested():
            self.do(use_case, request)
        if kinds:
            assert isinstance(caught.value, Refused)
            assert {problem.kind for problem in caught.value.problems} <= set(kinds)


def days_ago(days: int) -> date:
    """A day before this one."""
    return TODAY - timedelta(days=days)


def lasting(where: Where) -> Contents:
    """Every row of every table but the kept windows, which are worked out again."""
    return {name: rows for name, rows in contents_of(where).items() if name != "estimate"}
