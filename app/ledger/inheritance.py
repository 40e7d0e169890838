"""What food passes on to what is made of it: raw mark, allergens, lead, age, treatments."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger import windows
from app.ledger.models import Lot, LotAllergen, LotMark, LotTreatment
from app.ledger.stock import StockRef
from app.ledger.words import Presence
from app.science.classes import Treatment

# Half a blend being cooked does not make the blend cooked: these need every source to have them.
_NEED_ALL = frozenset(
    {
        Treatment.COOKED,
        Treatment.CHILLED,
        Treatment.BLANCHED,
        Treatment.DRIED_AIR,
        Treatment.DRIED_FREEZE,
    }
)


@dataclass(frozen=True, slots=True)
class Inherited:
    """The union of the marks of every source, and the oldest age."""

    is_raw: bool = False
    contains: frozenset[str] = frozenset()
    may_contain: frozenset[str] = frozenset()
    harvest: tuple[date, date] | None = None
    treatments: frozenset[Treatment] = frozenset()
    marks: frozenset[str] = frozenset()
    share_used: float = 0.0
    is_worn: bool = False  # every source was seen to be past its best


def inherited_from(
    session: Session, sources: Sequence[tuple[StockRef, int]], *, on: date
) -> Inherited:
    """Collect the marks of the lots taken from.

    Args:
        sources: what is taken, as stock and mass in mg. on: the day of the operation.
    Returns:
        Raw if any is raw; every allergen; harvest from the earliest to the latest known; share of
        quality used as the mass-weighted mean (what has oxidised mixes with what has not).
    """
    if not sources:
        return Inherited()
    ids = {ref.lot_id for ref, _ in sources}
    lots = list(session.scalars(select(Lot).where(Lot.id.in_(ids))))
    allergens = session.execute(
        select(LotAllergen.allergen, LotAllergen.presence).where(LotAllergen.lot_id.in_(ids))
    ).all()
    contains = frozenset(a for a, presence in allergens if presence == Presence.CONTAINS)
    return Inherited(
        is_raw=any(lot.is_raw for lot in lots),
        contains=contains,
        may_contain=frozenset(a for a, _ in allergens) - contains,
        harvest=_harvest(lots),
        treatments=treatments_together(session, ids),
        marks=frozenset(session.scalars(select(LotMark.mark).where(LotMark.lot_id.in_(ids)))),
        share_used=_share_used(session, sources, on),
        is_worn=all(windows.is_worn(session, ref, on=on) for ref, _ in sources),
    )


def _harvest(lots: Sequence[Lot]) -> tuple[date, date] | None:
    earliest = [lot.harvest_from for lot in lots if lot.harvest_from]
    latest = [lot.harvest_to for lot in lots if lot.harvest_to]
    return (min(earliest), max(latest)) if earliest and latest else None


def treatments_together(session: Session, ids: set[int]) -> frozenset[Treatment]:
    """What was done to these lots, put together: done to any, but for what all must have had."""
    rows = session.execute(
        select(LotTreatment.lot_id, LotTreatment.treatment).where(LotTreatment.lot_id.in_(ids))
    ).all()
    by_lot = {lot_id: {Treatment(t) for i, t in rows if i == lot_id} for lot_id in ids}
    union = frozenset().union(*by_lot.values())
    shared = frozenset.intersection(*(frozenset(t) for t in by_lot.values()))
    return (union - _NEED_ALL) | (shared & _NEED_ALL)


def _share_used(session: Session, sources: Sequence[tuple[StockRef, int]], on: date) -> float:
    total_mg = sum(mass_mg for _, mass_mg in sources)
    used = sum(windows.share_used(session, ref, on=on) * mass_mg for ref, mass_mg in sources)
    return used / total_mg if total_mg else 0.0
