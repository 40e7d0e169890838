"""Checks of what must never be lost on the way: raw, allergens, marks, the earliest harvest."""

from collections import defaultdict
from collections.abc import Iterable

from sqlalchemy import func, select
from sqlalchemy.orm import Session, aliased

from app.ledger.checks.finding import Finding, lot_words
from app.ledger.models import Checkpoint, Flow, Lot, LotAllergen, LotMark, Operation
from app.ledger.types import is_set
from app.ledger.words import Mark, OperationKind, Presence
from app.science.safety.rule import Outcome


def raw_stays_raw(session: Session) -> list[Finding]:
    """What is made of raw food is raw, unless a cooking met every rule it was held against."""
    source, result = aliased(Lot), aliased(Lot)
    rows = session.execute(
        select(source.id, result.id, Operation.id, Operation.kind)
        .select_from(Flow)
        .join(source, source.id == Flow.source_id)
        .join(result, result.id == Flow.result_id)
        .join(Operation, Operation.id == result.operation_id)
        .where(is_set(source.is_raw), ~is_set(result.is_raw))
    ).all()
    checkpoints = _checkpoints(session)
    return [
        Finding(
            "raw_stays_raw",
            lot_words(result_id),
            "not raw, though made of {source}, which operation {operation_id} did not cook through",
            {"source": lot_words(source_id), "operation_id": operation_id},
        )
        for source_id, result_id, operation_id, kind in rows
        if kind != OperationKind.COOK or not _cooked_through(checkpoints[operation_id])
    ]


def _checkpoints(session: Session) -> dict[int, list[Checkpoint]]:
    found: dict[int, list[Checkpoint]] = defaultdict(list)
    for checkpoint in session.scalars(select(Checkpoint)):
        found[checkpoint.operation_id].append(checkpoint)
    return found


def _cooked_through(checkpoints: Iterable[Checkpoint]) -> bool:
    outcomes = {c.outcome for c in checkpoints}
    met = any(
        c.outcome == Outcome.PASS or (c.outcome == Outcome.CONFIRM and c.reason.strip())
        for c in checkpoints
    )
    return met and not outcomes & {Outcome.STOP, Outcome.ASK}


def allergens_are_inherited(session: Session) -> list[Finding]:
    """What is made of food with an allergen has it too; "contains" never fades to "may contain"."""
    marks: dict[int, dict[str, str]] = defaultdict(dict)
    for lot_id, allergen, presence in session.execute(
        select(LotAllergen.lot_id, LotAllergen.allergen, LotAllergen.presence)
    ):
        marks[lot_id][allergen] = presence
    return [
        Finding(
            "allergens_are_inherited",
            lot_words(result_id),
            "has lost the mark “{allergen}: {presence}” of {source}",
            {"allergen": allergen, "presence": presence, "source": lot_words(source_id)},
        )
        for source_id, result_id in session.execute(select(Flow.source_id, Flow.result_id))
        for allergen, presence in marks[source_id].items()
        if marks[result_id].get(allergen) not in (presence, Presence.CONTAINS)
    ]


def marks_are_inherited(session: Session) -> list[Finding]:
    """Lead goes on for ever; parasites until a cooking met every rule it was held against."""
    marks: dict[int, set[str]] = defaultdict(set)
    for lot_id, mark in session.execute(select(LotMark.lot_id, LotMark.mark)):
        marks[lot_id].add(mark)
    checkpoints = _checkpoints(session)
    rows = session.execute(
        select(Flow.source_id, Flow.result_id, Operation.id, Operation.kind).join(
            Operation, Operation.id == Flow.operation_id
        )
    )
    return [
        Finding(
            "marks_are_inherited",
            lot_words(result_id),
            "has lost the mark “{mark}” of {source}",
            {"mark": mark, "source": lot_words(source_id)},
        )
        for source_id, result_id, operation_id, kind in rows
        for mark in sorted(marks[source_id] - marks[result_id])
        if mark != Mark.PARASITE
        or kind != OperationKind.COOK
        or not _cooked_through(checkpoints[operation_id])
    ]


def harvest_is_the_earliest(session: Session) -> list[Finding]:
    """A lot is as old as the oldest food in it."""
    source, result = aliased(Lot), aliased(Lot)
    rows = session.execute(
        select(result.id, result.harvest_from, func.min(source.harvest_from).label("earliest"))
        .select_from(Flow)
        .join(source, source.id == Flow.source_id)
        .join(result, result.id == Flow.result_id)
        .where(source.harvest_from.is_not(None))
        .group_by(result.id)
    )
    return [
        Finding(
            "harvest_is_the_earliest",
            lot_words(lot_id),
            "harvested {harvest}, though its oldest part was harvested {earliest}",
            {"harvest": harvest or "on no known day", "earliest": earliest},
        )
        for lot_id, harvest, earliest in rows
        if harvest != earliest
    ]
