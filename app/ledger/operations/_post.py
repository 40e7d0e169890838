"""The single writer: checks one operation, writes it whole, keeps stock and windows in step."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger import windows
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
    StockRef,
    apply_entries,
    find_stock,
    note_openings,
    stock_of,
    there_since,
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
    problems = [*_date_problems(session, posting, at), *_on_hand_problems(session, posting)]
    problems += _place_problems(session, posting) or _balance_problems(posting)
    problems = problems or _hold_problems(session, posting)
    if problems:
        raise Refused(*problems)
    operation = Operation(
        kind=posting.kind,
        done_on=posting.done_on,
        recorded_at=at,
        person_id=by,
        note=posting.note,
        method=posting.method,
        reverses_id=posting.reverses_id,
    )
    session.add(operation)
    session.flush()
    entries, lots, packages = _write_makes(session, operation.id, posting)
    entries += [
        Entry(
            operation_id=operation.id,
            lot_id=take.ref.lot_id,
            package_id=take.ref.package_id,
            place_id=take.ref.place_id,
            mass_mg=-take.mass_mg,
        )
        for take in posting.takes
    ]
    session.add_all(entries)
    _write_flows(session, operation.id, posting, lots)
    _write_lines(session, operation.id, posting)
    _write_balance(session, operation.id, posting)
    touched = apply_entries(session, entries)
    also = stock_of(session, posting.also_touched)
    note_openings(session, also)
    windows.refresh(session, [*touched, *also])
    return Posted(operation.id, tuple(lot.id for lot in lots), tuple(p.id for p in packages))


def _date_problems(session: Session, posting: Posting, at: datetime) -> list[Problem]:
    today = today_of(session, at)
    if posting.done_on > today:
        return [
            Problem("done_on", ProblemKind.IN_FUTURE, {"date": posting.done_on, "today": today})
        ]
    if posting.reverses_id is not None:
        return []
    made = session.execute(
        select(Lot.id, Operation.done_on)
        .join(Operation, Operation.id == Lot.operation_id)
        .where(Lot.id.in_({t.ref.lot_id for t in posting.takes}))
        .order_by(Operation.done_on.desc())
    ).first()
    if made and posting.done_on < made.done_on:
        numbers = {"date": posting.done_on, "made": made.done_on, "code": code_of(made.id)}
        return [Problem("done_on", ProblemKind.BEFORE_MADE, numbers)]
    for take in posting.takes:
        since = there_since(session, take.ref)
        if since is not None and posting.done_on < since:
            numbers = {
                "date": posting.done_on,
                "since": since,
                "code": code_of(take.ref.lot_id),
            }
            return [Problem("done_on", ProblemKind.BEFORE_THERE, numbers)]
    return []


def _on_hand_problems(session: Session, posting: Posting) -> list[Problem]:
    problems: list[Problem] = []
    wanted: Counter[StockRef] = Counter()
    for take in posting.takes:
        if take.mass_mg <= 0:
            problems.append(Problem(take.field, ProblemKind.NOT_POSITIVE))
            continue
        wanted[take.ref] += take.mass_mg
        row = find_stock(session, take.ref)
        on_hand_mg = row.mass_mg if row else 0
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
) -> tuple[list[Entry], list[Lot], list[Package]]:
    entries: list[Entry] = []
    lots: list[Lot] = []
    packages: list[Package] = []
    for make in posting.makes:
        if make.new_lot is None:
            if make.ref is None:
                raise ValueError("a make names a new lot or one that goes on")
            entries.append(
                _entry(operation_id, make.ref.lot_id, make.ref.package_id, make.place_id, make)
            )
            continue
        lot = _write_lot(session, operation_id, make.new_lot, _inherited(session, posting, make))
        lots.append(lot)
        if make.packages:
            units = _write_packages(session, lot.id, make.packages, posting.done_on)
            packages += units
            entries += [
                Entry(
                    operation_id=operation_id,
                    lot_id=lot.id,
                    package_id=unit.id,
                    place_id=make.place_id,
                    mass_mg=unit.net_mg,
                )
                for unit in units
            ]
        else:
            entries.append(_entry(operation_id, lot.id, None, make.place_id, make))
    return entries, lots, packages


def _inherited(session: Session, posting: Posting, make: Make) -> Inherited:
    sources = [(take.ref, take.mass_mg) for take in make.takes_of(posting.takes)]
    return inherited_from(session, sources, on=posting.done_on)


def _entry(
    operation_id: int, lot_id: int, package_id: int | None, place_id: int, make: Make
) -> Entry:
    return Entry(
        operation_id=operation_id,
        lot_id=lot_id,
        package_id=package_id,
        place_id=place_id,
        mass_mg=make.mass_mg,
    )


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
    session.add_all(
        LotAllergen(lot_id=lot_id, allergen=a, presence=presence)
        for group, presence in (
            (contains, Presence.CONTAINS),
            (may_contain, Presence.MAY_CONTAIN),
        )
        for a in sorted(group)
    )
    ended = {Mark.PARASITE} if new.clears_raw else set()
    session.add_all(
        LotMark(lot_id=lot_id, mark=mark) for mark in sorted((inherited.marks | new.marks) - ended)
    )
    session.add_all(
        LotTreatment(lot_id=lot_id, treatment=t)
        for t in sorted(inherited.treatments | new.treatments)
    )


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
        session.add_all(
            Flow(operation_id=operation_id, source_id=source, result_id=lot.id, mass_mg=mass_mg)
            for source, mass_mg in zip(by_lot, parts, strict=False)
        )


def _write_lines(session: Session, operation_id: int, posting: Posting) -> None:
    for kind, mass_mg, words in posting.additions:
        session.add(Addition(operation_id=operation_id, kind=kind, mass_mg=mass_mg, words=words))
    for loss, mass_mg, words in posting.losses:
        session.add(Loss(operation_id=operation_id, kind=loss, mass_mg=mass_mg, words=words))
    for ordinal, bowl in enumerate(posting.weighings, start=1):
        session.add(
            Weighing(
                operation_id=operation_id,
                ordinal=ordinal,
                bowl=bowl.bowl,
                gross_mg=bowl.gross_mg,
                gross_typed=bowl.gross_typed,
                tare_mg=bowl.tare_mg,
                tare_typed=bowl.tare_typed,
            )
        )
    for reading in posting.readings:
        session.add(
            Reading(
                operation_id=operation_id,
                lot_id=reading.lot_id,
                kind=reading.kind,
                hours=reading.hours,
                value=reading.value,
                typed=reading.typed,
                measured_by=reading.by,
                spread=reading.spread,
            )
        )
    for applied in posting.checkpoints:
        session.add(
            Checkpoint(
                operation_id=operation_id,
                rule=applied.verdict.rule.id,
                rule_version=applied.verdict.rule.version,
                outcome=applied.verdict.outcome,
                sentence=applied.verdict.sentence,
                reason=applied.reason,
                lot_id=applied.lot_id,
            )
        )


def _write_balance(session: Session, operation_id: int, posting: Posting) -> None:
    session.flush()  # the lines first: the database compares them with the balance row
    taken, added, made, lost = _sums(posting)
    session.add(
        Balance(
            operation_id=operation_id, taken_mg=taken, added_mg=added, made_mg=made, lost_mg=lost
        )
    )
    session.flush()


def losses(*pairs: tuple[LossKind, int]) -> list[tuple[LossKind, int, str]]:
    """The losses above zero, ready for a posting."""
    return [(kind, mass_mg, "") for kind, mass_mg in pairs if mass_mg > 0]
