"""The tables of the export about dryer runs, and about soakings of what was dried."""

from typing import Any

from sqlalchemy import Select, func, select
from sqlalchemy.orm import aliased

from app.ledger.archive.sheet import Sheet
from app.ledger.models import (
    Operation,
    Place,
    Run,
    RunEnd,
    SoakingDone,
    Tray,
    TrayWeighing,
    Trial,
)
from app.ledger.stock import stands


def run_sheets() -> tuple[Sheet, ...]:
    """Every sheet of what was dried, and of soakings."""
    return (
        Sheet("runs", "dryer loads, each from loading to unloading", _runs()),
        Sheet(
            "trays",
            "what lay on each tray when a run began",
            select(
                Tray.run_id,
                Tray.number,
                Tray.lot_id.label("lot_code"),
                Tray.gross_mg.label("gross_g"),
                Tray.gross_typed,
                Tray.tare_mg.label("tare_g"),
                Tray.tare_typed,
            ).order_by(Tray.run_id, Tray.number),
        ),
        Sheet(
            "tray_weighings",
            "weigh-backs of trays, tray included",
            select(
                TrayWeighing.run_id,
                TrayWeighing.number,
                TrayWeighing.weighed_at,
                TrayWeighing.gross_mg.label("gross_g"),
                TrayWeighing.gross_typed,
            ).order_by(TrayWeighing.run_id, TrayWeighing.weighed_at, TrayWeighing.id),
        ),
        _trials(),
    )


def _trials() -> Sheet:
    query = select(
        Trial.id.label("trial_id"),
        Trial.done_on,
        SoakingDone.side,
        SoakingDone.lot_id.label("lot_code"),
        SoakingDone.dry_mg.label("dry_g"),
        SoakingDone.water_mg.label("water_g"),
        SoakingDone.drained_mg.label("drained_g"),
        SoakingDone.minutes,
        SoakingDone.temp_c,
        SoakingDone.score,
        Trial.note,
    )
    joined = query.join(SoakingDone, SoakingDone.trial_id == Trial.id)
    return Sheet("trials", "soakings side by side", joined.order_by(Trial.id, SoakingDone.side))


def _runs() -> Select[*tuple[Any, ...]]:
    ending = aliased(Operation)
    ended = (
        select(func.max(ending.done_on))
        .join(RunEnd, RunEnd.operation_id == ending.id)
        .where(RunEnd.run_id == Run.id, stands(ending.id))
        .correlate(Run)
        .scalar_subquery()
    )
    return (
        select(
            Run.id.label("run_id"),
            Run.operation_id,
            Place.name.label("place"),
            Run.started_at,
            ended.label("ended_on"),
        )
        .join(Place, Place.id == Run.place_id)
        .order_by(Run.id)
    )
