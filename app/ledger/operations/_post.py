"""The single writer: checks one operation, writes it whole, keeps stock and windows in step."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from app.ledger import windows
from app.ledger.bulk import table_of, write_row, write_rows
from app.ledger.calendar import today_of
from app.ledger.codes import code_of
from app.ledger.errors import Problem, ProblemKind, Refused
from app.ledger.holds import leaving_problems, mixing_problems
from app.ledger.inheritance import Inherited, inherited_from
from app.ledger.mass import share_out
from app.ledger.models import (
    Addition,
    Balance,
    Checkpoint,
    Entry,
    Flow,
    Loss,
    Lot,
    LotAllergen,
    LotMark,
    LotTreatment,
    Operation,
    Package,
    Place,
    Reading,
    Weighing,
)
from app.ledger.safety import Applied
from app.ledger.stock import (
    Moved,
    OnHand,
    StockRef,
    apply_entries,
    arrivals_of,
    note_openings,
    on_hand,
    stock_of,
)
from app.ledger.words import (
    AdditionKind,
    CompositionBasis,
    LossKind,
    Mark,
    MeasuredBy,
    OperationKind,
    Presence,
    ReadingKind,
)
from app.science.classes import FoodClass, Form, Treatment
from app.science.composition import Composition
from app.science.packaging import PackagingKind


@dataclass(frozen=True, slots=True)
class Take:
    """Mass taken from what is on hand; `field` names the attribute of the request it came from."""

    ref: StockRef
    mass_mg: int
    field: str = "mass_mg"


@dataclass(frozen=True, slots=True)
class NewPackage:
    """A sealed unit to be made."""

    net_mg: int
    packaging_id: int
    absorber_id: int | None
    pressure_fraction: float
    seal_checked: bool


@dataclass(frozen=True, slots=True)
class NewLot:
    """A lot to be made. Raw mark, allergens, harvest and age are inherited, never passed down."""

    name: str
    food_ndb: str | None
    food_class: FoodClass
    form: Form
    composition: Composition
    kept_since: date
    basis: CompositionBasis = CompositionBasis.COMPUTED
    wrap: PackagingKind = PackagingKind.TUB
    treatments: frozenset[Treatment] = frozenset()  # added by this operation
    clears_raw: bool = False  # only a cooking that met its target says so
    is_raw: bool = False  # raw for a reason of its own: as taken in, or by touching raw food
    allergens_at_intake: frozenset[str] = frozenset()
    may_contain: frozenset[str] = frozenset()
    marks: frozenset[Mark] = frozenset()  # of its own, as taken in
    harvest: tuple[date, date] | None = None
    source_id: int | None = None
    water_low: float | None = None
    water_high: float | None = None
    water_is_measured: bool = False
    fresh_water: float | None = None
    share_used: float | None = None  # None: inherited


@dataclass(frozen=True, slots=True)
class Make:
    """Mass made: a new lot (loose or in packages), or a lot that only changes its place."""

    place_id: int
    mass_mg: int
    new_lot: NewLot | None = None
    ref: StockRef | None = None  # for lots that go on: where they are from now on
    packages: tuple[NewPackage, ...] = ()
    of_lot_id: int | None = None  # what it is made of; None: of everything that was taken

    def takes_of(self, takes: Sequence[Take]) -> list[Take]:
        """Those of the takes that it is made of, and inherits from."""
        return [t for t in takes if self.of_lot_id in (None, t.ref.lot_id)]


@dataclass(frozen=True, slots=True)
class BowlWeighed:
    """One bowl of a tally, exact and as typed."""

    bowl: str
    gross_mg: int
    gross_typed: str
    tare_mg: int
    tare_typed: str


@dataclass(frozen=True, slots=True)
class Measured:
    """A reading taken during the operation, or of a lot's make-up."""

    kind: ReadingKind
    value: float
    typed: str
    hours: float | None = None
    lot_id: int | None = None
    by: MeasuredBy | None = None
    spread: float | None = None


@dataclass(slots=True)
class Posting:
    """One operation, ready to be checked and written."""

    kind: OperationKind
    done_on: date
    note: str = ""
    method: str = ""
    takes: Sequence[Take] = ()
    makes: Sequence[Make] = ()
    additions: Sequence[tuple[AdditionKind, int, str]] = ()
    losses: Sequence[tuple[LossKind, int, str]] = ()
    weighings: Sequence[BowlWeighed] = ()
    readings: Sequence[Measured] = ()
    checkpoints: Sequence[Applied] = ()
    reverses_id: int | None = None
    also_touched: Sequence[int] = ()  # lots whose windows change though no mass of them moved
    balance_field: str = "made_mg"  # where a mass that does not add up is shown


