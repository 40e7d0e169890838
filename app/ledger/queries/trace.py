"""Where food came from and what became of it, through any chain of merges and splits."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any, NamedTuple

from sqlalchemy import CTE, BindParameter, CompoundSelect, Select, bindparam, func, literal, select
from sqlalchemy.orm import Session

from app.ledger.bulk import table_of
from app.ledger.codes import code_of
from app.ledger.models import Entry, Flow, Loss, Lot, Operation, Source, Stock
from app.ledger.stock import is_kept, stands
from app.ledger.types import is_set
from app.ledger.words import LossKind, OperationKind, SourceKind
from app.science.classes import FoodClass


class TracedLot(NamedTuple):
    """A lot on the way, with the mass that passed between it and the lot asked about."""

    lot_id: int
    name: str
    made_by: OperationKind
    made_on: date
    on_hand_mg: int
    share: float  # upstream: share of the lot asked about that came through here

    @property
    def code(self) -> str:
        """Its code; spelt only when it is shown, as there may be thousands."""
        return code_of(self.lot_id)


@dataclass(frozen=True, slots=True)
class Origin:
    """Where part of a lot came from, in the end."""

    kind: SourceKind
    name: str
    tag: str
    from_whom: str
    code: str
    lot_name: str
    harvest: tuple[date, date] | None
    share: float


class Left(NamedTuple):
    """Mass of a lot or its descendants that left the household's ledger."""

    kind: LossKind
    words: str
    lot_id: int
    name: str
    done_on: date
    mass_mg: int

    @property
    def code(self) -> str:
        """The code of the lot; spelt only when it is shown."""
        return code_of(self.lot_id)


@dataclass(frozen=True, slots=True)
class Trace:
    """Everything upstream and downstream of one lot."""

    origins: tuple[Origin, ...]
    upstream: tuple[TracedLot, ...]
    downstream: tuple[TracedLot, ...]
    left: tuple[Left, ...]


def trace(session: Session, lot_id: int) -> Trace:
    """Follow a lot both ways; operations that were taken back do not count.

    Shares are of the mass that came from lots: water and seasoning added on the way are left out.
    """
    up = _closure(session, lot_id, upstream=True)
    shares = _shares(session, lot_id, up)
    downstream = became(session, lot_id)
    return Trace(
        origins=tuple(_origins(session, up | {lot_id}, shares)),
        upstream=tuple(_traced(session, up, shares))[::-1],
        downstream=downstream.made,
        left=downstream.left,
    )


def descendants(session: Session, lot_id: int) -> Sequence[tuple[int, str]]:
    """Number and name of every lot that was made of a lot, the oldest first."""
    return session.execute(_descendants(), {"lot": lot_id}).all()


@cache  # putting it together takes as long as following a hundred lots
def _descendants() -> Select[int, str]:
    lot, made_of_it = table_of(Lot).c, _reached(bindparam("lot"), upstream=False)
    return select(lot.id, lot.name).join(made_of_it, made_of_it.c.lot == lot.id).order_by(lot.id)


@dataclass(frozen=True, slots=True)
class Became:
    """What became of a lot: a part of each of two lists, and how long they are."""

    made: tuple[TracedLot, ...]
    made_count: int
    left: tuple[Left, ...]
    left_count: int


def became(
    session: Session,
    lot_id: int,
    *,
    made_from: int = 0,
    left_from: int = 0,
    most: int | None = None,
) -> Became:
    """What was made of a lot, and what of it left; how, when and what is on hand only of a part.

    Args:
        made_from: how many lots to pass over. left_from: how many losses. most: of each list;
            None: all.
    """
    made_of_it = select(_reached(lot_id, upstream=False).c.lot)
    query = _left_query(made_of_it.union(select(literal(lot_id))))
    if most is None:
        made, left = _traced(session, made_of_it, {}), _left(session.execute(query))
        return Became(tuple(made), len(made), tuple(left), len(left))
    numbers = [number for number, _ in descendants(session, lot_id)]
    shown = numbers[made_from : made_from + most]
    left_count = select(func.count()).select_from(query.order_by(None).subquery())
    return Became(
        made=tuple(_traced(session, shown, {})),
        made_count=len(numbers),
        left=tuple(_left(session.execute(query.offset(left_from).limit(most)))),
        left_count=session.scalar(left_count) or 0,
    )


def origins_of(session: Session, lot_id: int) -> tuple[Origin, ...]:
    """Where a lot came from in the end, the largest share first."""
    up = _closure(session, lot_id, upstream=True)
    return tuple(_origins(session, up | {lot_id}, _shares(session, lot_id, up)))


def raw_classes(session: Session, lot: Lot) -> frozenset[FoodClass]:
    """The class of a lot and of all raw food in it, so that the strictest of their targets counts.

    What was cooked before it was mixed in counts as well: on the safe side (our judgement).
    """
    sources = _closure(session, lot.id, upstream=True)
    raw = select(Lot.food_class).where(Lot.id.in_(sources), is_set(Lot.is_raw))
    rows = session.scalars(raw.distinct())
    return frozenset({FoodClass(lot.food_class), *map(FoodClass, rows)})


