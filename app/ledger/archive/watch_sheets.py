"""The tables of the export about what is watched: holds, game, mishaps, looks and places."""

from typing import Any

from sqlalchemy import Select, select

from app.ledger.archive.sheet import Sheet
from app.ledger.models import (
    CheckDone,
    Climate,
    GameStory,
    Hold,
    Incident,
    IncidentLot,
    LoggerFile,
    Place,
    PlaceReading,
    Release,
)


def watch_sheets() -> tuple[Sheet, ...]:
    """Every sheet of what is watched; temperatures in °C, times in UTC."""
    return (*_hold_sheets(), *_incident_sheets(), *_place_sheets())


def _hold_sheets() -> tuple[Sheet, ...]:
    game = select(
        GameStory.source_id,
        GameStory.ammunition,
        GameStory.looked_sick,
        GameStory.cwd_status,
        GameStory.cwd_listed,
        GameStory.hours_to_cold,
        GameStory.centre_c,
        GameStory.taken_at,
    ).order_by(GameStory.source_id)
    holds = select(
        Hold.id.label("hold_id"),
        Hold.operation_id,
        Hold.lot_id.label("lot_code"),
        Hold.cause,
        Hold.words,
    ).order_by(Hold.id)
    releases = select(Release.operation_id, Release.hold_id, Release.cause).order_by(
        Release.operation_id, Release.hold_id
    )
    return (
        Sheet("game", "what was told of wild animals; source_id of sources", game),
        Sheet("holds", "lots put on hold, with all that is made of them", holds),
        Sheet("releases", "holds that were lifted, and why", releases),
    )


def _incident_sheets() -> tuple[Sheet, ...]:
    incidents = (
        select(
            Incident.operation_id,
            Incident.kind,
            Place.name.label("place"),
            Incident.from_at,
            Incident.to_at,
            Incident.temp_c,
            Incident.warm_hours,
            Incident.discard_id.label("discard_operation_id"),
            Incident.held_id.label("hold_operation_id"),
        )
        .outerjoin(Place, Place.id == Incident.place_id)
        .order_by(Incident.operation_id)
    )
    lots = select(
        IncidentLot.operation_id,
        IncidentLot.lot_id.label("lot_code"),
        IncidentLot.package_id,
        IncidentLot.is_icy,
        IncidentLot.warm_hours,
        IncidentLot.temp_c,
        IncidentLot.fate,
        IncidentLot.since,
    ).order_by(IncidentLot.id)
    looks = (
        select(
            CheckDone.operation_id,
            CheckDone.kind,
            CheckDone.finding,
            CheckDone.lot_id.label("lot_code"),
            Place.name.label("place"),
        )
        .outerjoin(Place, Place.id == CheckDone.place_id)
        .order_by(CheckDone.operation_id)
    )
    return (
        Sheet("incidents", "what went wrong; warm is above 4.4 °C", incidents),
        Sheet("incident_lots", "what an incident meant for each lot or package", lots),
        Sheet("looks", "looks that were due and were taken", looks),
    )


def _place_sheets() -> tuple[Sheet, ...]:
    return (
        Sheet(
            "climates",
            "how warm and damp a place is from an instant on; month: in that month of every year",
            _climates(),
        ),
        Sheet(
            "place_readings",
            "temperatures read by a person or a logger; nothing is typed for a logger's",
            select(
                PlaceReading.operation_id,
                Place.name.label("place"),
                PlaceReading.at,
                PlaceReading.temp_c,
                PlaceReading.relative_humidity,
                PlaceReading.typed,
            )
            .join(Place, Place.id == PlaceReading.place_id)
            .order_by(PlaceReading.id),
        ),
        Sheet(
            "logger_files",
            "files of loggers that were read in",
            select(
                LoggerFile.operation_id,
                Place.name.label("place"),
                LoggerFile.name,
                LoggerFile.sha256,
                LoggerFile.reading_count,
                LoggerFile.gap_count,
            )
            .join(Place, Place.id == LoggerFile.place_id)
            .order_by(LoggerFile.operation_id),
        ),
    )


def _climates() -> Select[*tuple[Any, ...]]:
    return (
        select(
            Climate.operation_id,
            Place.name.label("place"),
            Climate.since,
            Climate.month,
            Climate.temp_low_c,
            Climate.temp_c,
            Climate.temp_high_c,
            Climate.relative_humidity,
            Climate.basis,
        )
        .join(Place, Place.id == Climate.place_id)
        .order_by(Climate.id)
    )
