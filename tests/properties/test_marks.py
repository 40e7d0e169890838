"""No sequence of work loses a mark, against a model that is one small record for each lot.

The model knows nothing of the ledger's code. A lot is what went into it: raw if any of it was raw,
with every allergen, with lead and parasites of any of it, as old as the oldest of it; a hold stands
on whatever has the held lot among its forebears. 85 °C at the centre is above every target of the
chart “Safe Minimum Internal Temperature” (USDA FSIS, 2020; 165 °F, 73.9 °C, for poultry is its
highest), 50 °C below every one of them.
"""

import dataclasses
import random
import shutil
import tempfile
from collections import Counter
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.book import Book
from app.ledger.checks import check_all
from app.ledger.errors import Problem, Refused
from app.ledger.game import GameIn
from app.ledger.holds import active_holds, held_lots
from app.ledger.models import Lot, LotAllergen, LotMark, Operation
from app.ledger.operations._post import Posted
from app.ledger.operations.blend import Blend, blend
from app.ledger.operations.chill import Chill, chill
from app.ledger.operations.cook import cook
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.drain import Drain, drain
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.hold import LiftHold, PutOnHold, hold, release
from app.ledger.operations.incident import LotFate, WentWrong, went_wrong
from app.ledger.operations.intake import intake
from app.ledger.operations.leave import Leave, discard, eat, give
from app.ledger.operations.load import Load, load
from app.ledger.operations.mix import Mix, MixPart, mix_lots
from app.ledger.operations.move import Move, move
from app.ledger.operations.pack import pack
from app.ledger.operations.portion import Portion, portion
from app.ledger.operations.skim import Skim, skim
from app.ledger.operations.thaw import Thaw, thaw
from app.ledger.operations.trim import Trim, trim
from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.stock import StockRef
from app.ledger.words import (
    Ammunition,
    HoldCause,
    IncidentFate,
    IncidentKind,
    Presence,
    ReleaseCause,
)
from app.science.safety.game import CwdStatus
from app.science.safety.thawing import ThawWay
from tests.builders import (
    BENCH,
    COOLED_IN_TIME,
    DEHYDRATOR,
    FREEZER,
    FRIDGE,
    JAR,
    MOOSE,
    PORK,
    SWEETCORN,
    TODAY,
    TROUT,
    a_cook,
    a_pack,
    a_tray,
    all_stock,
    an_intake,
    bowl,
    centre,
    do,
)

BOAR = "17158"
FOODS = [MOOSE, BOAR, PORK, TROUT, SWEETCORN]
GAME = (MOOSE, BOAR)
PLACES = [FRIDGE, BENCH, FRIDGE, FREEZER]
NEVER_LIFTED = (HoldCause.TEST_POSITIVE, HoldCause.LOOKED_SICK)
REASON = "seen by two of us"


@dataclasses.dataclass(frozen=True)
class Known:
    """What must be true of a lot."""

    is_raw: bool
    marks: frozenset[str]
    allergens: frozenset[str]
    traces: frozenset[str]  # allergens, and what it may contain
    oldest: date | None

    def with_(self, other: "Known") -> "Known":
        days = [day for day in (self.oldest, other.oldest) if day]
        return Known(
            self.is_raw or other.is_raw,
            self.marks | other.marks,
            self.allergens | other.allergens,
            self.traces | other.traces,
            min(days) if days else None,
        )

    def cooked_through(self) -> "Known":
        ended = {"parasite"} if self.is_raw else set()
        return dataclasses.replace(self, is_raw=False, marks=self.marks - ended)


@dataclasses.dataclass
class Done:
    """A step that may be taken back."""

    operation_id: int
    lots: list[int] = dataclasses.field(default_factory=list)
    puts: set[int] = dataclasses.field(default_factory=set)
    lifts: set[int] = dataclasses.field(default_factory=set)
    ends_with: set[int] = dataclasses.field(default_factory=set)  # operations taken back with it


