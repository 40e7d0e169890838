"""Correct: a visible reversing entry. Nothing is ever edited or deleted."""

from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy import Select, exists, select
from sqlalchemy.orm import Session, aliased

from app.ledger.errors import NotFound, ProblemKind, refuse
from app.ledger.models import (
    Addition,
    Climate,
    Entry,
    Flow,
    Hold,
    Incident,
    IncidentLot,
    Loss,
    Lot,
    Operation,
    Place,
    Reading,
    Run,
    RunEnd,
    Stock,
)
from app.ledger.operations._post import Make, Posted, Posting, Take, post
from app.ledger.stock import StockRef, find_stock, kept_at, stands
from app.ledger.words import DRYERS, AdditionKind, LossKind, OperationKind


@dataclass(frozen=True, slots=True)
class Correct:
    """The operation that is taken back, and why."""

    operation_id: int
    done_on: date
    reason: str = ""


def correct(session: Session, request: Correct, *, at: datetime, by: int | None) -> Posted:
    """Take an operation back by posting its mirror image, and with it what came of it at once.

    That is what an incident discarded or put on hold, and the holds of lots that were made.

    Raises:
        NotFound: no such operation.
        Refused: it was taken back before, is itself a correction, or later operations rest on
            it (they are named, newest first).
    """
    operation = _standing(session, request.operation_id)
    for companion in _companions(session, operation.id):
        correct(session, replace(request, operation_id=companion), at=at, by=by)
    entries = list(session.scalars(select(Entry).where(Entry.operation_id == operation.id)))
    resting = resting_on(session, operation.id, entries)
    if resting:
        raise refuse("operation_id", ProblemKind.DEPENDED_ON, operations=resting)
    posting = Posting(
        OperationKind.CORRECT,
        max(request.done_on, operation.done_on),
        note=request.reason,
        takes=[Take(_ref(e), e.mass_mg, "operation_id") for e in entries if e.mass_mg > 0],
        makes=[Make(e.place_id, -e.mass_mg, ref=_ref(e)) for e in entries if e.mass_mg < 0],
        additions=[
            (AdditionKind.REVERSED, mass_mg, kind)
            for kind, mass_mg in _lines(session, Loss, operation.id)
        ],
        losses=[
            (LossKind.REVERSED, mass_mg, kind)
            for kind, mass_mg in _lines(session, Addition, operation.id)
        ],
        reverses_id=operation.id,
        also_touched=_touched_lots(session, operation.id),
    )
    return post(session, posting, at=at, by=by)


def _standing(session: Session, operation_id: int) -> Operation:
    """The operation, which was not taken back and is no correction itself."""
    operation = session.get(Operation, operation_id)
    if operation is None:
        raise NotFound(str(operation_id))
    if operation.kind == OperationKind.CORRECT or _is_reversed(session, operation.id):
        raise refuse("operation_id", ProblemKind.ALREADY_REVERSED)
    return operation


@dataclass(frozen=True, slots=True)
class CorrectAll:
    """An operation that is taken back with all that rests on it, as it was shown, newest first."""

    operation_id: int
    resting: tuple[int, ...]
    done_on: date
    reason: str


def correct_with_dependents(
    session: Session, request: CorrectAll, *, at: datetime, by: int | None
) -> list[Posted]:
    """Take back what rests on an operation, newest first, and then the operation itself.

    Returns:
        The corrections, in the order in which they were written.
    Raises:
        NotFound: no such operation.
        Refused: it was taken back before, other operations rest on it than the request names, or
            one of them cannot be taken back; the transaction must then write none of them.
    """
    _standing(session, request.operation_id)
    found = all_resting_on(session, request.operation_id)
    if tuple(found) != request.resting:
        kind = ProblemKind.RESTING_CHANGED if request.resting else ProblemKind.DEPENDED_ON
        raise refuse("operation_id", kind, operations=found)
    posted = []
    for number in (*found, request.operation_id):
        if number == request.operation_id or not _is_reversed(session, number):
            one = Correct(number, request.done_on, request.reason)
            posted.append(correct(session, one, at=at, by=by))
    return posted


def all_resting_on(session: Session, operation_id: int) -> list[int]:
    """Every operation that has to be taken back before this one, newest first."""
    found: set[int] = set()
    waiting = [operation_id]
    while waiting:
        here = waiting.pop()
        together = {here, *_companions(session, here)}
        later = {n for number in together for n in _resting(session, number)}
        later = (later | _incidents_of(session, later)) - together
        waiting += later - found
        found |= later
    return sorted(found - {operation_id}, reverse=True)


def _incidents_of(session: Session, operation_ids: set[int]) -> set[int]:
    """The incidents that these were done for: they would stand without what they did."""
    query = select(Incident.operation_id).where(
        Incident.discard_id.in_(operation_ids) | Incident.held_id.in_(operation_ids),
        stands(Incident.operation_id),
    )
    return set(session.scalars(query))


def _resting(session: Session, operation_id: int) -> list[int]:
    entries = session.scalars(select(Entry).where(Entry.operation_id == operation_id))
    return resting_on(session, operation_id, list(entries))