def upstream_of(session: Session, lot_id: int) -> set[int]:
    """Every lot that went into a lot, without itself."""
    return _closure(session, lot_id, upstream=True)


def downstream_of(session: Session, lot_ids: Iterable[int]) -> dict[int, set[int]]:
    """For each lot every lot that was made of it, without itself; one query for all."""
    begun = select(Lot.id.label("start"), Lot.id.label("lot")).where(Lot.id.in_(set(lot_ids)))
    reached = begun.cte("made_of", recursive=True)
    reached = reached.union(
        select(reached.c.start, Flow.result_id)
        .join(reached, Flow.source_id == reached.c.lot)
        .where(is_kept(Flow.operation_id))
    )
    found: dict[int, set[int]] = defaultdict(set)
    for start, lot_id in session.execute(select(reached.c.start, reached.c.lot)):
        if start != lot_id:
            found[start].add(lot_id)
    return found


def _closure(session: Session, lot_id: int, *, upstream: bool) -> set[int]:
    return set(session.scalars(select(_reached(lot_id, upstream=upstream).c.lot)))


def _reached(lot_id: int | BindParameter[int], *, upstream: bool) -> CTE:
    """The lots that went into a lot, or that were made of it, without itself."""
    flow = Flow.__table__.c
    start, end = (flow.result_id, flow.source_id) if upstream else (flow.source_id, flow.result_id)
    live = is_kept(flow.operation_id)
    reached = select(end.label("lot")).where(start == lot_id, live).cte("reached", recursive=True)
    step = select(end).join(reached, start == reached.c.lot).where(live)
    return reached.union(step)  # UNION, not ALL: diamonds would multiply


def _shares(session: Session, lot_id: int, up: set[int]) -> dict[int, float]:
    """Share of the lot that passed through each lot upstream, newest lots first."""
    flows: dict[int, list[tuple[int, int]]] = defaultdict(list)
    rows = session.execute(
        select(Flow.result_id, Flow.source_id, Flow.mass_mg).where(
            Flow.result_id.in_(up | {lot_id}), is_kept(Flow.operation_id)
        )
    )
    for result, source, mass_mg in rows:
        flows[result].append((source, mass_mg))
    shares: dict[int, float] = defaultdict(float)
    shares[lot_id] = 1.0
    for lot in sorted(up | {lot_id}, reverse=True):  # a lot is always newer than its sources
        total = sum(mass_mg for _, mass_mg in flows[lot])
        for source, mass_mg in flows[lot]:
            if total:
                shares[source] += shares[lot] * mass_mg / total
    return dict(shares)


def _traced(
    session: Session, lots: Collection[int] | Select[int], shares: Mapping[int, float]
) -> list[TracedLot]:
    lot, operation, stock = Lot.__table__.c, Operation.__table__.c, Stock.__table__.c
    on_hand = (
        select(func.coalesce(func.sum(stock.mass_mg), 0))
        .where(stock.lot_id == lot.id)
        .correlate(Lot.__table__)
        .scalar_subquery()
    )
    rows = session.execute(
        select(lot.id, lot.name, operation.kind, operation.done_on, on_hand)
        .join(Operation.__table__, operation.id == lot.operation_id)
        .where(lot.id.in_(lots))
        .order_by(lot.id)
    ).all()
    return [
        TracedLot(lot_id, name, OperationKind(kind), on, mass_mg, shares.get(lot_id, 0.0))
        for lot_id, name, kind, on, mass_mg in rows
    ]


def _origins(session: Session, ids: set[int], shares: dict[int, float]) -> list[Origin]:
    rows = session.execute(
        select(Lot, Source).join(Source, Source.id == Lot.source_id).where(Lot.id.in_(ids))
    ).all()
    origins = [
        Origin(
            kind=SourceKind(source.kind),
            name=source.name,
            tag=source.tag,
            from_whom=source.from_whom,
            code=code_of(lot.id),
            lot_name=lot.name,
            harvest=(lot.harvest_from, lot.harvest_to)
            if lot.harvest_from and lot.harvest_to
            else None,
            share=shares.get(lot.id, 0.0),
        )
        for lot, source in rows
    ]
    return sorted(origins, key=lambda origin: -origin.share)


def _left_query(lots: CompoundSelect[int]) -> Select[*tuple[Any, ...]]:
    gone = (LossKind.EATEN, LossKind.GIVEN, LossKind.DISCARDED)
    loss, entry = table_of(Loss).c, table_of(Entry).c
    lot, operation = table_of(Lot).c, table_of(Operation).c
    return (
        select(loss.kind, loss.words, lot.id, lot.name, operation.done_on, -entry.mass_mg)
        .select_from(table_of(Lot))
        .join(table_of(Entry), entry.lot_id == lot.id)
        .join(table_of(Operation), operation.id == entry.operation_id)
        .join(table_of(Loss), loss.operation_id == operation.id)
        .where(lot.id.in_(lots), loss.kind.in_(gone), stands(operation.id))
        .order_by(operation.done_on, operation.id, entry.id, loss.id)
    )


def _left(rows: Iterable[Any]) -> list[Left]:
    return [Left(LossKind(kind), *rest) for kind, *rest in rows]