@dataclass(frozen=True, slots=True)
class Posted:
    """What was written: the operation, the lots it made and the rows of stock it touched."""

    operation_id: int
    lot_ids: tuple[int, ...] = ()
    package_ids: tuple[int, ...] = field(default=())


def post(session: Session, posting: Posting, *, at: datetime, by: int | None) -> Posted:
    """Check one operation and write all of it.

    Args:
        session: an open writing transaction; never committed here.
        posting: what was taken, made, added and lost, in whole milligrams.
        at: the instant of recording, with a zone. by: row number of the person, or None.
    Returns:
        The operation and the lots and packages it made.
    Raises:
        Refused: a date, an amount or a place does not fit; nothing is written.
    """
    there = on_hand(session, [take.ref for take in posting.takes])
    problems = [*_date_problems(session, posting, at), *_on_hand_problems(posting, there)]
    problems += _place_problems(session, posting) or _balance_problems(posting)
    problems = problems or _hold_problems(session, posting)
    if problems:
        raise Refused(*problems)
    operation_id = _write_operation(session, posting, at, by)
    entries, lots, packages = _write_makes(session, operation_id, posting)
    entries += [Moved(take.ref, -take.mass_mg) for take in posting.takes]
    _write_entries(session, operation_id, entries)
    _write_flows(session, operation_id, posting, lots)
    _write_lines(session, operation_id, posting)
    _write_balance(session, operation_id, posting)
    touched = apply_entries(session, entries, there)
    also = stock_of(session, posting.also_touched) if posting.also_touched else ()
    note_openings(session, also)
    windows.refresh(session, [*touched, *also])
    return Posted(operation_id, tuple(lot.id for lot in lots), tuple(p.id for p in packages))


# Put together once, as every posting asks it.
_lot, _operation = table_of(Lot).c, table_of(Operation).c
_NEWEST_MADE = (
    select(_lot.id, _operation.done_on)
    .join_from(table_of(Lot), table_of(Operation), _operation.id == _lot.operation_id)
    .where(_lot.id.in_(bindparam("lots", expanding=True)))
    .order_by(_operation.done_on.desc(), _lot.id)
    .limit(1)
)


def _date_problems(session: Session, posting: Posting, at: datetime) -> list[Problem]:
    today = today_of(session, at)
    if posting.done_on > today:
        return [
            Problem("done_on", ProblemKind.IN_FUTURE, {"date": posting.done_on, "today": today})
        ]
    if posting.reverses_id is not None or not posting.takes:
        return []
    lots = {"lots": [*{take.ref.lot_id for take in posting.takes}]}
    made = session.execute(_NEWEST_MADE, lots).first()
    if made and posting.done_on < made.done_on:
        numbers = {"date": posting.done_on, "made": made.done_on, "code": code_of(made.id)}
        return [Problem("done_on", ProblemKind.BEFORE_MADE, numbers)]
    arrivals = arrivals_of(session, [take.ref for take in posting.takes])
    for take in posting.takes:
        since = arrivals.get(take.ref)
        if since is not None and posting.done_on < since:
            numbers = {
                "date": posting.done_on,
                "since": since,
                "code": code_of(take.ref.lot_id),
            }
            return [Problem("done_on", ProblemKind.BEFORE_THERE, numbers)]
    return []


def _on_hand_problems(posting: Posting, there: Mapping[StockRef, OnHand]) -> list[Problem]:
    problems: list[Problem] = []
    wanted: Counter[StockRef] = Counter()
    for take in posting.takes:
        if take.mass_mg <= 0:
            problems.append(Problem(take.field, ProblemKind.NOT_POSITIVE))
            continue
        wanted[take.ref] += take.mass_mg
        on_hand_mg = there[take.ref].mass_mg if take.ref in there else 0
        if wanted[take.ref] > on_hand_mg:
            numbers = {
                "code": code_of(take.ref.lot_id),
                "on_hand_mg": on_hand_mg,
                "taken_mg": wanted[take.ref],
            }
            problems.append(Problem(take.field, ProblemKind.NOT_ON_HAND, numbers))
    if any(make.mass_mg <= 0 for make in posting.makes):
        problems.append(Problem(posting.balance_field, ProblemKind.NOT_POSITIVE))
    return problems


def _place_problems(session: Session, posting: Posting) -> list[Problem]:
    for make in posting.makes:
        if session.get(Place, make.place_id) is None:
            return [Problem("place_id", ProblemKind.UNKNOWN_PLACE)]
    return []