def resting_on(session: Session, operation_id: int, entries: list[Entry]) -> list[int]:
    """Later operations that used what this one made, newest first."""
    made = [entry for entry in entries if entry.mass_mg > 0]
    born_here = set(session.scalars(select(Lot.id).where(Lot.operation_id == operation_id)))
    gone = {e.lot_id for e in made if e.lot_id not in born_here and not _still_there(session, e)}
    used = select(Entry.operation_id).where(
        Entry.operation_id > operation_id,
        Entry.lot_id.in_(born_here | gone),
        stands(Entry.operation_id),
    )
    unloaded = (
        select(RunEnd.operation_id)
        .join(Run, Run.id == RunEnd.run_id)
        .where(Run.operation_id == operation_id, stands(RunEnd.operation_id))
    )
    drawn = select(Flow.operation_id).where(  # what was made since rests on what was measured
        Flow.operation_id > operation_id,
        Flow.source_id.in_(_measured_lots(session, operation_id)),
        stands(Flow.operation_id),
    )
    queries = (used, unloaded, drawn, _loaded_since(operation_id), _carried_since(operation_id))
    later = {number for query in queries for number in session.scalars(query)}
    return sorted(later, reverse=True)


def _loaded_since(operation_id: int) -> Select[int]:
    """The loading that is in a dryer which this operation unloaded: it can hold but one run."""
    ended, again = aliased(Run), aliased(Run)
    over = select(RunEnd.run_id).where(stands(RunEnd.operation_id))
    return (
        select(again.operation_id)
        .join(ended, (ended.place_id == again.place_id) & (ended.id < again.id))
        .join(RunEnd, RunEnd.run_id == ended.id)
        .where(
            RunEnd.operation_id == operation_id,
            again.operation_id > operation_id,
            again.id.not_in(over),
            stands(again.operation_id),
        )
    )


def _carried_since(operation_id: int) -> Select[int]:
    """What brought a package to where it is, of which this operation would put some elsewhere.

    A package is at one place, but for what of it is in a dryer.
    """
    own, there, later = aliased(Entry), aliased(Entry), aliased(Entry)
    dryers = select(Place.id).where(Place.kind.in_(DRYERS))
    also_here = exists().where(
        there.operation_id == operation_id,
        there.package_id == later.package_id,
        there.place_id == later.place_id,
    )
    return (
        select(later.operation_id)
        .join(own, (own.lot_id == later.lot_id) & (own.package_id == later.package_id))
        .join(
            Stock,
            (Stock.lot_id == later.lot_id)
            & (Stock.package_id == later.package_id)
            & (Stock.place_id == later.place_id),
        )
        .where(
            own.operation_id == operation_id,
            own.mass_mg < 0,
            own.place_id.not_in(dryers),
            later.operation_id > operation_id,
            later.mass_mg > 0,
            later.place_id.not_in(dryers),
            ~also_here,
            stands(later.operation_id),
        )
    )


def _measured_lots(session: Session, operation_id: int) -> list[int]:
    rows = session.scalars(select(Reading.lot_id).where(Reading.operation_id == operation_id))
    return [lot_id for lot_id in set(rows) if lot_id is not None]


def _companions(session: Session, operation_id: int) -> list[int]:
    """What an incident did at once and holds on lots born here, unless taken back before."""
    incident = session.get(Incident, operation_id)
    done = [incident.discard_id, incident.held_id] if incident else []
    born_here = select(Lot.id).where(Lot.operation_id == operation_id)
    of_others = select(Hold.operation_id).where(Hold.lot_id.not_in(born_here))
    held_here = Hold.lot_id.in_(born_here) & Hold.operation_id.not_in(of_others)
    done += session.scalars(select(Hold.operation_id).where(held_here).distinct())
    return [i for i in done if i is not None and not _is_reversed(session, i)]


def _touched_lots(session: Session, operation_id: int) -> list[int]:
    """The lots whose windows change though no mass of them moves."""
    incident = select(IncidentLot.lot_id).where(IncidentLot.operation_id == operation_id)
    places = select(Climate.place_id).where(Climate.operation_id == operation_id)
    kept = kept_at(session, session.scalars(places.distinct()).all())
    return [*_measured_lots(session, operation_id), *session.scalars(incident), *kept]


def _still_there(session: Session, entry: Entry) -> bool:
    row: Stock | None = find_stock(session, _ref(entry))
    return row is not None and row.mass_mg >= entry.mass_mg


def _is_reversed(session: Session, operation_id: int) -> bool:
    return (
        session.scalar(select(Operation.id).where(Operation.reverses_id == operation_id))
        is not None
    )


def _ref(entry: Entry) -> StockRef:
    return StockRef(entry.lot_id, entry.place_id, entry.package_id)


def _lines(
    session: Session, table: type[Addition] | type[Loss], operation_id: int
) -> list[tuple[str, int]]:
    rows = session.execute(
        select(table.kind, table.mass_mg).where(table.operation_id == operation_id)
    ).all()
    return [(kind, mass_mg) for kind, mass_mg in rows]
