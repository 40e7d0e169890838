"""Checks of descent: what flowed where, and corrections that take back what they name."""

from collections import Counter, defaultdict
from collections.abc import Iterator

from sqlalchemy import Select, exists, func, select
from sqlalchemy.orm import Session, aliased

from app.ledger.checks.finding import Finding, lot_words
from app.ledger.models import Addition, Entry, Flow, Loss, Lot, Operation
from app.ledger.stock import StockRef
from app.ledger.words import OperationKind


def flows_fill_new_lots(session: Session) -> list[Finding]:
    """What flowed into a new lot is its made mass; less only where something was added."""
    made = _sums(
        select(Lot.id, func.sum(Entry.mass_mg))
        .join(Entry, (Entry.lot_id == Lot.id) & (Entry.operation_id == Lot.operation_id))
        .where(Entry.mass_mg > 0)
        .group_by(Lot.id),
        session,
    )
    flowed = _sums(select(Flow.result_id, func.sum(Flow.mass_mg)).group_by(Flow.result_id), session)
    with_additions = set(session.scalars(select(Addition.operation_id)))
    findings = []
    for lot_id, operation_id in session.execute(select(Lot.id, Lot.operation_id)):
        made_mg, flowed_mg = made.get(lot_id, 0), flowed.get(lot_id, 0)
        if flowed_mg > made_mg or (flowed_mg < made_mg and operation_id not in with_additions):
            words = "made with {made_mg} mg, of which {flowed_mg} mg flowed in"
            numbers = {"made_mg": made_mg, "flowed_mg": flowed_mg}
            findings.append(Finding("flows_fill_new_lots", lot_words(lot_id), words, numbers))
    return findings


def _sums(query: Select[int, int], session: Session) -> dict[int, int]:
    return dict(session.execute(query).all())


def flows_follow_entries(session: Session) -> list[Finding]:
    """Flows lead from lots that an operation took to lots that it made, and leave none out.

    Only an unloading takes several lots and makes several, each of its own; everywhere else this
    asks for a flow from each lot taken to each lot made.
    """
    taken: dict[int, set[int]] = defaultdict(set)
    made: dict[int, set[int]] = defaultdict(set)
    for operation_id, lot_id in session.execute(
        select(Entry.operation_id, Entry.lot_id).where(Entry.mass_mg < 0)
    ):
        taken[operation_id].add(lot_id)
    for lot_id, operation_id in session.execute(select(Lot.id, Lot.operation_id)):
        made[operation_id].add(lot_id)
    flows: dict[int, set[tuple[int, int]]] = defaultdict(set)
    for operation_id, source_id, result_id in session.execute(
        select(Flow.operation_id, Flow.source_id, Flow.result_id)
    ):
        flows[operation_id].add((source_id, result_id))
    return [
        Finding("flows_follow_entries", f"operation {operation_id}", words, lots)
        for operation_id in sorted(flows.keys() | made.keys())
        for words, lots in _astray(taken[operation_id], made[operation_id], flows[operation_id])
    ]


def _astray(
    taken: set[int], made: set[int], flows: set[tuple[int, int]]
) -> Iterator[tuple[str, dict[str, object]]]:
    for source_id, result_id in sorted(flows):
        if source_id not in taken or result_id not in made:
            words = "a flow from {source} to {result} that its entries do not know"
            yield words, {"source": lot_words(source_id), "result": lot_words(result_id)}
    if not taken or not made:
        return
    for source_id in sorted(taken - {source_id for source_id, _ in flows}):
        yield "the flow from {source} is missing", {"source": lot_words(source_id)}
    for result_id in sorted(made - {result_id for _, result_id in flows}):
        yield "the flow into {result} is missing", {"result": lot_words(result_id)}


def reversals_mirror(session: Session) -> list[Finding]:
    """A correction takes back exactly what its operation did: each entry, each line."""
    pairs = session.execute(
        select(Operation.id, Operation.reverses_id, Operation.kind).where(
            Operation.reverses_id.is_not(None) | (Operation.kind == OperationKind.CORRECT)
        )
    ).all()
    entries: dict[int, Counter[StockRef]] = defaultdict(Counter)
    reversal = aliased(Operation)
    takes_back = exists().where(
        reversal.id == Entry.operation_id, reversal.reverses_id.is_not(None)
    )
    taken_back = exists().where(reversal.reverses_id == Entry.operation_id)
    for operation_id, lot_id, place_id, package_id, mass_mg in session.execute(
        select(
            Entry.operation_id, Entry.lot_id, Entry.place_id, Entry.package_id, Entry.mass_mg
        ).where(takes_back | taken_back)
    ):
        entries[operation_id][StockRef(lot_id, place_id, package_id)] += mass_mg
    added, lost = _totals(session, Addition), _totals(session, Loss)
    findings = []
    for operation_id, reverses_id, kind in pairs:
        if reverses_id is None or kind != OperationKind.CORRECT or reverses_id >= operation_id:
            words = "a correction names one earlier operation, and nothing else does"
        elif any(
            entries[operation_id][ref] != -entries[reverses_id][ref]
            for ref in entries[operation_id].keys() | entries[reverses_id].keys()
        ):
            words = "moves other masses than operation {reverses_id}, which it takes back"
        elif (added[operation_id], lost[operation_id]) != (lost[reverses_id], added[reverses_id]):
            words = "adds and loses other masses than operation {reverses_id}, which it takes back"
        else:
            continue
        numbers = {"reverses_id": reverses_id}
        findings.append(Finding("reversals_mirror", f"operation {operation_id}", words, numbers))
    return findings


def _totals(session: Session, table: type[Addition] | type[Loss]) -> Counter[int]:
    query = select(table.operation_id, func.sum(table.mass_mg)).group_by(table.operation_id)
    return Counter(_sums(query, session))