def _hold_problems(session: Session, posting: Posting) -> list[Problem]:
    """Food under a hold is not eaten, given or put together with other food; all else may be."""
    if posting.reverses_id is not None:
        return []
    if posting.kind in (OperationKind.EAT, OperationKind.GIVE):
        return leaving_problems(session, [(t.ref.lot_id, t.field) for t in posting.takes])
    groups = [
        [(take.ref.lot_id, take.field) for take in make.takes_of(posting.takes)]
        for make in posting.makes
        if make.new_lot is not None
    ]
    return mixing_problems(session, groups)


def _sums(posting: Posting) -> tuple[int, int, int, int]:
    return (
        sum(take.mass_mg for take in posting.takes),
        sum(mass_mg for _, mass_mg, _ in posting.additions),
        sum(make.mass_mg for make in posting.makes),
        sum(mass_mg for _, mass_mg, _ in posting.losses),
    )


def _balance_problems(posting: Posting) -> list[Problem]:
    taken, added, made, lost = _sums(posting)
    if taken + added == made + lost:
        return []
    numbers = {
        "in_mg": taken + added,
        "out_mg": made + lost,
        "taken_mg": taken,
        "added_mg": added,
        "made_mg": made,
        "lost_mg": lost,
    }
    more_out = made + lost > taken + added
    kind = ProblemKind.MORE_OUT_THAN_IN if more_out else ProblemKind.UNBALANCED
    return [Problem(posting.balance_field, kind, numbers)]


def _write_makes(
    session: Session, operation_id: int, posting: Posting
) -> tuple[list[Moved], list[Lot], list[Package]]:
    entries: list[Moved] = []
    lots: list[Lot] = []
    packages: list[Package] = []
    for make in posting.makes:
        if make.new_lot is None:
            if make.ref is None:
                raise ValueError("a make names a new lot or one that goes on")
            entries.append(Moved(replace(make.ref, place_id=make.place_id), make.mass_mg))
            continue
        lot = _write_lot(session, operation_id, make.new_lot, _inherited(session, posting, make))
        lots.append(lot)
        if make.packages:
            units = _write_packages(session, lot.id, make.packages, posting.done_on)
            packages += units
            entries += [
                Moved(StockRef(lot.id, make.place_id, unit.id), unit.net_mg) for unit in units
            ]
        else:
            entries.append(Moved(StockRef(lot.id, make.place_id), make.mass_mg))
    return entries, lots, packages


def _inherited(session: Session, posting: Posting, make: Make) -> Inherited:
    sources = [(take.ref, take.mass_mg) for take in make.takes_of(posting.takes)]
    return inherited_from(session, sources, on=posting.done_on)


def _write_operation(session: Session, posting: Posting, at: datetime, by: int | None) -> int:
    session.flush()  # what a use-case has added comes before what rests on it
    row = {
        "kind": posting.kind,
        "done_on": posting.done_on,
        "recorded_at": at,
        "person_id": by,
        "note": posting.note,
        "method": posting.method,
        "reverses_id": posting.reverses_id,
    }
    return write_row(session, Operation, row)


def _write_entries(session: Session, operation_id: int, entries: Sequence[Moved]) -> None:
    rows = [
        {
            "operation_id": operation_id,
            "lot_id": ref.lot_id,
            "package_id": ref.package_id,
            "place_id": ref.place_id,
            "mass_mg": mass_mg,
        }
        for ref, mass_mg in entries
    ]
    write_rows(session, Entry, rows)


def _write_lot(session: Session, operation_id: int, new: NewLot, inherited: Inherited) -> Lot:
    harvest = inherited.harvest or new.harvest
    composition = new.composition
    goes_on = new.share_used is not None and not inherited.is_worn
    lot = Lot(
        operation_id=operation_id,
        source_id=new.source_id,
        name=new.name,
        food_ndb=new.food_ndb,
        food_class=new.food_class,
        form=new.form,
        is_raw=(inherited.is_raw or new.is_raw) and not new.clears_raw,
        harvest_from=harvest[0] if harvest else None,
        harvest_to=harvest[1] if harvest else None,
        kept_since=new.kept_since,
        water=composition.water,
        protein=composition.protein,
        fat=composition.fat,
        carbohydrate=composition.carbohydrate,
        fibre=composition.fibre,
        ash=composition.ash,
        composition_basis=new.basis,
        water_low=new.water_low,
        water_high=new.water_high,
        water_is_measured=new.water_is_measured,
        fresh_water=new.fresh_water,
        share_used=new.share_used if goes_on else inherited.share_used,
        wrap=new.wrap,
    )
    session.add(lot)
    session.flush()
    _write_marks(session, lot.id, new, inherited)
    return lot


