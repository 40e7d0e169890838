"""Dryer runs as they stand: what is on the trays, and how dry it is by its weighings."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.errors import NotFound
from app.ledger.makeup import composition_of
from app.ledger.mass import to_kg
from app.ledger.models import Household, Lot, Place, Run, RunEnd, Tray, TrayWeighing
from app.ledger.stock import stands
from app.ledger.words import PlaceKind
from app.science.drying import DryerKind
from app.science.dryness import Dryness, judge
from app.science.dryness import TrayWeighing as Weighed
from app.science.errors import ScienceError

SECONDS_PER_HOUR = 3600.0


@dataclass(frozen=True, slots=True)
class TrayState:
    """A tray with its weigh-backs and what they say; `dryness` is None before the first."""

    tray: Tray
    lot: Lot
    weighings: tuple[TrayWeighing, ...]
    dryness: Dryness | None


def scale_step_of(session: Session) -> int:
    """The step of the household's scale, mg; 1 g before it is set up."""
    return session.scalar(select(Household.scale_step_mg)) or 1_000


def dryer_kind(place: Place) -> DryerKind:
    """Whether a dryer works with cold vacuum or with warm air."""
    freeze = PlaceKind(place.kind) is PlaceKind.FREEZE_DRYER
    return DryerKind.FREEZE if freeze else DryerKind.AIR


def known_run(session: Session, run_id: int) -> Run:
    """The run with this number, unless its loading was taken back; else NotFound."""
    run = session.scalar(select(Run).where(Run.id == run_id, stands(Run.operation_id)))
    if run is None:
        raise NotFound(str(run_id))
    return run


def is_over(session: Session, run_id: int) -> bool:
    """Has the run been unloaded?"""
    ended = session.scalar(
        select(RunEnd.operation_id).where(RunEnd.run_id == run_id, stands(RunEnd.operation_id))
    )
    return ended is not None


def open_runs(session: Session) -> list[Run]:
    """The runs that are in a dryer now, oldest first."""
    ended = select(RunEnd.run_id).where(stands(RunEnd.operation_id))
    return list(
        session.scalars(
            select(Run).where(stands(Run.operation_id), Run.id.not_in(ended)).order_by(Run.id)
        )
    )


def trays_of(session: Session, run: Run) -> list[TrayState]:
    """Every tray of a run with its judgement, in the order of the tray numbers."""
    scale_step_mg = scale_step_of(session)
    kind = dryer_kind(session.get_one(Place, run.place_id))
    trays = session.execute(
        select(Tray, Lot)
        .join(Lot, Lot.id == Tray.lot_id)
        .where(Tray.run_id == run.id)
        .order_by(Tray.number)
    ).all()
    weighings = session.scalars(
        select(TrayWeighing)
        .where(TrayWeighing.run_id == run.id)
        .order_by(TrayWeighing.weighed_at, TrayWeighing.id)
    ).all()
    return [
        _state(
            tray,
            lot,
            composition_of(session, lot).water,
            [w for w in weighings if w.number == tray.number],
            run,
            scale_step_mg,
            kind,
        )
        for tray, lot in trays
    ]


def hours_between(start: datetime, end: datetime) -> float:
    """Hours from one instant to another."""
    return (end - start).total_seconds() / SECONDS_PER_HOUR


def _state(
    tray: Tray,
    lot: Lot,
    loaded_water: float,
    weighings: Sequence[TrayWeighing],
    run: Run,
    scale_step_mg: int,
    kind: DryerKind,
) -> TrayState:
    net_by_hours = {
        hours_between(run.started_at, w.weighed_at): to_kg(w.gross_mg - tray.tare_mg)
        for w in weighings
    }  # of two weighings at the same instant the later counts
    try:
        dryness = _judged(
            tuple(Weighed(hours, net_kg) for hours, net_kg in net_by_hours.items()),
            to_kg(scale_step_mg),
            to_kg(tray.gross_mg - tray.tare_mg),
            loaded_water,
            kind,
        )
    except ScienceError:  # nothing weighed yet, or weights that no drying explains
        dryness = None
    return TrayState(tray, lot, tuple(weighings), dryness)


@lru_cache(maxsize=256)  # trays; the home page asks at every visit, and a judgement takes long
def _judged(
    weighings: tuple[Weighed, ...],
    scale_step_kg: float,
    loaded_kg: float,
    loaded_water: float,
    dryer: DryerKind,
) -> Dryness:
    return judge(
        weighings,
        scale_step_kg=scale_step_kg,
        loaded_kg=loaded_kg,
        loaded_water=loaded_water,
        dryer=dryer,
    )