class Kitchen:
    """Random work on one ledger, and the model beside it."""

    def __init__(self, session: Session, tally: Counter[str]) -> None:
        self.session = session
        self.tally = tally
        self.known: dict[int, Known] = {}
        self.forebears: dict[int, set[int]] = {}
        self.held: dict[int, int] = {}  # hold: the lot it was put on
        self.causes: dict[int, HoldCause] = {}
        self.done: list[Done] = []

    # -- the model -----------------------------------------------------------------------------

    def inside(self, lot_id: int) -> set[int]:
        found, waiting = {lot_id}, [lot_id]
        while waiting:
            fresh = self.forebears.get(waiting.pop(), set()) - found
            found |= fresh
            waiting += fresh
        return found

    def active(self) -> set[int]:
        put = {number for step in self.done for number in step.puts}
        return put - {number for step in self.done for number in step.lifts}

    def holds_on(self, lot_id: int) -> frozenset[int]:
        inside = self.inside(lot_id)
        return frozenset(number for number in self.active() if self.held[number] in inside)

    def forget(self, step: Done) -> None:
        """Take a step back: what it made has no forebears, what it held is free again."""
        self.done.remove(step)
        for lot_id in step.lots:
            self.forebears[lot_id] = set()
        gone = [
            other
            for other in self.done
            if other.operation_id in step.ends_with
            or (other.puts and {self.held[n] for n in other.puts} <= set(step.lots))
        ]
        for other in gone:
            self.forget(other)

    # -- doing ---------------------------------------------------------------------------------

    def refs(self) -> list[StockRef]:
        return sorted(all_stock(self.session), key=str)

    def attempt(self, what: str, work: Callable[[], None], *, is_held: bool = False) -> None:
        """Do it, unless the ledger refuses; only held food is refused for a hold, and always."""
        problems: list[Problem] = []
        try:
            with self.session.begin_nested():
                work()
        except Refused as refused:
            problems = refused.problems
        for_hold = {problem.kind for problem in problems} == {"on_hold"}
        assert for_hold is is_held, (what, problems)
        self.tally[f"{what} refused" if for_hold else what] += for_hold or not problems

    def post(self, use_case: Any, request: Any) -> Posted:
        posted = do(self.session, use_case, request)
        return posted[0] if isinstance(posted, tuple) else posted  # type: ignore[no-any-return]

    def make(
        self,
        use_case: Any,
        request: Any,
        *sources: StockRef,
        is_through: bool = False,
        may_touch: bool = False,
    ) -> None:
        """Carry out what makes lots of several others, and compare each with the model."""
        expected = self.known[sources[0].lot_id]
        for ref in sources[1:]:
            expected = expected.with_(self.known[ref.lot_id])
        if is_through:
            expected = expected.cooked_through()
        posted = self.post(use_case, request)
        for lot_id in posted.lot_ids:
            self.learn(lot_id, expected, {ref.lot_id for ref in sources}, may_touch=may_touch)
        self.done.append(Done(posted.operation_id, list(posted.lot_ids)))

    def learn(
        self, lot_id: int, expected: Known, sources: set[int], *, may_touch: bool = False
    ) -> None:
        found = self.read(lot_id)
        if may_touch:  # a machine may add what clung to it, and then that must not be lost either
            assert found.is_raw >= expected.is_raw
            assert found.traces >= expected.traces
            expected = dataclasses.replace(expected, is_raw=found.is_raw, traces=found.traces)
        assert found == expected
        self.known[lot_id] = found
        self.forebears[lot_id] = sources

    def read(self, lot_id: int) -> Known:
        lot = self.session.get_one(Lot, lot_id)
        rows = self.session.execute(
            select(LotAllergen.allergen, LotAllergen.presence).where(LotAllergen.lot_id == lot_id)
        ).all()
        marks = self.session.scalars(select(LotMark.mark).where(LotMark.lot_id == lot_id))
        contained = frozenset(name for name, presence in rows if presence == Presence.CONTAINS)
        traces = frozenset(name for name, _ in rows)
        return Known(lot.is_raw, frozenset(marks), contained, traces, lot.harvest_from)

    def compare(self) -> None:
        """Is every hold where the model has it, and nowhere else?"""
        held = {i: {h.id for h in holds} for i, holds in held_lots(self.session).items()}
        assert held == {i: set(found) for i in self.known if (found := self.holds_on(i))}


# -- the steps: each takes the kitchen and four random numbers ---------------------------------

Step = Callable[[Kitchen, int, int, int, int], None]