def _write_marks(session: Session, lot_id: int, new: NewLot, inherited: Inherited) -> None:
    contains = inherited.contains | new.allergens_at_intake
    may_contain = (inherited.may_contain | new.may_contain) - contains
    presences = dict.fromkeys(sorted(contains), Presence.CONTAINS)
    presences |= dict.fromkeys(sorted(may_contain), Presence.MAY_CONTAIN)
    ended = {Mark.PARASITE} if new.clears_raw else set()
    marks = sorted((inherited.marks | new.marks) - ended)
    treatments = sorted(inherited.treatments | new.treatments)
    of = {"lot_id": lot_id}
    allergens = [of | {"allergen": a, "presence": p} for a, p in presences.items()]
    write_rows(session, LotAllergen, allergens)
    write_rows(session, LotMark, [of | {"mark": mark} for mark in marks])
    write_rows(session, LotTreatment, [of | {"treatment": t} for t in treatments])


def _write_packages(
    session: Session, lot_id: int, packages: Sequence[NewPackage], packed_on: date
) -> list[Package]:
    rows = [
        Package(
            lot_id=lot_id,
            number=number,
            of_count=len(packages),
            net_mg=new.net_mg,
            packaging_id=new.packaging_id,
            absorber_id=new.absorber_id,
            pressure_fraction=new.pressure_fraction,
            seal_checked=new.seal_checked,
            packed_on=packed_on,
        )
        for number, new in enumerate(packages, start=1)
    ]
    session.add_all(rows)
    session.flush()
    return rows


def _write_flows(
    session: Session, operation_id: int, posting: Posting, lots: Sequence[Lot]
) -> None:
    """Share each new lot's mass among the lots it is made of, in proportion to what they gave."""
    if not posting.takes:
        return
    added_mg = sum(mass_mg for _, mass_mg, _ in posting.additions)
    new_makes = [make for make in posting.makes if make.new_lot is not None]
    for lot, make in zip(lots, new_makes, strict=True):
        by_lot: Counter[int] = Counter()
        for take in make.takes_of(posting.takes):
            by_lot[take.ref.lot_id] += take.mass_mg
        weights = [*by_lot.values(), added_mg]
        parts = share_out(make.mass_mg, weights)
        rows = [
            {
                "operation_id": operation_id,
                "source_id": source,
                "result_id": lot.id,
                "mass_mg": mass_mg,
            }
            for source, mass_mg in zip(by_lot, parts, strict=False)
        ]
        write_rows(session, Flow, rows)


def _write_lines(session: Session, operation_id: int, posting: Posting) -> None:
    of: dict[str, Any] = {"operation_id": operation_id}
    for table, lines in ((Addition, posting.additions), (Loss, posting.losses)):
        rows = [of | {"kind": kind, "mass_mg": mg, "words": words} for kind, mg, words in lines]
        write_rows(session, table, rows)
    write_rows(
        session, Weighing, [of | _bowl(n, bowl) for n, bowl in enumerate(posting.weighings, 1)]
    )
    write_rows(session, Reading, [of | _reading(reading) for reading in posting.readings])
    write_rows(session, Checkpoint, [of | _checkpoint(applied) for applied in posting.checkpoints])


def _bowl(ordinal: int, bowl: BowlWeighed) -> dict[str, Any]:
    return {
        "ordinal": ordinal,
        "bowl": bowl.bowl,
        "gross_mg": bowl.gross_mg,
        "gross_typed": bowl.gross_typed,
        "tare_mg": bowl.tare_mg,
        "tare_typed": bowl.tare_typed,
    }


def _reading(reading: Measured) -> dict[str, Any]:
    return {
        "lot_id": reading.lot_id,
        "kind": reading.kind,
        "hours": reading.hours,
        "value": reading.value,
        "typed": reading.typed,
        "measured_by": reading.by,
        "spread": reading.spread,
    }


def _checkpoint(applied: Applied) -> dict[str, Any]:
    return {
        "rule": applied.verdict.rule.id,
        "rule_version": applied.verdict.rule.version,
        "outcome": applied.verdict.outcome,
        "sentence": applied.verdict.sentence,
        "reason": applied.reason,
        "lot_id": applied.lot_id,
    }


def _write_balance(session: Session, operation_id: int, posting: Posting) -> None:
    """Write the closing row; the lines come first, as the database compares them with it."""
    taken, added, made, lost = _sums(posting)
    row = {"taken_mg": taken, "added_mg": added, "made_mg": made, "lost_mg": lost}
    write_rows(session, Balance, [{"operation_id": operation_id} | row])


def losses(*pairs: tuple[LossKind, int]) -> list[tuple[LossKind, int, str]]:
    """The losses above zero, ready for a posting."""
    return [(kind, mass_mg, "") for kind, mass_mg in pairs if mass_mg > 0]
