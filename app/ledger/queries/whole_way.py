"""The whole way of a lot or of one package: sources, lots on the way, and what became of it."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.codes import code_of
from app.ledger.errors import NotFound
from app.ledger.holds import ActiveHold, held_lots
from app.ledger.models import Lot, Operation, Package, Person, Place, Source, Stock
from app.ledger.queries.lot import lot_by_code
from app.ledger.queries.mass_flow import Came, Forward, Lies, back, forward
from app.ledger.words import AdditionKind, LossKind, OperationKind, SourceKind


@dataclass(frozen=True, slots=True)
class WayLot:
    """A lot on the way, where it lies now, and how much of the mass asked about passed it."""

    lot_id: int
    code: str
    name: str
    made_by: OperationKind
    made_on: date
    on_hand_mg: int
    places: tuple[str, ...]
    mass_mg: int
    is_held: bool


@dataclass(frozen=True, slots=True)
class Beginning:
    """Where mass came from in the end: an intake with its source, or what was added."""

    kind: AdditionKind
    words: str
    code: str
    name: str
    source_id: int | None
    source_kind: SourceKind | None
    source: str
    tag: str
    from_whom: str
    mass_mg: int


@dataclass(frozen=True, slots=True)
class End:
    """Where mass is or went; kind None is on hand, at `words`, in package `number`."""

    kind: LossKind | None
    words: str
    code: str
    name: str
    mass_mg: int
    number: int | None = None
    operation_id: int | None = None
    done_on: date | None = None
    person: str = ""
    is_held: bool = False


@dataclass(frozen=True, slots=True)
class PackageNow:
    """One package of a lot: where it lies, or nothing when it is gone."""

    number: int
    net_mg: int
    on_hand_mg: int
    place: str


@dataclass(frozen=True, slots=True)
class WholeWay:
    """Everything a trace shows; beginnings and ends each sum to the mass."""

    code: str
    name: str
    number: int | None
    of_count: int | None
    mass_mg: int
    beginnings: tuple[Beginning, ...]
    upstream: tuple[WayLot, ...]
    downstream: tuple[WayLot, ...]
    ends: tuple[End, ...]
    packages: tuple[PackageNow, ...]
    holds: tuple[ActiveHold, ...]

    @property
    def sums(self) -> dict[LossKind | None, int]:
        """The mass of the ends by kind; None is on hand."""
        return sums_of(self.ends)


def whole_way(session: Session, code: str, number: int | None = None) -> WholeWay:
    """The whole way of a lot, or of one of its packages.

    Raises:
        NotFound: no such lot, or no package of that number.
    """
    lot = lot_by_code(session, code)
    packages = packages_of(session, lot.id)
    package = _package(session, lot.id, number) if number is not None else None
    ahead = forward(session, [lot.id], package.id if package else None)
    behind = back(session, {lot.id: ahead.mass_mg})
    held = held_lots(session)
    lots = way_lots(session, {**behind.lots, **ahead.lots}, held)
    return WholeWay(
        code=code_of(lot.id),
        name=lot.name,
        number=number,
        of_count=package.of_count if package else None,
        mass_mg=ahead.mass_mg,
        beginnings=beginnings_of(session, behind.came),
        upstream=tuple(lots[i] for i in sorted(behind.lots, reverse=True) if i != lot.id),
        downstream=tuple(lots[i] for i in sorted(ahead.lots) if i != lot.id),
        ends=ends_of(session, ahead, lots, held),
        packages=packages,
        holds=held.get(lot.id, ()),
    )


def sums_of(ends: Iterable[End]) -> dict[LossKind | None, int]:
    """The mass of ends by kind: on hand first, then in the order of the kinds."""
    sums: dict[LossKind | None, int] = defaultdict(int)
    for end in ends:
        sums[end.kind] += end.mass_mg
    return {kind: sums[kind] for kind in (None, *LossKind) if kind in sums}


def packages_of(session: Session, lot_id: int) -> tuple[PackageNow, ...]:
    """Every package that a lot was packed into, in order."""
    rows = session.execute(
        select(
            Package.number,
            Package.net_mg,
            func.coalesce(Stock.mass_mg, 0),
            func.coalesce(Place.name, ""),
        )
        .outerjoin(Stock, Stock.package_id == Package.id)
        .outerjoin(Place, Place.id == Stock.place_id)
        .where(Package.lot_id == lot_id)
        .order_by(Package.number)
    )
    return tuple(PackageNow(*row) for row in rows)


def _package(session: Session, lot_id: int, number: int) -> Package:
    found = session.scalar(
        select(Package).where(Package.lot_id == lot_id, Package.number == number)
    )
    if found is None:
        raise NotFound(f"{code_of(lot_id)}, package {number}")
    return found


def way_lots(
    session: Session, masses_mg: Mapping[int, int], held: Collection[int]
) -> dict[int, WayLot]:
    """Lots with the mass asked about that passed each, and where they lie now."""
    places: dict[int, dict[str, int]] = defaultdict(dict)
    for lot_id, place, mass_mg in session.execute(
        select(Stock.lot_id, Place.name, func.sum(Stock.mass_mg))
        .join(Place, Place.id == Stock.place_id)
        .where(Stock.lot_id.in_(masses_mg))
        .group_by(Stock.lot_id, Place.id, Place.name)
        .order_by(Place.id)
    ):
        places[lot_id][place] = int(mass_mg)
    rows = session.execute(
        select(Lot.id, Lot.name, Operation.kind, Operation.done_on)
        .join(Operation, Operation.id == Lot.operation_id)
        .where(Lot.id.in_(masses_mg))
    )
    return {
        lot_id: WayLot(
            lot_id=lot_id,
            code=code_of(lot_id),
            name=name,
            made_by=OperationKind(kind),
            made_on=done_on,
            on_hand_mg=sum(places[lot_id].values()),
            places=tuple(places[lot_id]),
            mass_mg=masses_mg[lot_id],
            is_held=lot_id in held,
        )
        for lot_id, name, kind, done_on in rows
    }


def beginnings_of(session: Session, came: Mapping[Came, int]) -> tuple[Beginning, ...]:
    """Where mass came from, with names; the largest first."""
    rows = session.execute(
        select(Lot.id, Lot.name, Source)
        .outerjoin(Source, Source.id == Lot.source_id)
        .where(Lot.id.in_({one.lot_id for one in came}))
    )
    known = {lot_id: (name, source) for lot_id, name, source in rows}
    found = [_beginning(one, mass_mg, *known[one.lot_id]) for one, mass_mg in came.items()]
    return tuple(sorted(found, key=lambda b: (-b.mass_mg, b.code, b.kind)))


def _beginning(came: Came, mass_mg: int, name: str, source: Source | None) -> Beginning:
    of_source = source if came.kind is AdditionKind.INTAKE else None
    return Beginning(
        kind=came.kind,
        words=came.words,
        code=code_of(came.lot_id),
        name=name,
        source_id=of_source.id if of_source else None,
        source_kind=SourceKind(of_source.kind) if of_source else None,
        source=of_source.name if of_source else "",
        tag=of_source.tag if of_source else "",
        from_whom=of_source.from_whom if of_source else "",
        mass_mg=mass_mg,
    )


def ends_of(
    session: Session, ahead: Forward, lots: Mapping[int, WayLot], held: Collection[int]
) -> tuple[End, ...]:
    """Where mass is and went: first what is on hand, then what left, as it was written."""
    return (*_lying(session, ahead.lies, lots, held), *_gone(session, ahead, lots))


def _lying(
    session: Session, lies: Mapping[Lies, int], lots: Mapping[int, WayLot], held: Collection[int]
) -> list[End]:
    places = dict(session.execute(select(Place.id, Place.name)).all())
    packages = {one.package_id for one in lies if one.package_id is not None}
    query = select(Package.id, Package.number).where(Package.id.in_(packages))
    numbers = dict(session.execute(query).all())
    return [
        End(
            kind=None,
            words=places[one.place_id],
            code=lots[one.lot_id].code,
            name=lots[one.lot_id].name,
            mass_mg=mass_mg,
            number=numbers.get(one.package_id or 0),
            is_held=one.lot_id in held,
        )
        for one, mass_mg in lies.items()
    ]


def _gone(session: Session, ahead: Forward, lots: Mapping[int, WayLot]) -> list[End]:
    rows = session.execute(
        select(Operation.id, Operation.done_on, func.coalesce(Person.name, ""))
        .outerjoin(Person, Person.id == Operation.person_id)
        .where(Operation.id.in_({one.operation_id for one in ahead.went}))
    )
    told = {operation_id: (done_on, person) for operation_id, done_on, person in rows}
    return [
        End(
            kind=one.kind,
            words=one.words,
            code=lots[one.lot_id].code,
            name=lots[one.lot_id].name,
            mass_mg=mass_mg,
            operation_id=one.operation_id,
            done_on=told[one.operation_id][0],
            person=told[one.operation_id][1],
        )
        for one, mass_mg in sorted(ahead.went.items(), key=lambda item: item[0].operation_id)
    ]