def take_in(k: Kitchen, a: int, b: int, c: int, d: int) -> None:
    food = FOODS[a % len(FOODS)]
    allergens = frozenset(name for i, name in enumerate(("celery", "milk", "eggs")) if b >> i & 1)
    ammunition = list(Ammunition)[c % 4]
    day = TODAY - timedelta(days=d % 800) if d % 3 else None
    request = an_intake(
        food,
        bowls=(bowl(300 + a % 1700),),
        place=PLACES[b % 4],
        allergens=allergens,
        harvest=(day, day) if day else None,
        game=GameIn(ammunition, cwd_status=CwdStatus.NOT_DETECTED, hours_to_cold=5.0),
        reason=REASON,
    )

    def work() -> None:
        posted = k.post(intake, request)
        (lot_id,) = posted.lot_ids
        marks = {
            "lead": food in GAME and ammunition in (Ammunition.LEAD, Ammunition.UNKNOWN),
            "parasite": food == BOAR,
        }
        found = k.read(lot_id)
        expected = Known(
            food != SWEETCORN,
            frozenset(mark for mark, is_so in marks.items() if is_so),
            found.allergens,
            found.traces,
            day,
        )
        assert found.allergens >= allergens
        k.learn(lot_id, expected, set())
        k.done.append(Done(posted.operation_id, [lot_id]))

    k.attempt("take_in", work)


def picked(k: Kitchen, *numbers: int) -> list[StockRef]:
    refs = k.refs()
    return list(dict.fromkeys(refs[number % len(refs)] for number in numbers))


