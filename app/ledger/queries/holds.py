"""Everything on hold and where it lies, and what a hold would reach before it is put."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.codes import code_of
from app.ledger.holds import ActiveHold, active_holds, held_lots
from app.ledger.models import Hold, Lot, Operation, Person, Source
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.queries.trace import downstream_of
from app.ledger.stock import stands


@dataclass(frozen=True, slots=True)
class StandingHold:
    """A hold, who put it, by which operation, and with which note."""

    hold: ActiveHold
    operation_id: int
    person: str
    note: str


@dataclass(frozen=True, slots=True)
class HeldLot:
    """A lot that holds were put on, and everything on hand that they keep."""

    lot_id: int
    code: str
    name: str
    source: str
    tag: str
    holds: tuple[StandingHold, ...]
    lines: tuple[StockLine, ...]

    @property
    def mass_mg(self) -> int:
        """What of it is on hand."""
        return sum(line.mass_mg for line in self.lines)


@dataclass(frozen=True, slots=True)
class Reached:
    """What a hold on one lot would keep: the lot itself and what was made of it, on hand."""

    lot_id: int
    code: str
    name: str
    source: str
    tag: str
    is_held: bool
    lines: tuple[StockLine, ...]


def held_food(session: Session) -> list[HeldLot]:
    """Every lot that a standing hold was put on, the oldest hold first."""
    holds = {hold.id: hold for hold in active_holds(session)}
    if not holds:
        return []
    told = _told(session, holds.values())
    names = _names(session, {hold.lot_id for hold in holds.values()})
    lines = stock_lines(session)
    return [
        HeldLot(
            lot_id,
            *names[lot_id],
            tuple(told[hold.id] for hold in holds.values() if hold.lot_id == lot_id),
            tuple(x for x in lines if lot_id in {hold.lot_id for hold in x.holds}),
        )
        for lot_id in dict.fromkeys(hold.lot_id for hold in holds.values())
    ]


def standing_hold(session: Session, hold_id: int) -> HeldLot | None:
    """The held lot of one hold that stands; None when it was lifted or never was."""
    for food in held_food(session):
        if any(standing.hold.id == hold_id for standing in food.holds):
            return food
    return None


@dataclass(frozen=True, slots=True)
class Kin:
    """What belongs to the same animal or was held by the same entry as one hold.

    `holds` with the name and code of their lots, and whether the same entry put them; `free` are
    lots of the same source that nothing holds.
    """

    holds: tuple[tuple[ActiveHold, bool], ...]
    free: tuple[tuple[str, str], ...]  # code and name


def kin_of(session: Session, hold_id: int) -> Kin:
    """Other holds that the same answer may end, and lots of the same source that are not held."""
    foods = held_food(session)
    standing = {s.hold.id: s for food in foods for s in food.holds}
    mine = standing[hold_id]
    same_source = set(lots_of_same_source(session, mine.hold.lot_id))
    kin = [
        (other.hold, other.operation_id == mine.operation_id)
        for other in standing.values()
        if other.hold.id != hold_id
        and other.hold.cause is mine.hold.cause
        and (other.operation_id == mine.operation_id or other.hold.lot_id in same_source)
    ]
    free = _names(session, same_source - held_lots(session).keys())
    return Kin(tuple(kin), tuple((code, name) for code, name, _, _ in free.values()))


def reach_of(session: Session, lot_ids: Sequence[int]) -> list[Reached]:
    """What holds on these lots would keep, lot by lot in the order given."""
    made_of = downstream_of(session, lot_ids)
    names = _names(session, set(lot_ids))
    lines = stock_lines(session)
    held = {hold.lot_id for hold in active_holds(session)}
    return [
        Reached(
            lot_id,
            *names[lot_id],
            lot_id in held,
            tuple(x for x in lines if x.lot_id == lot_id or x.lot_id in made_of[lot_id]),
        )
        for lot_id in lot_ids
        if lot_id in names
    ]


def lots_of_same_source(session: Session, lot_id: int) -> list[int]:
    """Every lot taken in from the source of a lot, itself among them: one animal, one shop.

    Sources are the same by kind and tag, or without a tag by kind, name and giver.
    """
    source = session.scalar(
        select(Source).join(Lot, Lot.source_id == Source.id).where(Lot.id == lot_id)
    )
    if source is None:
        return [lot_id]
    same = [Source.kind == source.kind, func.lower(Source.tag) == source.tag.lower()]
    if not source.tag:
        same += [
            func.lower(Source.name) == source.name.lower(),
            func.lower(Source.from_whom) == source.from_whom.lower(),
        ]
    same.append(stands(Lot.operation_id))
    query = select(Lot.id).join(Source, Source.id == Lot.source_id).where(*same).order_by(Lot.id)
    return list(session.scalars(query))


def _told(session: Session, holds: Iterable[ActiveHold]) -> dict[int, StandingHold]:
    by_id = {hold.id: hold for hold in holds}
    rows = session.execute(
        select(Hold.id, Operation.id, func.coalesce(Person.name, ""), Operation.note)
        .join(Operation, Operation.id == Hold.operation_id)
        .outerjoin(Person, Person.id == Operation.person_id)
        .where(Hold.id.in_(by_id))
    )
    return {
        hold_id: StandingHold(by_id[hold_id], operation_id, person, note)
        for hold_id, operation_id, person, note in rows
    }


def _names(session: Session, lot_ids: set[int]) -> dict[int, tuple[str, str, str, str]]:
    """Code, name, source and tag of lots."""
    rows = session.execute(
        select(Lot.id, Lot.name, func.coalesce(Source.name, ""), func.coalesce(Source.tag, ""))
        .outerjoin(Source, Source.id == Lot.source_id)
        .where(Lot.id.in_(lot_ids))
    )
    return {lot_id: (code_of(lot_id), name, source, tag) for lot_id, name, source, tag in rows}
