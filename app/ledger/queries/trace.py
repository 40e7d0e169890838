"""Where food came from and what became of it, through any chain of merges and splits."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.codes import code_of
from app.ledger.models import Entry, Flow, Loss, Lot, Operation, Source, Stock
from app.ledger.stock import undone
from app.ledger.words import LossKind, OperationKind, SourceKind
from app.science.classes import FoodClass


@dataclass(frozen=True, slots=True)
class TracedLot:
    """A lot on the way, with the mass that passed between it and the lot asked about."""

    lot_id: int
    code: str
    name: str
    made_by: OperationKind
    made_on: date
    on_hand_mg: int
    share: float  # upstream: share of the lot asked about that came through here


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


@dataclass(frozen=True, slots=True)
class Left:
    """Mass of a lot or its descendants that left the household's ledger."""

    kind: LossKind
    words: str
    code: str
    name: str
    done_on: date
    mass_mg: int


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
    up, down = _closure(session, lot_id, upstream=True), _closure(session, lot_id, upstream=False)
    shares = _shares(session, lot_id, up)
    details = _details(session, up | down | {lot_id})
    upstream = [_traced(details[i], shares.get(i, 0.0)) for i in sorted(up, reverse=True)]
    downstream = [_traced(details[i], 0.0) for i in sorted(down)]
    return Trace(
        origins=tuple(_origins(session, up | {lot_id}, shares)),
        upstream=tuple(upstream),
        downstream=tuple(downstream),
        left=tuple(_left(session, down | {lot_id})),
    )


def raw_classes(session: Session, lot: Lot) -> frozenset[FoodClass]:
    """The class of a lot and of all raw food in it, so that the strictest of their targets counts.

    What was cooked before it was mixed in counts as well: on the safe side (our judgement).
    """
    sources = _closure(session, lot.id, upstream=True)
    rows = session.scalars(select(Lot.food_class).where(Lot.id.in_(sources), Lot.is_raw).distinct())
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
        .where(Flow.operation_id.not_in(undone()))
    )
    found: dict[int, set[int]] = defaultdict(set)
    for start, lot_id in session.execute(select(reached.c.start, reached.c.lot)):
        if start != lot_id:
            found[start].add(lot_id)
    return found


def _closure(session: Session, lot_id: int, *, upstream: bool) -> set[int]:
    start, end = (Flow.result_id, Flow.source_id) if upstream else (Flow.source_id, Flow.result_id)
    live = Flow.operation_id.not_in(undone())
    reached = select(end.label("lot")).where(start == lot_id, live).cte("reached", recursive=True)
    step = select(end).join(reached, start == reached.c.lot).where(live)
    reached = reached.union(step)  # UNION, not ALL: diamonds would multiply
    return set(session.scalars(select(reached.c.lot)))


def _shares(session: Session, lot_id: int, up: set[int]) -> dict[int, float]:
    """Share of the lot that passed through each lot upstream, newest lots first."""
    flows: dict[int, list[tuple[int, int]]] = defaultdict(list)
    rows = session.execute(
        select(Flow.result_id, Flow.source_id, Flow.mass_mg).where(
            Flow.result_id.in_(up | {lot_id}), Flow.operation_id.not_in(undone())
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


@dataclass(frozen=True, slots=True)
class _Detail:
    lot_id: int
    name: str
    made_by: str
    made_on: date
    on_hand_mg: int


def _details(session: Session, ids: Iterable[int]) -> dict[int, _Detail]:
    on_hand = (
        select(Stock.lot_id, func.sum(Stock.mass_mg).label("mass_mg"))
        .group_by(Stock.lot_id)
        .subquery()
    )
    rows = session.execute(
        select(
            Lot.id, Lot.name, Operation.kind, Operation.done_on, func.coalesce(on_hand.c.mass_mg, 0)
        )
        .join(Operation, Operation.id == Lot.operation_id)
        .outerjoin(on_hand, on_hand.c.lot_id == Lot.id)
        .where(Lot.id.in_(set(ids)))
    ).all()
    return {row[0]: _Detail(*row) for row in rows}


def _traced(detail: _Detail, share: float) -> TracedLot:
    return TracedLot(
        lot_id=detail.lot_id,
        code=code_of(detail.lot_id),
        name=detail.name,
        made_by=OperationKind(detail.made_by),
        made_on=detail.made_on,
        on_hand_mg=detail.on_hand_mg,
        share=share,
    )


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


def _left(session: Session, ids: set[int]) -> list[Left]:
    gone = (LossKind.EATEN, LossKind.GIVEN, LossKind.DISCARDED)
    rows = session.execute(
        select(Loss.kind, Loss.words, Entry.lot_id, Lot.name, Operation.done_on, -Entry.mass_mg)
        .join(Operation, Operation.id == Loss.operation_id)
        .join(Entry, Entry.operation_id == Operation.id)
        .join(Lot, Lot.id == Entry.lot_id)
        .where(Entry.lot_id.in_(ids), Loss.kind.in_(gone), Operation.id.not_in(undone()))
        .order_by(Operation.done_on, Operation.id)
    ).all()
    return [
        Left(LossKind(kind), words, code_of(lot_id), name, done_on, mass_mg)
        for kind, words, lot_id, name, done_on, mass_mg in rows
    ]