def part_of(k: Kitchen, ref: StockRef, share: int) -> int:
    return max(all_stock(k.session)[ref] * (20 + share % 80) // 100, 1)


def is_apart(k: Kitchen, refs: list[StockRef]) -> bool:
    """Would it put food on hold together with other food?"""
    return len({k.holds_on(ref.lot_id) for ref in refs}) > 1


def together(k: Kitchen, a: int, b: int, c: int, d: int) -> None:
    """Grind, blend or mix two or three lots, in whichever order they come."""
    refs = picked(k, a, b, *([c] if d % 3 == 0 else []))
    masses = {ref: part_of(k, ref, d) for ref in refs}
    total = sum(masses.values())
    ways: dict[str, tuple[Any, Any]] = {
        "grind": (
            grind,
            Grind(
                tuple(Part(ref, masses[ref]) for ref in refs),
                "Mince",
                total,
                FRIDGE,
                TODAY,
                cleaned=(None, True, False)[a % 3],
                reason=REASON,
            ),
        )
    }
    if len(refs) > 1:
        parts = tuple(MixPart(ref, masses[ref]) for ref in refs)
        ways["mix"] = (mix_lots, Mix(parts, "Mix", total, FRIDGE, TODAY, reason=REASON))
    if len(refs) == 2:
        one, two = refs
        request = Blend(one, masses[one], two, masses[two], "Burgers", total, FRIDGE, TODAY)
        ways["blend"] = (blend, dataclasses.replace(request, reason=REASON))
    name = sorted(ways)[c % len(ways)]
    touches = name == "grind" and a % 3 == 2
    work = lambda: k.make(*ways[name], *refs, may_touch=touches)  # noqa: E731
    k.attempt(name, work, is_held=is_apart(k, refs))


def heat(k: Kitchen, a: int, b: int, c: int, d: int) -> None:
    (ref,) = picked(k, a)
    mass_mg = part_of(k, ref, b)
    reading = (None, 50.0, 85.0)[c % 3]
    request = a_cook(
        ref,
        1,
        1,
        mass_mg=mass_mg,
        made_mg=mass_mg + 1000 * (d % 300),
        water_mg=1000 * (d % 300),
        centre=None if reading is None else centre(reading),
        rest_minutes=10.0,
        reason=REASON,
    )
    name = "cook through" if reading == 85.0 else "cook short"
    k.attempt(name, lambda: k.make(cook, request, ref, is_through=reading == 85.0))


def from_one(k: Kitchen, a: int, b: int, c: int, d: int) -> None:
    """Everything that makes lots of one lot."""
    (ref,) = picked(k, a)
    mass = part_of(k, ref, b)
    place = PLACES[d % 4]
    left = max(mass * 9 // 10, 1)
    broth = max(mass // 5, 1)
    fat = max(mass // 50, 1)
    ways: dict[str, tuple[Any, Any]] = {
        "portion": (portion, Portion(ref, mass, "Part", place, TODAY, reason=REASON)),
        "trim": (trim, Trim(ref, mass, left, mass - left, FRIDGE, TODAY)),
        "chill": (chill, Chill(ref, mass, mass, FRIDGE, TODAY, COOLED_IN_TIME, reason=REASON)),
        "drain": (drain, Drain(ref, mass, mass - broth, broth, FRIDGE, TODAY)),
        "skim": (skim, Skim(ref, mass, fat, FRIDGE, TODAY, keeps_fat=d % 2 == 0)),
        "thaw": (thaw, Thaw(ref, mass, ThawWay.REFRIGERATOR, FRIDGE, TODAY, reason=REASON)),
        "pack": (
            pack,
            a_pack(
                ref,
                packaging_id=JAR,
                absorber_id=None,
                place_id=place,
                done_on=TODAY,
                net_mg=(max(mass // 2, 1),) * (1 + d % 2) if mass > 1 else (1,),
                reason=REASON,
            ),
        ),
    }
    if ref.place_id == FREEZER:
        ways = {name: ways[name] for name in ("thaw", "portion", "pack")}
    name = sorted(ways)[c % len(ways)]
    k.attempt(name, lambda: k.make(*ways[name], ref))


def dry(k: Kitchen, a: int, b: int, c: int, d: int) -> None:
    """One or two lots in one load, raw beside cooked too; each comes out as its own."""
    refs = [ref for ref in picked(k, a, b) if ref.package_id is None]
    if len({ref.lot_id for ref in refs}) < len(refs) or not refs:
        return
    on_hand = all_stock(k.session)
    trays = tuple(a_tray(ref, on_hand[ref] / 1000) for ref in refs)
    cleaned = (None, True, False)[c % 3]
    loading = Load(DEHYDRATOR, trays, TODAY, cleaned=cleaned, reason=REASON)

    def work() -> None:
        posted, run_id = do(k.session, load, loading)
        dried = tuple(DryMade(ref.lot_id, max(on_hand[ref] * 4 // 5, 1)) for ref in refs)
        out = k.post(unload, Unload(run_id, dried, BENCH, TODAY))
        sources = {k.session.get_one(Lot, lot_id).name: lot_id for lot_id in out.lot_ids}
        assert len(out.lot_ids) == len(refs), sources
        touched = any(k.known[ref.lot_id].is_raw for ref in refs)
        k.done.append(Done(posted.operation_id))
        for ref, lot_id in zip(sorted(refs, key=lambda r: r.lot_id), out.lot_ids, strict=True):
            expected = k.known[ref.lot_id]
            expected = dataclasses.replace(expected, is_raw=touched)
            for neighbour in refs:
                traces = expected.traces | k.known[neighbour.lot_id].traces
                expected = dataclasses.replace(expected, traces=traces)
            k.learn(lot_id, expected, {ref.lot_id}, may_touch=c % 3 == 2)
        k.done.append(Done(out.operation_id, list(out.lot_ids)))

    k.attempt("dry", work)


def carry(k: Kitchen, a: int, b: int, c: int, d: int) -> None:
    (ref,) = picked(k, a)
    request = Move((ref,), PLACES[c % 4], TODAY, mass_mg=part_of(k, ref, b))
    if request.place_id == ref.place_id:
        return
    request = dataclasses.replace(request, reason=REASON)

    def work() -> None:
        k.done.append(Done(k.post(move, request).operation_id))

    k.attempt("move", work)


def leave(k: Kitchen, a: int, b: int, c: int, d: int) -> None:
    (ref,) = picked(k, a)
    name, use_case = (("eat", eat), ("give", give), ("discard", discard))[c % 3]
    request = Leave((ref,), TODAY, part_of(k, ref, b) // 2 or 1, "the neighbours")
    is_held = bool(k.holds_on(ref.lot_id)) and name != "discard"

    def work() -> None:
        k.done.append(Done(k.post(use_case, request).operation_id))

    k.attempt(name, work, is_held=is_held)


def put_on_hold(k: Kitchen, a: int, b: int, c: int, d: int) -> None:
    """On any lot that was ever made, its descendants made long before perhaps."""
    lots = sorted(k.known)
    lot_id = lots[a % len(lots)]
    cause = list(HoldCause)[b % len(HoldCause)]

    def work() -> None:
        posted = k.post(hold, PutOnHold((lot_id,), cause, TODAY, "as told"))
        number = max(found.id for found in active_holds(k.session))
        k.held[number], k.causes[number] = lot_id, cause
        k.done.append(Done(posted.operation_id, puts={number}))

    k.attempt("hold", work)


def lift(k: Kitchen, a: int, b: int, c: int, d: int) -> None:
    standing = sorted(k.active())
    if not standing:
        return
    number = standing[a % len(standing)]
    request = LiftHold((number,), ReleaseCause.OTHER, TODAY, REASON)
    before = k.tally["release"]

    def work() -> None:
        posted = k.post(release, request)
        k.done.append(Done(posted.operation_id, lifts={number}))

    k.attempt("release", work)
    is_lifted = k.tally["release"] > before
    assert is_lifted is (k.causes[number] not in NEVER_LIFTED)
    k.tally["release of a disease refused"] += not is_lifted


def go_wrong(k: Kitchen, a: int, b: int, c: int, d: int) -> None:
    """A lot to look at, which is held at once, and perhaps another that is discarded."""
    refs = picked(k, a, b)
    lots = tuple(
        LotFate(ref, fate, ())
        for ref, fate in zip(refs, (IncidentFate.LOOK, IncidentFate.DISCARD), strict=False)
    )

    def work() -> None:
        held_before = {found.id for found in active_holds(k.session)}
        last = max(k.session.scalars(select(Operation.id)))
        posted = k.post(went_wrong, WentWrong(IncidentKind.THAWED, TODAY, lots))
        fresh = {found.id for found in active_holds(k.session)} - held_before
        (number,) = fresh
        k.held[number], k.causes[number] = refs[0].lot_id, HoldCause.LOOK_FIRST
        at_once = set(range(last + 1, posted.operation_id))
        holding = max(at_once)
        k.done += [Done(other) for other in sorted(at_once - {holding})]
        k.done.append(Done(holding, puts={number}))
        k.done.append(Done(posted.operation_id, ends_with=at_once))

    k.attempt("incident", work)


def take_back(k: Kitchen, a: int, b: int, c: int, d: int) -> None:
    """The newest step, or any other, which may be refused because later ones rest on it."""
    if not k.done:
        return
    step = k.done[-1] if a % 2 else k.done[b % len(k.done)]

    def work() -> None:
        k.post(correct, Correct(step.operation_id, TODAY))
        k.forget(step)

    k.attempt("take back", work)


STEPS: list[Step] = [
    take_in,
    together,
    together,
    heat,
    from_one,
    from_one,
    from_one,
    dry,
    carry,
    leave,
    put_on_hold,
    lift,
    go_wrong,
    take_back,
]
WORK = {"take_in", "grind", "blend", "mix", "cook short", "cook through", "chill", "drain", "skim"}
WORK |= {"portion", "trim", "thaw", "dry", "pack", "move", "eat", "give", "discard", "hold"}
WORK |= {"release", "incident", "take back", "release of a disease refused"}
WORK |= {f"{what} refused" for what in ("grind", "blend", "mix", "eat", "give")}

NUMBERS = st.integers(0, 9999)
Plan = list[tuple[Step, int, int, int, int]]
PLAN = st.lists(
    st.tuples(st.sampled_from(STEPS), NUMBERS, NUMBERS, NUMBERS, NUMBERS), min_size=10, max_size=30
)


def long_plan() -> Plan:
    """A long evening, the same each time, in which every kind of work comes up."""
    dice = random.Random(1810)  # noqa: S311 (no secret)
    return [(dice.choice(STEPS), *(dice.randrange(10_000) for _ in range(4))) for _ in range(300)]


def carry_out(plan: Plan, furnished_file: Path, tally: Counter[str]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "stillroom.db"
        shutil.copy(furnished_file, path)
        book = Book(path)
        with book._write() as session:
            kitchen = Kitchen(session, tally)
            for n in range(4):
                take_in(kitchen, n, n, n, n + 1)
            for step, *numbers in plan:
                if step is take_in or kitchen.refs():
                    step(kitchen, *numbers)
                    kitchen.compare()
            assert check_all(session) == []
            session.rollback()
        book.close()


def test_a_long_evening_of_every_work_there_is_loses_no_mark(furnished_file: Path) -> None:
    tally: Counter[str] = Counter()
    carry_out(long_plan(), furnished_file, tally)
    assert {what for what in WORK if not tally[what]} == set()


def test_no_sequence_of_work_loses_a_mark_an_allergen_a_hold_or_its_age(
    furnished_file: Path,
) -> None:
    @settings(
        max_examples=12,
        deadline=None,
        suppress_health_check=list(HealthCheck),
        phases=(Phase.explicit, Phase.reuse, Phase.generate),  # shrinking would take minutes
    )
    @given(PLAN)
    def run(plan: Plan) -> None:
        carry_out(plan, furnished_file, Counter())

    run()
