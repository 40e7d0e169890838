"""Every milligram of a lot, forward to where it is or went, and back to where it came from.

At each lot on the way the mass asked about is dealt to what became of that lot in proportion to
its masses, by largest remainder, so that the parts sum to the whole however long the way is.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TypeVar

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from app.ledger.mass import share_out
from app.ledger.models import Addition, Entry, Flow, Loss, Lot, Operation, Stock
from app.ledger.stock import stands
from app.ledger.words import AdditionKind, LossKind

_Way = TypeVar("_Way")
Nets = dict[int, dict[int, int]]  # lot, operation, what it made of the lot (below 0: took), mg


@dataclass(frozen=True, slots=True)
class Lies:
    """Mass that is on hand: in which row of stock."""

    lot_id: int
    place_id: int
    package_id: int | None


@dataclass(frozen=True, slots=True)
class Went:
    """Mass that left: out of which lot, by which operation, how, and to whom or why."""

    lot_id: int
    operation_id: int
    kind: LossKind
    words: str


@dataclass(frozen=True, slots=True)
class Came:
    """Mass that came in: as which lot (or into which), how, and what it was called."""

    lot_id: int
    kind: AdditionKind
    words: str


@dataclass(frozen=True, slots=True)
class Forward:
    """What became of a mass: mg in each lot on the way, and in the end. The ends sum to it."""

    mass_mg: int
    lots: Mapping[int, int]
    lies: Mapping[Lies, int]
    went: Mapping[Went, int]


@dataclass(frozen=True, slots=True)
class Back:
    """Where a mass came from: mg through each lot on the way, and in the beginning."""

    mass_mg: int
    lots: Mapping[int, int]
    came: Mapping[Came, int]


def forward(session: Session, lot_ids: Iterable[int], package_id: int | None = None) -> Forward:
    """Follow all mass that these lots were made with, or one package of a single lot.

    Args:
        lot_ids: none of them made of another one. package_id: a package of the only lot.
    Returns:
        Masses in mg. What a stocktake found beyond the ledger counts as made.
    """
    starts = sorted(set(lot_ids))
    reached = _reached(select(Lot.id).where(Lot.id.in_(starts)), upstream=False)
    nets = _nets(session, reached)
    exits = _Exits(session, reached)
    lies = _lying(session, reached)
    mine = nets
    if package_id is not None:
        (start,) = starts
        mine = {**nets, start: _nets_of_package(session, package_id)}
        lies[start] = {k: mg for k, mg in lies[start].items() if k.package_id == package_id}
    masses: dict[int, int] = defaultdict(int)
    for start in starts:
        masses[start] = _made(mine.get(start, {}))
    mass_mg = sum(masses.values())
    on_hand: dict[Lies, int] = {}
    went: dict[Went, int] = defaultdict(int)
    for lot_id in sorted(nets):  # a lot is always newer than what it is made of
        ways: list[tuple[Lies | Went | int, int]] = list(lies[lot_id].items())
        for operation_id, net_mg in mine[lot_id].items():
            if net_mg < 0:
                whole_mg = max(-nets[lot_id][operation_id], -net_mg)
                ways += exits.dealt(lot_id, operation_id, whole_mg, -net_mg)
        for way, part_mg in _deal(masses[lot_id], ways):
            if isinstance(way, Lies):
                on_hand[way] = part_mg
            elif isinstance(way, Went):
                went[way] += part_mg
            else:
                masses[way] += part_mg
    return Forward(mass_mg, {i: mg for i, mg in masses.items() if mg}, on_hand, dict(went))


def back(session: Session, masses_mg: Mapping[int, int]) -> Back:
    """Follow masses of lots back to where they came from; water and seasoning are told as well."""
    return _back(session, select(Lot.id).where(Lot.id.in_(masses_mg)), masses_mg)


def back_from_stock(session: Session) -> Back:
    """Where everything on hand came from: one walk for all sources."""
    rows = session.execute(select(Stock.lot_id, func.sum(Stock.mass_mg)).group_by(Stock.lot_id))
    return _back(session, select(Stock.lot_id), {lot_id: int(mg) for lot_id, mg in rows})


def _back(session: Session, start: Select[int], masses_mg: Mapping[int, int]) -> Back:
    reached = _reached(start, upstream=True)
    nets = _nets(session, reached)
    inflows = _inflows(session, reached)
    additions = _lines(session, Addition, _operations_of(reached))
    born = dict(session.execute(select(Lot.id, Lot.operation_id).where(Lot.id.in_(reached))).all())
    through: dict[int, int] = defaultdict(int, masses_mg)
    came: dict[Came, int] = defaultdict(int)
    for lot_id in sorted(nets, reverse=True):
        ways: list[tuple[Came | int, int]] = list(inflows[lot_id])
        flowed_mg = sum(mg for _, mg in inflows[lot_id])
        for operation_id, net_mg in nets[lot_id].items():
            rest_mg = net_mg - (flowed_mg if operation_id == born[lot_id] else 0)
            kinds: list[tuple[Came | int, int]] = [
                (_came(lot_id, kind, w), mg) for kind, w, mg in additions[operation_id]
            ]
            ways += _deal(rest_mg, kinds) if rest_mg > 0 else []
        for way, part_mg in _deal(through[lot_id], ways):
            if isinstance(way, Came):
                came[way] += part_mg
            else:
                through[way] += part_mg
    return Back(sum(masses_mg.values()), {i: mg for i, mg in through.items() if mg}, dict(came))


def _came(lot_id: int, kind: str, words: str) -> Came:
    """The words of an intake are its source, which the lot itself knows."""
    return Came(lot_id, AdditionKind(kind), "" if kind == AdditionKind.INTAKE else words)


def _deal(mass_mg: int, ways: list[tuple[_Way, int]]) -> list[tuple[_Way, int]]:
    """The mass dealt in proportion; parts of nothing are left out."""
    whole_mg = sum(weight for _, weight in ways)
    if mass_mg <= 0 or not whole_mg:
        return []
    if mass_mg == whole_mg:  # as nearly always: nothing is to be rounded
        return [(way, weight) for way, weight in ways if weight]
    parts = share_out(mass_mg, [weight for _, weight in ways])
    return [(way, mg) for (way, _), mg in zip(ways, parts, strict=True) if mg]


class _Exits:
    """How what an operation took from a lot is divided: into which lots, lost in which ways."""

    def __init__(self, session: Session, reached: Select[int]) -> None:
        self.flows: dict[tuple[int, int], list[tuple[int, int]]] = defaultdict(list)
        rows = session.execute(
            select(Flow.source_id, Flow.operation_id, Flow.result_id, Flow.mass_mg).where(
                Flow.source_id.in_(reached), stands(Flow.operation_id)
            )
        )
        for source, operation_id, result, mass_mg in rows:
            self.flows[source, operation_id].append((result, mass_mg))
        self.losses = _lines(session, Loss, _operations_of(reached))

    def dealt(
        self, lot_id: int, operation_id: int, whole_mg: int, mass_mg: int
    ) -> list[tuple[Lies | Went | int, int]]:
        """What became of mass_mg, which is some or all of the whole that was taken of the lot."""
        flows: list[tuple[Lies | Went | int, int]] = list(self.flows[lot_id, operation_id])
        rest_mg = whole_mg - sum(mg for _, mg in flows)
        told = self.losses[operation_id] or ([] if flows else [(LossKind.UNEXPLAINED, "", 1)])
        kinds: list[tuple[Lies | Went | int, int]] = [
            (Went(lot_id, operation_id, LossKind(kind), words), mg) for kind, words, mg in told
        ]
        return _deal(mass_mg, flows + _deal(rest_mg, kinds))


def _reached(start: Select[int], *, upstream: bool) -> Select[int]:
    """The lots of a query and all that they are made of, or all that was made of them."""
    near, far = (Flow.result_id, Flow.source_id) if upstream else (Flow.source_id, Flow.result_id)
    lots = select(start.subquery().c[0].label("lot")).cte("reached", recursive=True)
    step = select(far).join(lots, near == lots.c.lot).where(stands(Flow.operation_id))
    lots = lots.union(step)  # UNION, not ALL: diamonds would multiply
    return select(lots.c.lot)


def _nets(session: Session, reached: Select[int]) -> Nets:
    """What each operation that counts made or took of each lot; a move does neither."""
    query = (
        select(Entry.lot_id, Entry.operation_id, func.sum(Entry.mass_mg))
        .where(Entry.lot_id.in_(reached), stands(Entry.operation_id))
        .group_by(Entry.lot_id, Entry.operation_id)
        .order_by(Entry.operation_id)
    )
    nets: Nets = defaultdict(dict)
    for lot_id, operation_id, mass_mg in session.execute(query):
        nets[lot_id][operation_id] = int(mass_mg)
    return dict(nets)


def _nets_of_package(session: Session, package_id: int) -> dict[int, int]:
    query = (
        select(Entry.operation_id, func.sum(Entry.mass_mg))
        .where(Entry.package_id == package_id, stands(Entry.operation_id))
        .group_by(Entry.operation_id)
        .order_by(Entry.operation_id)
    )
    return {operation_id: int(mass_mg) for operation_id, mass_mg in session.execute(query)}


def _made(nets: Mapping[int, int]) -> int:
    return sum(net_mg for net_mg in nets.values() if net_mg > 0)


def _lying(session: Session, reached: Select[int]) -> dict[int, dict[Lies, int]]:
    query = (
        select(Stock.lot_id, Stock.place_id, Stock.package_id, Stock.mass_mg)
        .where(Stock.lot_id.in_(reached))
        .order_by(Stock.lot_id, Stock.place_id, func.coalesce(Stock.package_id, 0))
    )
    lying: dict[int, dict[Lies, int]] = defaultdict(dict)
    for lot_id, place_id, package_id, mass_mg in session.execute(query):
        lying[lot_id][Lies(lot_id, place_id, package_id)] = mass_mg
    return lying


def _inflows(session: Session, reached: Select[int]) -> dict[int, list[tuple[int, int]]]:
    query = select(Flow.result_id, Flow.source_id, Flow.mass_mg).where(
        Flow.result_id.in_(reached), stands(Flow.operation_id)
    )
    inflows: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for result, source, mass_mg in session.execute(query):
        inflows[result].append((source, mass_mg))
    return inflows


def _operations_of(reached: Select[int]) -> Select[int]:
    return select(Entry.operation_id).where(Entry.lot_id.in_(reached))


def _lines(
    session: Session, table: type[Addition] | type[Loss], operations: Select[int]
) -> dict[int, list[tuple[str, str, int]]]:
    query = (
        select(table.operation_id, table.kind, table.words, func.sum(table.mass_mg))
        .join(Operation, Operation.id == table.operation_id)
        .where(table.operation_id.in_(operations), Operation.reverses_id.is_(None))
        .group_by(table.operation_id, table.kind, table.words)
    )
    lines: dict[int, list[tuple[str, str, int]]] = defaultdict(list)
    for operation_id, kind, words, mass_mg in session.execute(query):
        lines[operation_id].append((kind, words, int(mass_mg)))
    return lines
