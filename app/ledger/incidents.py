"""What went wrong with stored food, and what of it the storage window has to know."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session

from app.ledger.models import Incident, IncidentLot
from app.ledger.stock import StockRef, stands
from app.ledger.words import IncidentFate

_STAYS = (IncidentFate.REFREEZE, IncidentFate.KEEP)


@dataclass(frozen=True, slots=True)
class Excursion:
    """Hours at another temperature, °C, of food that was kept or refrozen."""

    since: datetime
    until: datetime
    temp_c: float
    place_id: int | None  # where it happened; None: to this food alone


def excursions_of(session: Session, ref: StockRef) -> list[Excursion]:
    """The times this food was warmer than its place, oldest first."""
    warmest = func.coalesce(IncidentLot.temp_c, Incident.temp_c)
    rows = session.execute(
        select(Incident.from_at, Incident.to_at, warmest, Incident.place_id)
        .join(Incident, Incident.operation_id == IncidentLot.operation_id)
        .where(*_of(ref), Incident.from_at < Incident.to_at, IncidentLot.fate.in_(_STAYS))
        .order_by(Incident.from_at)
    ).all()
    return [
        Excursion(since, until, temp_c, place_id)
        for since, until, temp_c, place_id in rows
        if since is not None and until is not None and temp_c is not None
    ]


def worn_since(session: Session, ref: StockRef) -> date | None:
    """The first day on which somebody saw that this food was past its best."""
    return session.scalar(
        select(func.min(IncidentLot.since)).where(*_of(ref), IncidentLot.fate == IncidentFate.WORN)
    )


def _of(ref: StockRef) -> tuple[ColumnElement[bool], ...]:
    """What was written of one lot, loose or of one package of it, and not taken back."""
    return (
        IncidentLot.lot_id == ref.lot_id,
        IncidentLot.package_id.is_not_distinct_from(ref.package_id),
        stands(IncidentLot.operation_id),
    )
