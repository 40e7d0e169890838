"""The packs of what is on hand: of what kind they are, and when they were last seen whole."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.models import CheckDone, Operation, Package, Packaging
from app.ledger.queries.stock import StockLine
from app.ledger.stock import stands
from app.ledger.words import CheckKind, Finding
from app.science.packaging import PackagingKind


@dataclass(frozen=True, slots=True)
class Seal:
    """One pack: its kind, when it was sealed, and the last day on which all was well."""

    kind: PackagingKind
    packed_on: date
    last_well: date


def seals_of(session: Session, lines: Sequence[StockLine]) -> dict[int, Seal]:
    """The pack of every package in these lines, by the number of the package."""
    lot_ids = {line.lot_id for line in lines}
    looked = _last_looks(session, lot_ids)
    rows = session.execute(
        select(Package.id, Package.lot_id, Package.packed_on, Packaging.kind)
        .join(Packaging, Packaging.id == Package.packaging_id)
        .where(Package.lot_id.in_(lot_ids))
    )
    return {
        number: Seal(PackagingKind(kind), packed_on, max(packed_on, looked.get(lot_id, packed_on)))
        for number, lot_id, packed_on, kind in rows
    }


def _last_looks(session: Session, lot_ids: set[int]) -> dict[int, date]:
    """The newest look at the packs of each lot that found them fine."""
    rows = session.execute(
        select(CheckDone.lot_id, func.max(Operation.done_on))
        .join(Operation, Operation.id == CheckDone.operation_id)
        .where(
            CheckDone.lot_id.in_(lot_ids),
            CheckDone.kind.in_((CheckKind.SEAL, CheckKind.LOOK)),
            CheckDone.finding == Finding.FINE,
            stands(CheckDone.operation_id),
        )
        .group_by(CheckDone.lot_id)
    ).all()
    return {lot_id: day for lot_id, day in rows if lot_id is not None}
