"""Sources: each animal, plot, shop and neighbour, and everything that holds any of their food."""

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.errors import NotFound
from app.ledger.holds import held_lots
from app.ledger.models import Entry, Lot, Operation, Source
from app.ledger.queries.holds import lots_of_same_source
from app.ledger.queries.mass_flow import back_from_stock, forward
from app.ledger.queries.whole_way import End, WayLot, ends_of, sums_of, way_lots
from app.ledger.stock import stands
from app.ledger.words import AdditionKind, LossKind, SourceKind


@dataclass(frozen=True, slots=True)
class SourceLine:
    """One source: what was taken in of it, and what of that is on hand, wherever it went."""

    id: int
    kind: SourceKind
    name: str
    tag: str
    from_whom: str
    lot_count: int
    last_on: date
    taken_in_mg: int
    on_hand_mg: int
    is_held: bool


@dataclass(frozen=True, slots=True)
class Recall:
    """Everything that holds any food of one source, and where the rest of it went."""

    source: SourceLine
    intakes: tuple[WayLot, ...]
    lots: tuple[WayLot, ...]
    ends: tuple[End, ...]

    @property
    def sums(self) -> dict[LossKind | None, int]:
        """The mass of the ends by kind; None is on hand."""
        return sums_of(self.ends)


class _TakenIn(NamedTuple):
    lot_id: int
    source_id: int
    kind: str
    name: str
    tag: str
    from_whom: str
    done_on: date
    mass_mg: int


def sources(session: Session) -> list[SourceLine]:
    """Every source that food was taken in from, the newest intake first."""
    behind = back_from_stock(session)
    on_hand: dict[int, int] = defaultdict(int)
    for came, mass_mg in behind.came.items():
        if came.kind is AdditionKind.INTAKE:
            on_hand[came.lot_id] += mass_mg
    held = held_lots(session)
    groups: dict[tuple[str, ...], list[_TakenIn]] = defaultdict(list)
    for taken in _taken_in(session):
        groups[_identity(taken)].append(taken)
    lines = [
        _line(group, sum(on_hand[t.lot_id] for t in group), any(t.lot_id in held for t in group))
        for group in groups.values()
    ]
    return sorted(lines, key=lambda line: (line.last_on, line.id), reverse=True)


def recall(session: Session, source_id: int) -> Recall:
    """What holds any food of a source, where it lies and to whom it was given.

    Raises:
        NotFound: no such source, or nothing of it was taken in (or that was taken back).
    """
    lot_ids = _lots_of(session, source_id)
    taken = _taken_in(session, lot_ids)
    if not taken:
        raise NotFound(f"source {source_id}")
    ahead = forward(session, lot_ids)
    held = held_lots(session)
    lots = way_lots(session, ahead.lots, held)
    ends = ends_of(session, ahead, lots, held)
    is_held = any(lot_id in held for lot_id in lot_ids)
    return Recall(
        source=_line(taken, sums_of(ends).get(None, 0), is_held),
        intakes=tuple(lots[i] for i in sorted(lots) if i in lot_ids),
        lots=tuple(lots[i] for i in sorted(lots) if i not in lot_ids),
        ends=ends,
    )


def _lots_of(session: Session, source_id: int) -> frozenset[int]:
    lot_id = session.scalar(select(Lot.id).where(Lot.source_id == source_id).limit(1))
    return frozenset(lots_of_same_source(session, lot_id)) if lot_id is not None else frozenset()


def _taken_in(session: Session, lot_ids: Collection[int] | None = None) -> list[_TakenIn]:
    """What was taken in, all of it or only as these lots; the oldest first."""
    query = (
        select(
            *(Lot.id, Source.id, Source.kind, Source.name, Source.tag, Source.from_whom),
            *(Operation.done_on, func.sum(Entry.mass_mg)),
        )
        .join(Source, Source.id == Lot.source_id)
        .join(Operation, Operation.id == Lot.operation_id)
        .join(Entry, (Entry.lot_id == Lot.id) & (Entry.operation_id == Operation.id))
        .where(Entry.mass_mg > 0, stands(Operation.id))
        .group_by(Lot.id, Source.id, Operation.id)
        .order_by(Lot.id)
    )
    if lot_ids is not None:
        query = query.where(Lot.id.in_(lot_ids))
    return [_TakenIn(*row[:-1], int(row[-1])) for row in session.execute(query)]


def _identity(source: _TakenIn) -> tuple[str, ...]:
    """The same for sources that `lots_of_same_source` takes as one."""
    if source.tag:
        return (source.kind, source.tag.lower())
    return (source.kind, "", source.name.lower(), source.from_whom.lower())


def _line(group: Sequence[_TakenIn], on_hand_mg: int, is_held: bool) -> SourceLine:
    source = group[0]
    return SourceLine(
        id=source.source_id,
        kind=SourceKind(source.kind),
        name=source.name,
        tag=source.tag,
        from_whom=source.from_whom,
        lot_count=len(group),
        last_on=max(taken.done_on for taken in group),
        taken_in_mg=sum(taken.mass_mg for taken in group),
        on_hand_mg=on_hand_mg,
        is_held=is_held,
    )
