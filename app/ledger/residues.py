"""What a grinder or dryer still carries of the food before, until it is cleaned down."""

from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.codes import code_of
from app.ledger.models import Lot, LotAllergen, Operation, Run, RunEnd, Tray
from app.ledger.safety import Applied, gate
from app.ledger.stock import stands
from app.ledger.types import is_set
from app.ledger.words import OperationKind, Presence
from app.science.safety.allergens import ALG_CROSS, Allergen
from app.science.safety.drying_rules import RAW_SEPARATE
from app.science.safety.rule import Outcome, Verdict
from app.science.safety.verdicts import cross_contact, crossed

CLEANED = "Cleaned down before."


@dataclass(frozen=True, slots=True)
class Residue:
    """Allergens and raw animal food that may cling to a machine."""

    allergens: frozenset[str] = frozenset()
    is_raw: bool = False

    def __bool__(self) -> bool:
        """Is there anything that could pass on?"""
        return self.is_raw or bool(self.allergens)


def in_grinder(session: Session) -> Residue:
    """What went through the household's grinder last."""
    last = session.scalar(
        select(Operation.id)
        .where(Operation.kind == OperationKind.GRIND, stands(Operation.id))
        .order_by(Operation.id.desc())
        .limit(1)
    )
    return _of(session, session.scalars(select(Lot.id).where(Lot.operation_id == last)).all())


def in_dryer(session: Session, place_id: int, *, before_run: int | None = None) -> Residue:
    """What lay in a dryer in the run before a run, or in the newest one."""
    runs = select(Run).where(Run.place_id == place_id, stands(Run.operation_id))
    if before_run is not None:
        runs = runs.where(Run.id < before_run)
    last = session.scalar(runs.order_by(Run.id.desc()).limit(1))
    if last is None:
        return Residue()
    loaded = select(Tray.lot_id).where(Tray.run_id == last.id)
    ended = select(RunEnd.operation_id).where(RunEnd.run_id == last.id)
    dried = select(Lot.id).where(Lot.operation_id.in_(ended))
    return _of(session, [*session.scalars(loaded), *session.scalars(dried)])


def crossing(
    session: Session, residue: Residue, lots: Collection[Lot], reason: str
) -> list[Applied]:
    """What a machine that was not cleaned down does to each of the lots put into it.

    Raises:
        Refused: raw animal food was in it, these are ready to eat, and no reason is given.
    """
    applied: list[Applied] = []
    for lot in lots:
        for verdict in crossed(passed_on(session, residue, [lot.id])):
            applied.append(Applied(verdict, lot_id=lot.id))
    ready = [code_of(lot.id) for lot in lots if not lot.is_raw]
    if residue.is_raw and ready:
        verdict = Verdict(RAW_SEPARATE, Outcome.CONFIRM, {"marked": ", ".join(sorted(ready))})
        applied += gate([verdict], reason)
    return applied


def passed_on(session: Session, residue: Residue, lot_ids: Collection[int]) -> frozenset[Allergen]:
    """The allergens that lots may take up, beyond what they contain."""
    contained = session.scalars(
        select(LotAllergen.allergen).where(
            LotAllergen.lot_id.in_(lot_ids), LotAllergen.presence == Presence.CONTAINS
        )
    )
    before = map(Allergen.parse, residue.allergens)
    return cross_contact(before, map(Allergen.parse, contained))


def passes_allergens(applied: Collection[Applied]) -> bool:
    """Did a machine pass allergens on?"""
    return any(one.verdict.id == ALG_CROSS.id for one in applied)


def makes_raw(applied: Collection[Applied]) -> bool:
    """Did a machine make ready food raw?"""
    return any(one.verdict.id == RAW_SEPARATE.id for one in applied)


def with_cleaning(note: str, cleaned: bool | None) -> str:
    """The note of an operation; a clean-down is written down with it."""
    return f"{CLEANED} {note}".strip() if cleaned else note


def _of(session: Session, lot_ids: Collection[int]) -> Residue:
    allergens = session.scalars(select(LotAllergen.allergen).where(LotAllergen.lot_id.in_(lot_ids)))
    raw = session.scalar(select(Lot.id).where(Lot.id.in_(lot_ids), is_set(Lot.is_raw)).limit(1))
    return Residue(frozenset(allergens), raw is not None)
